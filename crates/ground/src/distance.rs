//! Distance from every cell to the nearest marked cell, exact and straight-line.
//!
//! Distances are between cell centres; a marked cell has distance 0. Two passes: along each row the nearest mark by
//! counting, then down each column the lower envelope of the parabolas those counts stand for.
//! Variant: lower envelope in real numbers, so that cells may be wider than high, and without divisions. Both passes run in parallel, the
//! second on blocks of columns turned on their side.
//!
//! Source: Felzenszwalb & Huttenlocher 2012, Theory of Computing 8:415-428, algorithm 1 (from memory).

use rayon::prelude::*;

use crate::{Frame, Grid};

/// Columns taken together in the second pass: one cache line of counts.
const BLOCK: usize = 16;

/// No mark in this row, or none within the limit. Other counts are one more than the cells to the nearest mark, so that
/// untouched memory, which comes zeroed and late, already means this.
const NONE: u32 = 0;

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
    let mut turned = vec![T::default(); frame.len()];
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
            envelope.measure(out, &frame, |squared| if squared <= limit.squared_m2 { of_square(squared) } else { none });
        }
    });
    Grid { frame, cells: turned_back(&turned, &frame) }
}

struct Limit {
    squared_m2: f64,
    /// Highest count along a row that can still matter.
    cells_along: u32,
}

impl Limit {
    fn of(frame: &Frame, limit_m: Option<f64>) -> Self {
        let limit_m = limit_m.unwrap_or(f64::INFINITY);
        // Rounding must not cut off a mark that lies at the limit exactly.
        Self { squared_m2: limit_m * limit_m * (1.0 + 1e-12), cells_along: ((limit_m / frame.dx_m) as u32).min(u32::MAX - 3) + 2 }
    }
}

/// Cells to the nearest mark in the same row, plus one; [`NONE`] without.
fn along_rows(marked: &Grid<bool>, limit: &Limit) -> Vec<u32> {
    let cols = marked.frame.cols;
    let mut counts = vec![NONE; marked.frame.len()];
    let next = |since: u32, mark: bool| if mark { 1 } else { since.saturating_add(1) };
    counts.par_chunks_mut(cols).zip(marked.cells.par_chunks(cols)).for_each(|(counts, marked)| {
        let mut since = u32::MAX;
        for (count, &mark) in counts.iter_mut().zip(marked) {
            since = next(since, mark);
            *count = since;
        }
        let mut since = u32::MAX;
        for (count, &mark) in counts.iter_mut().zip(marked).rev() {
            since = next(since, mark);
            let nearest = since.min(*count);
            *count = if nearest > limit.cells_along { NONE } else { nearest };
        }
    });
    counts
}

/// Parabolas of one column that are lowest somewhere, from north to south.
#[derive(Default)]
struct Envelope {
    parts: Vec<Parabola>,
}

/// Squared distance down one column from the nearest mark of one row, in squared cell heights: `(row - at)² + side`.
#[derive(Clone, Copy)]
struct Parabola {
    at: f64,
    side: f64,
}

impl Parabola {
    fn height(self, row: f64) -> f64 {
        (row - self.at) * (row - self.at) + self.side
    }

    /// Twice the rows between the two, and that times the row where they cross.
    fn crossing(self, later: Self) -> (f64, f64) {
        (2.0 * (later.at - self.at), later.height(0.0) - self.height(0.0))
    }
}

impl Envelope {
    fn build(&mut self, counts: &[u32], frame: &Frame) {
        let ratio = frame.dx_m / frame.dy_m;
        self.parts.clear();
        for (row, &count) in counts.iter().enumerate() {
            if count == NONE {
                continue;
            }
            let side = f64::from(count - 1) * ratio;
            let new = Parabola { at: row as f64, side: side * side };
            // The last part is nowhere lowest when the new one crosses it before it crosses the one before.
            while let [.., before, last] = self.parts[..] {
                let ((rows_a, at_a), (rows_b, at_b)) = (before.crossing(last), last.crossing(new));
                if at_b * rows_a > at_a * rows_b {
                    break;
                }
                self.parts.pop();
            }
            self.parts.push(new);
        }
    }

    /// Writes for each row the result of its squared distance [m²], infinite when the column has no mark.
    fn measure<T>(&self, out: &mut [T], frame: &Frame, of_square: impl Fn(f64) -> T) {
        let Some((&first, later)) = self.parts.split_first() else {
            out.iter_mut().for_each(|o| *o = of_square(f64::INFINITY));
            return;
        };
        let square_m2 = frame.dy_m * frame.dy_m;
        let mut later = later.iter();
        let (mut here, mut next) = (first, later.next());
        for (row, out) in out.iter_mut().enumerate() {
            let row = row as f64;
            let mut height = here.height(row);
            while let Some(&part) = next {
                let other = part.height(row);
                if other > height {
                    break;
                }
                (here, height, next) = (part, other, later.next());
            }
            *out = of_square(height * square_m2);
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
