//! An option handed over: its measures, the years ahead and what money can buy, read back; nothing in it gives a withheld lek away.

#![allow(clippy::panic, reason = "a test may stop")]

mod common;

use calamine::{Data, Reader, Xlsx};
use common::*;
use geo_types::{LineString, MultiLineString, MultiPolygon, Point};
use guidance::Guidance;
use habitat::ahead::{Course, Forecast, Programme, forecast};
use habitat::{Assessed, Quantiles, Settings};
use handover::{Frontier, FrontierPoint, Next, Output, Pack, Planned};
use holding::model::{Measure, PlanOption};
use measures::option;
use measures::rules::Context;
use serde_json::json;
use std::io::Cursor;

/// A wood drawn as a round of this radius about the second lek, metres: its outline would tell where that is.
const ROUND_M: f64 = 447.0;
/// The years told.
const YEARS: [u32; 4] = [0, 1, 10, 20];

/// Everything a pack with an option borrows.
struct Whole {
    parts: Parts,
    base: Assessed,
    forecasts: Vec<(Option<u32>, Forecast)>,
}

fn measure(id: &str, kind: &str, facts: &[(&str, serde_json::Value)]) -> Measure {
    Measure { id: id.into(), option: 1, kind: kind.into(), year: Some(2028), facts: facts.iter().map(|(n, v)| ((*n).into(), v.clone())).collect(), ..Measure::default() }
}

fn on(shape: MultiPolygon<f64>, measure: Measure) -> Measure {
    Measure { shape, ..measure }
}

/// A round of corners about a point.
fn round(about: Point<f64>, radius: f64) -> LineString<f64> {
    (0..=24).map(|i| f64::from(i % 24) * std::f64::consts::TAU / 24.0).map(|a| (about.x() + radius * a.cos(), about.y() + radius * a.sin())).collect::<Vec<_>>().into()
}

fn holding() -> holding::Holding {
    let mut h = common::holding();
    let [a, b] = lek_places();
    h.options = vec![
        PlanOption { number: 1, name: "All kinds".into(), note: "drawn with care round NY 84512 29377".into() },
        PlanOption { number: 2, name: "Nothing yet".into(), note: String::new() },
    ];
    let block = |w, s, e, n| MultiPolygon(vec![block(w, s, e, n)]);
    // A piece of fence cut by a round about the first lek: its ends and its length hang on where that is.
    let near = MultiLineString(vec![LineString::from(vec![(a.x() - 211.0, SOUTH + 600.0), (a.x() + 211.0, SOUTH + 600.0)])]);
    h.measures = vec![
        on(MultiPolygon(vec![geo_types::Polygon::new(round(b, ROUND_M), vec![])]), measure("wood-round-tops", "wood", &[("stems_per_ha", json!(1100))])),
        on(block(1010.0, 620.0, 1190.0, 760.0), measure("wood-far", "wood", &[("stems_per_ha", json!(1100))])),
        on(h.woods[0].shape.clone(), measure("edge-1", "conifer_edge", &[("work", json!("feather"))])),
        measure("graze-1", "grazing", &[("parcel", json!("pa1")), ("head", json!({"Nov-Mar": 10}))]),
        on(block(100.0, 1500.0, 300.0, 1600.0), measure("heather-1", "heather", &[])),
        measure("water-1", "water", &[("ditch", json!("d1")), ("work", json!("block"))]),
        Measure { line: near, ..measure("fence-cut", "fence", &[("work", json!("mark")), ("fence", json!("f2"))]) },
        measure("mow-the-old-green", "lek_care", &[("lek", json!("L1")), ("work", json!("short"))]),
    ];
    h
}

fn whole() -> Whole {
    let mut parts = parts();
    parts.holding = holding();
    parts.guidance = Guidance::load().expect("the tables");
    let base = habitat::assess(&parts.holding, &parts.guidance, Settings { draws: 8, seed: 1, cell_m: Some(25.0) }).expect("a year");
    parts.assessment = base.assessment.clone();
    parts.pictures = base.pictures();
    let forecasts = [None, Some(1), Some(2)].map(|number| {
        let context = Context::new(&parts.holding, &parts.guidance, &base);
        let (with, programme) = number.map_or_else(
            || (parts.holding.clone(), Programme::default()),
            |n| (option::holding_with(&context, n).expect("a holding"), option::programme(&context, n).expect("a programme")),
        );
        let told = forecast(&base, &parts.holding, &parts.guidance, Course { holding: &with, programme: &programme }, &YEARS).expect("years");
        (number, told)
    });
    Whole { parts, forecasts: forecasts.into(), base }
}

impl Whole {
    fn planned(&self) -> Planned<'_> {
        let forecasts: Vec<_> = self.forecasts.iter().map(|(n, f)| (*n, f)).collect();
        let mut planned = Planned::new(&self.parts.holding, &self.parts.guidance, &self.base, 1, &forecasts).expect("an option");
        // The offers of a spending stand in for the option's own measures, laid again.
        let again = Planned::new(&self.parts.holding, &self.parts.guidance, &self.base, 1, &forecasts).expect("an option");
        let point = |gbp: f64, worth: f64| FrontierPoint {
            gbp,
            measures: 2,
            gain: Quantiles { p10: worth * 0.5, p50: worth, p90: worth * 1.5 },
            worth,
            bound: worth * 1.1,
            saved_a_year: worth * 0.02345,
        };
        planned.frontier = Some(Frontier {
            offers: 8,
            points: vec![point(0.0, 0.0), point(4321.0, 1.5), point(8765.0, 2.25)],
            next: again.jobs.into_iter().map(|job| Next { worth: 0.71, gbp: measures::kind::cost::total(&job.costs)[1], job }).collect(),
            notes: vec!["No wood is offered at 384512, 529377.".into()],
        });
        planned
    }

    fn pack<'a>(&'a self, planned: &'a Planned<'a>, show_leks: bool) -> Pack<'a> {
        Pack { option: Some(planned), ..self.parts.pack(show_leks) }
    }
}

fn workbook(outputs: &[Output]) -> Xlsx<Cursor<Vec<u8>>> {
    Xlsx::new(Cursor::new(file(outputs, "ledger.xlsx").to_vec())).expect("a workbook")
}

/// Every cell of every sheet and every text and number of every table, in one text.
fn told(outputs: &[Output]) -> String {
    let mut out = String::new();
    let mut book = workbook(outputs);
    for name in book.sheet_names() {
        for row in book.worksheet_range(&name).expect("a sheet").rows() {
            row.iter().for_each(|cell| out.push_str(&format!("{cell}\t")));
        }
    }
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("results.gpkg");
    std::fs::write(&path, file(outputs, "results.gpkg")).expect("a file");
    let store = rusqlite::Connection::open(&path).expect("a store");
    let mut tables = store.prepare("SELECT table_name FROM gpkg_contents").expect("contents");
    let names: Vec<String> = tables.query_map([], |r| r.get(0)).expect("names").map(|n| n.expect("a name")).collect();
    for name in names {
        let mut rows = store.prepare(&format!("SELECT * FROM {name}")).expect("a table");
        let columns = rows.column_count();
        let mut found = rows.query([]).expect("rows");
        while let Some(row) = found.next().expect("a row") {
            for i in 0..columns {
                match row.get_ref(i).expect("a value") {
                    rusqlite::types::ValueRef::Text(text) => out.push_str(&format!("{}\t", String::from_utf8_lossy(text))),
                    rusqlite::types::ValueRef::Real(v) => out.push_str(&format!("{v}\t")),
                    _ => {}
                }
            }
        }
    }
    out
}

/// Whether a text holds a word, not as the middle of a longer figure.
fn holds(text: &str, word: &str) -> bool {
    let of_a_figure = |c: char| c.is_ascii_digit() || c == '.';
    text.match_indices(word).any(|(i, _)| !text[..i].chars().next_back().is_some_and(of_a_figure) && !text[i + word.len()..].chars().next().is_some_and(|c| c.is_ascii_digit()))
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
    let path = folder.path().join("results.gpkg");
    std::fs::write(&path, file(&outputs, "results.gpkg")).expect("a file");
    let store = rusqlite::Connection::open(&path).expect("a store");
    let count = |sql: &str| store.query_row(sql, [], |r| r.get::<_, i64>(0)).expect(sql);
    assert_eq!(count("SELECT count(*) FROM measures"), 8);
    assert_eq!(count("SELECT count(*) FROM measures WHERE shape = 'as planned' AND year = 2028"), 8);
    let total: f64 = store.query_row("SELECT sum(gbp_usual) FROM measures", [], |r| r.get(0)).expect("money");
    assert!((total - sum).abs() < 1e-6);
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
    let raw = file(&outputs, "results.gpkg");
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
    let raw = file(&shown, "results.gpkg");
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
    let empty = Planned::new(&whole.parts.holding, &whole.parts.guidance, &whole.base, 2, &forecasts).expect("an option");
    let pack = whole.pack(&empty, false);
    let content = handover::content::of(&pack);
    let text = content.option.expect("an option");
    assert!(text.kinds.is_empty() && text.findings.is_empty() && !text.map && text.paths[2].own);
    let outputs = pack.write().expect("a hand-over");
    assert_eq!(workbook(&outputs).worksheet_range("Measures").expect("a sheet").height(), 2);
}
