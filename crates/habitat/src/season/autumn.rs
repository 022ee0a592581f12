//! Autumn (September to November): berries, seed heads, stubble and heather.
//!
//! Baines 1990 and Starling 1992 for the foods.

use super::offer::Offer;
use crate::drawn::Drawn;
use crate::figures::Figures;
use crate::sward::share_past;
use holding::Plant;

/// Index of the season.
const S: usize = 4;

/// What a stand offers.
pub fn offer(d: &Drawn, f: &Figures) -> Offer {
    let s = &f.season[S];
    let [a, b, c, e] = s.sward_cm;
    let mut left = *d;
    left.covers[Plant::Crop as usize] *= d.crop_winter;
    Offer {
        food: 1.0 - (-left.food_cover(f, S) / s.food_half).exp(),
        tall_enough: share_past(d.height_cm, d.sd_cm, a, b),
        too_tall: share_past(d.height_cm, d.sd_cm, c, e),
        mixed: 1.0,
        plants: 1.0,
        wood: d.wood,
    }
}
