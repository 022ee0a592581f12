//! All water to the steepest of the eight neighbours.
//!
//! Direction codes: powers of two clockwise from east, 1 east, 2 south-east, 4 south ... 128 north-east; 0 where no
//! neighbour is lower. Variant: neighbours outside the grid or missing are never receivers, so that rim cells drain
//! inwards or nowhere; ties go to the first direction clockwise from east; level ground is not routed.
//!
//! Source: Jenson & Domingue 1988, Photogrammetric Engineering and Remote Sensing 54:1593-1600 (their worked grid, as quoted
//! in public test files, is a check; the text from memory).

use super::RING;
use super::settle::{Network, settle};
use crate::Grid;
use crate::window;
use rayon::prelude::*;

/// Direction code of each cell (see the module); 0 for pits, level ground and missing cells.
///
/// `heights` [m], filled; `NaN` is missing.
pub fn directions(heights: &Grid<f32>) -> Grid<u8> {
    let (dx, dy) = (heights.frame.dx_m, heights.frame.dy_m);
    let (per_dx, per_dy, per_diagonal) = ((1.0 / dx) as f32, (1.0 / dy) as f32, (1.0 / dx.hypot(dy)) as f32);
    window::map_all(heights, |w| {
        let (mut steepest, mut code) = (0.0_f32, 0_u32);
        let ring = [
            (w.f, per_dx),
            (w.i, per_diagonal),
            (w.h, per_dy),
            (w.g, per_diagonal),
            (w.d, per_dx),
            (w.a, per_diagonal),
            (w.b, per_dy),
            (w.c, per_diagonal),
        ];
        for (k, (height, per_m)) in ring.into_iter().enumerate() {
            let fall = (w.e - height) * per_m;
            // A missing height makes the fall not-a-number, which is not greater.
            let steeper = fall > steepest;
            steepest = if steeper { fall } else { steepest };
            code = if steeper { 1 << k } else { code };
        }
        code as u8
    })
}

/// Number of cells that drain through each cell, itself counted.
///
/// `directions` as [`directions`] gives them; other codes count as 0. A missing cell gets nothing and is 1. Cells in a loop,
/// which no height model makes, are left 0.
pub fn accumulation(directions: &Grid<u8>) -> Grid<u32> {
    let frame = directions.frame;
    // The codes are receivers bit by bit; those with several bits are none of ours.
    let receivers = directions.cells.par_iter().map(|&code| if code.is_power_of_two() { code } else { 0 }).collect();
    Grid { frame, cells: settle(&Directions(directions), receivers, frame.cols) }
}

struct Directions<'a>(&'a Grid<u8>);

impl Network for Directions<'_> {
    type Value = u32;

    const OWN: u32 = 1;

    const RING: [(isize, isize); 8] = RING;

    #[inline(always)]
    fn pour(&self, cell: usize, total: u32, mut to: impl FnMut(usize, u32)) {
        to((self.0.cells[cell].trailing_zeros() % 8) as usize, total);
    }
}
