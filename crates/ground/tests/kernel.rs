//! Kernel sums against a reference library and brute force.
//!
//! Fixtures in `data/08_kernel`: scipy.ndimage.convolve 1.17.1 with constant zero beyond the rim, made once; printed
//! with eight decimals, so 1e-8 is what can be told.
#![allow(clippy::unwrap_used, reason = "a test may stop")]

use ground::kernel::{Kernel, gather, half_normal_square, weights_from};
use ground::{Frame, Grid};
use proptest::prelude::*;
use crate::support::asc64;

const CASES: [(&str, Kernel); 4] = [
    ("disc", Kernel::Disc { radius_m: 150.0 }),
    ("gauss", Kernel::HalfNormal { sigma_m: 100.0, reach_m: 300.0 }),
    ("negexp", Kernel::NegativeExponential { scale_m: 100.0, reach_m: 300.0 }),
    ("epan", Kernel::Epanechnikov { radius_m: 200.0 }),
];

fn assert_same(ours: &Grid<f64>, name: &str) {
    let theirs = asc64(&format!("08_kernel/{name}.asc"));
    for (i, (a, b)) in ours.cells.iter().zip(&theirs.cells).enumerate() {
        assert!((a - b).abs() <= 1e-8 || (a.is_nan() && b.is_nan()), "{name}, cell {i}: {a} and {b}");
    }
}

#[test]
fn every_kernel_equals_scipy() {
    let resource = asc64("08_kernel/resource.asc");
    let summary: serde_json::Value =
        serde_json::from_str(&std::fs::read_to_string("tests/data/08_kernel/kernel.json").unwrap()).unwrap();
    for (name, kernel) in CASES {
        let gathered = gather(&resource, kernel);
        assert_same(&gathered.sum, &format!("{name}_sum"));
        assert_same(&gathered.unit_sum(), &format!("{name}_unit_kernel_sum"));
        assert_same(&gathered.mean_of_known(), &format!("{name}_mean_of_valid"));
        let facts = &summary["kernels"][name];
        assert!((gathered.full_weight - facts["kernel_sum"].as_f64().unwrap()).abs() < 1e-10);
        assert!((gathered.sum.get(20, 18) - facts["value_at_18_20"].as_f64().unwrap()).abs() < 1e-10);
    }
}

fn kernels() -> impl Strategy<Value = Kernel> {
    (5.0..60.0_f64, 5.0..40.0_f64, 0..4_u8).prop_map(|(reach_m, scale, kind)| match kind {
        0 => Kernel::Disc { radius_m: reach_m },
        1 => Kernel::Epanechnikov { radius_m: reach_m },
        2 => Kernel::HalfNormal { sigma_m: scale, reach_m },
        _ => Kernel::NegativeExponential { scale_m: scale, reach_m },
    })
}

proptest! {
    #[test]
    fn gathering_equals_brute_force(
        values in prop::collection::vec(prop::option::weighted(0.9, -5.0..5.0_f64), 9 * 13), kernel in kernels()
    ) {
        let frame = Frame { west_m: 0.0, north_m: 90.0, dx_m: 5.0, dy_m: 10.0, cols: 13, rows: 9 };
        let grid = Grid::from_cells(frame, values.iter().map(|v| v.unwrap_or(f64::NAN)).collect()).unwrap();
        let gathered = gather(&grid, kernel);
        for row in 0..9 {
            for col in 0..13 {
                let weights = weights_from(&frame, frame.centre(col, row), kernel);
                let known = || weights.cells.iter().zip(&values).filter_map(|(w, v)| v.map(|v| (w, v)));
                let sum: f64 = known().map(|(w, v)| w * v).sum();
                let weight: f64 = known().map(|(w, _)| w).sum();
                prop_assert!((gathered.sum.get(col, row) - sum).abs() < 1e-9);
                prop_assert!((gathered.known_weight.get(col, row) - weight).abs() < 1e-9);
            }
        }
    }

    #[test]
    fn square_half_normal_equals_brute_force(
        values in prop::collection::vec(prop::option::weighted(0.9, 0.0..5.0_f64), 9 * 13),
        sigma_m in 5.0..30.0_f64, reach_m in 0.0..80.0_f64
    ) {
        let frame = Frame::square(0.0, 45.0, 5.0, 13, 9);
        let grid = Grid::from_cells(frame, values.iter().map(|v| v.unwrap_or(f64::NAN)).collect()).unwrap();
        let gathered = half_normal_square(&grid, sigma_m, reach_m);
        let reach = (reach_m / 5.0).floor() as i64;
        for row in 0..9_i64 {
            for col in 0..13_i64 {
                let mut sum = 0.0;
                for r in (row - reach).max(0)..=(row + reach).min(8) {
                    for c in (col - reach).max(0)..=(col + reach).min(12) {
                        let d2 = 25.0 * ((r - row).pow(2) + (c - col).pow(2)) as f64;
                        sum += values[(r * 13 + c) as usize].unwrap_or(0.0) * (-d2 / (2.0 * sigma_m * sigma_m)).exp();
                    }
                }
                prop_assert!((gathered.sum.get(col as usize, row as usize) - sum).abs() < 1e-9);
            }
        }
    }

    #[test]
    fn nothing_is_lost_inside_a_wide_rim(kernel in kernels(), value in 0.1..9.0_f64) {
        let frame = Frame::square(0.0, 150.0, 5.0, 30, 30);
        let mut grid = Grid::filled(frame, 0.0);
        grid.cells[15 * 30 + 15] = value;
        let total: f64 = gather(&grid, kernel).sum.cells.iter().sum();
        let full = gather(&grid, kernel).full_weight;
        prop_assert!((total - value * full).abs() < 1e-9 * full.max(1.0));
    }
}
