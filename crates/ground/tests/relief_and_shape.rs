//! Relief shading, roughness and curvature against a reference library and closed forms.
//!
//! Fixtures in `data/02_terrain`: gdaldem 3.6.2 and closed forms, made once.

#![allow(clippy::unwrap_used, reason = "a test may stop")]

use ground::curvature::{Curvature, Derivatives, curvature};
use ground::relief::shade;
use ground::roughness::{position_m, range_m, ruggedness_m};
use ground::slope::{Gradient, Rim, aspect_deg, slope_deg};
use ground::{Frame, Grid};
use crate::support::{asc, asc64, assert_close, assert_close_bearings};

/// Grey levels within one, missing cells the same.
fn assert_grey(ours: &Grid<u8>, theirs: &Grid<f32>) {
    for (k, (&a, &b)) in ours.cells.iter().zip(&theirs.cells).enumerate() {
        // The missing value of the fixtures is 0.
        assert_eq!(a == 0, b.is_nan(), "cell {k}");
        assert!(b.is_nan() || (f32::from(a) - b).abs() <= 1.0, "cell {k}: {a} and {b}");
    }
}

#[test]
fn published_window_for_relief() {
    // A GIS help page on hillshade (the nine heights from memory): 153.82, printed as 154, on the scale 255 cos i; gdaldem's
    // 1 + 254 cos i gives 154 too.
    let heights = vec![2450., 2461., 2483., 2452., 2461., 2483., 2447., 2455., 2477.];
    let w = Grid::from_cells(Frame::square(0.0, 15.0, 5.0, 3, 3), heights).unwrap();
    assert_eq!(shade(&w, 315.0, 45.0, 1.0, Rim::Missing).get(1, 1), 154);
}

#[test]
fn relief_equals_gdaldem() {
    let dem = asc("02_terrain/dem.asc");
    assert_grey(&shade(&dem, 315.0, 45.0, 1.0, Rim::Missing), &asc("02_terrain/hillshade_315_45.asc"));
    assert_grey(&shade(&dem, 315.0, 45.0, 1.0, Rim::Continued), &asc("02_terrain/hillshade_315_45_edges.asc"));
    for name in ["slope", "aspect", "hillshade"] {
        // In these windows the sun is behind the ground in two of three cases: darkest, but not missing.
        let shown = shade(&asc(&format!("02_terrain/win_{name}_help.asc")), 315.0, 45.0, 1.0, Rim::Missing).get(1, 1);
        assert_eq!(shown, if name == "hillshade" { 154 } else { 1 });
    }
}

#[test]
fn roughness_equals_gdaldem() {
    // Single precision: heights near 400 m are known to 3e-5 m, sums of eight to a few times that.
    let dem = asc("02_terrain/dem.asc");
    assert_close(&ruggedness_m(&dem, Rim::Missing), &asc("02_terrain/tri_riley.asc"), 2e-4);
    assert_close(&position_m(&dem, Rim::Missing), &asc("02_terrain/tpi.asc"), 2e-4);
    assert_close(&range_m(&dem, Rim::Missing), &asc("02_terrain/roughness.asc"), 1e-4);
}

#[test]
fn curvature_of_a_quadratic_surface_is_exact() {
    // Closed form; Zevenbergen & Thorne 1987 and Evans 1972 both fit such a surface without error. The last three columns are
    // the measures of Zevenbergen & Thorne, times 100, worked out here from our derivatives. Columns carry nine figures.
    let heights = asc64("02_terrain/quad.asc");
    let single = asc("02_terrain/quad.asc");
    let slope = slope_deg(&single, Gradient::Horn, Rim::Missing);
    let aspect = aspect_deg(&single, Gradient::Horn, Rim::Missing);
    assert_close(&slope, &asc("02_terrain/quad_slope_horn.asc"), 2e-4);
    let table = std::fs::read_to_string("tests/data/02_terrain/curvature_quad.csv").unwrap();
    let mut n = 0;
    for line in table.lines().skip(1) {
        let v: Vec<f64> = line.split(',').map(|w| w.parse().unwrap()).collect();
        let (row, col) = (v[0] as usize, v[1] as usize);
        let mut window = [0.0; 9];
        for (k, cell) in window.iter_mut().enumerate() {
            *cell = heights.get(col + k % 3 - 1, row + k / 3 - 1);
        }
        let d = Derivatives::of(&window, 10.0, 10.0);
        let steep = d.p * d.p + d.q * d.q;
        let (dz, ez, fz) = (d.r / 2.0, d.t / 2.0, d.s);
        let found = [
            d.p,
            d.q,
            d.r,
            d.s,
            d.t,
            steep.sqrt().atan().to_degrees(),
            (-d.p).atan2(-d.q).to_degrees().rem_euclid(360.0),
            d.laplacian(),
            d.curvature(Curvature::Profile),
            d.curvature(Curvature::Plan),
            d.curvature(Curvature::Tangential),
            -2.0 * (dz + ez) * 100.0,
            -2.0 * (dz * d.p * d.p + ez * d.q * d.q + fz * d.p * d.q) / steep * 100.0,
            2.0 * (dz * d.q * d.q + ez * d.p * d.p - fz * d.p * d.q) / steep * 100.0,
        ];
        for (k, (ours, wanted)) in found.iter().zip(&v[2..]).enumerate() {
            // Nine printed figures; and the heights, near 415 m, hold 6e-14 m, which a second difference over 10 m
            // turns into some 1e-15 a metre.
            let allowed = 5.1e-9 * wanted.abs() + 1e-13;
            assert!((ours - wanted).abs() <= allowed, "column {k} at {col} {row}: {ours} and {wanted}");
        }
        assert!((f64::from(slope.get(col, row)) - v[7]).abs() < 2e-4);
        // Heights rounded to single precision, 3e-5 m here, turn the bearing of gentler ground by more than the tolerance.
        if v[7] > 4.0 {
            assert!((f64::from(aspect.get(col, row)) - v[8]).abs() < 2e-3);
        }
        n += 1;
    }
    assert_eq!(n, 49);
}

#[test]
fn curvature_grid_tells_a_spur_from_a_hollow() {
    // z = -0.001 x² - 0.1 y: a spur falling north. Across the fall the ground parts; down it, it is straight.
    let frame = Frame::square(-35.0, 35.0, 10.0, 7, 7);
    let of = |sign: f32| {
        let cells = (0..49).map(|k| {
            let (x, y) = frame.centre(k % 7, k / 7);
            sign * -0.001 * (x * x) as f32 - 0.1 * y as f32 + 100.0
        });
        Grid { frame, cells: cells.collect() }
    };
    let plan = |g: &Grid<f32>| curvature(g, Curvature::Plan, Rim::Missing).get(3, 3);
    // On the crest: plan curvature 0.002 / 0.1 = 0.02 a metre.
    assert!((plan(&of(1.0)) - 0.02).abs() < 1e-4);
    assert!((plan(&of(-1.0)) + 0.02).abs() < 1e-4);
    assert!(curvature(&of(1.0), Curvature::Profile, Rim::Missing).get(3, 3).abs() < 1e-5);
    assert!(curvature(&Grid::filled(frame, 5.0), Curvature::Plan, Rim::Missing).cells.iter().all(|c| c.is_nan()));
}

#[test]
fn windows_of_the_help_pages_equal_gdaldem() {
    let json: serde_json::Value = serde_json::from_str(&std::fs::read_to_string("tests/data/02_terrain/windows.json").unwrap()).unwrap();
    for name in ["slope_help", "aspect_help", "hillshade_help"] {
        let w = asc(&format!("02_terrain/win_{name}.asc"));
        let theirs = |key: &str| Grid::filled(Frame::square(0.0, 0.0, 1.0, 1, 1), json["windows"][name][key].as_f64().unwrap() as f32);
        let ours = |g: Grid<f32>| Grid::filled(Frame::square(0.0, 0.0, 1.0, 1, 1), g.get(1, 1));
        assert_close(&ours(slope_deg(&w, Gradient::Horn, Rim::Missing)), &theirs("gdaldem_slope"), 2e-4);
        assert_close_bearings(&ours(aspect_deg(&w, Gradient::Horn, Rim::Missing)), &theirs("gdaldem_aspect"), 2e-3);
    }
}
