//! Filling, flow directions, accumulation and wetness against published grids and a reference library.
//!
//! Fixtures in `data/05_flow`: pysheds 0.5 and plain numpy (agreeing to 1.5e-15), made once; six decimals.

#![allow(clippy::unwrap_used, reason = "a test may stop")]

use std::f64::consts::TAU;

use ground::fill::fill;
use ground::flow::{d8, dinf};
use ground::wetness::wetness_index;
use ground::{Frame, Grid};
use proptest::prelude::*;
use crate::support::{asc, asc64};

fn json() -> serde_json::Value {
    serde_json::from_str(&std::fs::read_to_string("tests/data/05_flow/flow.json").unwrap()).unwrap()
}

fn is_inner(frame: &Frame, k: usize) -> bool {
    let (col, row) = (k % frame.cols, k / frame.cols);
    col > 0 && row > 0 && col < frame.cols - 1 && row < frame.rows - 1
}

#[test]
fn published_grid_of_six_by_six() {
    // After Jenson & Domingue 1988, as quoted in test files of public raster libraries. The page lets the outlet in the
    // bottom row drain south off the grid (4); here it has no direction (0).
    let classic = &json()["classic6"];
    let cell = |key: &str, k: usize| classic[key][k / 6][k % 6].as_u64().unwrap();
    let heights = Grid::from_cells(Frame::square(0.0, 6.0, 1.0, 6, 6), (0..36).map(|k| cell("elev", k) as f32).collect()).unwrap();
    let directions = d8::directions(&heights);
    let accumulation = d8::accumulation(&directions);
    for k in 0..36 {
        let outlet = k == 34;
        assert_eq!(u64::from(directions.cells[k]), if outlet { 0 } else { cell("published_fdir", k) }, "direction of cell {k}");
        assert_eq!(u64::from(accumulation.cells[k]), cell("published_acc", k) + 1, "accumulation of cell {k}");
    }
}

#[test]
fn filling_equals_pysheds_and_numpy() {
    assert_eq!(fill(&asc("05_flow/dem_raw.asc")).cells, asc("05_flow/dem_filled.asc").cells);
}

#[test]
fn d8_equals_pysheds_and_numpy() {
    let directions = d8::directions(&asc("05_flow/dem_filled.asc"));
    let accumulation = d8::accumulation(&directions);
    // The missing value of these two grids is 0: no direction.
    let numpy = asc("05_flow/d8_fdir.asc");
    let (pysheds, pysheds_cells) = (asc("05_flow/pysheds_d8_fdir.asc"), asc("05_flow/pysheds_d8_acc.asc"));
    let numpy_cells = asc("05_flow/d8_acc_incl_self.asc");
    for k in 0..directions.cells.len() {
        let code = f32::from(directions.cells[k]);
        assert_eq!(code, if numpy.cells[k].is_nan() { 0.0 } else { numpy.cells[k] });
        assert_eq!(accumulation.cells[k] as f32, numpy_cells.cells[k]);
        if is_inner(&directions.frame, k) && code > 0.0 {
            assert_eq!(code, pysheds.cells[k]);
        }
        if is_inner(&directions.frame, k) {
            assert_eq!(accumulation.cells[k] as f32, pysheds_cells.cells[k]);
        }
    }
    let drained: u32 = (0..directions.cells.len()).filter(|&k| directions.cells[k] == 0).map(|k| accumulation.cells[k]).sum();
    assert_eq!(drained, 1600);
}

#[test]
fn dinf_and_wetness_equal_pysheds_and_numpy() {
    let steepest = dinf::steepest(&asc64("05_flow/dem_filled.asc"));
    let accumulation = dinf::accumulation(&steepest.angle_rad);
    let wetness = wetness_index(&accumulation, &steepest.slope, None);
    let angle = asc64("05_flow/dinf_angle_rad_ccw_from_east.asc");
    let slope = asc64("05_flow/dinf_slope.asc");
    let cells = asc64("05_flow/dinf_acc_incl_self.asc");
    let twi = asc64("05_flow/twi_dinf.asc");
    let (pysheds_angle, pysheds_cells) = (asc64("05_flow/pysheds_dinf_angle.asc"), asc64("05_flow/pysheds_dinf_acc.asc"));
    let near = |a: f64, b: f64| (a - b).abs() <= 1e-6 * b.abs().max(1.0);
    let mut n_directions = 0;
    for k in 0..cells.cells.len() {
        // The numpy grid writes -1 for no direction.
        let ours = steepest.angle_rad.cells[k];
        assert_eq!(ours.is_nan(), angle.cells[k] == -1.0);
        assert!(ours.is_nan() || near(ours, angle.cells[k]), "angle of cell {k}: {ours} and {}", angle.cells[k]);
        assert!(near(accumulation.cells[k], cells.cells[k]), "cell {k}: {} and {}", accumulation.cells[k], cells.cells[k]);
        assert_eq!(wetness.cells[k].is_nan(), twi.cells[k].is_nan());
        assert!(wetness.cells[k].is_nan() || near(f64::from(wetness.cells[k]), twi.cells[k]));
        if is_inner(&cells.frame, k) {
            assert!(near(steepest.slope.cells[k], slope.cells[k]));
            assert!(near(accumulation.cells[k], pysheds_cells.cells[k]));
            if !ours.is_nan() && pysheds_angle.cells[k] >= 0.0 {
                n_directions += 1;
                assert!(near(ours, pysheds_angle.cells[k]));
            }
        } else {
            assert!(steepest.slope.cells[k].is_nan());
        }
    }
    // `flow.json`, pysheds.dinf_angle_cells.
    assert_eq!(n_directions, 1444);
}

#[test]
fn dinf_direction_of_a_tilted_plane_is_the_way_it_is_tilted() {
    // Closed form: a plane falling 0.05 m/m towards an angle.
    for plane in json()["planes"].as_array().unwrap() {
        let deg = plane["downslope_ccw_from_east_deg"].as_f64().unwrap();
        let (sin, cos) = deg.to_radians().sin_cos();
        let frame = Frame::square(0.0, 70.0, 10.0, 7, 7);
        let cells: Vec<f64> = (0..49).map(|k| 100.0 - 0.05 * ((k % 7) as f64 * cos * 10.0 - (k / 7) as f64 * sin * 10.0)).collect();
        let found = dinf::steepest(&Grid::from_cells(frame, cells).unwrap());
        let apart = (found.angle_rad.get(3, 3) - deg.to_radians()).rem_euclid(TAU);
        assert!(apart.min(TAU - apart) < 1e-9, "{deg} degrees: {apart}");
        assert!((found.slope.get(3, 3) - 0.05).abs() < 1e-9);
    }
}

#[test]
fn wetness_by_hand() {
    // 360 cells of 10 m, fall 0.1: ln(3600 / 0.1) = 10.4912742.
    let frame = Frame::square(0.0, 10.0, 10.0, 2, 1);
    let cells = Grid::filled(frame, 360.0);
    let slope = Grid::from_cells(frame, vec![0.1, 0.0]).unwrap();
    let found = wetness_index(&cells, &slope, None);
    let wanted = json()["twi_hand"]["twi"].as_f64().unwrap();
    assert!((f64::from(found.cells[0]) - wanted).abs() < 1e-6);
    assert!(found.cells[1].is_nan());
    let floored = wetness_index(&cells, &slope, Some(0.2));
    assert!(floored.cells.iter().all(|&w| (f64::from(w) - (3600.0_f64 / 0.2).ln()).abs() < 1e-6));
}

/// Rough ground with pits, level steps and missing cells.
fn rough() -> impl Strategy<Value = Grid<f32>> {
    (1_usize..30, 1_usize..30, 2.0_f64..40.0, 2.0_f64..40.0)
        .prop_flat_map(|(c, r, dx, dy)| {
            let height = prop_oneof![20 => (0_i16..12).prop_map(f32::from), 1 => Just(f32::NAN)];
            (Just((c, r, dx, dy)), proptest::collection::vec(height, c * r))
        })
        .prop_map(|((cols, rows, dx_m, dy_m), cells)| {
            Grid::from_cells(Frame { west_m: 0.0, north_m: 0.0, dx_m, dy_m, cols, rows }, cells).unwrap()
        })
}

/// Filling by its definition: the lowest water level under which each cell can reach an outlet, by repeated sweeps.
fn filled_by_sweeps(heights: &Grid<f32>) -> Vec<f32> {
    let (cols, rows) = (heights.frame.cols as isize, heights.frame.rows as isize);
    let around = |k: usize| {
        let (c, r) = (k as isize % cols, k as isize / cols);
        (-1..=1).flat_map(move |dr| (-1..=1).map(move |dc| (c + dc, r + dr))).filter(move |&p| p != (c, r))
    };
    let height = |(c, r): (isize, isize)| if c < 0 || r < 0 || c >= cols || r >= rows { f32::NAN } else { heights.get(c as usize, r as usize) };
    let mut level: Vec<f32> = (0..heights.cells.len())
        .map(|k| if around(k).any(|p| height(p).is_nan()) { heights.cells[k] } else { f32::INFINITY })
        .collect();
    loop {
        let mut changed = false;
        for k in 0..level.len() {
            let lowest = around(k).filter(|&p| !height(p).is_nan()).map(|(c, r)| level[(r * cols + c) as usize]).fold(f32::INFINITY, f32::min);
            let new = heights.cells[k].max(lowest);
            if new < level[k] {
                level[k] = new;
                changed = true;
            }
        }
        if !changed {
            break;
        }
    }
    (0..level.len()).map(|k| if heights.cells[k].is_nan() { f32::NAN } else { level[k] }).collect()
}

proptest! {
    #[test]
    fn filling_any_ground_equals_its_definition(heights in rough()) {
        let found = fill(&heights);
        for (a, b) in found.cells.iter().zip(filled_by_sweeps(&heights)) {
            prop_assert!(a.to_bits() == b.to_bits() || (a.is_nan() && b.is_nan()), "{a} and {b}");
        }
    }

    #[test]
    fn every_cell_drains_once(heights in rough()) {
        let directions = d8::directions(&heights);
        let cells = d8::accumulation(&directions);
        let at_ends: u64 = (0..cells.cells.len()).filter(|&k| directions.cells[k] == 0).map(|k| u64::from(cells.cells[k])).sum();
        prop_assert_eq!(at_ends, cells.cells.len() as u64);
        let steepest = dinf::steepest(&heights);
        let cells = dinf::accumulation(&steepest.angle_rad);
        let at_ends: f64 = (0..cells.cells.len()).filter(|&k| steepest.angle_rad.cells[k].is_nan()).map(|k| cells.cells[k]).sum();
        prop_assert!((at_ends - cells.cells.len() as f64).abs() < 1e-6, "{at_ends}");
    }
}

#[test]
fn bands_do_not_show() {
    // More rows than one band of the parallel walk, with streams crossing the bands both ways: against one plain recursion.
    let (cols, rows) = (40, 700);
    let frame = Frame::square(0.0, 0.0, 10.0, cols, rows);
    let height = |k: usize| {
        let (c, r) = ((k % cols) as f32, (k / cols) as f32);
        300.0 * (r / 90.0).sin() + 3.0 * c * (c * 0.3 + r * 0.01).cos() + 0.01 * (k * 7919 % 1000) as f32
    };
    let filled = fill(&Grid::from_cells(frame, (0..cols * rows).map(height).collect()).unwrap());
    let directions = d8::directions(&filled);
    let found = d8::accumulation(&directions);
    let steps: [(isize, isize); 8] = [(1, 0), (1, 1), (0, 1), (-1, 1), (-1, 0), (-1, -1), (0, -1), (1, -1)];
    let mut wanted = vec![0_u32; cols * rows];
    for k in 0..cols * rows {
        let mut at = k;
        wanted[at] += 1;
        while directions.cells[at] != 0 {
            let (dc, dr) = steps[directions.cells[at].trailing_zeros() as usize];
            at = at.wrapping_add_signed(dr * cols as isize + dc);
            wanted[at] += 1;
        }
    }
    assert_eq!(found.cells, wanted);
    let steepest = dinf::steepest(&filled);
    let cells = dinf::accumulation(&steepest.angle_rad);
    let at_ends: f64 = (0..cells.cells.len()).filter(|&k| steepest.angle_rad.cells[k].is_nan()).map(|k| cells.cells[k]).sum();
    assert!((at_ends - (cols * rows) as f64).abs() < 1e-6, "{at_ends}");
}
