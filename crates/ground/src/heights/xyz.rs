//! XYZ text: easting, northing, height on each line, in any order of lines.
//!
//! Separated by spaces, tabs, commas or semicolons; a first line of words is a heading and is passed over;
//! further columns are left unread. The points must lie on a regular lattice, which is inferred; lattice
//! points without a line are missing. Points are cell centres.

use rayon::prelude::*;

use super::ascii::{number, number_hint};
use super::error::{Faults, HeightsError, one, shown};
use super::{HeightModel, limits};
use crate::{Frame, Grid};

struct Point {
    east_m: f64,
    north_m: f64,
    height_m: f32,
    line: usize,
}

/// How far a point may lie off the lattice, as a share of the cell.
const OFF_FRACTION: f64 = 0.01;

/// Eastings or northings closer than this are one, differently rounded by the writer [m].
const SAME_PLACE_M: f64 = 0.001;

/// Reads a list of points into a grid.
pub(super) fn read(file: &str, bytes: &[u8]) -> Result<HeightModel, Vec<HeightsError>> {
    let points = points(file, bytes.strip_prefix(&[0xEF, 0xBB, 0xBF]).unwrap_or(bytes))?;
    let (west, dx) = axis(file, "easting", &points, |p| p.east_m)?;
    let (south, dy) = axis(file, "northing", &points, |p| p.north_m)?;
    // A single row or column borrows the other's spacing.
    let (Some(dx_m), Some(dy_m)) = (dx.or(dy), dy.or(dx)) else {
        return Err(one(file, "", "a single point makes no grid", "at least two points", "one", "add the other points"));
    };
    let frame = frame(file, &points, west, south, dx_m, dy_m)?;
    let (cells, doubled) = place(file, &points, frame)?;
    let mut notes = vec![format!("{file}: no coordinate system is stated in the file")];
    if doubled > 0 {
        notes.push(format!("{file}: {doubled} points stand twice with the same height"));
    }
    Ok(HeightModel { grid: Grid { frame, cells }, epsg: None, notes })
}

fn words(text: &[u8]) -> impl Iterator<Item = &[u8]> {
    text.split(|b| b.is_ascii_whitespace() || matches!(b, b',' | b';')).filter(|w| !w.is_empty())
}

fn points(file: &str, bytes: &[u8]) -> Result<Vec<Point>, Vec<HeightsError>> {
    let unix = bytes.contains(&b'\n');
    let lines: Vec<(usize, &[u8])> = (1..)
        .zip(bytes.split(|b| if unix { *b == b'\n' } else { *b == b'\r' }))
        .filter(|(_, text)| !text.iter().all(u8::is_ascii_whitespace))
        .collect();
    let heading = lines.first().is_some_and(|(_, text)| words(text).take(3).all(|w| number(w).is_none()));
    let lines = &lines[usize::from(heading)..];
    let read: Vec<Option<Point>> = lines.par_iter().map(|&(line, text)| point(line, text)).collect();
    if read.iter().all(Option::is_some) && !read.is_empty() {
        return Ok(read.into_iter().flatten().collect());
    }
    let mut faults = Faults::of(file);
    if read.is_empty() {
        faults.add("", "there are no points", "lines of easting, northing, height", "none", "fetch the file again");
    }
    for (_, &(line, text)) in read.iter().zip(lines).filter(|(p, _)| p.is_none()) {
        let bad = words(text).take(3).find(|w| !number(w).is_some_and(f64::is_finite));
        let (found, hint) = match bad {
            Some(word) => (shown(word), number_hint(word)),
            None => (format!("{} values", words(text).count()), "each line needs easting, northing and height"),
        };
        faults.add(format!("line {line}"), "not a point", "easting, northing, height", found, hint);
    }
    Err(faults.finish())
}

fn point(line: usize, text: &[u8]) -> Option<Point> {
    let mut on_line = words(text).map(number);
    let mut next = || on_line.next().flatten();
    let (east_m, north_m, height_m) = (next()?, next()?, next()?);
    (east_m.is_finite() && north_m.is_finite() && !height_m.is_infinite()).then_some(Point {
        east_m,
        north_m,
        height_m: height_m as f32,
        line,
    })
}

/// Least value along one axis, and the lattice spacing (`None` when all points share the value).
fn axis(
    file: &str,
    name: &str,
    points: &[Point],
    of: impl Fn(&Point) -> f64 + Sync,
) -> Result<(f64, Option<f64>), Vec<HeightsError>> {
    let mut values: Vec<f64> = points.iter().map(&of).collect();
    values.par_sort_unstable_by(f64::total_cmp);
    values.dedup();
    let first = values[0];
    let extent = values[values.len() - 1] - first;
    if extent == 0.0 {
        return Ok((first, None));
    }
    let gaps: Vec<f64> = values.windows(2).map(|w| w[1] - w[0]).filter(|g| *g > SAME_PLACE_M).collect();
    let Some(least) = gaps.iter().copied().reduce(f64::min) else { return Ok((first, None)) };
    // Whole columns may be missing, so the spacing is the common measure of the gaps, not the least gap.
    let common = gaps.iter().fold(least, |measure, &gap| common_measure(measure, gap, least * OFF_FRACTION));
    // Steps are counted over the whole extent, which averages the writer's rounding away.
    let spacing = extent / (extent / common).round().max(1.0);
    let off = |v: f64| { let s = (v - first) / spacing; (s - s.round()).abs() > OFF_FRACTION };
    if common >= least / 16.0 && !points.iter().any(|p| off(of(p))) {
        return Ok((first, Some(spacing)));
    }
    let mut sorted = gaps;
    sorted.par_sort_unstable_by(f64::total_cmp);
    let usual = sorted[sorted.len() / 2];
    let stray = points.iter().find(|p| { let s = (of(p) - first) / usual; (s - s.round()).abs() > OFF_FRACTION });
    let (line, value) = stray.map_or((points[0].line, of(&points[0])), |p| (p.line, of(p)));
    Err(one(
        file,
        format!("line {line}"),
        format!("the {name}s do not lie on a regular lattice"),
        format!("whole steps of {usual} m from {first}"),
        format!("{value}"),
        "grid the points first; scattered points are not taken",
    ))
}

/// Greatest common measure of two lengths by Euclid's rule, remainders under `least` counting as nothing.
fn common_measure(a: f64, b: f64, least: f64) -> f64 {
    let (mut a, mut b) = (a.max(b), a.min(b));
    while b > least {
        let rest = a % b;
        a = b;
        b = if b - rest < least { 0.0 } else { rest };
    }
    a
}

fn frame(file: &str, points: &[Point], west: f64, south: f64, dx_m: f64, dy_m: f64) -> Result<Frame, Vec<HeightsError>> {
    let east = points.iter().fold(west, |m, p| m.max(p.east_m));
    let north = points.iter().fold(south, |m, p| m.max(p.north_m));
    let (cols, rows) = (((east - west) / dx_m).round() + 1.0, ((north - south) / dy_m).round() + 1.0);
    let bearable = (points.len() as u64 * limits::SPARSE_RATIO_MAX).clamp(limits::SPARSE_ALWAYS, limits::CELLS_MAX);
    if cols * rows > bearable as f64 {
        return Err(one(
            file,
            "",
            "the points are too few for the lattice they span",
            format!("at most {bearable} cells for {} points", points.len()),
            format!("{cols} columns x {rows} rows of {dx_m} x {dy_m} m"),
            "look for a point with a mistaken easting or northing, or for a mistaken spacing",
        ));
    }
    Ok(Frame { west_m: west - dx_m / 2.0, north_m: south + (rows - 0.5) * dy_m, dx_m, dy_m, cols: cols as usize, rows: rows as usize })
}

/// Heights in their cells, and how many points only repeat another.
fn place(file: &str, points: &[Point], frame: Frame) -> Result<(Vec<f32>, usize), Vec<HeightsError>> {
    let mut cells = vec![f32::NAN; frame.len()];
    let mut faults = Faults::of(file);
    let mut doubled = 0;
    for p in points {
        let Some((col, row)) = frame.cell_of(p.east_m, p.north_m) else { continue };
        let cell = &mut cells[frame.at(col, row)];
        if cell.is_nan() {
            *cell = p.height_m;
        } else if *cell == p.height_m {
            doubled += 1;
        } else {
            faults.add(
                format!("line {}", p.line),
                format!("the point {} {} has two heights", p.east_m, p.north_m),
                format!("{cell} as on an earlier line"),
                p.height_m.to_string(),
                "keep the right one",
            );
        }
    }
    if faults.any() { Err(faults.finish()) } else { Ok((cells, doubled)) }
}
