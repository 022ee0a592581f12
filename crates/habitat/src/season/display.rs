//! Display (March to May): cocks feed and loaf on the ground round the lek.
//!
//! Food by the spring diet (Baines 1994; Parr & Watson 1988); cover wants a sward in which a bird can walk and see.
//! The display arena itself is judged apart, in [`crate::arena`].

use super::offer::Offer;
use crate::drawn::Drawn;
use crate::figures::Figures;

/// Index of the season.
const S: usize = 0;

/// What a stand offers.
pub fn offer(d: &Drawn, f: &Figures) -> Offer {
    Offer::plain(d, f, S, d.food_cover(f, S))
}
