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
    let (cols, rows) = (frame.cols, frame.rows);
    // Zeroed memory comes late, in the threads that write to it.
    let mut angle_rad = Grid { frame, cells: vec![0.0; frame.len()] };
    let mut slope = Grid { frame, cells: vec![0.0; frame.len()] };
    if !frame.is_empty() {
        let out = angle_rad.cells.par_chunks_mut(cols).zip(slope.cells.par_chunks_mut(cols));
        out.enumerate().for_each(|(row, (angles, slopes))| {
            if row == 0 || row + 1 == rows || cols < 3 {
                angles.fill(f64::NAN);
                slopes.fill(f64::NAN);
            } else {
                of_row(&heights.cells[(row - 1) * cols..(row + 2) * cols], &frame, angles, slopes);
            }
        });
    }
    Steepest { angle_rad, slope }
}

/// Cells worked on together, so that the facets turn into vector code.
const RUN: usize = 64;

/// Directions and falls of the row in the middle of three.
fn of_row<T: Copy + Into<f64>>(three_rows: &[T], frame: &Frame, angles: &mut [f64], slopes: &mut [f64]) {
    let cols = frame.cols;
    for rim in [0, cols - 1] {
        (angles[rim], slopes[rim]) = (f64::NAN, f64::NAN);
    }
    let mut around = Around { middle: [f64::NAN; RUN], ring: [[f64::NAN; RUN]; 8] };
    for start in (1..cols - 1).step_by(RUN) {
        let n = RUN.min(cols - 1 - start);
        let load = |to: &mut [f64; RUN], (dc, dr): (isize, isize)| {
            let from = (cols + start).wrapping_add_signed(dr * cols as isize + dc);
            for (to, &height) in to.iter_mut().zip(&three_rows[from..from + n]) {
                *to = height.into();
            }
        };
        load(&mut around.middle, (0, 0));
        for (to, step) in around.ring.iter_mut().zip(ANTICLOCKWISE) {
            load(to, step);
        }
        let ways = around.steepest(frame);
        for k in 0..n {
            (angles[start + k], slopes[start + k]) = if around.middle[k].is_nan() { (f64::NAN, f64::NAN) } else { ways.way(k) };
        }
    }
}

/// Heights of a run of cells and of their neighbours.
struct Around {
    middle: [f64; RUN],
    ring: [[f64; RUN]; 8],
}

/// The steepest facet of each cell of a run.
struct Ways {
    /// Square of the fall, 0 where no facet falls.
    square: [f64; RUN],
    /// The fall in two parts at right angles.
    parts: [[f64; RUN]; 2],
    /// The way along the base of the facet and across it, in any unit.
    along: [f64; RUN],
    side: [f64; RUN],
    /// Quarter turns to the base, and the sign of turning from it.
    turns: [f64; RUN],
    sign: [f64; RUN],
}

impl Around {
    fn steepest(&self, frame: &Frame) -> Ways {
        let zero = [0.0; RUN];
        let mut ways = Ways { square: zero, parts: [zero; 2], along: zero, side: zero, turns: zero, sign: zero };
        for (straight, diagonal, turns, sign) in FACETS {
            let (base, up) = if (turns as usize).is_multiple_of(2) { (frame.dx_m, frame.dy_m) } else { (frame.dy_m, frame.dx_m) };
            let across = base.hypot(up);
            let (straight, diagonal) = (&self.ring[straight], &self.ring[diagonal]);
            for k in 0..RUN {
                // Falls along the base, from its end to the diagonal neighbour, and straight to that.
                let (s1, s2) = ((self.middle[k] - straight[k]) / base, (straight[k] - diagonal[k]) / up);
                let s3 = (self.middle[k] - diagonal[k]) / across;
                // The direction must lie on the facet: not before its base, not beyond its diagonal.
                let (before, beyond) = (s2 < 0.0, s2 * base > s1 * up);
                let first = if !before & beyond { s3 } else { s1 };
                let second = if before | beyond { 0.0 } else { s2 };
                let square = first * first + second * second;
                let better = (first > 0.0) & (square > ways.square[k]);
                let choose = |new: f64, old: f64| if better { new } else { old };
                ways.square[k] = choose(square, ways.square[k]);
                ways.parts[0][k] = choose(first, ways.parts[0][k]);
                ways.parts[1][k] = choose(second, ways.parts[1][k]);
                ways.along[k] = choose(if !before & beyond { base } else { s1 }, ways.along[k]);
                ways.side[k] = choose(if !before & beyond { up } else { second }, ways.side[k]);
                ways.turns[k] = choose(turns, ways.turns[k]);
                ways.sign[k] = choose(sign, ways.sign[k]);
            }
        }
        ways
    }
}

impl Ways {
    /// Direction and fall of one cell.
    fn way(&self, k: usize) -> (f64, f64) {
        if self.square[k] == 0.0 {
            return (f64::NAN, 0.0);
        }
        let angle_rad = self.sign[k] * self.side[k].atan2(self.along[k]) + self.turns[k] * FRAC_PI_2;
        // From 0 to a whole turn, which is east again.
        (if angle_rad >= TAU { angle_rad - TAU } else { angle_rad }, self.parts[0][k].hypot(self.parts[1][k]))
    }
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
