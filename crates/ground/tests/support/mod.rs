//! Reading the fixtures, by other code than the one under test, and comparing grids.
#![allow(dead_code, reason = "each test file uses its own part")]

use ground::{Frame, Grid};

/// A fixture grid in double precision; the missing value becomes `NaN`.
pub fn asc64(name: &str) -> Grid<f64> {
    let text = std::fs::read_to_string(format!("tests/data/{name}")).unwrap();
    let (mut cols, mut rows, mut west, mut south, mut cell, mut missing) = (0, 0, 0.0, 0.0, 0.0, f64::NAN);
    let mut cells = Vec::new();
    for line in text.lines() {
        let words: Vec<&str> = line.split_whitespace().collect();
        let value = || words[1].parse::<f64>().unwrap();
        match words.first().map(|w| w.to_lowercase()).as_deref() {
            None => {}
            Some("ncols") => cols = value() as usize,
            Some("nrows") => rows = value() as usize,
            Some("xllcorner") => west = value(),
            Some("yllcorner") => south = value(),
            Some("cellsize") => cell = value(),
            Some("nodata_value") => missing = value(),
            Some(_) => cells.extend(words.iter().map(|w| w.parse::<f64>().unwrap())),
        }
    }
    for v in &mut cells {
        if *v == missing {
            *v = f64::NAN;
        }
    }
    Grid::from_cells(Frame::square(west, south + cell * rows as f64, cell, cols, rows), cells).unwrap()
}

/// A fixture grid in single precision.
pub fn asc(name: &str) -> Grid<f32> {
    let grid = asc64(name);
    Grid { frame: grid.frame, cells: grid.cells.iter().map(|&v| v as f32).collect() }
}

fn compare(ours: &Grid<f32>, theirs: &Grid<f32>, tolerance: f64, apart: impl Fn(f64) -> f64) {
    assert_eq!((ours.frame.cols, ours.frame.rows), (theirs.frame.cols, theirs.frame.rows));
    let mut worst = 0.0_f64;
    for row in 0..ours.frame.rows {
        for col in 0..ours.frame.cols {
            let (a, b) = (ours.get(col, row), theirs.get(col, row));
            assert_eq!(a.is_nan(), b.is_nan(), "missing or not at column {col}, row {row}: {a} and {b}");
            if !a.is_nan() {
                worst = worst.max(apart((f64::from(a) - f64::from(b)).abs()));
                assert!(worst <= tolerance, "{a} and {b} at column {col}, row {row}: {worst} apart, allowed {tolerance}");
            }
        }
    }
}

/// Same missing cells, and values within a tolerance.
pub fn assert_close(ours: &Grid<f32>, theirs: &Grid<f32>, tolerance: f64) {
    compare(ours, theirs, tolerance, |d| d);
}

/// As [`assert_close`], for bearings in degrees.
pub fn assert_close_bearings(ours: &Grid<f32>, theirs: &Grid<f32>, tolerance_deg: f64) {
    compare(ours, theirs, tolerance_deg, |d| d.min(360.0 - d));
}

/// Heights of files by their own names.
pub fn read_files(paths: &[std::path::PathBuf]) -> Result<ground::heights::HeightModel, Vec<ground::heights::HeightsError>> {
    let called = |path: &std::path::PathBuf| (path.clone(), path.file_name().unwrap().to_string_lossy().into_owned());
    ground::heights::read(&paths.iter().map(called).collect::<Vec<_>>())
}
