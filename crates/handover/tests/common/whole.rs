//! A holding with an option of every kind of measure, its years ahead and its works.

use super::*;
use calamine::{Reader, Xlsx};
use geo_types::MultiLineString;
use habitat::ahead::{Course, Forecast, Programme, forecast};
use handover::secrecy::Secrecy;
use handover::{Asked, Frontier, FrontierPoint, Next, Planned, Works};
use measures::option;
use measures::rules::Context;
use serde_json::json;
use std::io::Cursor;
use works::tasks::Hands;

/// A wood drawn as a round of this radius about the second lek, metres: its outline would tell where that is.
pub const ROUND_M: f64 = 447.0;
/// The years told.
pub const YEARS: [u32; 4] = [0, 1, 10, 20];

/// Everything a pack with an option borrows.
pub struct Whole {
    pub parts: Parts,
    pub base: Assessed,
    pub forecasts: Vec<(Option<u32>, Forecast)>,
}

pub fn measure(id: &str, kind: &str, facts: &[(&str, serde_json::Value)]) -> Measure {
    Measure { id: id.into(), option: 1, kind: kind.into(), year: Some(2028), facts: facts.iter().map(|(n, v)| ((*n).into(), v.clone())).collect(), ..Measure::default() }
}

fn on(shape: MultiPolygon<f64>, measure: Measure) -> Measure {
    Measure { shape, ..measure }
}

/// A round of corners about a point.
pub fn round(about: Point<f64>, radius: f64) -> LineString<f64> {
    (0..=24).map(|i| f64::from(i % 24) * std::f64::consts::TAU / 24.0).map(|a| (about.x() + radius * a.cos(), about.y() + radius * a.sin())).collect::<Vec<_>>().into()
}

pub fn holding() -> holding::Holding {
    let mut h = super::holding();
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

pub fn whole() -> Whole {
    whole_of(holding())
}

/// All a pack with an option of a holding borrows.
pub fn whole_of(holding: holding::Holding) -> Whole {
    let mut parts = parts();
    parts.holding = holding;
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
    pub fn planned(&self) -> Planned<'_> {
        let forecasts: Vec<_> = self.forecasts.iter().map(|(n, f)| (*n, f)).collect();
        let mut planned = Planned::new((&self.parts.holding, &Secrecy::new(&self.parts.holding, false)), &self.parts.guidance, &self.base, 1, &forecasts).expect("an option");
        // The offers of a spending stand in for the option's own measures, laid again.
        let again = Planned::new((&self.parts.holding, &Secrecy::new(&self.parts.holding, false)), &self.parts.guidance, &self.base, 1, &forecasts).expect("an option");
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
            next: again.jobs.into_iter().map(|job| Next { worth: 0.71, gbp: Planned::gbp(&job)[1], job }).collect(),
            notes: vec!["No wood is offered at 384512, 529377.".into()],
        });
        planned
    }

    /// The works of the option, from the start of 2027 on.
    pub fn works(&self, show_leks: bool) -> Works {
        let context = Context::new(&self.parts.holding, &self.parts.guidance, &self.base);
        let hands = Hands::of(&context, None).expect("hands");
        let settings = works::tasks::Settings::years(day(2027, 1, 4), 4);
        let asked = Asked { option: 1, settings, hands, own_rates: vec![], late_days: 30, gain: Some([0.2, 0.5, 0.9]), usable_ha: Some([1.0, 4.0, 9.0]) };
        Works::new(context, asked, &Secrecy::new(&self.parts.holding, show_leks)).expect("works")
    }

    pub fn pack<'a>(&'a self, planned: &'a Planned<'a>, show_leks: bool) -> Pack<'a> {
        Pack { option: Some(planned), ..self.parts.pack(show_leks) }
    }
}

/// Every cell of every sheet, every text and number of every table, and the text of every other file but paper, in one text.
pub fn told(outputs: &[Output]) -> String {
    outputs.iter().map(|o| told_by(o) + "\n").collect()
}

/// What one file says.
pub fn told_by(output: &Output) -> String {
    match output.name.rsplit('.').next().unwrap_or_default() {
        "xlsx" => sheets(&output.bytes),
        "gpkg" => tables(&output.bytes),
        "pdf" => String::new(),
        _ => String::from_utf8(output.bytes.clone()).expect("a text").replace("\r\n ", ""),
    }
}

fn sheets(bytes: &[u8]) -> String {
    let mut out = String::new();
    let mut book: Xlsx<_> = Xlsx::new(Cursor::new(bytes.to_vec())).expect("a workbook");
    for name in book.sheet_names() {
        for row in book.worksheet_range(&name).expect("a sheet").rows() {
            row.iter().for_each(|cell| out.push_str(&format!("{cell}\t")));
        }
    }
    out
}

/// A GeoPackage as a store.
pub fn store(bytes: &[u8]) -> (tempfile::TempDir, rusqlite::Connection) {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("copy.gpkg");
    std::fs::write(&path, bytes).expect("a file");
    let store = rusqlite::Connection::open(&path).expect("a store");
    (folder, store)
}

fn tables(bytes: &[u8]) -> String {
    let mut out = String::new();
    let (_folder, store) = store(bytes);
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
pub fn holds(text: &str, word: &str) -> bool {
    let of_a_figure = |c: char| c.is_ascii_digit() || c == '.';
    text.match_indices(word).any(|(i, _)| !text[..i].chars().next_back().is_some_and(of_a_figure) && !text[i + word.len()..].chars().next().is_some_and(|c| c.is_ascii_digit()))
}
