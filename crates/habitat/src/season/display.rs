//! Display (March to May): cocks feed and loaf on the ground round the lek.
//!
//! Food by the spring diet (Baines 1994; Parr & Watson 1988); cover wants a sward in which a bird can walk and see.
//! The display arena itself is judged apart, in [`crate::arena`].

use super::offer::Offer;
use crate::drawn::Drawn;
use crate::figures::Figures;
use crate::sward::share_past;

/// Index of the season.
const S: usize = 0;

/// What a stand offers.
pub fn offer(d: &Drawn, f: &Figures) -> Offer {
    let s = &f.season[S];
    let [a, b, c, e] = s.sward_cm;
    Offer {
        food: 1.0 - (-d.food_cover(f, S) / s.food_half).exp(),
        tall_enough: share_past(d.height_cm, d.sd_cm, a, b),
        too_tall: share_past(d.height_cm, d.sd_cm, c, e),
        mixed: 1.0,
        plants: 1.0,
        wood: d.wood,
    }
}
