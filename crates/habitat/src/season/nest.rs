//! Nest (late April to June): a hen sits under heather or tall rush of about 40 cm.
//!
//! Tall rush preferred in northern England (Warren et al. 2012), tall dense heather in Scotland (Parr & Watson 1988).

use super::offer::Offer;
use crate::drawn::Drawn;
use crate::figures::Figures;
use crate::sward::share_past;
use holding::Plant;

/// Index of the season.
const S: usize = 2;

/// What a stand offers.
pub fn offer(d: &Drawn, f: &Figures) -> Offer {
    let s = &f.season[S];
    let [a, b, c, e] = s.sward_cm;
    let [half, grass] = f.nest_plants;
    let plants = d.covers[Plant::Heather as usize]
        + d.covers[Plant::Rush as usize]
        + grass * d.covers[Plant::SedgeGrass as usize];
    Offer {
        food: 1.0 - (-d.food_cover(f, S) / s.food_half).exp(),
        tall_enough: share_past(d.height_cm, d.sd_cm, a, b),
        too_tall: share_past(d.height_cm, d.sd_cm, c, e),
        mixed: 1.0,
        plants: 1.0 - (-plants / half).exp(),
        wood: d.wood,
    }
}
