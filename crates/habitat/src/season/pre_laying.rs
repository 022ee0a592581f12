//! Pre-laying (February or March to April): hens feed up, on cotton-grass flowers above all.
//!
//! Cotton-grass in quantity in spring: Baines 1990, 1994; Starling 1992; Parr & Watson 1988.

use super::offer::Offer;
use crate::drawn::Drawn;
use crate::figures::Figures;

/// Index of the season.
const S: usize = 1;

/// What a stand offers.
pub fn offer(d: &Drawn, f: &Figures) -> Offer {
    Offer::plain(d, f, S, d.food_cover(f, S))
}
