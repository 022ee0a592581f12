//! Distance from every cell to the nearest marked cell, exact and straight-line.
//!
//! Distances are between cell centres; a marked cell has distance 0. Two passes: along each row the nearest mark by
//! counting, then down each column the lower envelope of the parabolas those counts stand for.
//! Variant: lower envelope in real numbers, so that cells may be wider than high, and without divisions. Both passes run in parallel, the
//! second on blocks of columns.
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
    // Blocks of columns, each row by row; the last may be narrower.
    let mut blocks = vec![T::default(); frame.len()];
    blocks.par_chunks_mut(BLOCK * frame.rows).enumerate().for_each_init(Envelope::default, |envelope, (block, out)| {
        let first_col = block * BLOCK;
        let width = out.len() / frame.rows;
        let mut columns = vec![NONE; out.len()];
        for (row, counts) in along.chunks_exact(frame.cols).enumerate() {
            for (column, &count) in columns.chunks_exact_mut(frame.rows).zip(&counts[first_col..]) {
                column[row] = count;
            }
        }
        for (col, counts) in columns.chunks_exact(frame.rows).enumerate() {
            envelope.build(counts, &frame);
            let cells = out[col..].iter_mut().step_by(width);
            envelope.measure(cells, &frame, |squared| if squared <= limit.squared_m2 { of_square(squared) } else { none });
        }
    });
    Grid { frame, cells: rows_of_blocks(&blocks, &frame) }
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
///
/// These are the corners of the lower convex hull of the points (row, row² + side), which is how they are found.
#[derive(Default)]
struct Envelope {
    points: Vec<Point>,
    parts: Vec<Parabola>,
}

/// A row with a mark, and its squared row number plus `side` of its parabola.
#[derive(Clone, Copy, Default)]
struct Point {
    row: f64,
    height: f64,
}

/// True when `b` lies below the line from `a` to `c`.
#[inline(always)]
fn is_corner(a: Point, b: Point, c: Point) -> bool {
    (b.height - a.height) * (c.row - b.row) < (c.height - b.height) * (b.row - a.row)
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
}

/// Passes that drop points above the line between their neighbours before the hull is walked. Such points are no corners,
/// whatever else is dropped; dropping them takes no branches, which the walk does.
const THINNINGS: usize = 3;

impl Envelope {
    fn build(&mut self, counts: &[u32], frame: &Frame) {
        let ratio = frame.dx_m / frame.dy_m;
        let side = |count: u32| (f64::from(count - 1) * ratio) * (f64::from(count - 1) * ratio);
        self.points.clear();
        self.points.resize(counts.len(), Point::default());
        let mut n = 0;
        for (row, &count) in counts.iter().enumerate() {
            let row = row as f64;
            self.points[n] = Point { row, height: row * row + side(count.max(1)) };
            n += usize::from(count != NONE);
        }
        self.points.truncate(n);
        for _ in 0..THINNINGS {
            self.thin();
        }
        // The walk, in place: the first `n` points are the hull of those seen.
        let mut n = 0;
        for k in 0..self.points.len() {
            let new = self.points[k];
            while n >= 2 && !is_corner(self.points[n - 2], self.points[n - 1], new) {
                n -= 1;
            }
            self.points[n] = new;
            n += 1;
        }
        self.parts.clear();
        self.parts.extend(self.points[..n].iter().map(|p| Parabola { at: p.row, side: side(counts[p.row as usize]) }));
    }

    fn thin(&mut self) {
        let last = self.points.len().saturating_sub(1);
        if last < 2 {
            return;
        }
        let (mut before, mut here, mut n) = (self.points[0], self.points[1], 1);
        for k in 2..=last {
            let next = self.points[k];
            self.points[n] = here;
            n += usize::from(is_corner(before, here, next));
            (before, here) = (here, next);
        }
        self.points[n] = here;
        self.points.truncate(n + 1);
    }

    /// Writes for each row the result of its squared distance [m²], infinite when the column has no mark.
    fn measure<'a, T: 'a>(&self, out: impl Iterator<Item = &'a mut T>, frame: &Frame, of_square: impl Fn(f64) -> T) {
        let Some((&first, later)) = self.parts.split_first() else {
            out.for_each(|o| *o = of_square(f64::INFINITY));
            return;
        };
        let square_m2 = frame.dy_m * frame.dy_m;
        let mut later = later.iter();
        let (mut here, mut next) = (first, later.next());
        for (row, out) in out.enumerate() {
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

/// Blocks of columns put side by side again.
fn rows_of_blocks<T: Copy + Send + Sync + Default>(blocks: &[T], frame: &Frame) -> Vec<T> {
    let mut cells = vec![T::default(); frame.len()];
    cells.par_chunks_mut(frame.cols * BLOCK).enumerate().for_each(|(band, out)| {
        for (block, from) in blocks.chunks(BLOCK * frame.rows).enumerate() {
            let width = from.len() / frame.rows;
            let from = from.chunks_exact(width).skip(band * BLOCK);
            for (row, from) in out.chunks_exact_mut(frame.cols).zip(from) {
                row[block * BLOCK..block * BLOCK + width].copy_from_slice(from);
            }
        }
    });
    cells
}
