//! Water along the steepest way down, shared between the two neighbours it passes between.
//!
//! Eight triangular facets round each cell; the steepest downward direction on any of them is the cell's. Its water goes to
//! the two neighbours beside that direction, in proportion to the angles. Variant: rim cells have no direction and send
//! nothing; ties go to the first facet in Tarboton's order; cells may be wider than high.
//!
//! Source: Tarboton 1997, Water Resources Research 33:309-319, table 1 and equations 1-5 (from memory; checked on tilted
//! planes and against a public library).

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use super::settle::{Network, settle};
use crate::{Frame, Grid};
use rayon::prelude::*;

/// The steepest way down.
#[derive(Clone, Debug)]
pub struct Steepest {
    /// Direction [radians, anticlockwise from east, 0 to under 2 pi]; `NaN` at the rim, in pits, on level and missing ground.
    pub angle_rad: Grid<f64>,
    /// Fall along it [m/m]; 0 in pits and on level ground, `NaN` at the rim and where the cell is missing.
    pub slope: Grid<f64>,
}

/// Steps (columns east, rows south) to the neighbours anticlockwise from east.
const ANTICLOCKWISE: [(isize, isize); 8] = [(1, 0), (1, -1), (0, -1), (-1, -1), (-1, 0), (-1, 1), (0, 1), (1, 1)];

/// Facets in Tarboton's order: straight neighbour, diagonal neighbour, quarter turns to the base direction, sign of turning.
const FACETS: [(usize, usize, f64, f64); 8] =
    [(0, 1, 0.0, 1.0), (2, 1, 1.0, -1.0), (2, 3, 1.0, 1.0), (4, 3, 2.0, -1.0), (4, 5, 2.0, 1.0), (6, 5, 3.0, -1.0), (6, 7, 3.0, 1.0), (0, 7, 4.0, -1.0)];

/// Share of water under which a neighbour gets none: rounding of the angle.
const SHARE_MIN: f64 = 1e-12;

/// Steepest way down of each cell.
///
/// `heights` [m], filled, single or double precision; `NaN` is missing.
pub fn steepest<T: Copy + Sync + Into<f64>>(heights: &Grid<T>) -> Steepest {
    let frame = heights.frame;
    let mut angle_rad = Grid::filled(frame, f64::NAN);
    let mut slope = Grid::filled(frame, f64::NAN);
    if frame.cols >= 3 && frame.rows >= 3 {
        let (cols, n_inner) = (frame.cols, frame.rows - 2);
        let angles = angle_rad.cells.par_chunks_mut(cols).skip(1).take(n_inner);
        let slopes = slope.cells.par_chunks_mut(cols).skip(1).take(n_inner);
        angles.zip(slopes).enumerate().for_each(|(k, (angles, slopes))| {
            let above = &heights.cells[k * cols..(k + 3) * cols];
            for col in 1..cols - 1 {
                (angles[col], slopes[col]) = of_cell(above, cols, col, &frame);
            }
        });
    }
    Steepest { angle_rad, slope }
}

/// Direction and fall of one cell in the middle of three rows.
fn of_cell<T: Copy + Into<f64>>(three_rows: &[T], cols: usize, col: usize, frame: &Frame) -> (f64, f64) {
    let height = |dc: isize, dr: isize| -> f64 { three_rows[(cols + col).wrapping_add_signed(dr * cols as isize + dc)].into() };
    let middle = height(0, 0);
    if middle.is_nan() {
        return (f64::NAN, f64::NAN);
    }
    let (mut steepest, mut facet, mut along, mut side) = (0.0, usize::MAX, 0.0, 0.0);
    let ring = ANTICLOCKWISE.map(|(dc, dr)| height(dc, dr));
    for (k, &(straight, diagonal, turns, _)) in FACETS.iter().enumerate() {
        let (base, up) = if turns as usize % 2 == 0 { (frame.dx_m, frame.dy_m) } else { (frame.dy_m, frame.dx_m) };
        // Falls along the base and from its end to the diagonal neighbour.
        let (s1, s2) = ((middle - ring[straight]) / base, (ring[straight] - ring[diagonal]) / up);
        // The direction must lie on the facet: not before its base, not beyond its diagonal.
        let (fall, s1, s2) = if s2 < 0.0 {
            (s1, 1.0, 0.0)
        } else if s2 * base > s1 * up {
            ((middle - ring[diagonal]) / base.hypot(up), base, up)
        } else {
            (s1.hypot(s2), s1, s2)
        };
        if fall > steepest {
            (steepest, facet, along, side) = (fall, k, s1, s2);
        }
    }
    let Some(&(_, _, turns, sign)) = FACETS.get(facet) else { return (f64::NAN, 0.0) };
    ((sign * side.atan2(along) + turns * FRAC_PI_2).rem_euclid(TAU), steepest)
}

/// Number of cells that drain through each cell, itself counted, shares adding up.
///
/// `angle_rad` as [`steepest`] gives it. A cell without direction keeps what it gets; a missing cell gets nothing and is 1.
pub fn accumulation(angle_rad: &Grid<f64>) -> Grid<f64> {
    let frame = angle_rad.frame;
    let diagonal = frame.dy_m.atan2(frame.dx_m);
    let ring_rad = [0.0, diagonal, FRAC_PI_2, PI - diagonal, PI, PI + diagonal, 3.0 * FRAC_PI_2, TAU - diagonal, TAU];
    let edges = Edges(ring_rad);
    let first: Vec<u8> = angle_rad.cells.par_iter().map(|&angle_rad| edges.first(angle_rad)).collect();
    let receivers = (angle_rad.cells.par_iter(), &first).into_par_iter().map(|(&angle_rad, &first)| edges.receivers(angle_rad, first)).collect();
    let network = Shares { angle_rad: &angle_rad.cells, first, edges };
    Grid { frame, cells: settle(&network, receivers, frame.cols) }
}

/// Directions of the neighbours [radians], anticlockwise from east, which stands at both ends.
struct Edges([f64; 9]);

impl Edges {
    /// Ring number of the neighbour at or before a direction; 0 without direction.
    #[inline(always)]
    fn first(&self, angle_rad: f64) -> u8 {
        self.0[1..8].iter().map(|&edge| u8::from(angle_rad >= edge - SHARE_MIN)).sum()
    }

    /// Share of the neighbour after the first.
    #[inline(always)]
    fn second_fraction(&self, angle_rad: f64, first: u8) -> f64 {
        let first = usize::from(first % 8);
        let fraction = (angle_rad - self.0[first]) / (self.0[first + 1] - self.0[first]);
        if fraction <= SHARE_MIN {
            0.0
        } else if fraction >= 1.0 - SHARE_MIN {
            1.0
        } else {
            fraction
        }
    }

    /// The neighbours that get water, bit by bit in ring numbers.
    #[inline(always)]
    fn receivers(&self, angle_rad: f64, first: u8) -> u8 {
        let second_fraction = self.second_fraction(angle_rad, first);
        u8::from(second_fraction < 1.0) << first | u8::from(second_fraction > 0.0) << ((first + 1) % 8)
    }
}

struct Shares<'a> {
    angle_rad: &'a [f64],
    first: Vec<u8>,
    edges: Edges,
}

impl Network for Shares<'_> {
    type Value = f64;

    const OWN: f64 = 1.0;

    const RING: [(isize, isize); 8] = ANTICLOCKWISE;

    #[inline(always)]
    fn pour(&self, cell: usize, total: f64, mut to: impl FnMut(usize, f64)) {
        let first = self.first[cell];
        let fraction = self.edges.second_fraction(self.angle_rad[cell], first);
        to(first.into(), (1.0 - fraction) * total);
        to(usize::from(first + 1) % 8, fraction * total);
    }
}
