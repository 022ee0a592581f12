//! What a stand offers a season, before its place is considered.

use crate::drawn::Drawn;
use crate::figures::Figures;
use crate::sward::share_past;

/// The parts of a stand's value in one season and one draw; every part runs 0 to 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Offer {
    /// Food.
    pub food: f32,
    /// Share of the sward tall enough.
    pub tall_enough: f32,
    /// Share of the sward too tall.
    pub too_tall: f32,
    /// Worth of the variation in height: 1 where short and tall stand side by side as the season wants.
    pub mixed: f32,
    /// Presence of the plants that give the cover.
    pub plants: f32,
    /// Worth of the wood the stand is, by age and canopy; 1 outside woods.
    pub wood: f32,
}

impl Offer {
    /// What every season but the snowbound begins from: food of the season's diet from a weighted cover, and the shares of
    /// the sward tall enough and too tall by the season's limits.
    pub fn plain(d: &Drawn, f: &Figures, season: usize, food_cover: f32) -> Offer {
        let s = &f.season[season];
        let [none_below, full_from, full_to, none_above] = s.sward_cm;
        Offer {
            food: 1.0 - (-food_cover / s.food_half).exp(),
            tall_enough: share_past(d.height_cm, d.sd_cm, none_below, full_from),
            too_tall: share_past(d.height_cm, d.sd_cm, full_to, none_above),
            mixed: 1.0,
            plants: 1.0,
            wood: d.wood,
        }
    }

    /// Cover, 0 to 1.
    pub fn cover(&self) -> f32 {
        (self.tall_enough - self.too_tall).max(0.0) * self.mixed * self.plants
    }

    /// Value `(F^a C^b)^(1/(a+b)) * wood`, 0 to 1.
    pub fn value(&self, weight_food: f32, weight_cover: f32) -> f32 {
        let total = weight_food + weight_cover;
        (self.food.powf(weight_food / total) * self.cover().powf(weight_cover / total) * self.wood).clamp(0.0, 1.0)
    }
}
