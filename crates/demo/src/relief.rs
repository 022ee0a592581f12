//! What the ground is like at each cell: slope, hollow or spur, water gathered, and where the dale's burn runs.

use crate::drainage::{Drainage, drain};
use crate::terrain::{EAST_M, NORTH_M};
use ground::{Frame, Grid};

/// Readings of the terrain, one value a cell.
pub struct Relief {
    /// The frame of every grid here.
    pub frame: Frame,
    /// Height, metres, averaged over about 70 m.
    pub height_m: Vec<f64>,
    /// Slope of the averaged height, degrees.
    pub slope_deg: Vec<f64>,
    /// Height above the mean of the ground within about 200 m, metres: spurs above zero, hollows below.
    pub spur_m: Vec<f64>,
    /// Drainage of the height model.
    pub drainage: Drainage,
    /// Local northing of the dale's burn, one a column, metres.
    pub burn_m: Vec<f64>,
    /// The same with its bends taken out, as walls follow it.
    pub bottom_m: Vec<f64>,
}

/// Mean over a square of `2 * reach + 1` cells, twice over, so that the result has no corners.
fn blur(values: &[f64], frame: Frame, reach: usize) -> Vec<f64> {
    let (cols, rows) = (frame.cols, frame.rows);
    let along = |values: &[f64], n_lines: usize, n: usize, stride: usize, line_stride: usize| {
        let mut out = vec![0.0; values.len()];
        for line in 0..n_lines {
            let at = |i: usize| line * line_stride + i * stride;
            let mut sums = vec![0.0; n + 1];
            for i in 0..n {
                sums[i + 1] = sums[i] + values[at(i)];
            }
            for i in 0..n {
                let (from, to) = (i.saturating_sub(reach), (i + reach + 1).min(n));
                out[at(i)] = (sums[to] - sums[from]) / (to - from) as f64;
            }
        }
        out
    };
    let mut out = values.to_vec();
    for _ in 0..2 {
        out = along(&out, rows, cols, 1, cols);
        out = along(&out, cols, rows, cols, 1);
    }
    out
}

impl Relief {
    /// Read the terrain.
    pub fn of(heights: &Grid<f32>) -> Self {
        let frame = heights.frame;
        let (cols, rows) = (frame.cols, frame.rows);
        let raw: Vec<f64> = heights.cells.iter().map(|&h| f64::from(h)).collect();
        let drainage = drain(&raw, cols, rows);
        let height_m = blur(&raw, frame, 2);
        let wide = blur(&raw, frame, 14);
        let spur_m = height_m.iter().zip(&wide).map(|(a, b)| a - b).collect();
        let mut slope_deg = vec![0.0; raw.len()];
        for r in 1..rows - 1 {
            for c in 1..cols - 1 {
                let i = frame.at(c, r);
                let dx = (height_m[i + 1] - height_m[i - 1]) / (2.0 * frame.dx_m);
                let dy = (height_m[i + cols] - height_m[i - cols]) / (2.0 * frame.dy_m);
                slope_deg[i] = dx.hypot(dy).atan().to_degrees();
            }
        }
        let burn_m = burn(&drainage, frame);
        let bottom_m = (0..cols)
            .map(|c| {
                let near = &burn_m[c.saturating_sub(45)..(c + 46).min(cols)];
                near.iter().sum::<f64>() / near.len() as f64
            })
            .collect();
        Self { frame, height_m, slope_deg, spur_m, drainage, burn_m, bottom_m }
    }

    /// Local place (metres east, metres north) of a cell's centre.
    pub fn place(&self, cell: usize) -> (f64, f64) {
        let (e, n) = self.frame.centre(cell % self.frame.cols, cell / self.frame.cols);
        (e - EAST_M, n - NORTH_M)
    }

    /// The cell at a local place.
    pub fn cell(&self, x: f64, y: f64) -> Option<usize> {
        self.frame.cell_of(x + EAST_M, y + NORTH_M).map(|(c, r)| self.frame.at(c, r))
    }

    /// Metres up the dale side: northing above the burn.
    pub fn up_m(&self, cell: usize) -> f64 {
        self.place(cell).1 - self.burn_m[cell % self.frame.cols]
    }

    /// The best cell within a distance of a place: the one with the least penalty (cell 0 off the map).
    pub fn best_near(&self, x: f64, y: f64, within_m: f64, penalty: &dyn Fn(usize) -> f64) -> usize {
        (0..self.height_m.len())
            .filter(|&i| {
                let (px, py) = self.place(i);
                (px - x).hypot(py - y) <= within_m
            })
            .min_by(|&a, &b| penalty(a).total_cmp(&penalty(b)))
            .unwrap_or(0)
    }
}

/// Follow the dale's burn: in each column the cell draining most within the dale bottom.
fn burn(drainage: &Drainage, frame: Frame) -> Vec<f64> {
    let bottom = |row: usize| {
        let y = frame.north_m - (row as f64 + 0.5) * frame.dy_m - NORTH_M;
        (-400.0..700.0).contains(&y).then_some(y)
    };
    (0..frame.cols)
        .map(|col| {
            (0..frame.rows)
                .filter_map(|row| bottom(row).map(|y| (drainage.drained[frame.at(col, row)], y)))
                .max_by(|a, b| a.0.total_cmp(&b.0))
                .map_or(0.0, |(_, y)| y)
        })
        .collect()
}
