//! Where water runs: directions and the ground that drains through each cell.
//!
//! Two rules: [`d8`], all water to the steepest of eight neighbours, and [`dinf`], shared between two neighbours by the
//! angle of the steepest way down. Both want ground without pits (see [`crate::fill`]); level ground after filling has no
//! direction and drains nowhere. Accumulations count the cell itself.

pub mod d8;
pub mod dinf;
mod settle;

/// Steps (columns east, rows south) to the eight neighbours, clockwise from east.
pub(crate) const RING: [(isize, isize); 8] = [(1, 0), (1, 1), (0, 1), (-1, 1), (-1, 0), (-1, -1), (0, -1), (1, -1)];
