//! Slope, aspect, relief, roughness and curvature against published windows and a reference library.
//!
//! Fixtures in `data/02_terrain`: outputs of gdaldem 3.6.2 and closed forms, made once; sources beside each check.

#![allow(clippy::unwrap_used, reason = "a test may stop")]

use ground::slope::{Gradient, Rim, aspect_deg, slope_deg, slope_percent};
use ground::{Frame, Grid};
use crate::support::{asc, assert_close, assert_close_bearings};

/// gdaldem computes in single precision.
const SLOPE_DEG: f64 = 2e-4;
const ASPECT_DEG: f64 = 2e-3;

fn window(heights: [f32; 9], cell_m: f64) -> Grid<f32> {
    Grid::from_cells(Frame::square(0.0, 3.0 * cell_m, cell_m, 3, 3), heights.to_vec()).unwrap()
}

#[test]
fn published_window_for_slope() {
    // A GIS help page on slope, as quoted in public texts: dz/dx 0.05, dz/dy -3.8, rise/run 3.80032, slope 75.25762 degrees.
    // The page multiplies a truncated rise/run by 57.29578; the true value is 75.25766, 4e-5 higher.
    let w = window([50., 45., 50., 30., 30., 30., 8., 10., 10.], 5.0);
    let slope = slope_deg(&w, Gradient::Horn, Rim::Missing).get(1, 1);
    assert!((slope - 75.257_62).abs() < 1e-4, "{slope}");
    let percent = slope_percent(&w, Gradient::Horn, Rim::Missing).get(1, 1);
    assert!((percent - 380.032).abs() < 2e-3, "{percent}");
}

#[test]
fn published_window_for_aspect() {
    // A GIS help page on aspect, as quoted in public texts: dz/dx -8.125, dz/dy -0.375, aspect 92.64 degrees.
    let w = window([101., 92., 85., 101., 92., 85., 101., 91., 84.], 1.0);
    let aspect = aspect_deg(&w, Gradient::Horn, Rim::Missing).get(1, 1);
    assert!((aspect - 92.64).abs() < 5e-3, "{aspect}");
}

#[test]
fn published_surface_of_seven_by_seven() {
    // D. Patterson 2016, a stepped pyramid with its slope and aspect grids, as quoted in `windows.json`. The middle cell is
    // flat: the page prints 270 there, here it is missing.
    let text = std::fs::read_to_string("tests/data/02_terrain/windows.json").unwrap();
    let json: serde_json::Value = serde_json::from_str(&text).unwrap();
    let heights = asc("02_terrain/pyramid7.asc");
    let slope = slope_deg(&heights, Gradient::Horn, Rim::Missing);
    let aspect = aspect_deg(&heights, Gradient::Horn, Rim::Missing);
    for row in 0..5 {
        for col in 0..5 {
            let wanted = |key: &str| json["pyramid7"][key][row][col].as_f64().unwrap();
            let s = f64::from(slope.get(col + 1, row + 1));
            assert!((s - wanted("published_slope")).abs() <= 0.005 + 1e-6, "slope {s} at {col} {row}");
            let a = f64::from(aspect.get(col + 1, row + 1));
            if (col, row) == (2, 2) {
                assert!(a.is_nan());
            } else {
                let off = (a - wanted("published_aspect")).abs();
                assert!(off.min(360.0 - off) < 0.01, "aspect {a} at {col} {row}");
            }
        }
    }
    assert_close(&slope, &asc("02_terrain/pyramid7_slope.asc"), SLOPE_DEG);
    assert_close_bearings(&aspect, &asc("02_terrain/pyramid7_aspect.asc"), ASPECT_DEG);
}

#[test]
fn hill_ground_with_a_hole_equals_gdaldem() {
    let dem = asc("02_terrain/dem.asc");
    let slope = slope_deg(&dem, Gradient::Horn, Rim::Missing);
    assert_close(&slope, &asc("02_terrain/slope_horn.asc"), SLOPE_DEG);
    let zt = slope_deg(&dem, Gradient::ZevenbergenThorne, Rim::Missing);
    assert_close(&zt, &asc("02_terrain/slope_zt.asc"), SLOPE_DEG);
    let percent = slope_percent(&dem, Gradient::Horn, Rim::Missing);
    // Percent changes by up to 1.75 (1 + tan²) a degree; the slopes here stay under 60 degrees.
    assert_close(&percent, &asc("02_terrain/slope_percent.asc"), SLOPE_DEG * 1.75 * 4.0);
    let aspect = aspect_deg(&dem, Gradient::Horn, Rim::Missing);
    assert_close_bearings(&aspect, &asc("02_terrain/aspect_horn.asc"), ASPECT_DEG);
}

#[test]
fn flat_and_missing_ground_are_told_apart_by_the_slope() {
    // gdaldem -zero_for_flat writes 0 for flat and for missing alike; where it has a bearing, ours is the same.
    let dem = asc("02_terrain/dem.asc");
    let aspect = aspect_deg(&dem, Gradient::Horn, Rim::Missing);
    let slope = slope_deg(&dem, Gradient::Horn, Rim::Missing);
    let zero_flat = asc("02_terrain/aspect_horn_zeroflat.asc");
    let mut n_flat = 0;
    for (k, (&ours, &theirs)) in aspect.cells.iter().zip(&zero_flat.cells).enumerate() {
        if ours.is_nan() {
            assert_eq!(theirs, 0.0);
            n_flat += usize::from(slope.cells[k] == 0.0);
        } else {
            let off = (ours - theirs).abs();
            assert!(off.min(360.0 - off) < 2e-3);
        }
    }
    // `windows.json`, numpy_vs_gdaldem: six flat cells.
    assert_eq!(n_flat, 6);
}

#[test]
fn continued_rim_equals_gdaldem_compute_edges() {
    let dem = asc("02_terrain/dem.asc");
    let slope = slope_deg(&dem, Gradient::Horn, Rim::Continued);
    assert_close(&slope, &asc("02_terrain/slope_horn_edges.asc"), SLOPE_DEG);
    let small = slope_deg(&asc("02_terrain/edge4.asc"), Gradient::Horn, Rim::Continued);
    assert_close(&small, &asc("02_terrain/edge4_slope.asc"), SLOPE_DEG);
}
