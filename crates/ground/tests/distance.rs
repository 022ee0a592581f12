//! Exact distance against a reference library, a published grid of small numbers, and brute force.
//!
//! Fixtures in `data/04_distance`: scipy.ndimage.distance_transform_edt 1.17.1 and gdal_proximity 3.6.2, made once.

#![allow(clippy::unwrap_used, reason = "a test may stop")]

use ground::distance::{distance, squared_distance};
use ground::{Frame, Grid};
use proptest::prelude::*;
use crate::support::{asc, asc64, assert_close};

/// Fixture grids carry six decimals.
const PRINTED: f64 = 5.1e-7;

fn marks(dx_m: f64, dy_m: f64) -> Grid<bool> {
    let sources = asc("04_distance/sources.asc");
    let frame = Frame { dx_m, dy_m, ..sources.frame };
    Grid { frame, cells: sources.cells.iter().map(|&v| v == 1.0).collect() }
}

fn assert_square_roots(ours: &Grid<f64>, theirs: &Grid<f64>) {
    for (a, b) in ours.cells.iter().zip(&theirs.cells) {
        assert!((a.sqrt() - b).abs() < PRINTED, "{} and {b}", a.sqrt());
    }
}

#[test]
fn square_cells_equal_scipy_and_gdal() {
    let marks = marks(25.0, 25.0);
    assert_eq!(marks.cells.iter().filter(|&&m| m).count(), 29);
    assert_square_roots(&squared_distance(&marks, None), &asc64("04_distance/edt_scipy_m.asc"));
    assert_close(&distance(&marks, None), &asc("04_distance/proximity_gdal_m.asc"), 1e-4);
}

#[test]
fn oblong_cells_equal_scipy() {
    assert_square_roots(&squared_distance(&marks(20.0, 50.0), None), &asc64("04_distance/edt_scipy_dy50_dx20.asc"));
}

#[test]
fn middle_of_five_by_five() {
    // `edt.json`, in cells: the square roots of 8, 5, 4, 2, 1, 0.
    let text = std::fs::read_to_string("tests/data/04_distance/edt.json").unwrap();
    let json: serde_json::Value = serde_json::from_str(&text).unwrap();
    let mut marks = Grid::filled(Frame::square(0.0, 5.0, 1.0, 5, 5), false);
    marks.cells[12] = true;
    let found = distance(&marks, None);
    for row in 0..5 {
        for col in 0..5 {
            let wanted = json["tiny_5x5_centre_source_cells"][row][col].as_f64().unwrap();
            assert!((f64::from(found.get(col, row)) - wanted).abs() < 1e-6);
        }
    }
}

#[test]
fn nothing_marked_is_infinitely_far() {
    let none = Grid::filled(Frame::square(0.0, 0.0, 10.0, 17, 3), false);
    assert!(distance(&none, None).cells.iter().all(|d| *d == f32::INFINITY));
    assert!(distance(&none, Some(50.0)).cells.iter().all(|d| *d == f32::INFINITY));
    assert!(distance(&Grid::filled(Frame::square(0.0, 0.0, 10.0, 0, 3), false), None).cells.is_empty());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn any_marks_equal_brute_force(
        (cols, rows, cells) in (1_usize..40, 1_usize..40).prop_flat_map(|(c, r)| (Just(c), Just(r), proptest::collection::vec(proptest::bool::weighted(0.06), c * r))),
        dx_m in 0.5_f64..60.0,
        dy_m in 0.5_f64..60.0,
        limit_m in proptest::option::of(0.0_f64..400.0),
    ) {
        let marks = Grid::from_cells(Frame { west_m: 0.0, north_m: 0.0, dx_m, dy_m, cols, rows }, cells).unwrap();
        let found = squared_distance(&marks, limit_m);
        let single = distance(&marks, limit_m);
        for row in 0..rows {
            for col in 0..cols {
                let nearest = (0..rows * cols).filter(|&k| marks.cells[k]).map(|k| {
                    let (c, r) = (k % cols, k / cols);
                    ((col as f64 - c as f64) * dx_m).hypot((row as f64 - r as f64) * dy_m)
                }).fold(f64::INFINITY, f64::min);
                let (ours, ours_single) = (found.get(col, row).sqrt(), f64::from(single.get(col, row)));
                if limit_m.is_some_and(|l| nearest > l * (1.0 + 1e-9)) {
                    prop_assert!(ours.is_infinite() && ours_single.is_infinite());
                } else if limit_m.is_none_or(|l| nearest < l * (1.0 - 1e-9)) {
                    prop_assert!(nearest == ours || (ours - nearest).abs() < 1e-9, "{ours} and {nearest}");
                    prop_assert!(nearest == ours || (ours_single - nearest).abs() <= nearest * 1e-7);
                }
            }
        }
    }
}
