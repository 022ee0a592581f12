//! Pre-laying (February or March to April): hens feed up, on cotton-grass flowers above all.
//!
//! Cotton-grass in quantity in spring: Baines 1990, 1994; Starling 1992; Parr & Watson 1988.

use super::offer::Offer;
use crate::drawn::Drawn;
use crate::figures::Figures;
use crate::sward::share_past;

/// Index of the season.
const S: usize = 1;

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
