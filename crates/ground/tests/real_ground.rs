//! Real hill ground: four 10 km tiles of a 50 m height model, upper Teesdale.
//!
//! Data: OS Terrain 50 (2013). Contains OS data (c) Crown copyright and database right 2013, Open Government Licence.
//! Read from beside the workspace and skipped when absent. Expected figures: gdaldem 3.6.2 (Horn) on the same mosaic.

#![allow(clippy::unwrap_used, clippy::print_stdout, reason = "a test may stop and say why it was skipped")]

use std::path::PathBuf;

use ground::slope::{Gradient, Rim, aspect_deg, slope_deg};
use crate::support::{assert_close, assert_close_bearings, read_files};

fn folder() -> Option<PathBuf> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../../shared/data");
    if folder.join("heights_teesdale").is_dir() {
        return Some(folder);
    }
    println!("skipped: the folder of real heights (../shared/data beside the workspace) is absent");
    None
}

#[test]
fn four_tiles_of_teesdale() {
    let Some(folder) = folder() else { return };
    let tiles: Vec<PathBuf> = ["ny82", "ny83", "ny92", "ny93"].iter().map(|t| folder.join(format!("heights_teesdale/{t}.zip"))).collect();
    let model = read_files(&tiles).unwrap();
    let frame = model.grid.frame;
    assert_eq!((frame.cols, frame.rows, frame.west_m, frame.south_m(), frame.dx_m), (400, 400, 380_000.0, 520_000.0, 50.0));
    assert_eq!(model.epsg, None);

    let heights = &model.grid.cells;
    let sum: f64 = heights.iter().map(|&h| f64::from(h)).sum();
    assert!((sum / heights.len() as f64 - 445.405_319).abs() < 1e-5);
    assert_eq!(heights.iter().copied().fold(f32::INFINITY, f32::min), 176.5);
    assert_eq!(heights.iter().copied().fold(f32::NEG_INFINITY, f32::max), 788.6);

    let slope = slope_deg(&model.grid, Gradient::Horn, Rim::Missing);
    let aspect = aspect_deg(&model.grid, Gradient::Horn, Rim::Missing);
    let mut known: Vec<f64> = slope.cells.iter().filter(|v| !v.is_nan()).map(|&v| f64::from(v)).collect();
    known.sort_by(f64::total_cmp);
    let n = known.len();
    assert_eq!(n, 158_404);
    assert!((known.iter().sum::<f64>() / n as f64 - 6.604_047_3).abs() < 1e-5);
    assert!((known[n - 1] - 37.915_604).abs() < 2e-4);
    assert!(((known[n / 2 - 1] + known[n / 2]) / 2.0 - 6.136_162_3).abs() < 2e-4);
    for (limit_deg, share) in [(5.0, 0.630_495), (10.0, 0.160_387), (15.0, 0.025_214), (20.0, 0.005_019), (25.0, 0.001_616)] {
        let found = known.iter().filter(|&&v| v >= limit_deg).count() as f64 / n as f64;
        // One cell at the very limit may fall either way.
        assert!((found - share).abs() < 7e-6, "share from {limit_deg} degrees: {found}");
    }

    let point = |grid: &ground::Grid<f32>| grid.at_point(390_025.0, 532_025.0).unwrap();
    assert_eq!(point(&model.grid), 530.1);
    assert!((point(&slope) - 5.250_943_7).abs() < 2e-4);
    assert!((point(&aspect) - 206.843_96).abs() < 2e-3);

    let derived = |name: &str| read_files(&[folder.join("derived").join(name)]).unwrap();
    let expected = derived("gdaldem_slope_horn_NY82_83_92_93.tif");
    assert_eq!((expected.epsg, expected.grid.frame), (Some(27_700), frame));
    assert_close(&slope, &expected.grid, 2e-4);
    assert_close_bearings(&aspect, &derived("gdaldem_aspect_horn_NY82_83_92_93.tif").grid, 2e-3);
}
