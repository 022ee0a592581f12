//! Winter (December to February, ground open): heather before all else.
//!
//! Heather the staple where trees are scarce (Beeston et al. 2005; Starling 1992).

use super::offer::Offer;
use crate::drawn::Drawn;
use crate::figures::Figures;

/// Index of the season.
const S: usize = 5;

/// What a stand offers.
pub fn offer(d: &Drawn, f: &Figures) -> Offer {
    Offer::plain(d, f, S, d.after_harvest().food_cover(f, S))
}
