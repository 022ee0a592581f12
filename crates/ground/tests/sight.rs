//! Sight lines against an exact computation, a reference program, and scenes with a known answer.
//!
//! Fixtures in `data/03_viewshed`, made once: `margin_exact_*` and `view_exact_*` by a separate line-of-sight
//! computation in Python (terrain at every crossing of the line with a row or column line, R3); `view_gdal_*` and
//! `wall_gdal*` by gdal_viewshed 3.6.2, which works on reference planes (Wang et al. 2000) and so is not the same rule.
#![allow(clippy::unwrap_used, reason = "a test may stop")]

use ground::sight::{AIRY_DIAMETER_M, Obstacles, Sight, SightError, margins, view, views};
use ground::{Frame, Grid};
use proptest::prelude::*;
use crate::support::{asc, asc64};

/// Run name, eye, target, curvature, as in `viewshed.json`.
const RUNS: [(&str, f64, f64, f64); 4] =
    [("a", 1.7, 0.0, 0.0), ("b", 1.7, 1.0, 0.0), ("c", 10.0, 0.0, 0.0), ("d", 1.7, 0.5, 0.857_14)];

fn look(eye_m: f64, target_m: f64, radius_m: f64, curvature: f64) -> Sight {
    Sight { curvature, ..Sight::new(eye_m, target_m, radius_m) }
}

fn flat(cols: usize, rows: usize, cell_m: f64, height_m: f32) -> Grid<f32> {
    Grid::filled(Frame::square(0.0, cell_m * rows as f64, cell_m, cols, rows), height_m)
}

fn agreement_percent(ours: &Grid<f32>, theirs: &Grid<f64>) -> f64 {
    let same = ours.cells.iter().zip(&theirs.cells).filter(|(a, b)| f64::from(**a) == **b).count();
    100.0 * same as f64 / ours.cells.len() as f64
}

#[test]
fn rough_ground_equals_the_exact_lines() {
    let dem = asc("03_viewshed/dem.asc");
    let observer = dem.frame.centre(22, 30);
    for (name, eye_m, target_m, curvature) in RUNS {
        let sight = look(eye_m, target_m, 1000.0, curvature);
        let ours = view(&dem, observer, &sight, None).unwrap().share;
        let margin = margins(&dem, observer, &sight).unwrap();
        let exact_margin = asc64(&format!("03_viewshed/margin_exact_{name}.asc"));
        let exact = asc64(&format!("03_viewshed/view_exact_{name}.asc"));
        assert_eq!(ours.frame, dem.frame, "the whole model lies within 1 km");
        for i in 0..ours.cells.len() {
            // 9999 marks the observer's neighbours and own cell: nothing stands between.
            if exact_margin.cells[i] < 9998.0 {
                let apart = (f64::from(margin.cells[i]) - exact_margin.cells[i]).abs();
                assert!(apart < 0.001, "run {name}, cell {i}: margin {apart} m apart");
            }
            if exact_margin.cells[i].abs() > 0.001 {
                assert_eq!(f64::from(ours.cells[i]), exact.cells[i], "run {name}, cell {i}");
            }
        }
        let gdal = agreement_percent(&ours, &asc64(&format!("03_viewshed/view_gdal_{name}.asc")));
        assert!(gdal >= 97.0, "run {name}: {gdal} % equal to gdal_viewshed");
    }
}

#[test]
fn wall_scene_equals_gdal_and_similar_triangles() {
    let dem = asc("03_viewshed/wall.asc");
    let observer = dem.frame.centre(15, 20);
    for (target_m, name) in [(0.0, "wall_gdal"), (30.0, "wall_gdal_t30")] {
        let ours = view(&dem, observer, &look(2.0, target_m, 1000.0, 0.0), None).unwrap().share;
        assert_eq!(agreement_percent(&ours, &asc64(&format!("03_viewshed/{name}.asc"))), 100.0, "{name}");
    }
    // Eye 2 m above the plain, wall 10 m at 100 m: the line over the wall stands 2 + 0.08 d above the plain.
    let row = |target_m: f64| {
        let long = {
            let mut plain = flat(61, 3, 10.0, 100.0);
            for r in 0..3 {
                plain.cells[r * 61 + 10] = 110.0;
            }
            plain
        };
        let seen = view(&long, long.frame.centre(0, 1), &look(2.0, target_m, 1000.0, 0.0), None).unwrap().share;
        (0..61).map(move |c| seen.get(c, 1)).collect::<Vec<f32>>()
    };
    for (column, share) in row(30.0).into_iter().enumerate() {
        let clear = column <= 10 || 2.0 + 0.08 * 10.0 * column as f64 <= 30.0;
        assert_eq!(share, if clear { 1.0 } else { 0.0 }, "column {column}");
    }
    assert!(row(0.0)[11..].iter().all(|s| *s == 0.0));
}

#[test]
fn sea_horizon_lies_where_the_formula_puts_it() {
    // Horizon distance sqrt(D h / curvature); gdal_viewshed gives 11 300 m and 12 200 m on 100 m cells.
    let sea = asc("03_viewshed/sea.asc");
    for (curvature, gdal_m) in [(1.0, 11_300.0), (0.857_14, 12_200.0)] {
        let seen = view(&sea, sea.frame.centre(0, 1), &look(10.0, 0.0, 30_000.0, curvature), None).unwrap().share;
        let last_m = (0..201).filter(|c| seen.get(*c, 1) == 1.0).max().unwrap() as f64 * 100.0;
        let formula_m = (AIRY_DIAMETER_M * 10.0 / curvature).sqrt();
        assert!((last_m - formula_m).abs() <= 100.0, "{last_m} and {formula_m}");
        assert!((last_m - gdal_m).abs() <= 100.0, "{last_m} and {gdal_m}");
    }
    let flat_earth = view(&sea, sea.frame.centre(0, 1), &look(10.0, 0.0, 30_000.0, 0.0), None).unwrap();
    assert_eq!(flat_earth.disc_open, 1.0);
}

#[test]
fn curvature_drop_equals_the_published_table() {
    // Drop (1 - k) d^2 / D with k = 0.13, R = 6371 km: 1.707, 6.828, 27.311 m at 5, 10, 20 km (codingace.net page
    // on curvature). The margin of a target on flat ground seen from a mast falls by just that drop.
    let plain = flat(201, 1, 100.0, 0.0);
    let observer = plain.frame.centre(0, 0);
    let sight = |curvature: f64| Sight {
        earth_diameter_m: 2.0 * 6_371_000.0,
        ..look(0.0, 1000.0, 30_000.0, curvature)
    };
    // The first crossing, one cell out, sets the highest line: its own share of the drop comes off too.
    for (distance_m, drop_m) in [(5_000.0, 1.707), (10_000.0, 6.828), (20_000.0, 27.311)] {
        let column = (distance_m / 100.0) as usize;
        let at = |curvature: f64| f64::from(margins(&plain, observer, &sight(curvature)).unwrap().get(column, 0));
        let first_crossing_m = 0.87 * 100.0 * distance_m / (2.0 * 6_371_000.0);
        assert!((at(0.0) - at(0.87) + first_crossing_m - drop_m).abs() < 1e-3, "{distance_m}");
    }
}

/// A plain with a porous wall one cell thick, `column` cells east of the observer.
fn walled_plain(top_m: f32, opacity: f32) -> (Grid<f32>, Grid<f32>, Grid<f32>) {
    let dem = flat(81, 81, 5.0, 50.0);
    let (mut top, mut stop) = (flat(81, 81, 5.0, f32::NAN), flat(81, 81, 5.0, 0.0));
    for row in 0..81 {
        top.cells[row * 81 + 50] = top_m;
        stop.cells[row * 81 + 50] = opacity;
    }
    (dem, top, stop)
}

#[test]
fn porous_wall_lets_through_its_known_share() {
    let (dem, top, stop) = walled_plain(20.0, 0.4);
    let cover = Obstacles { top_m: &top, opacity: &stop, opacity_path_m: 5.0 };
    let seen = view(&dem, dem.frame.centre(40, 40), &look(0.3, 0.0, 180.0, 0.0), Some(cover)).unwrap();
    let first = |c: f64, r: f64| seen.share.at_point(c * 5.0 + 2.5, (80.0 - r) * 5.0 + 2.5).unwrap();
    // Straight through: 5 m of path. Aslant at 45 degrees: 5 m times the square root of two.
    assert!((first(60.0, 40.0) - 0.6).abs() < 1e-6);
    assert!((first(60.0, 20.0) - 0.6_f32.powf(2.0_f32.sqrt())).abs() < 1e-6);
    // Half the thickness when the target stands in the middle of the wall.
    assert!((first(50.0, 40.0) - 0.6_f32.sqrt()).abs() < 1e-6);
    assert_eq!(first(20.0, 40.0), 1.0);
    // North and south look along the plain; due east looks through.
    let ray = |deg: f64| seen.rays.iter().find(|r| r.azimuth_deg == deg).unwrap().share;
    assert!((ray(90.0) - 0.6).abs() < 1e-6);
    assert_eq!(ray(270.0), 1.0);
    assert!(seen.horizon_open < 1.0 && seen.horizon_open > 0.5);
}

#[test]
fn opaque_wall_equals_a_wall_of_ground_and_similar_triangles() {
    // Eye 2 m, wall 4 m from 47.5 m to 52.5 m: a 12 m target shows once its line clears both faces of the wall.
    let (dem, top, stop) = walled_plain(4.0, 1.0);
    let cover = Obstacles { top_m: &top, opacity: &stop, opacity_path_m: 5.0 };
    let seen = view(&dem, dem.frame.centre(40, 40), &look(2.0, 12.0, 195.0, 0.0), Some(cover)).unwrap();
    for column in 51..79 {
        let distance_m = (column - 40) as f64 * 5.0;
        let at_near_face_m = 2.0 + 10.0 * 47.5 / distance_m;
        let share = seen.share.at_point(column as f64 * 5.0 + 2.5, 202.5).unwrap();
        assert_eq!(share, if at_near_face_m >= 4.0 { 1.0 } else { 0.0 }, "column {column}");
    }
}

#[test]
fn half_the_thickness_of_a_sloping_line_counts() {
    // Flat plain, cover 1 m high everywhere, eye 2 m, target 0 m: the line dips below the cover half way.
    let dem = flat(101, 3, 5.0, 0.0);
    let (top, stop) = (flat(101, 3, 5.0, 1.0), flat(101, 3, 5.0, 0.02));
    let cover = Obstacles { top_m: &top, opacity: &stop, opacity_path_m: 5.0 };
    let seen = view(&dem, dem.frame.centre(0, 1), &look(2.0, 0.0, 600.0, 0.0), Some(cover)).unwrap();
    for column in [20_usize, 60, 100] {
        let expected = 0.98_f64.powf(column as f64 / 2.0);
        assert!((f64::from(seen.share.get(column, 1)) - expected).abs() < 1e-6, "column {column}");
    }
}

#[test]
fn what_comes_through_is_a_share_wherever_the_eye_stands() {
    // Lines of every slope meet corners of cells, or all but meet them, under cover that is opaque, dense and thin by turns.
    let dem = flat(41, 41, 5.0, 0.0);
    let (mut top, mut stop) = (flat(41, 41, 5.0, 0.4), flat(41, 41, 5.0, 0.0));
    for cell in 0..stop.cells.len() {
        stop.cells[cell] = [0.0, 1.0, 0.02, 0.9][cell % 4];
        top.cells[cell] = [0.0, 0.2, 0.5, 3.0, 0.29][cell % 5];
    }
    let cover = Obstacles { top_m: &top, opacity: &stop, opacity_path_m: 5.0 };
    for step in 0..40 {
        let off_m = f64::from(step) * 0.125;
        let (east_m, north_m) = dem.frame.centre(20, 20);
        let seen = view(&dem, (east_m + off_m, north_m + off_m * if step % 3 == 0 { 1.0 } else { 0.5 }), &look(0.3, 0.3, 95.0, 0.0), Some(cover)).unwrap();
        // Cells beyond the radius alone have no share.
        let near = |cell: usize| {
            let (x, y) = dem.frame.centre(cell % 41, cell / 41);
            (x - east_m - off_m).hypot(y - north_m) < 80.0
        };
        for (cell, share) in seen.share.cells.iter().enumerate() {
            assert!((0.0..=1.0).contains(share) || share.is_nan() && !near(cell), "{off_m} m off, cell {cell}: {share}");
        }
        assert!(seen.rays.iter().all(|ray| (0.0..=1.0).contains(&ray.share)), "{off_m} m off");
    }
}

#[test]
fn cover_on_a_steep_slope_does_not_stand_in_steps() {
    // Slope 1 in 2, cover 0.2 m high everywhere and opaque, eye and target 0.3 m: every line runs clear above it.
    let mut dem = flat(61, 61, 5.0, 0.0);
    for row in 0..61 {
        for column in 0..61 {
            dem.cells[row * 61 + column] = 2.5 * column as f32;
        }
    }
    let (top, stop) = (flat(61, 61, 5.0, 0.2), flat(61, 61, 5.0, 1.0));
    let cover = Obstacles { top_m: &top, opacity: &stop, opacity_path_m: 5.0 };
    let seen = view(&dem, dem.frame.centre(30, 30), &look(0.3, 0.3, 140.0, 0.0), Some(cover)).unwrap();
    assert_eq!(seen.disc_open, 1.0);
    assert_eq!(seen.horizon_open, 1.0);
    // The skyline uphill is the rim: 1 in 2 less the eye's own height.
    let east = seen.rays.iter().find(|r| r.azimuth_deg == 90.0).unwrap();
    assert!((f64::from(east.skyline_deg).to_radians().tan() - (70.0 - 0.3) / 140.0).abs() < 1e-5);
}

#[test]
fn gaps_and_edges_are_told_apart_from_hidden_ground() {
    let mut dem = flat(41, 41, 5.0, 10.0);
    dem.cells[20 * 41 + 30] = f32::NAN;
    let seen = view(&dem, dem.frame.centre(20, 20), &look(1.0, 0.0, 300.0, 0.0), None).unwrap();
    assert!(seen.share.get(30, 20).is_nan());
    assert_eq!(seen.share.get(35, 20), 1.0);
    assert_eq!(seen.disc_open, 1.0);
    assert!(seen.horizon_open.is_nan(), "no direction reaches 300 m inside the model");
    let outside = view(&dem, (-50.0, 0.0), &look(1.0, 0.0, 300.0, 0.0), None);
    assert!(matches!(outside, Err(SightError::NoGround { .. })));
    let invalid = view(&dem, dem.frame.centre(1, 1), &look(1.0, 0.0, f64::NAN, 0.0), None);
    assert!(matches!(invalid, Err(SightError::Invalid { what: "radius", .. })));
    let other = flat(40, 41, 5.0, 1.0);
    let cover = Obstacles { top_m: &other, opacity: &other, opacity_path_m: 5.0 };
    let elsewhere = view(&dem, dem.frame.centre(1, 1), &look(1.0, 0.0, 50.0, 0.0), Some(cover));
    assert_eq!(elsewhere.unwrap_err(), SightError::Frame { which: "top" });
}

#[test]
fn skyline_of_a_ray_that_leaves_the_model_is_that_of_the_ground_on_it() {
    // A ridge 10 m high, 50 m north of an observer near the western rim; flat elsewhere.
    let mut dem = flat(41, 41, 5.0, 0.0);
    for column in 0..41 {
        dem.cells[10 * 41 + column] = 10.0;
    }
    let seen = view(&dem, dem.frame.centre(2, 20), &look(1.0, 0.0, 300.0, 0.0), None).unwrap();
    let skyline = |deg: f64| f64::from(seen.rays.iter().find(|r| r.azimuth_deg == deg).unwrap().skyline_deg);
    assert!((skyline(0.0) - (9.0_f64 / 50.0).atan().to_degrees()).abs() < 1e-4);
    // North-west the ray leaves the model after 12.5 m: nothing but the plain lies on it.
    assert!(skyline(315.0) < 0.0 && skyline(180.0) < 0.0);
}

/// The same rule written the plain way, in double precision, for any observer.
fn plain_margin(dem: &Grid<f32>, eye: (f64, f64), eye_m: f64, target_m: f64, column: usize, row: usize) -> f64 {
    let z = |c: usize, r: usize| f64::from(dem.get(c, r));
    let ground = |c: f64, r: f64| {
        let (i, j) = ((c.floor() as usize).min(dem.frame.cols - 2), (r.floor() as usize).min(dem.frame.rows - 2));
        let (a, b) = (c - i as f64, r - j as f64);
        z(i, j) * (1.0 - a) * (1.0 - b) + z(i + 1, j) * a * (1.0 - b) + z(i, j + 1) * (1.0 - a) * b + z(i + 1, j + 1) * a * b
    };
    let level = ground(eye.0, eye.1) + eye_m;
    let (dc, dr) = (column as f64 - eye.0, row as f64 - eye.1);
    let fractions = (0..dem.frame.cols)
        .map(|c| (c as f64 - eye.0) / dc)
        .chain((0..dem.frame.rows).map(|r| (r as f64 - eye.1) / dr))
        .filter(|t| *t > 1e-12 && *t < 1.0 - 1e-12);
    let highest = fractions.map(|t| (ground(eye.0 + dc * t, eye.1 + dr * t) - level) / t).fold(f64::NEG_INFINITY, f64::max);
    z(column, row) + target_m - level - highest
}

proptest! {
    #[test]
    fn any_observer_sees_what_the_plain_rule_says(
        heights in prop::collection::vec(0.0..8.0_f32, 21 * 17), east in 3.0..100.0_f64, north in 3.0..80.0_f64,
        eye_m in 0.0..5.0_f64, target_m in 0.0..3.0_f64
    ) {
        let dem = Grid::from_cells(Frame::square(0.0, 85.0, 5.0, 21, 17), heights).unwrap();
        let eye = (east / 5.0 - 0.5, (85.0 - north) / 5.0 - 0.5);
        let sight = look(eye_m, target_m, 500.0, 0.0);
        let margin = margins(&dem, (east, north), &sight).unwrap();
        let seen = view(&dem, (east, north), &sight, None).unwrap();
        for row in 0..17 {
            for column in 0..21 {
                let expected = plain_margin(&dem, eye, eye_m, target_m, column, row);
                if expected.is_finite() {
                    let ours = f64::from(margin.get(column, row));
                    prop_assert!((ours - expected).abs() < 1e-3 * expected.abs().max(1.0), "{ours} {expected}");
                }
                if expected.abs() > 0.001 {
                    prop_assert_eq!(seen.share.get(column, row) == 1.0, expected > 0.0);
                }
            }
        }
    }

    #[test]
    fn more_cover_and_lower_eyes_never_open_the_view(
        heights in prop::collection::vec(0.0..3.0_f32, 31 * 31), tops in prop::collection::vec(0.0..4.0_f32, 31 * 31),
        opacity in 0.0..1.0_f32
    ) {
        let frame = Frame::square(0.0, 155.0, 5.0, 31, 31);
        let dem = Grid::from_cells(frame, heights).unwrap();
        let top = Grid::from_cells(frame, tops).unwrap();
        let shares = |eye_m: f64, opacity: f32| {
            let stop = Grid::filled(frame, opacity);
            let cover = Obstacles { top_m: &top, opacity: &stop, opacity_path_m: 5.0 };
            view(&dem, frame.centre(15, 15), &look(eye_m, 0.5, 70.0, 0.0), Some(cover)).unwrap()
        };
        let (open, dense, low) = (shares(1.0, opacity * 0.5), shares(1.0, opacity), shares(0.5, opacity));
        prop_assert!(dense.disc_open <= open.disc_open + 1e-9);
        prop_assert!(dense.horizon_open <= open.horizon_open + 1e-9);
        prop_assert!(low.disc_open <= dense.disc_open + 1e-9);
        for share in open.share.cells.iter().filter(|s| !s.is_nan()) {
            prop_assert!((0.0..=1.0).contains(share));
        }
    }
}

#[test]
fn several_observers_get_what_each_alone_would() {
    let dem = asc("03_viewshed/dem.asc");
    let observers: Vec<(f64, f64)> = (0..12).map(|k| dem.frame.centre(5 * k, 3 + 4 * k)).collect();
    let sight = look(0.3, 0.5, 300.0, 0.857_14);
    for (together, observer) in views(&dem, &observers, &sight, None).into_iter().zip(&observers) {
        let (together, alone) = (together.unwrap(), view(&dem, *observer, &sight, None).unwrap());
        assert_eq!(together.share.frame, alone.share.frame);
        assert_eq!(together.disc_open.to_bits(), alone.disc_open.to_bits());
    }
}
