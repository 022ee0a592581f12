//! Nest (late April to June): a hen sits under heather or tall rush of about 40 cm.
//!
//! Tall rush preferred in northern England (Warren et al. 2012), tall dense heather in Scotland (Parr & Watson 1988).

use super::offer::Offer;
use crate::drawn::Drawn;
use crate::figures::Figures;
use holding::Plant;

/// Index of the season.
const S: usize = 2;

/// What a stand offers.
pub fn offer(d: &Drawn, f: &Figures) -> Offer {
    let [half, grass] = f.nest_plants;
    let plants = d.covers[Plant::Heather as usize]
        + d.covers[Plant::Rush as usize]
        + grass * d.covers[Plant::SedgeGrass as usize];
    Offer { plants: 1.0 - (-plants / half).exp(), ..Offer::plain(d, f, S, d.food_cover(f, S)) }
}
