//! Plain invented scenes for the tests.
#![allow(dead_code)]

use geo_types::{LineString, MultiPolygon, Point, Polygon};
use ground::{Frame, Grid};
use guidance::Guidance;
use holding::{Covers, Holding, Lek, Patch, Plant, Stems, Tree, Wood};

/// Guidance as shipped.
pub fn guidance() -> Guidance {
    Guidance::load().unwrap_or_else(|f| panic!("{f:?}"))
}

/// A rectangle from west, south, east, north in metres.
pub fn rect(w: f64, s: f64, e: f64, n: f64) -> MultiPolygon<f64> {
    MultiPolygon(vec![Polygon::new(LineString::from(vec![(w, s), (e, s), (e, n), (w, n), (w, s)]), vec![])])
}

/// Covers from plant and percent.
pub fn covers(list: &[(Plant, f32)]) -> Covers {
    let mut c = Covers([Some(0.0); 11]);
    for (p, v) in list {
        c.set(*p, *v);
    }
    c
}

/// Heath with some grass, moderately tall and mixed.
pub fn heath() -> (Covers, f32, f32) {
    (covers(&[(Plant::Heather, 55.0), (Plant::Blaeberry, 8.0), (Plant::CottonGrass, 12.0), (Plant::SedgeGrass, 15.0), (Plant::Moss, 10.0)]), 30.0, 13.0)
}

/// Acid grass, short.
pub fn grass() -> (Covers, f32, f32) {
    (covers(&[(Plant::SedgeGrass, 65.0), (Plant::Rush, 12.0), (Plant::Herbs, 10.0), (Plant::Moss, 8.0), (Plant::Heather, 4.0)]), 14.0, 7.0)
}

/// A patch of a kind of ground.
pub fn patch(id: &str, shape: MultiPolygon<f64>, (covers, height, sd): (Covers, f32, f32)) -> Patch {
    let mut p = Patch::new(id, shape);
    p.name = id.to_string();
    p.covers = covers;
    p.height_cm = Some(height);
    p.height_sd_cm = Some(sd);
    p
}

/// A closed spruce block.
pub fn spruce(id: &str, shape: MultiPolygon<f64>, planted: i32) -> Wood {
    let mut w = Wood::new(id, shape);
    w.planted = Some(planted);
    w.canopy_pct = Some(90.0);
    w.open_pct = Some(3.0);
    w.stems = vec![Stems { tree: Tree::Spruce, stems_per_ha: 2000.0, height_m: Some(18.0), age_yr: None }];
    w
}

/// A young native wood of birch, rowan and willow.
pub fn birch(id: &str, shape: MultiPolygon<f64>, planted: i32) -> Wood {
    let mut w = Wood::new(id, shape);
    w.planted = Some(planted);
    w.open_pct = Some(30.0);
    w.stems = [(Tree::Birch, 500.0), (Tree::Rowan, 200.0), (Tree::Willow, 200.0)]
        .map(|(tree, stems_per_ha)| Stems { tree, stems_per_ha, height_m: None, age_yr: None })
        .to_vec();
    w
}

/// A square of ground `half_m` each way round the lek, in strips of the given kinds and widths (shares).
pub fn strips(half_m: f64, kinds: &[(f64, (Covers, f32, f32))]) -> Holding {
    let mut h = Holding::default();
    h.about.name = "Scene".into();
    h.about.as_at = chrono::NaiveDate::from_ymd_opt(2026, 6, 15);
    let (x0, y0) = (300_000.0, 500_000.0);
    // Each strip is repeated in narrow bands so that every lek sees the same mix near and far.
    let bands = 10;
    let band = 2.0 * half_m / bands as f64;
    for b in 0..bands {
        let mut at = x0 - half_m + b as f64 * band;
        for (k, (share, kind)) in kinds.iter().enumerate() {
            let next = at + share * band;
            h.patches.push(patch(&format!("b{b}k{k}"), rect(at, y0 - half_m, next, y0 + half_m), *kind));
            at = next;
        }
    }
    h.leks.push(Lek::new("1", "Scene lek", Point::new(x0, y0)));
    h.heights = Some(Grid::filled(Frame::square(x0 - half_m, y0 + half_m, 10.0, (half_m / 5.0) as usize, (half_m / 5.0) as usize), 350.0));
    h
}
