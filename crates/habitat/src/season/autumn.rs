//! Autumn (September to November): berries, seed heads, stubble and heather.
//!
//! Baines 1990 and Starling 1992 for the foods.

use super::offer::Offer;
use crate::drawn::Drawn;
use crate::figures::Figures;

/// Index of the season.
const S: usize = 4;

/// What a stand offers.
pub fn offer(d: &Drawn, f: &Figures) -> Offer {
    Offer::plain(d, f, S, d.after_harvest().food_cover(f, S))
}
