//! A stand in one draw: the survey with its error, seen through the figures of that draw.

use crate::figures::Figures;
use crate::state::Stand;
use guidance::Curve;
use holding::{Plant, Stubble};

/// Standard normal errors of one stand in one draw: covers, height, spread of height.
pub type Errors = [f32; 3];

/// A stand as one draw has it.
#[derive(Clone, Copy, Debug)]
pub struct Drawn {
    /// Cover fractions.
    pub covers: [f32; 11],
    /// Mean vegetation height, centimetres.
    pub height_cm: f32,
    /// Standard deviation of it, centimetres.
    pub sd_cm: f32,
    /// Food-weighted canopy, fraction.
    pub tree_food: f32,
    /// Canopy cover, fraction.
    pub canopy: f32,
    /// Worth of the wood by age and canopy; 1 outside woods.
    pub wood: f32,
    /// Wetness, 0 to 1.
    pub wetness: f32,
    /// Share of invertebrates left by grazing, 0 to 1.
    pub insects_left: f32,
    /// Part of a crop's seed that is there over winter: 0 when ploughed in, 1 when left or unknown in other seasons.
    pub crop_winter: f32,
}

impl Drawn {
    /// Put the errors and figures of one draw on a stand. `age` is the curve of worth by age of a closing wood.
    pub fn of(stand: &Stand, errors: Errors, f: &Figures, age: &Curve) -> Self {
        // Log-normal errors with mean one keep covers and heights above zero.
        let factor = |cv: f32, z: f32| {
            let s2 = (1.0 + cv * cv).ln();
            (s2.sqrt() * z - 0.5 * s2).exp()
        };
        let cover = factor(stand.cv[0], errors[0]);
        let c = stand.canopy;
        let covers = stand.covers.map(|x| (x * cover).min(1.0));
        let height_cm = stand.height_cm * factor(stand.cv[1], errors[1]);
        let spread = if stand.height_cm > 0.0 { stand.height_sd_cm / stand.height_cm } else { 0.0 };
        let sd_cm = height_cm * spread * factor(stand.cv[2], errors[2]);
        let tree_food = stand
            .trees
            .iter()
            .map(|t| t.canopy * f.tree_food[t.tree as usize] * if t.bears { 1.0 } else { f.tree_young })
            .sum::<f32>()
            .min(1.0);
        let wood = if stand.wooded {
            let by_age = age.at((stand.wood_age_yr + f.wood_age_shift) as f64) as f32;
            let [open, closed] = f.wood_canopy;
            // Open ground inside the outline keeps a wood open to the birds as a low canopy does.
            let openness = ((closed - c * (1.0 - stand.open)) / (closed - open)).clamp(0.0, 1.0);
            by_age.max(f.wood_open * openness)
        } else {
            1.0
        };
        let [light, heavy] = f.grazing_from_to;
        let grazed = ((stand.ewes_per_ha[0] - light) / (heavy - light).max(0.01)).clamp(0.0, 1.0);
        Self {
            covers,
            height_cm,
            sd_cm,
            tree_food,
            canopy: c,
            wood,
            wetness: if stand.flush { stand.wetness.max(f.flush_wetness) } else { stand.wetness },
            insects_left: 1.0 - f.grazing_loss * grazed,
            crop_winter: if stand.stubble == Some(Stubble::Ploughed) { 0.0 } else { 1.0 },
        }
    }

    /// The stand once crops are in: of a crop only what is left standing counts.
    pub fn after_harvest(&self) -> Self {
        let mut left = *self;
        left.covers[Plant::Crop as usize] *= self.crop_winter;
        left
    }

    /// Weighted food cover of a season's diet, trees included, fraction of ground.
    pub fn food_cover(&self, f: &Figures, season: usize) -> f32 {
        let s = &f.season[season];
        let mut sum = s.food[4] * self.tree_food;
        for (cover, part) in self.covers.iter().zip(&f.part) {
            sum += cover * (0..4).map(|g| part[g] * s.food[g]).sum::<f32>();
        }
        sum
    }
}
