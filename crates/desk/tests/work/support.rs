//! The demonstration holding with an option, made ready once.

use desk::Start;
use desk::api::edit::MeasureDraft;
use geo_types::{LineString, MultiPolygon, Polygon};
use guidance::Guidance;
use habitat::Settings;
use holding::{Holding, Measure, PlanOption};
use serde_json::json;
use std::sync::{Arc, OnceLock};

/// Draws of the tests: enough for a spread.
pub const DRAWS: usize = 24;

/// The demonstration holding with an option of a wood and less stock, and one of nothing.
pub fn plan() -> Holding {
    let mut h = demo::holding(1);
    let option = |number, name: &str| PlanOption { number, name: name.into(), note: String::new() };
    h.options = vec![option(1, "Trees"), option(2, "Nothing yet")];
    let parcel = h.stock[0].parcel.clone();
    h.measures = vec![
        Measure { id: "wood-1".into(), option: 1, kind: "wood".into(), year: Some(2027), shape: near_lek(&h, 0, 700.0, 0.0, 90.0), ..Measure::default() },
        Measure {
            id: "grazing-1".into(),
            option: 1,
            kind: "grazing".into(),
            year: Some(2028),
            facts: [("parcel".to_string(), json!(parcel)), ("head".to_string(), json!({"Apr-Oct": 60, "Nov-Mar": 20}))].into(),
            ..Measure::default()
        },
    ];
    h
}

/// A round piece of ground by a lek.
pub fn near_lek(h: &Holding, lek: usize, east_m: f64, north_m: f64, radius_m: f64) -> MultiPolygon<f64> {
    let (x, y) = (h.leks[lek].at.x() + east_m, h.leks[lek].at.y() + north_m);
    let at = |k: usize| (k as f64 * std::f64::consts::TAU / 24.0).sin_cos();
    let ring: Vec<(f64, f64)> = (0..=24).map(|k| at(k % 24)).map(|(a, b)| (x + radius_m * a, y + radius_m * b)).collect();
    MultiPolygon(vec![Polygon::new(LineString::from(ring), vec![])])
}

/// A plan made ready.
pub fn started(h: Holding) -> Start {
    let guidance = Guidance::load().unwrap();
    let base = habitat::assess(&h, &guidance, Settings { draws: DRAWS, seed: 1, cell_m: None }).unwrap();
    Start { holding: Arc::new(h), guidance: Arc::new(guidance), base: Arc::new(base) }
}

/// The plan of [`plan`], made ready once for all tests.
pub fn start() -> Start {
    static START: OnceLock<Start> = OnceLock::new();
    START.get_or_init(|| started(plan())).clone()
}

/// The same survey with other measures.
pub fn with_measures(start: &Start, change: impl FnOnce(&mut Vec<Measure>)) -> Start {
    let mut h = Holding::clone(&start.holding);
    change(&mut h.measures);
    Start { holding: Arc::new(h), ..start.clone() }
}

/// A wood as a page draws it.
pub fn drawn(shape: &MultiPolygon<f64>, option: u32, id: Option<&str>) -> MeasureDraft {
    MeasureDraft {
        id: id.map(str::to_string),
        option,
        kind: "wood".into(),
        year: Some(2027),
        geometry: Some(desk::work::shapes::geojson(shape.clone())),
        facts: Default::default(),
    }
}
