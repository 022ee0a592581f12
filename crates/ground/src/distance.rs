//! Distance from every cell to the nearest marked cell, exact and straight-line.
//!
//! Distances are between cell centres; a marked cell has distance 0. Two passes: along each row the nearest mark by
//! counting, then down each column the lower envelope of the parabolas those counts stand for.
//! Variant: lower envelope in real numbers, so that cells may be wider than high. Both passes run in parallel, the
//! second on blocks of columns turned on their side.
//!
//! Source: Felzenszwalb & Huttenlocher 2012, Theory of Computing 8:415-428, algorithm 1 (from memory).

use rayon::prelude::*;

use crate::{Frame, Grid};

/// Columns taken together in the second pass: one cache line of counts.
const BLOCK: usize = 16;

/// No mark in this row, or none within the limit.
const NONE: u32 = u32::MAX;

/// Distance to the nearest marked cell [m]; infinite where there is none, or none within `limit_m`.
///
/// `marked` — cells to measure from. `limit_m` — greatest distance of interest [m], at least 0; cells farther away
/// become infinite and cost less time. Single precision: exact to half a unit of the last figure.
pub fn distance(marked: &Grid<bool>, limit_m: Option<f64>) -> Grid<f32> {
    transform(marked, limit_m, |squared| (squared as f32).sqrt(), f32::INFINITY)
}

/// Square of the distance to the nearest marked cell [m²], as [`distance`] but in double precision.
pub fn squared_distance(marked: &Grid<bool>, limit_m: Option<f64>) -> Grid<f64> {
    transform(marked, limit_m, |squared| squared, f64::INFINITY)
}

fn transform<T: Copy + Send + Sync + Default>(
    marked: &Grid<bool>,
    limit_m: Option<f64>,
    of_square: impl Fn(f64) -> T + Sync,
    none: T,
) -> Grid<T> {
    let frame = marked.frame;
    if frame.is_empty() {
        return Grid { frame, cells: Vec::new() };
    }
    let limit = Limit::of(&frame, limit_m);
    let along = along_rows(marked, &limit);
    // Blocks of columns: each block holds its columns one after the other.
    let mut turned = vec![none; frame.len()];
    turned.par_chunks_mut(BLOCK * frame.rows).enumerate().for_each_init(Envelope::default, |envelope, (block, out)| {
        let first_col = block * BLOCK;
        let mut columns = vec![NONE; out.len()];
        for (row, counts) in along.chunks_exact(frame.cols).enumerate() {
            for (column, &count) in columns.chunks_exact_mut(frame.rows).zip(&counts[first_col..]) {
                column[row] = count;
            }
        }
        for (counts, out) in columns.chunks_exact(frame.rows).zip(out.chunks_exact_mut(frame.rows)) {
            envelope.build(counts, &frame);
            envelope.measure(counts, &frame, |row, squared| {
                if squared <= limit.squared_m2 {
                    out[row] = of_square(squared);
                }
            });
        }
    });
    Grid { frame, cells: turned_back(&turned, &frame) }
}

struct Limit {
    squared_m2: f64,
    /// Longest run along a row that can still matter, in cells.
    cells_along: u32,
}

impl Limit {
    fn of(frame: &Frame, limit_m: Option<f64>) -> Self {
        let limit_m = limit_m.unwrap_or(f64::INFINITY);
        // Rounding must not cut off a mark that lies at the limit exactly.
        Self { squared_m2: limit_m * limit_m * (1.0 + 1e-12), cells_along: ((limit_m / frame.dx_m) as u32).saturating_add(1) }
    }
}

/// Cells to the nearest mark in the same row.
fn along_rows(marked: &Grid<bool>, limit: &Limit) -> Vec<u32> {
    let cols = marked.frame.cols;
    let mut counts = vec![NONE; marked.frame.len()];
    counts.par_chunks_mut(cols).zip(marked.cells.par_chunks(cols)).for_each(|(counts, marked)| {
        let mut since = NONE;
        for (count, &mark) in counts.iter_mut().zip(marked) {
            since = if mark { 0 } else { since.saturating_add(1) };
            *count = since;
        }
        let mut since = NONE;
        for (count, &mark) in counts.iter_mut().zip(marked).rev() {
            since = if mark { 0 } else { since.saturating_add(1) };
            let nearest = since.min(*count);
            *count = if nearest > limit.cells_along { NONE } else { nearest };
        }
    });
    counts
}

/// Parabolas of one column that are lowest somewhere, from north to south.
#[derive(Default)]
struct Envelope {
    /// Row of each parabola, and the row coordinate from which it is lowest.
    parts: Vec<(f64, f64, f64)>,
}

impl Envelope {
    /// Heights are in squared cell heights: a parabola stands over its row at `(count dx/dy)²`.
    fn build(&mut self, counts: &[u32], frame: &Frame) {
        let ratio = frame.dx_m / frame.dy_m;
        self.parts.clear();
        for (row, &count) in counts.iter().enumerate().filter(|&(_, &c)| c != NONE) {
            let at = row as f64;
            let side = f64::from(count) * ratio;
            let height = side * side + at * at;
            let mut from = f64::NEG_INFINITY;
            while let Some(&(last_at, last_height, last_from)) = self.parts.last() {
                from = (height - last_height) / (2.0 * (at - last_at));
                if from > last_from {
                    break;
                }
                self.parts.pop();
                from = f64::NEG_INFINITY;
            }
            self.parts.push((at, height, from));
        }
    }

    /// Calls `put` with each row and its squared distance [m²]; not at all when the column has no mark.
    fn measure(&self, counts: &[u32], frame: &Frame, mut put: impl FnMut(usize, f64)) {
        let mut parts = self.parts.iter().peekable();
        let Some(&(mut at, ..)) = parts.next() else { return };
        let square = |count: u32, rows_away: f64| {
            let (side, up) = (f64::from(count) * frame.dx_m, rows_away * frame.dy_m);
            side * side + up * up
        };
        for row in 0..counts.len() {
            while let Some(&&(next_at, _, from)) = parts.peek() {
                if from > row as f64 {
                    break;
                }
                at = next_at;
                parts.next();
            }
            put(row, square(counts[at as usize], row as f64 - at));
        }
    }
}

/// Columns one after the other back into rows.
fn turned_back<T: Copy + Send + Sync + Default>(turned: &[T], frame: &Frame) -> Vec<T> {
    let mut cells = vec![T::default(); frame.len()];
    cells.par_chunks_mut(frame.cols * BLOCK).enumerate().for_each(|(band, out)| {
        let first_row = band * BLOCK;
        let n_rows = out.len() / frame.cols;
        for (col, column) in turned.chunks_exact(frame.rows).enumerate() {
            for (row, &value) in column[first_row..first_row + n_rows].iter().enumerate() {
                out[row * frame.cols + col] = value;
            }
        }
    });
    cells
}
