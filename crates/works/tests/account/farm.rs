//! The invented farm of docs/accounts.md, and looking at plans like it.

use chrono::NaiveDate;
use geo_types::{LineString, MultiLineString, MultiPolygon, Point, Rect};
use guidance::{Country, Guidance};
use habitat::Settings;
use holding::{Holding, Lek, Measure, Parcel, ParcelKind, Patch, PlanOption, Stock, StockClass};
use measures::rules::Context;
use serde_json::{Value, json};
use works::account::{Account, Ask, of_option};

pub fn rect(x0: f64, y0: f64, x1: f64, y1: f64) -> MultiPolygon<f64> {
    MultiPolygon(vec![Rect::new((x0, y0), (x1, y1)).to_polygon()])
}

pub fn measure(id: &str, kind: &str, year: i32, shape: MultiPolygon<f64>, facts: &[(&str, Value)]) -> Measure {
    let facts = facts.iter().map(|(name, value)| (name.to_string(), value.clone())).collect();
    Measure { id: id.to_string(), option: 1, kind: kind.to_string(), year: Some(year), shape, facts, ..Measure::default() }
}

pub fn nowhere() -> MultiPolygon<f64> {
    MultiPolygon(vec![])
}

/// High Moor (40 ha), Gill Park (4 ha) and Low Field (10 ha), nothing planned.
pub fn bare(country: Country) -> Holding {
    let mut h = Holding::default();
    h.about.country = country;
    h.about.as_at = NaiveDate::from_ymd_opt(2026, 6, 15);
    h.leks = vec![Lek::new("L1", "Testrigg", Point::new(200.0, 500.0))];
    h.patches = vec![Patch::new("all", rect(0.0, 0.0, 1000.0, 1000.0))];
    let parcel = |id: &str, name: &str, kind, shape| {
        let mut parcel = Parcel::new(id, shape);
        (parcel.name, parcel.kind) = (name.to_string(), kind);
        parcel
    };
    h.parcels = vec![
        parcel("H", "High Moor", ParcelKind::Hill, rect(0.0, 0.0, 400.0, 1000.0)),
        parcel("G", "Gill Park", ParcelKind::Rough, rect(400.0, 0.0, 600.0, 200.0)),
        parcel("F", "Low Field", ParcelKind::InByePasture, rect(600.0, 0.0, 800.0, 500.0)),
    ];
    let (summer, winter) = (40.0, 20.0);
    let head = [winter, winter, winter, summer, summer, summer, summer, summer, summer, summer, winter, winter];
    h.stock = vec![Stock { id: "S".to_string(), parcel: "H".to_string(), class: StockClass::HillEwe, head }];
    h.options = vec![PlanOption { number: 1, name: "Main".to_string(), note: String::new() }];
    h
}

/// The farm with its option.
pub fn farm() -> Holding {
    let mut h = bare(Country::England);
    let wood = [
        ("stems_per_ha", json!(500)),
        ("mix", json!({"birch": 60, "rowan": 40})),
        ("protection", json!("fence")),
        ("fence_kind", json!("stock")),
        ("fence_marking", json!("none")),
    ];
    let line = MultiLineString(vec![LineString::from(vec![(610.0, 10.0), (610.0, 310.0)])]);
    h.measures = vec![
        measure("W1", "wood", 2027, rect(450.0, 0.0, 550.0, 200.0), &wood),
        measure("G1", "grazing", 2027, nowhere(), &[("parcel", json!("H")), ("off_winter_head", json!(20)), ("years", json!(3))]),
        measure("H1", "heather", 2027, rect(0.0, 0.0, 300.0, 400.0), &[("work", json!("cut")), ("machine", json!("tracked"))]),
        measure(
            "R1",
            "inbye",
            2028,
            nowhere(),
            &[("work", json!("rush")), ("parcel", json!("Low Field")), ("share_pct", json!(30)), ("years", json!(5))],
        ),
        Measure { line, ..measure("F1", "fence", 2028, nowhere(), &[("work", json!("new")), ("gates", json!(2))]) },
    ];
    h
}

/// Assess a holding and look at it.
pub fn with<T>(holding: &Holding, look: impl FnOnce(&Context, &Guidance) -> T) -> T {
    let guidance = Guidance::load().unwrap();
    let assessed = habitat::assess(holding, &guidance, Settings { draws: 2, seed: 1, cell_m: Some(50.0) }).unwrap();
    look(&Context::new(holding, &guidance, &assessed), &guidance)
}

/// The account of option 1, asked as it is usual but for what `change` changes.
pub fn account(holding: &Holding, change: impl FnOnce(&mut Ask, &Guidance)) -> Account {
    with(holding, |c, guidance| {
        let mut ask = Ask::of(guidance, holding.about.country, 1).unwrap();
        change(&mut ask, guidance);
        of_option(c, &ask).unwrap()
    })
}
