//! Topographic wetness index: how much ground drains through a cell against how fast it can leave.
//!
//! ln(a / tan b), a the upslope area per metre of contour, tan b the fall. With D-infinity accumulation and slope. The
//! contour a cell drains over is the side of the square of the cell's area. High values are wet; the index ranks ground
//! of one model and has no meaning across cell sizes.
//!
//! Source: Beven & Kirkby 1979, Hydrological Sciences Bulletin 24:43-69, as given in Quinn, Beven & Lamb 1995 (abstract read).

use rayon::prelude::*;

use crate::Grid;

/// Wetness index [ln m]; missing where `slope` is missing or, without a floor, where it is 0.
///
/// `accumulation` — cells draining through each cell, itself counted; `slope` — fall [m/m] on the same frame;
/// `slope_min` — gentler falls, level ground among them, are taken as this [m/m].
pub fn wetness_index(accumulation: &Grid<f64>, slope: &Grid<f64>, slope_min: Option<f64>) -> Grid<f32> {
    let frame = accumulation.frame;
    let area_per_m = (frame.dx_m * frame.dy_m).sqrt();
    let of_cell = |(&cells, &fall): (&f64, &f64)| {
        let fall = slope_min.map_or(fall, |floor| if fall < floor { floor } else { fall });
        if fall > 0.0 { (cells * area_per_m / fall).ln() as f32 } else { f32::NAN }
    };
    Grid { frame, cells: accumulation.cells.par_iter().zip(&slope.cells).map(of_cell).collect() }
}
