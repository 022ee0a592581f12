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
    Grid { frame, cells: settle(&Directions(directions), frame.cols, frame.rows) }
}

struct Directions<'a>(&'a Grid<u8>);

impl Directions<'_> {
    fn neighbour(&self, col: usize, row: usize, k: usize) -> Option<(usize, usize)> {
        let (c, r) = (col.wrapping_add_signed(RING[k].0), row.wrapping_add_signed(RING[k].1));
        (c < self.0.frame.cols && r < self.0.frame.rows).then_some((c, r))
    }

    fn senders(&self, col: usize, row: usize) -> impl Iterator<Item = (usize, usize)> {
        // The neighbour in direction k sends here when its code is the opposite one.
        (0..8).filter_map(move |k| self.neighbour(col, row, k).filter(|&(c, r)| self.0.get(c, r) == 1 << ((k + 4) % 8)))
    }
}

impl Network for Directions<'_> {
    type Value = u32;

    fn n_senders(&self, col: usize, row: usize) -> u8 {
        self.senders(col, row).count() as u8
    }

    fn receivers(&self, col: usize, row: usize, mut to: impl FnMut(usize, usize)) {
        let code = self.0.get(col, row);
        if code.is_power_of_two()
            && let Some((c, r)) = self.neighbour(col, row, code.trailing_zeros() as usize)
        {
            to(c, r);
        }
    }

    fn value(&self, col: usize, row: usize, at: impl Fn(usize, usize) -> u32) -> u32 {
        1 + self.senders(col, row).map(|(c, r)| at(c, r)).sum::<u32>()
    }
}
