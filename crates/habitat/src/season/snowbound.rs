//! Snowbound: any winter day with lying snow, when all birds feed in trees.
//!
//! In deep snow all birds fed in trees, in snow-free winter only now and then (Parr & Watson 1988). Food is what
//! stands above the snow: buds, catkins, berries and needles of trees, the tops of tall heather, and stubble or
//! hay scraped for. Open ground counts less the farther it lies from trees: snowbound birds keep within reach of cover. A wood too old and closed for summer still feeds birds from its crowns, so its age does not count.

use super::offer::Offer;
use crate::drawn::Drawn;
use crate::figures::Figures;
use crate::sward::part_above;
use holding::Plant;

/// Index of the season.
const S: usize = 6;

/// What a stand offers.
pub fn offer(d: &Drawn, f: &Figures) -> Offer {
    let s = &f.season[S];
    let [depth, open, full] = f.snow;
    let above = part_above(d.height_cm, d.sd_cm, depth);
    let mut left = *d;
    for plant in Plant::ALL {
        left.covers[plant as usize] *= match plant {
            Plant::Heather => above,
            Plant::Crop => d.crop_winter,
            _ => 0.0,
        };
    }
    let canopy = (d.canopy / full).min(1.0);
    Offer {
        food: 1.0 - (-left.food_cover(f, S) / s.food_half).exp(),
        tall_enough: open + (1.0 - open) * canopy,
        too_tall: 0.0,
        mixed: 1.0,
        plants: 1.0,
        wood: 1.0,
    }
}
