//! An invented moor of four square kilometres with a lek at (1000, 1000), a fence, a ditch, a spruce wood, a field and ewes.

use chrono::NaiveDate;
use geo_types::{LineString, MultiLineString, MultiPolygon, Point, Rect};
use guidance::Country;
use holding::{Ditch, Fence, FenceKind, Holding, Lek, Measure, Parcel, Patch, PlanOption, Plant, Stems, Stock, StockClass, Tree, Wood};
use serde_json::Value;

pub fn rect(x0: f64, y0: f64, x1: f64, y1: f64) -> MultiPolygon<f64> {
    MultiPolygon(vec![Rect::new((x0, y0), (x1, y1)).to_polygon()])
}

pub fn line(places: &[(f64, f64)]) -> MultiLineString<f64> {
    MultiLineString(vec![LineString::from(places.to_vec())])
}

pub fn moor(country: Country) -> Holding {
    let mut h = Holding::default();
    h.about.country = country;
    h.about.name = "Test Hill".into();
    h.about.as_at = NaiveDate::from_ymd_opt(2026, 6, 1);
    h.leks = vec![Lek::new("L1", "Testrigg", Point::new(1000.0, 1000.0))];
    let mut patch = Patch::new("p", rect(0.0, 0.0, 2000.0, 2000.0));
    patch.covers.set(Plant::Heather, 40.0);
    patch.height_cm = Some(30.0);
    h.patches = vec![patch];
    let mut hill = Parcel::new("H", rect(0.0, 0.0, 2000.0, 2000.0));
    hill.name = "High Moor".into();
    h.parcels = vec![hill, Parcel::new("F", rect(0.0, 0.0, 200.0, 200.0))];
    h.stock = vec![Stock { id: "S".into(), parcel: "H".into(), class: StockClass::HillEwe, head: [200.0; 12] }];
    let mut fence = Fence::new("E", line(&[(1500.0, 1500.0), (1900.0, 1500.0)]));
    fence.kind = FenceKind::Deer;
    h.fences = vec![fence];
    h.ditches = vec![Ditch::new("D", line(&[(300.0, 300.0), (600.0, 300.0)]))];
    let mut wood = Wood::new("W", rect(1700.0, 100.0, 1900.0, 300.0));
    wood.stems = vec![Stems { tree: Tree::Spruce, stems_per_ha: 2000.0, height_m: Some(8.0), age_yr: None }];
    wood.canopy_pct = Some(80.0);
    h.woods = vec![wood];
    h.options = vec![PlanOption { number: 1, name: "Test".into(), note: String::new() }];
    h
}

/// A measure of option 1.
pub fn measure(id: &str, kind: &str, year: i32, shape: MultiPolygon<f64>, facts: &[(&str, Value)]) -> Measure {
    Measure {
        id: id.into(),
        option: 1,
        kind: kind.into(),
        year: Some(year),
        shape,
        facts: facts.iter().map(|(k, v)| (k.to_string(), v.clone())).collect(),
        ..Measure::default()
    }
}
