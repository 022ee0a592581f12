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
    let shares = angle_rad.cells.par_iter().map(|&a| Share::of(a, &ring_rad)).collect();
    let network = Shares { shares, cols: frame.cols, rows: frame.rows };
    Grid { frame, cells: settle(&network, frame.cols, frame.rows) }
}

/// Which two neighbours a cell sends to, and the share of the second.
#[derive(Clone, Copy)]
struct Share {
    /// Ring number of the first; 8 when nothing is sent.
    first: u8,
    second_fraction: f64,
}

impl Share {
    fn of(angle_rad: f64, ring_rad: &[f64; 9]) -> Self {
        if angle_rad.is_nan() {
            return Self { first: 8, second_fraction: 0.0 };
        }
        let first = ring_rad[1..8].iter().filter(|&&edge| angle_rad >= edge - SHARE_MIN).count();
        let fraction = (angle_rad - ring_rad[first]) / (ring_rad[first + 1] - ring_rad[first]);
        let second_fraction = if fraction <= SHARE_MIN {
            0.0
        } else if fraction >= 1.0 - SHARE_MIN {
            1.0
        } else {
            fraction
        };
        Self { first: first as u8, second_fraction }
    }

    /// Share sent towards a ring number.
    fn towards(&self, ring: u8) -> f64 {
        if self.first == ring {
            1.0 - self.second_fraction
        } else if self.first < 8 && (self.first + 1) % 8 == ring {
            self.second_fraction
        } else {
            0.0
        }
    }
}

struct Shares {
    shares: Vec<Share>,
    cols: usize,
    rows: usize,
}

impl Shares {
    fn neighbour(&self, col: usize, row: usize, ring: usize) -> Option<(usize, usize)> {
        let (dc, dr) = ANTICLOCKWISE[ring];
        let (c, r) = (col.wrapping_add_signed(dc), row.wrapping_add_signed(dr));
        (c < self.cols && r < self.rows).then_some((c, r))
    }

    fn senders(&self, col: usize, row: usize) -> impl Iterator<Item = (usize, usize, f64)> {
        (0..8).filter_map(move |ring| {
            let (c, r) = self.neighbour(col, row, ring)?;
            let share = self.shares[r * self.cols + c].towards((ring as u8 + 4) % 8);
            (share > 0.0).then_some((c, r, share))
        })
    }
}

impl Network for Shares {
    type Value = f64;

    fn n_senders(&self, col: usize, row: usize) -> u8 {
        self.senders(col, row).count() as u8
    }

    fn receivers(&self, col: usize, row: usize, mut to: impl FnMut(usize, usize)) {
        let share = self.shares[row * self.cols + col];
        for ring in [share.first, (share.first + 1) % 8] {
            if share.first < 8
                && share.towards(ring) > 0.0
                && let Some((c, r)) = self.neighbour(col, row, ring.into())
            {
                to(c, r);
            }
        }
    }

    fn value(&self, col: usize, row: usize, at: impl Fn(usize, usize) -> f64) -> f64 {
        1.0 + self.senders(col, row).map(|(c, r, share)| share * at(c, r)).sum::<f64>()
    }
}
