//! Several height sources as one grid.
//!
//! All must have the same cell size and lie on one lattice, and may not state different coordinate systems.
//! Where sources overlap, **the first one given wins**; later ones only fill cells still missing, and a note
//! says how many cells overlapped with another height.

use super::error::{HeightsError, one};
use super::{HeightModel, Source, limits};
use crate::{Frame, Grid};

/// Relative difference of cell sizes that counts as none.
const SAME_CELL: f64 = 1e-6;

/// Offset of lattices that counts as none, as a share of the cell.
const SAME_LATTICE: f64 = 0.01;

/// Heights closer than this agree [m]; one unit of the last figure of centimetre data.
const SAME_HEIGHT_M: f32 = 0.01;

/// Joins sources. One alone is handed through.
pub(crate) fn join(mut sources: Vec<Source>) -> Result<HeightModel, Vec<HeightsError>> {
    if sources.len() == 1
        && let Some(only) = sources.pop()
    {
        return Ok(only.model);
    }
    let faults: Vec<HeightsError> = sources.iter().skip(1).flat_map(|s| disagreements(&sources[0], s)).collect();
    if !faults.is_empty() {
        return Err(faults);
    }
    let frame = cover(&sources)?;
    let mut grid = Grid::filled(frame, f32::NAN);
    let mut notes = notes_of(&sources);
    let epsg = sources.iter().find_map(|s| s.model.epsg);
    for source in sources {
        let (overlap, apart_m) = lay(&mut grid, &source.model.grid);
        if overlap > 0 {
            notes.push(format!(
                "{}: {overlap} cells already had a height from an earlier file, up to {apart_m:.2} m apart; the earlier height is kept",
                source.name
            ));
        }
    }
    Ok(HeightModel { grid, epsg, notes })
}

fn disagreements(first: &Source, other: &Source) -> Vec<HeightsError> {
    let (a, b) = (&first.model.grid.frame, &other.model.grid.frame);
    let mut faults = Vec::new();
    let mut fault = |what: &str, needed: String, found: String, hint: &str| {
        faults.extend(one(&other.name, "", format!("{what} of `{}` and `{}`", first.name, other.name), needed, found, hint));
    };
    let differs = |x: f64, y: f64| ((x - y) / x).abs() > SAME_CELL;
    if differs(a.dx_m, b.dx_m) || differs(a.dy_m, b.dy_m) {
        fault(
            "different cell sizes",
            format!("{} x {} m", a.dx_m, a.dy_m),
            format!("{} x {} m", b.dx_m, b.dy_m),
            "give files of one resolution, or resample one of them first",
        );
    } else {
        let off = |d: f64, cell: f64| { let s = d / cell; (s - s.round()).abs() > SAME_LATTICE };
        if off(b.west_m - a.west_m, a.dx_m) || off(b.north_m - a.north_m, a.dy_m) {
            fault(
                "cells that do not line up",
                format!("edges whole cells away from {} {}", a.west_m, a.north_m),
                format!("{} {}", b.west_m, b.north_m),
                "one of them may give cell centres for corners; resample it first",
            );
        }
    }
    if let (Some(x), Some(y)) = (first.model.epsg, other.model.epsg)
        && x != y
    {
        fault("different coordinate systems", format!("EPSG:{x}"), format!("EPSG:{y}"), "reproject one of them first");
    }
    faults
}

fn cover(sources: &[Source]) -> Result<Frame, Vec<HeightsError>> {
    let frames = || sources.iter().map(|s| &s.model.grid.frame);
    let first = sources[0].model.grid.frame;
    let west_m = frames().fold(f64::INFINITY, |m, f| m.min(f.west_m));
    let north_m = frames().fold(f64::NEG_INFINITY, |m, f| m.max(f.north_m));
    let cols = ((frames().fold(f64::NEG_INFINITY, |m, f| m.max(f.east_m())) - west_m) / first.dx_m).round();
    let rows = ((north_m - frames().fold(f64::INFINITY, |m, f| m.min(f.south_m()))) / first.dy_m).round();
    let held: u64 = frames().map(|f| f.len() as u64).sum();
    let bearable = (held * limits::SPARSE_RATIO_MAX).clamp(limits::SPARSE_ALWAYS, limits::CELLS_MAX);
    if cols * rows > bearable as f64 {
        let names: Vec<&str> = sources.iter().map(|s| s.name.as_str()).collect();
        return Err(one(
            &names.join(", "),
            "",
            "the files lie too far apart for one grid",
            format!("at most {bearable} cells"),
            format!("{cols} columns x {rows} rows"),
            "give only the tiles round the ground in hand",
        ));
    }
    Ok(Frame { west_m, north_m, cols: cols as usize, rows: rows as usize, ..first })
}

/// Notes of all sources; one that every source shares is said once.
fn notes_of(sources: &[Source]) -> Vec<String> {
    let without_system = sources.iter().filter(|s| s.model.epsg.is_none()).count();
    let mut notes: Vec<String> = Vec::new();
    if without_system > 0 {
        notes.push(format!("{without_system} of {} files state no coordinate system", sources.len()));
    }
    let own = sources.iter().flat_map(|s| s.model.notes.iter());
    notes.extend(own.filter(|n| !n.ends_with("no coordinate system is stated in the file")).cloned());
    notes
}

/// Fills the missing cells of `onto` from `tile`; counts cells both have, and how far they differ at most [m].
fn lay(onto: &mut Grid<f32>, tile: &Grid<f32>) -> (usize, f32) {
    let frame = onto.frame;
    let col0 = ((tile.frame.west_m - frame.west_m) / frame.dx_m).round() as usize;
    let row0 = ((frame.north_m - tile.frame.north_m) / frame.dy_m).round() as usize;
    let (mut overlap, mut apart_m) = (0, 0.0_f32);
    for (row, from) in tile.cells.chunks_exact(tile.frame.cols).enumerate() {
        let start = frame.at(col0, row0 + row);
        for (to, &height) in onto.cells[start..start + from.len()].iter_mut().zip(from) {
            if to.is_nan() {
                *to = height;
            } else if (*to - height).abs() > SAME_HEIGHT_M {
                overlap += 1;
                apart_m = apart_m.max((*to - height).abs());
            }
        }
    }
    (overlap, apart_m)
}
