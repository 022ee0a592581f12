//! A small plain holding for the tests of the rules.

use super::{Checked, Context, Finding};
use chrono::NaiveDate;
use geo_types::{LineString, MultiLineString, MultiPolygon, Point, Rect};
use guidance::{Country, Guidance};
use habitat::Settings;
use holding::{Holding, Lek, Patch, Plant, Stems, Tree, Visit, Wood};

/// A rectangle.
pub fn rect(x0: f64, y0: f64, x1: f64, y1: f64) -> MultiPolygon<f64> {
    MultiPolygon(vec![Rect::new((x0, y0), (x1, y1)).to_polygon()])
}

/// A line.
pub fn line(points: &[(f64, f64)]) -> MultiLineString<f64> {
    MultiLineString(vec![LineString::from(points.to_vec())])
}

/// A patch of heath and grass at a height with a spread of half of it, everything recorded.
pub fn patch(id: &str, shape: MultiPolygon<f64>, height_cm: f32) -> Patch {
    let mut patch = Patch::new(id, shape);
    patch.name = id.to_string();
    for plant in Plant::ALL {
        patch.covers.set(plant, 0.0);
    }
    patch.covers.set(Plant::Heather, 40.0);
    patch.covers.set(Plant::SedgeGrass, 30.0);
    patch.covers.set(Plant::CottonGrass, 10.0);
    patch.height_cm = Some(height_cm);
    patch.height_sd_cm = Some(height_cm / 2.0);
    patch.wetness = Some(0.3);
    patch
}

/// A wood of one species.
pub fn wood(id: &str, shape: MultiPolygon<f64>, tree: Tree, height_m: f32, canopy_pct: f32, planted: i32) -> Wood {
    let mut wood = Wood::new(id, shape);
    wood.name = id.to_string();
    wood.planted = Some(planted);
    wood.canopy_pct = Some(canopy_pct);
    wood.stems = vec![Stems { tree, stems_per_ha: 1_600.0, height_m: Some(height_m), age_yr: None }];
    for plant in Plant::ALL {
        wood.ground_covers.set(plant, 5.0);
    }
    wood
}

/// Four square kilometres of moor at 30 cm, the lek on a short hectare in the middle (1000, 1000), counted this spring.
pub fn moor() -> Holding {
    let mut h = Holding::default();
    h.about.country = Country::GB;
    h.about.as_at = NaiveDate::from_ymd_opt(2026, 6, 15);
    h.leks = vec![Lek::new("L1", "Testrigg", Point::new(1000.0, 1000.0))];
    let green = patch("Green", rect(940.0, 940.0, 1060.0, 1060.0), 8.0);
    h.patches = vec![
        patch("North", rect(0.0, 1060.0, 2000.0, 2000.0), 30.0),
        patch("West", rect(0.0, 940.0, 940.0, 1060.0), 30.0),
        green,
        patch("East", rect(1060.0, 940.0, 2000.0, 1060.0), 30.0),
        patch("South", rect(0.0, 0.0, 2000.0, 940.0), 30.0),
    ];
    h.visits = vec![Visit {
        id: "V1".to_string(),
        lek: "L1".to_string(),
        date: NaiveDate::from_ymd_opt(2026, 4, 20).unwrap(),
        start: None,
        cocks: Some(6),
        hens: None,
        weather: String::new(),
        note: String::new(),
        ..Visit::default()
    }];
    h
}

/// A survey with next to nothing recorded: no date, counts, heights, covers or ages.
pub fn bare() -> Holding {
    let mut h = Holding { leks: vec![Lek::new("L1", "", Point::new(500.0, 500.0))], ..Holding::default() };
    h.patches = vec![Patch::new("p", rect(0.0, 0.0, 1000.0, 1000.0)), Patch::new("empty", MultiPolygon(vec![]))];
    h.woods = vec![Wood::new("w", rect(1000.0, 0.0, 1200.0, 1000.0))];
    h.fences = vec![holding::Fence::new("f", line(&[(0.0, 0.0), (1000.0, 1000.0)])), holding::Fence::new("none", MultiLineString(vec![]))];
    h.ditches = vec![holding::Ditch::new("d", line(&[(0.0, 500.0), (1000.0, 500.0)]))];
    h.tracks = vec![holding::Track::new("t", line(&[(0.0, 500.0), (1000.0, 500.0)]))];
    h.parcels = vec![holding::Parcel::new("a", rect(0.0, 0.0, 300.0, 300.0))];
    h
}

/// Assess a holding and run one check on it.
pub fn run(holding: &Holding, check: fn(&Context) -> Checked) -> Vec<Finding> {
    let guidance = Guidance::load().unwrap();
    let assessed = habitat::assess(holding, &guidance, Settings { draws: 16, seed: 1, cell_m: Some(10.0) }).unwrap();
    check(&Context::new(holding, &guidance, &assessed)).unwrap()
}

/// Level ground at 300 m under and round the moor.
pub fn flat() -> ground::Grid<f32> {
    slope(0.0)
}

/// Ground that rises evenly to the east at an angle, degrees.
pub fn slope(deg: f64) -> ground::Grid<f32> {
    let frame = ground::Frame::covering(-500.0, -500.0, 2500.0, 2500.0, 10.0);
    let mut grid = ground::Grid::filled(frame, 300.0f32);
    for row in 0..frame.rows {
        for col in 0..frame.cols {
            let (x, _) = frame.centre(col, row);
            grid.cells[frame.at(col, row)] = (300.0 + x * deg.to_radians().tan()) as f32;
        }
    }
    grid
}

/// The moor with more of it all round, so that every reach of the lek is mapped.
pub fn wide() -> Holding {
    let mut h = moor();
    for (id, shape) in [
        ("Far north", rect(-2500.0, 2000.0, 4500.0, 4500.0)),
        ("Far south", rect(-2500.0, -2500.0, 4500.0, 0.0)),
        ("Far west", rect(-2500.0, 0.0, 0.0, 2000.0)),
        ("Far east", rect(2000.0, 0.0, 4500.0, 2000.0)),
    ] {
        h.patches.push(patch(id, shape, 30.0));
    }
    h
}

/// The moor as one hill parcel with hill ewes a hectare in summer and winter.
pub fn grazed(summer_per_ha: f32, winter_per_ha: f32) -> Holding {
    let mut h = moor();
    let mut hill = holding::Parcel::new("H", rect(0.0, 0.0, 2000.0, 2000.0));
    hill.name = "Test Hill".to_string();
    let (s, w) = (400.0 * summer_per_ha, 400.0 * winter_per_ha);
    h.parcels = vec![hill];
    h.stock = vec![holding::Stock {
        id: "S".to_string(),
        parcel: "H".to_string(),
        class: holding::StockClass::HillEwe,
        head: [w, w, w, s, s, s, s, s, s, s, w, w],
    }];
    h
}
