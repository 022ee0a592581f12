//! The invented terrain: a dale with a fell above it, cut by its own becks.
//!
//! A broad shape and fractal noise are laid on a coarse grid, worn down by running water (stream power with
//! area to the half, solved downstream first) and by creep (diffusion), then brought to the plan's cell.
//! Places are given in metres east and north of the holding's own corner, see [`EAST_M`] and [`NORTH_M`].

use crate::drainage::drain;
use crate::noise::{chance, fractal};
use ground::{Frame, Grid};

/// Easting of the corner that local places are counted from, metres.
pub const EAST_M: f64 = 381_000.0;
/// Northing of the corner that local places are counted from, metres.
pub const NORTH_M: f64 = 546_000.0;
/// Ground modelled beyond the corner on the west and south, metres.
const MARGIN_M: f64 = 2_400.0;
const WIDE_M: f64 = 9_200.0;
const LONG_M: f64 = 9_000.0;
const COARSE_M: f64 = 40.0;

/// The frame of the plan's 10 m grids.
pub fn frame() -> Frame {
    Frame::square(EAST_M - MARGIN_M, NORTH_M - MARGIN_M + LONG_M, 10.0, (WIDE_M / 10.0) as usize, (LONG_M / 10.0) as usize)
}

/// A rise from 0 to 1 between two values.
pub fn ramp(value: f64, from: f64, to: f64) -> f64 {
    let t = ((value - from) / (to - from)).clamp(0.0, 1.0);
    t * t * (3.0 - 2.0 * t)
}

/// The line the dale bottom is laid along: northing for an easting, both local.
fn dale_line(x: f64) -> f64 {
    120.0 + 110.0 * (x / 760.0 + 0.6).sin() + 60.0 * (x / 1_900.0).cos()
}

/// Height before water has worked on it, metres.
fn raw(x: f64, y: f64, seed: u64) -> f64 {
    // Places are shifted about before the broad shape is read, so that no contour runs straight.
    let away = ramp((y - dale_line(x)).abs(), 0.0, 1_200.0);
    let wx = x + (60.0 + 260.0 * away) * fractal(x, y, 1_500.0, 4, seed ^ 0x11);
    let wy = y + 420.0 * away * fractal(x, y, 1_800.0, 4, seed ^ 0x12);
    let up = wy - dale_line(wx);
    let dale = 228.0 - 0.006 * x + 0.02 * up.abs().min(250.0);
    let north_side = 90.0 * ramp(up, 40.0, 900.0) + 88.0 * ramp(up, 900.0, 2_000.0) + 92.0 * ramp(up, 2_350.0, 3_500.0)
        - 130.0 * ramp(up, 3_800.0, 6_400.0);
    let south_side = 110.0 * ramp(-up, 60.0, 1_000.0) + 70.0 * ramp(-up, 1_200.0, 2_600.0);
    // Side becks begin as shallow grooves; the water deepens them.
    let groove = |at: f64, deep: f64, lean: f64| {
        let off = wx - at - lean * (y / 1_000.0) - 190.0 * fractal(y, at, 1_100.0, 3, seed ^ 0x77);
        deep * (-(off / 170.0).powi(2)).exp() * ramp(up, 0.0, 500.0) * (1.0 - ramp(up, 1_900.0, 3_200.0))
    };
    let rough = 70.0 * fractal(x, y, 1_900.0, 7, seed ^ 0x2A) * (0.3 + 0.7 * ramp(up.abs(), 100.0, 1_500.0));
    dale + north_side + south_side + rough - groove(1_500.0, 34.0, 40.0) - groove(2_850.0, 26.0, 160.0) - groove(-700.0, 24.0, -90.0)
}

/// Wear a height grid down by running water and creep.
fn wear(heights: &mut [f64], cols: usize, rows: usize, seed: u64) {
    const STEPS: usize = 36;
    const WATER: f64 = 0.011;
    const CREEP: f64 = 0.022;
    for step in 0..STEPS {
        // Slips and falls of rock keep the water from settling into the grid's own directions.
        for (i, height) in heights.iter_mut().enumerate() {
            *height += 1.6 * (chance(i as i64, step as i64, seed ^ 0xFA11) - 0.5);
        }
        let flow = drain(heights, cols, rows);
        for &cell in &flow.upstream_order {
            let to = flow.receiver[cell];
            if to != cell && heights[cell] > heights[to] {
                let area_m2 = flow.drained[cell] * COARSE_M * COARSE_M;
                // Some rock wears faster than other rock, so that no beck runs dead straight.
                let (x, y) = ((cell % cols) as f64 * COARSE_M, (cell / cols) as f64 * COARSE_M);
                let soft = 1.0 + 0.9 * fractal(x, y, 260.0, 2, seed ^ 0x50F7);
                let pull = WATER * soft * area_m2.sqrt() / COARSE_M;
                heights[cell] = (heights[cell] + pull * heights[to]) / (1.0 + pull);
            }
        }
        for _ in 0..3 {
            let before = heights.to_vec();
            for r in 1..rows - 1 {
                for c in 1..cols - 1 {
                    let i = r * cols + c;
                    let bend = before[i - 1] + before[i + 1] + before[i - cols] + before[i + cols] - 4.0 * before[i];
                    heights[i] += CREEP * bend;
                }
            }
        }
    }
}

/// Cubic (Catmull-Rom) weights for a place between the second and third of four samples.
fn cubic(t: f64) -> [f64; 4] {
    [
        0.5 * (-t + 2.0 * t * t - t * t * t),
        0.5 * (2.0 - 5.0 * t * t + 3.0 * t * t * t),
        0.5 * (t + 4.0 * t * t - 3.0 * t * t * t),
        0.5 * (t * t * t - t * t),
    ]
}

/// The height model of the demo, metres above sea level on 10 m cells.
pub fn heights(seed: u64) -> Grid<f32> {
    let frame = frame();
    let cols = (WIDE_M / COARSE_M) as usize + 5;
    let rows = (LONG_M / COARSE_M) as usize + 5;
    let (west, south) = (-MARGIN_M - 2.0 * COARSE_M, -MARGIN_M - 2.0 * COARSE_M);
    let mut coarse: Vec<f64> = (0..cols * rows)
        .map(|i| raw(west + (i % cols) as f64 * COARSE_M, south + (i / cols) as f64 * COARSE_M, seed))
        .collect();
    wear(&mut coarse, cols, rows, seed);
    let mut out = Grid::filled(frame, 0.0_f32);
    for r in 0..frame.rows {
        for c in 0..frame.cols {
            let (e, n) = frame.centre(c, r);
            let (x, y) = (e - EAST_M, n - NORTH_M);
            let (gx, gy) = ((x - west) / COARSE_M, (y - south) / COARSE_M);
            let (c0, r0) = (gx.floor() as usize, gy.floor() as usize);
            let (wx, wy) = (cubic(gx - gx.floor()), cubic(gy - gy.floor()));
            let mut h = 0.0;
            for (j, wj) in wy.iter().enumerate() {
                for (i, wi) in wx.iter().enumerate() {
                    h += wi * wj * coarse[(r0 + j - 1).min(rows - 1) * cols + (c0 + i - 1).min(cols - 1)];
                }
            }
            h += 1.5 * fractal(x, y, 210.0, 3, seed ^ 0x5EED);
            out.cells[frame.at(c, r)] = ((h * 100.0).round() / 100.0) as f32;
        }
    }
    out
}
