//! Brood (June to August): chicks live on insects at first, in a wet, mixed sward they can walk through.
//!
//! Wet flushes, sedge, grass and rush over bog-moss with heather, a tall field layer of *intermediate* variation
//! (Roos et al. 2016); sawfly larvae and caterpillars (Starling 1992); heavy grazing takes two fifths of the
//! invertebrates (Baines 1996). A uniform lawn and a uniform tall stand both score low.

use super::offer::Offer;
use crate::drawn::Drawn;
use crate::figures::Figures;

/// Index of the season.
const S: usize = 3;

/// What a stand offers.
pub fn offer(d: &Drawn, f: &Figures) -> Offer {
    let plain = Offer::plain(d, f, S, d.food_cover(f, S));
    let wet = 1.0 + (f.insects_wet - 1.0) * d.wetness;
    let insects = d.covers.iter().zip(&f.insects).map(|(c, w)| c * w).sum::<f32>() * wet * d.insects_left;
    let insect_food = 1.0 - (-insects / f.insects_half).exp();
    Offer {
        food: f.insect_share * insect_food + (1.0 - f.insect_share) * plain.food,
        mixed: mixed(d.height_cm, d.sd_cm, f.variation),
        ..plain
    }
}

/// Worth of the variation of height: a hump over the coefficient of variation, 0 to 1.
pub fn mixed(height_cm: f32, sd_cm: f32, [best, width]: [f32; 2]) -> f32 {
    let x = (sd_cm / height_cm.max(0.1) - best) / width;
    (-0.5 * x * x).exp()
}
