//! Resampling: what must hold on any grid.

#![allow(clippy::unwrap_used, reason = "a test may stop")]

use ground::resample::{area_mean, bilinear, clip, resample};
use ground::{Frame, Grid};
use proptest::prelude::*;

fn grids() -> impl Strategy<Value = Grid<f32>> {
    (1_usize..25, 1_usize..25, 0.5_f64..50.0, 0.5_f64..50.0, -1e5_f64..1e6, -1e5_f64..1e6).prop_flat_map(|(cols, rows, dx_m, dy_m, west_m, north_m)| {
        let frame = Frame { west_m, north_m, dx_m, dy_m, cols, rows };
        let height = prop_oneof![12 => 0.0_f32..1000.0, 1 => Just(f32::NAN)];
        proptest::collection::vec(height, cols * rows).prop_map(move |cells| Grid { frame, cells })
    })
}

fn same(a: f32, b: f32) -> bool {
    a == b || (a.is_nan() && b.is_nan())
}

proptest! {
    #[test]
    fn own_frame_gives_the_grid_back(grid in grids()) {
        for again in [resample(&grid, grid.frame), bilinear(&grid, grid.frame), area_mean(&grid, grid.frame)] {
            prop_assert!(again.cells.iter().zip(&grid.cells).all(|(&a, &b)| same(a, b)));
        }
    }

    #[test]
    fn level_ground_stays_level_and_within_bounds(grid in grids(), fx in 0.2_f64..4.0, fy in 0.2_f64..4.0) {
        let f = grid.frame;
        let target = Frame { dx_m: f.dx_m * fx, dy_m: f.dy_m * fy, cols: 12, rows: 12, ..f };
        let known = || grid.cells.iter().copied().filter(|h| !h.is_nan());
        let (low, high) = (known().fold(f32::INFINITY, f32::min), known().fold(f32::NEG_INFINITY, f32::max));
        for out in [bilinear(&grid, target), area_mean(&grid, target)] {
            prop_assert!(out.cells.iter().all(|&h| h.is_nan() || (h >= low * 0.999_999 && h <= high * 1.000_001)));
        }
        let level = Grid::filled(f, 123.25_f32);
        for out in [bilinear(&level, target), area_mean(&level, target)] {
            prop_assert!(out.cells.iter().all(|&h| h.is_nan() || h == 123.25));
            if fx <= 1.0 && fy <= 1.0 {
                prop_assert_eq!(out.cells[0], 123.25);
            }
        }
    }

    #[test]
    fn shifting_the_origin_changes_nothing(grid in grids(), east_km in -50_i32..50, fx in 0.3_f64..3.0) {
        let f = grid.frame;
        let target = Frame { west_m: f.west_m + 0.3 * f.dx_m, dx_m: f.dx_m * fx, cols: 9, ..f };
        let moved = |g: Frame| Frame { west_m: g.west_m + f64::from(east_km) * 1000.0, ..g };
        let here = resample(&grid, target);
        let there = resample(&Grid { frame: moved(f), cells: grid.cells.clone() }, moved(target));
        prop_assert!(here.cells.iter().zip(&there.cells).all(|(&a, &b)| same(a, b) || (a - b).abs() < 0.01));
    }

    #[test]
    fn whole_cells_together_keep_the_mean(cols in 1_usize..8, rows in 1_usize..8, n in 2_usize..5, seed in proptest::collection::vec(0.0_f32..900.0, 1024)) {
        let frame = Frame::square(1000.0, 2000.0, 5.0, cols * n, rows * n);
        let grid = Grid { frame, cells: seed.iter().copied().cycle().take(frame.len()).collect() };
        let out = resample(&grid, Frame::square(1000.0, 2000.0, 5.0 * n as f64, cols, rows));
        let mean = |cells: &[f32]| cells.iter().map(|&h| f64::from(h)).sum::<f64>() / cells.len() as f64;
        prop_assert!((mean(&out.cells) - mean(&grid.cells)).abs() < 1e-3);
    }

    #[test]
    fn tilted_planes_are_reproduced_inside(a in -1.0_f64..1.0, b in -1.0_f64..1.0, finer in 1_usize..6) {
        let frame = Frame::square(0.0, 400.0, 20.0, 20, 20);
        let plane = |x: f64, y: f64| (300.0 + a * x + b * y) as f32;
        let grid = Grid { frame, cells: (0..400).map(|k| { let (x, y) = frame.centre(k % 20, k / 20); plane(x, y) }).collect() };
        let target = Frame::square(10.0, 390.0, 20.0 / finer as f64, 19 * finer, 19 * finer);
        let out = resample(&grid, target);
        for row in 0..target.rows {
            for col in 0..target.cols {
                let (x, y) = target.centre(col, row);
                prop_assert!((out.get(col, row) - plane(x, y)).abs() < 1e-3);
            }
        }
    }
}

#[test]
fn holes_spread_no_farther_than_their_cells() {
    let frame = Frame::square(0.0, 30.0, 10.0, 3, 3);
    let mut grid = Grid::filled(frame, 7.0_f32);
    grid.cells[4] = f32::NAN;
    let fine = bilinear(&grid, Frame::square(0.0, 30.0, 5.0, 6, 6));
    for row in 0..6 {
        for col in 0..6 {
            let in_hole = (2..4).contains(&row) && (2..4).contains(&col);
            assert!(same(fine.get(col, row), if in_hole { f32::NAN } else { 7.0 }), "{col} {row}");
        }
    }
    // Three of four cells are known, then one of four: over half is enough, less is not.
    let coarse = area_mean(&grid, Frame::square(0.0, 30.0, 20.0, 1, 1));
    assert_eq!(coarse.cells, [7.0]);
    grid.cells = vec![f32::NAN, f32::NAN, 1.0, f32::NAN, 5.0, 1.0, 1.0, 1.0, 1.0];
    assert!(area_mean(&grid, Frame::square(0.0, 30.0, 20.0, 1, 1)).cells[0].is_nan());
    // Outside there is nothing.
    assert!(bilinear(&grid, Frame::square(500.0, 30.0, 5.0, 2, 2)).cells.iter().all(|h| h.is_nan()));
    assert!(area_mean(&grid, Frame::square(500.0, 30.0, 20.0, 2, 2)).cells.iter().all(|h| h.is_nan()));
}

#[test]
fn clipping_keeps_lattice_and_values() {
    let frame = Frame::square(100.0, 200.0, 10.0, 10, 8);
    let grid = Grid { frame, cells: (0..80).collect::<Vec<i32>>() };
    let part = clip(&grid, 125.0, 150.0, 140.0, 181.0).unwrap();
    assert_eq!(part.frame, Frame::square(120.0, 190.0, 10.0, 2, 4));
    assert_eq!(part.cells, [12, 13, 22, 23, 32, 33, 42, 43]);
    assert_eq!(clip(&grid, -1e9, -1e9, 1e9, 1e9).unwrap(), grid);
    assert!(clip(&grid, 300.0, 150.0, 400.0, 181.0).is_none());
    // A box that ends on the grid's edge does not meet it.
    assert!(clip(&grid, 0.0, 0.0, 100.0, 500.0).is_none());
}
