//! Heights on another frame of cells.
//!
//! Variants: to finer or equal cells by bilinear interpolation between cell centres; to coarser cells by the mean over
//! the area they cover. [`resample`] chooses between them. On its own frame a grid comes back unchanged.

use std::ops::Range;

use rayon::prelude::*;

use crate::{Frame, Grid};

/// Share of a coarse cell that must have heights for it to have one; half, by common practice, no source.
const COVERED_FRACTION_MIN: f64 = 0.5;

/// Heights [m] on `target`: area means when its cells are larger both ways, else bilinear.
pub fn resample(heights: &Grid<f32>, target: Frame) -> Grid<f32> {
    let coarser = target.dx_m > heights.frame.dx_m && target.dy_m > heights.frame.dy_m;
    if coarser { area_mean(heights, target) } else { bilinear(heights, target) }
}

/// Bilinear interpolation at the centres of `target`.
///
/// Missing where the source cell holding the centre is missing or there is none; other missing neighbours are left out
/// and their weight shared among those present. In the outer half of the rim cells the rim is continued level.
pub fn bilinear(heights: &Grid<f32>, target: Frame) -> Grid<f32> {
    let source = heights.frame;
    let columns: Vec<Option<Between>> =
        (0..target.cols).map(|c| Between::of((target.centre(c, 0).0 - source.west_m) / source.dx_m, source.cols)).collect();
    let mut cells = vec![f32::NAN; target.len()];
    cells.par_chunks_mut(target.cols.max(1)).enumerate().for_each(|(row, out)| {
        let Some(v) = Between::of((source.north_m - target.centre(0, row).1) / source.dy_m, source.rows) else { return };
        for (cell, u) in out.iter_mut().zip(&columns) {
            let Some(u) = u else { continue };
            *cell = interpolated(heights, u, &v);
        }
    });
    Grid { frame: target, cells }
}

fn interpolated(heights: &Grid<f32>, u: &Between, v: &Between) -> f32 {
    if heights.get(u.holding, v.holding).is_nan() {
        return f32::NAN;
    }
    let (mut sum, mut weight) = (0.0, 0.0);
    for (row, w_row) in [(v.lower, 1.0 - v.fraction), (v.upper, v.fraction)] {
        for (col, w_col) in [(u.lower, 1.0 - u.fraction), (u.upper, u.fraction)] {
            let height = heights.get(col, row);
            if !height.is_nan() {
                sum += w_row * w_col * f64::from(height);
                weight += w_row * w_col;
            }
        }
    }
    (sum / weight) as f32
}

/// The two cells along one axis whose centres a place lies between, and how far along.
struct Between {
    lower: usize,
    upper: usize,
    fraction: f64,
    holding: usize,
}

impl Between {
    /// `place` in cells from the first edge; `None` outside `0..=n`.
    fn of(place: f64, n: usize) -> Option<Self> {
        // A shared lattice written in other numbers must still give the very cells: snap to a millionth of a cell.
        let centre = place - 0.5;
        let centre = if (centre - centre.round()).abs() < 1e-6 { centre.round() } else { centre };
        if n == 0 || centre < -0.5 || centre > n as f64 - 0.5 {
            return None;
        }
        let last = n - 1;
        let lower = centre.floor().max(0.0) as usize;
        let fraction = if centre < 0.0 { 0.0 } else { centre - lower as f64 };
        Some(Self { lower, upper: (lower + 1).min(last), fraction, holding: ((centre + 0.5).max(0.0) as usize).min(last) })
    }
}

/// Mean height over the area of each cell of `target`, parts of source cells counting by their share.
///
/// Missing where less than half of the cell's area has heights.
pub fn area_mean(heights: &Grid<f32>, target: Frame) -> Grid<f32> {
    let source = heights.frame;
    let columns: Vec<Overlap> = (0..target.cols)
        .map(|c| Overlap::of((target.west_m - source.west_m + c as f64 * target.dx_m) / source.dx_m, target.dx_m / source.dx_m, source.cols))
        .collect();
    let mut cells = vec![f32::NAN; target.len()];
    cells.par_chunks_mut(target.cols.max(1)).enumerate().for_each(|(row, out)| {
        let rows = Overlap::of((source.north_m - target.north_m + row as f64 * target.dy_m) / source.dy_m, target.dy_m / source.dy_m, source.rows);
        for (cell, columns) in out.iter_mut().zip(&columns) {
            *cell = mean(heights, columns, &rows);
        }
    });
    Grid { frame: target, cells }
}

fn mean(heights: &Grid<f32>, columns: &Overlap, rows: &Overlap) -> f32 {
    let (mut sum, mut weight) = (0.0, 0.0);
    for row in rows.cells.clone() {
        let w_row = rows.share(row);
        for col in columns.cells.clone() {
            let height = heights.get(col, row);
            if !height.is_nan() {
                let w = w_row * columns.share(col);
                sum += w * f64::from(height);
                weight += w;
            }
        }
    }
    let whole = columns.length() * rows.length();
    // A hair under half still counts as half: shares are sums of rounded numbers.
    if weight >= COVERED_FRACTION_MIN * whole * (1.0 - 1e-9) && weight > 0.0 { (sum / weight) as f32 } else { f32::NAN }
}

/// The source cells that one target cell reaches over along an axis, in source cells from the first edge.
struct Overlap {
    from: f64,
    to: f64,
    cells: Range<usize>,
}

impl Overlap {
    fn of(from: f64, length: f64, n: usize) -> Self {
        let snapped = |v: f64| if (v - v.round()).abs() < 1e-6 { v.round() } else { v };
        let (from, to) = (snapped(from), snapped(from + length));
        let cell = |v: f64| v.clamp(0.0, n as f64) as usize;
        Self { from, to, cells: cell(from.floor())..cell(to.ceil()) }
    }

    fn length(&self) -> f64 {
        self.to - self.from
    }

    fn share(&self, cell: usize) -> f64 {
        (self.to.min(cell as f64 + 1.0) - self.from.max(cell as f64)).max(0.0)
    }
}

/// The part of a grid that touches a box, on the same lattice; `None` when they do not meet.
///
/// A box edge that runs along a cell edge does not take in the cells beyond it.
pub fn clip<T: Copy>(grid: &Grid<T>, west_m: f64, south_m: f64, east_m: f64, north_m: f64) -> Option<Grid<T>> {
    let f = &grid.frame;
    let snapped = |v: f64| if (v - v.round()).abs() < 1e-6 { v.round() } else { v };
    let range = |from: f64, to: f64, n: usize| {
        let cell = |v: f64| v.clamp(0.0, n as f64) as usize;
        cell(snapped(from).floor())..cell(snapped(to).ceil())
    };
    let cols = range((west_m - f.west_m) / f.dx_m, (east_m - f.west_m) / f.dx_m, f.cols);
    let rows = range((f.north_m - north_m) / f.dy_m, (f.north_m - south_m) / f.dy_m, f.rows);
    if cols.is_empty() || rows.is_empty() {
        return None;
    }
    let frame = Frame {
        west_m: f.west_m + cols.start as f64 * f.dx_m,
        north_m: f.north_m - rows.start as f64 * f.dy_m,
        cols: cols.len(),
        rows: rows.len(),
        ..*f
    };
    let cells = rows.flat_map(|row| grid.cells[f.at(cols.start, row)..f.at(cols.end, row)].iter().copied()).collect();
    Some(Grid { frame, cells })
}
