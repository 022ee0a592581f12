//! The birds handed over: pages, pictures and sheets hold their figures; nothing of them gives a withheld lek away; birds of whom little is known are
//! handed over too.

#![allow(clippy::panic, reason = "a test may stop")]

mod common;

use calamine::{Data, Reader, Xlsx};
use common::*;
use guidance::Guidance;
use handover::{Output, Pack, Spring};
use holding::model::PlanOption;
use std::io::Cursor;

/// A holding with birds, and all that is told of them.
fn whole() -> (Parts, Spring) {
    let mut parts = parts();
    counted(&mut parts.holding);
    parts.holding.options = vec![PlanOption { number: 1, name: "More brood ground".into(), note: String::new() }];
    parts.guidance = Guidance::load().expect("the tables");
    let spring = spring(&parts.holding, &parts.guidance);
    (parts, spring)
}

fn pack<'a>(parts: &'a Parts, spring: &'a Spring, show_leks: bool) -> Pack<'a> {
    Pack { spring: Some(spring), pages: false, ..parts.pack(show_leks) }
}

fn workbook(outputs: &[Output]) -> Xlsx<Cursor<Vec<u8>>> {
    Xlsx::new(Cursor::new(file(outputs, "ledger.xlsx").to_vec())).expect("a workbook")
}

/// Every cell of the workbook, the words of the pages, and the pictures but for photographs in them.
fn told(pack: &Pack) -> String {
    let content = handover::content::of(pack);
    let mut out = serde_json::to_string(&content).expect("words");
    for (_, svg) in handover::pictures::of(pack, &content) {
        out.extend(svg.split("base64,").enumerate().map(|(i, part)| if i == 0 { part } else { part.split_once('"').map_or("", |(_, rest)| rest) }));
    }
    let mut book = workbook(&pack.write().expect("a hand-over"));
    for name in book.sheet_names() {
        for row in book.worksheet_range(&name).expect("a sheet").rows() {
            row.iter().for_each(|cell| out.push_str(&format!("{cell}\t")));
        }
    }
    out
}

#[test]
fn pages_pictures_and_sheets_hold_the_birds() {
    let (parts, spring) = whole();
    let pack = Pack { pages: true, ..pack(&parts, &spring, true) };
    let content = handover::content::of(&pack);
    let text = content.spring.as_ref().expect("birds");
    assert_eq!(text.trend.verdict, spring.verdict);
    assert_eq!((text.trend.index.len(), text.trend.index[0][1].as_str()), (14, "1.00"), "no figure of 2020");
    assert!(text.counts.verdict[0].starts_with("Cold Rig: ") && text.counts.verdict[0].contains("in 2026, on two visits that count; it probably had"), "{:?}", text.counts.verdict);
    assert_eq!(text.counts.rows.len(), 2 * 5);
    assert!(text.broods.drawn && text.broods.rows.len() == 3 && text.broods.rows[0][2] == "23", "{:?}", text.broods.rows);
    let ahead = text.ahead.as_ref().expect("numbers ahead");
    assert!(ahead.words == "A comparison, not a promise" && ahead.verdict[0].starts_with("Option 1, More brood ground, year 10, against nothing done: +"), "{:?}", ahead.verdict);
    assert_eq!(ahead.tables.iter().map(|t| t.title.as_str()).collect::<Vec<_>>(), ["All leks counted", "Cold Rig", "Fallow Top"]);
    let network = text.network.as_ref().expect("a network");
    assert!(network.verdict.contains("matters most to the others") && network.later[0].starts_with("Option 1, More brood ground: the ground of year 10 gives 1.25 times"), "{network:?}");
    assert!(network.rows[0][5].ends_with("1.3 km"), "{:?}", network.rows);
    assert_eq!(text.after[0].works, ["wood-round-tops: Plant a wood (by the old green), 2018 to 2019, 447 m away; can be expected to show after three years"]);
    assert!(text.after[0].cannot[0].starts_with("One lek is one case"));
    // Every page names what it rests on, weakest last, and the list of figures holds all of it.
    for trust in [&text.trend.trust, &text.counts.trust, &text.broods.trust, &ahead.trust, &network.trust] {
        assert!(!trust.is_empty());
        for key in trust.iter().flat_map(|t| &t.keys) {
            assert!(content.evidence.iter().any(|e| e.key == *key), "{key} has no line among the figures");
        }
    }
    let pictures = handover::pictures::of(&pack, &content);
    for name in ["trend.svg", "split.svg", "broods.svg", "birds-ahead.svg", "birds-leks-0.svg", "birds-change.svg", "variance.svg", "network.svg"] {
        let (_, svg) = pictures.iter().find(|(n, _)| n == name).unwrap_or_else(|| panic!("{name} is not drawn"));
        assert!(!svg.contains("NaN") && !svg.contains("inf"), "{name}");
    }
    let outputs = pack.write().expect("a hand-over");
    let mut book = workbook(&outputs);
    let mut rows = |name: &str| book.worksheet_range(name).expect(name).rows().skip(1).map(<[Data]>::to_vec).collect::<Vec<_>>();
    let trend = rows("Trend");
    assert_eq!(trend.len(), 15);
    assert_eq!((&trend[8][0], &trend[8][1], trend[8][8].to_string()), (&Data::Float(2020.0), &Data::Empty, "no valid count".into()));
    let held = &spring.trend.as_ref().expect("a trend").index[3];
    assert_eq!((&trend[3][1], &trend[3][6]), (&Data::Float(held.value), &Data::Float(held.counted as f64)));
    assert_eq!(rows("Birds ahead").len(), 2 * 3 * 11 + 1);
    assert_eq!((rows("Counts weighed").len(), rows("Network").len()), (28, 2));
    check_paper(&outputs);
}

#[test]
fn birds_give_no_withheld_lek_away() {
    let (parts, spring) = whole();
    let (hidden, shown) = (told(&pack(&parts, &spring, false)), told(&pack(&parts, &spring, true)));
    let [a, b] = lek_places();
    let network = &spring.network.as_ref().expect("a network").network;
    let share = format!("{}", network.leks[0].cocks.share.p10);
    let km = (a.x() - b.x()).hypot(a.y() - b.y()) / 1000.0;
    for secret in [format!("{km:.1} km"), format!("{:.0} by hens", network.hens_capacity), share, "447 m".into(), "wood-round-tops".into(), "old green".into()] {
        assert!(shown.contains(&secret), "{secret} is not even told where leks are shown");
        assert!(!hidden.contains(&secret), "{secret} is told");
    }
    for secret in ["384512", "529377", "84512", "29377", "NY 845", "385433", "530289"] {
        assert!(!hidden.contains(secret), "{secret} is told");
    }
    assert!(hidden.contains("1 to 3 km") && hidden.contains("Plant a wood, 2018 to 2019, under 1 km away") && hidden.contains("NY 84 29"));
}

#[test]
fn birds_of_whom_little_is_known_are_handed_over() {
    // Leks that nobody counted.
    let (mut none, spring_of) = (parts(), |parts: &Parts| spring(&parts.holding, &parts.guidance));
    none.guidance = Guidance::load().expect("the tables");
    let spring = Spring { ahead: Err("No lek of the plan has a count.".into()), network: None, after: None, ..spring_of(&none) };
    let pack = Pack { spring: Some(&spring), pages: true, ..none.pack(false) };
    let content = handover::content::of(&pack);
    let text = content.spring.as_ref().expect("birds");
    assert!(text.trend.verdict.contains("no valid count") && !text.trend.drawn && text.counts.rows.is_empty());
    assert_eq!(text.counts.verdict[1], "Fallow Top has no figure: no dawn visit that counts.");
    assert!(text.broods.verdict.starts_with("No brood count is in the plan") && text.ahead.is_none() && text.no_ahead.starts_with("No lek"));
    let drawn: Vec<String> = handover::pictures::of(&pack, &content).into_iter().map(|(name, _)| name).collect();
    assert!(["trend.svg", "broods.svg", "birds-ahead.svg", "network.svg"].iter().all(|n| !drawn.iter().any(|d| d == n)), "{drawn:?}");
    check_paper(&pack.write().expect("a hand-over"));
    // One spring of one count, and no cock in it.
    none.holding.visits = vec![holding::model::Visit { id: "v".into(), lek: "L1".into(), date: day(2026, 4, 9), cocks: Some(0), ..Default::default() }];
    let spring = Spring { ahead: Err("No cock.".into()), network: None, after: None, ..spring_of(&none) };
    let content = handover::content::of(&Pack { spring: Some(&spring), ..none.pack(false) });
    let text = content.spring.expect("birds");
    assert!(text.trend.verdict.contains("No lek was ever counted with a cock"), "{}", text.trend.verdict);
    assert_eq!(text.counts.rows[0][2..4], ["1 of 1", "0"]);
    // No lek: nothing is said of birds.
    none.holding.leks.clear();
    none.assessment.leks.clear();
    assert!(handover::content::of(&Pack { spring: Some(&spring), ..none.pack(false) }).spring.is_none());
}

#[cfg(feature = "pdf")]
fn check_paper(outputs: &[Output]) {
    let pdf = file(outputs, "plan.pdf");
    assert!(pdf.starts_with(b"%PDF") && pdf.len() > 20_000, "{} bytes", pdf.len());
}

#[cfg(not(feature = "pdf"))]
fn check_paper(outputs: &[Output]) {
    assert!(outputs.iter().all(|o| o.name != "plan.pdf"));
}
