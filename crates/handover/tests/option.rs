//! An option handed over: its measures, the years ahead and what money can buy, read back; nothing in it gives a withheld lek away.

#![allow(clippy::panic, reason = "a test may stop")]

mod common;

use calamine::{Data, Reader, Xlsx};
use common::*;
use common::whole::{ROUND_M, YEARS, holds, round, told, whole};
use handover::secrecy::Secrecy;
use handover::{Output, Pack, Planned};
use std::io::Cursor;

fn workbook(outputs: &[Output]) -> Xlsx<Cursor<Vec<u8>>> {
    Xlsx::new(Cursor::new(file(outputs, "ledger.xlsx").to_vec())).expect("a workbook")
}

/// The words and pictures of the pages.
fn pages(pack: &Pack) -> String {
    let content = handover::content::of(pack);
    let pictures = handover::pictures::of(pack, &content).into_iter().map(|(_, svg)| svg.split("base64,").enumerate().map(|(i, part)| if i == 0 { part } else { part.split_once('"').map_or("", |(_, rest)| rest) }).collect::<String>());
    pictures.chain([serde_json::to_string(&content).expect("words")]).collect::<Vec<_>>().join(" ")
}

#[test]
fn an_option_is_in_words_sheets_and_the_copy() {
    let whole = whole();
    let planned = whole.planned();
    assert!(planned.faults.is_empty(), "{:?}", planned.faults);
    let pack = whole.pack(&planned, true);
    let content = handover::content::of(&pack);
    let text = content.option.as_ref().expect("an option");
    assert_eq!(text.name, "Option 1, All kinds");
    assert_eq!(text.paths.iter().map(|p| (p.now, p.own)).collect::<Vec<_>>(), [(true, false), (false, true), (false, false)]);
    assert_eq!(text.years, ["now", "year 10 (2036)", "year 20 (2046)"]);
    // An option that does nothing is as now in every figure; one that plants and mows is not.
    assert_eq!(text.paths[0].met, text.paths[2].met);
    assert_ne!(text.paths[0].met[1], text.paths[1].met[1]);
    assert_eq!(text.paths[2].apart, "told apart from as now in 0 of 56 seasons, leks and years");
    let jobs: Vec<_> = text.kinds.iter().flat_map(|k| &k.jobs).collect();
    assert_eq!(jobs.iter().map(|j| j.number).collect::<Vec<_>>(), (1..=8).collect::<Vec<_>>());
    assert!(jobs.iter().all(|j| !j.window.is_empty() && !j.title.is_empty()), "{jobs:#?}");
    assert!(text.kinds.iter().all(|k| !k.cautions.is_empty() && k.map), "every kind has a map and what to mind");
    // The sum of the measures is the cost of the option, to the pound.
    let sum = planned.jobs.iter().map(|j| Planned::gbp(j)[1]).sum::<f64>();
    assert!((sum - planned.own().expect("a path").gbp[1]).abs() < 1e-6 && sum > 0.0, "{sum}");
    let pictures = handover::pictures::of(&pack, &content);
    let picture = |wanted: &str| pictures.iter().find(|(name, _)| name == wanted).map(|(_, svg)| svg.as_str()).expect(wanted);
    for season in habitat::Season::ALL {
        assert!(picture("ahead-0.svg").contains(&format!(">{}</text>", season.name())) && picture("paired-1.svg").contains(season.name()));
    }
    assert_eq!(picture("paired-met.svg").matches(">the same</text>").count(), 2, "the option that does nothing, in both years");
    // Every measure has its number on the map of all and on that of its kind.
    assert!((1..=8).all(|n| picture("measures.svg").contains(&format!(">{n}</text>"))));
    assert!(picture("measures-wood.svg").contains(">2</text>") && picture("measures-wood.svg").contains("h-do-plant"));
    let drawn: Vec<&String> = pictures.iter().map(|(name, _)| name).collect();
    for name in ["paired-met.svg", "paired-1.svg", "ahead-0.svg", "frontier.svg", "measures.svg", "measures-wood.svg", "measures-lek_care.svg"] {
        assert!(drawn.iter().any(|d| *d == name), "{name} is not among {drawn:?}");
    }
    let outputs = pack.write().expect("a hand-over");
    let mut book = workbook(&outputs);
    let rows = |book: &mut Xlsx<_>, name: &str| book.worksheet_range(name).expect("a sheet").height() - 1;
    assert_eq!(rows(&mut book, "Measures"), 8 + 1, "and what is to be said of money");
    let told: usize = planned.jobs.iter().map(|j| j.quantities.iter().filter(|q| q.amount != 0.0).count()).sum();
    assert_eq!(rows(&mut book, "Quantities"), told);
    assert_eq!(rows(&mut book, "Years ahead"), 3 * 2 * 7 * YEARS.len());
    assert_eq!((rows(&mut book, "Money"), rows(&mut book, "Next pound")), (2, 8));
    let costs = book.worksheet_range("Costs").expect("a sheet");
    let usual: f64 = costs.rows().skip(1).filter_map(|r| if let Data::Float(v) = r[7] { Some(v) } else { None }).sum();
    assert!((usual - sum).abs() < 1e-6, "the sheet's {usual} is not {sum}");
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("measures.gpkg");
    std::fs::write(&path, file(&outputs, "gis/measures.gpkg")).expect("a file");
    let store = rusqlite::Connection::open(&path).expect("a store");
    let count = |sql: &str| store.query_row(sql, [], |r| r.get::<_, i64>(0)).expect(sql);
    assert_eq!(count("SELECT count(*) FROM measures"), 8);
    assert_eq!(count("SELECT count(*) FROM measures WHERE shape = 'as planned' AND year = 2028"), 8);
    assert_eq!(count("SELECT count(*) FROM measures WHERE cost_pence IS NOT NULL"), 0, "no account is handed over");
}

#[test]
fn a_plan_without_an_option_says_nothing_of_one() {
    let parts = parts();
    let outputs = parts.write(true);
    let names = workbook(&outputs).sheet_names();
    assert!(!names.iter().any(|n| ["Measures", "Costs", "Years ahead"].contains(&n.as_str())), "{names:?}");
    assert!(!told(&outputs).contains("measures"), "no table of measures");
}

#[test]
fn an_option_gives_no_withheld_lek_away() {
    let whole = whole();
    let planned = whole.planned();
    let outputs = whole.pack(&planned, false).write().expect("a hand-over");
    let text = format!("{} {}", told(&outputs), pages(&whole.pack(&planned, false)));
    let [a, b] = lek_places();
    // Coordinates of leks, names of ground that tell, and names people gave to measures at a lek.
    for secret in ["384512", "529377", "84512", "29377", "NY 845", "385433", "530289", "85433", "30289", "NY8451", "wood-round-tops", "mow-the-old-green", "fence-cut"] {
        assert!(!holds(&text, secret), "{secret} is told");
    }
    // How far the measures lie from the leks, and how long and large those are that hang on one.
    let exact = |wanted: &str| planned.jobs.iter().find(|j| j.measure.id == wanted).expect("a measure").quantities.iter().map(|q| q.amount).filter(|v| v.fract() != 0.0).collect::<Vec<_>>();
    for (id, amount) in ["wood-round-tops", "fence-cut", "mow-the-old-green"].into_iter().flat_map(|id| exact(id).into_iter().map(move |v| (id, v))) {
        let cut = format!("{amount}");
        assert!(!holds(&text, &cut), "{id}: {cut} is told");
    }
    for metres in [format!("{ROUND_M:.0} m"), format!("{:.0} m", SOUTH + 600.0 - a.y()), "422 m".into(), "223 m".into()] {
        assert!(!holds(&text, &metres), "{metres} is told");
    }
    // No corner of what was drawn about a lek left in the copy, nor a lek.
    let raw = file(&outputs, "gis/measures.gpkg");
    let kept = |x: f64, y: f64| raw.windows(16).any(|w| w[..8] == x.to_le_bytes() && w[8..] == y.to_le_bytes());
    for corner in round(b, ROUND_M).0.iter().chain(&whole.parts.holding.measures[6].line.0[0].0) {
        assert!(!kept(corner.x, corner.y), "{corner:?} is in the copy");
    }
    for value in lek_places().iter().flat_map(|p| [p.x(), p.y()]) {
        assert!(!raw.windows(8).any(|w| w == value.to_le_bytes()), "{value} is in the copy");
    }
    // What ties to no lek stays exact: the far wood by its own name and corners.
    assert!(text.contains("wood-far") && text.contains("kilometre square of the lek, place withheld"));
    let content = handover::content::of(&whole.pack(&planned, false));
    let jobs: Vec<_> = content.option.as_ref().expect("an option").kinds.iter().flat_map(|k| k.jobs.iter().cloned()).collect();
    assert_eq!(jobs.iter().filter(|j| j.place.contains("place withheld")).count(), 3, "{jobs:#?}");
    // A hand-over that shows leks holds all of what was looked for: the search above can find it.
    let shown = whole.pack(&planned, true).write().expect("a hand-over");
    let shown_text = format!("{} {}", told(&shown), pages(&whole.pack(&planned, true)));
    for told in ["wood-round-tops", "mow-the-old-green", "fence-cut", "84512 29377"] {
        assert!(shown_text.contains(told), "{told} is nowhere even where leks are shown");
    }
    let raw = file(&shown, "gis/measures.gpkg");
    let corner = whole.parts.holding.measures[6].line.0[0].0[0];
    assert!(raw.windows(16).any(|w| w[..8] == corner.x.to_le_bytes() && w[8..] == corner.y.to_le_bytes()));
}

#[test]
fn the_same_option_gives_the_same_bytes() {
    let whole = whole();
    let (one, other) = (whole.planned(), whole.planned());
    let set = |planned| Pack { pages: true, ..whole.pack(planned, false) }.write().expect("a hand-over");
    for (a, b) in set(&one).iter().zip(set(&other)) {
        assert!(a.bytes == b.bytes, "{} differs from run to run", a.name);
    }
}

#[test]
fn an_option_without_measures_or_leks_is_handed_over() {
    let whole = whole();
    let forecasts: Vec<_> = whole.forecasts.iter().map(|(n, f)| (*n, f)).collect();
    let empty = Planned::new((&whole.parts.holding, &Secrecy::new(&whole.parts.holding, false)), &whole.parts.guidance, &whole.base, 2, &forecasts).expect("an option");
    let pack = whole.pack(&empty, false);
    let content = handover::content::of(&pack);
    let text = content.option.expect("an option");
    assert!(text.kinds.is_empty() && text.findings.is_empty() && !text.map && text.paths[2].own);
    let outputs = pack.write().expect("a hand-over");
    assert_eq!(workbook(&outputs).worksheet_range("Measures").expect("a sheet").height(), 2);
}
