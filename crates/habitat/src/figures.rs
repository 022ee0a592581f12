//! The figures of one draw: every guidance value the seasons use, read once and laid out for the inner loops.

use crate::season::Season;
use guidance::{Country, Draws, Guidance, Unknown};
use holding::{Plant, Tree};

/// Number of food groups whose weights a season carries.
pub const FOODS: usize = 5;
/// Keys of the food groups, in the order of [`SeasonFigures::food`].
pub const FOOD_KEYS: [&str; FOODS] = ["heather", "berries", "cotton_sedge", "herbs_seeds", "tree"];

/// Figures of one season in one draw.
#[derive(Clone, Copy, Debug, Default)]
pub struct SeasonFigures {
    /// Share of the diet by food group: heather, berries, cotton-grass and sedge, herbs and seeds, trees.
    pub food: [f32; FOODS],
    /// Weighted cover at which food reaches 1 - 1/e, fraction of ground.
    pub food_half: f32,
    /// Sward heights, centimetres: no use below, full use from, full use to, no use above.
    pub sward_cm: [f32; 4],
    /// Exponent of food.
    pub weight_food: f32,
    /// Exponent of cover.
    pub weight_cover: f32,
    /// Worth of ground far from tall cover against ground beside it.
    pub far_cover: f32,
    /// Worth of ground far from a flush.
    pub far_flush: f32,
    /// Worth of ground far from tree food.
    pub far_tree: f32,
    /// Usable hectares a bird.
    pub need_ha: f32,
}

/// Every figure of one draw.
#[derive(Clone, Debug, Default)]
pub struct Figures {
    /// By season, in calendar order.
    pub season: [SeasonFigures; 7],
    /// Part of a plant group's cover that bears a food group: `part[plant][food]`.
    pub part: [[f32; 4]; 11],
    /// Worth of a plant group for chick insects.
    pub insects: [f32; 11],
    /// Weighted cover at which insect food reaches 1 - 1/e.
    pub insects_half: f32,
    /// Insects of wet ground against dry.
    pub insects_wet: f32,
    /// Share of insects in the brood season's diet.
    pub insect_share: f32,
    /// Least wetness of a flush, 0 to 1.
    pub flush_wetness: f32,
    /// Share of invertebrates lost under heavy grazing.
    pub grazing_loss: f32,
    /// Ewes a hectare in summer at which that loss begins and is whole.
    pub grazing_from_to: [f32; 2],
    /// Brood hump: best coefficient of variation, and width.
    pub variation: [f32; 2],
    /// Nest plants: saturating cover, worth of tall grass.
    pub nest_plants: [f32; 2],
    /// Snow: depth in centimetres, cover of open ground, canopy of full cover.
    pub snow: [f32; 3],
    /// Worth of a tree species as winter food.
    pub tree_food: [f32; 12],
    /// Worth before bearing.
    pub tree_young: f32,
    /// Share of value lost beside a used way.
    pub disturbed_loss: f32,
    /// Distance within which that loss is whole, metres; it is gone at twice the distance.
    pub flush_m: f32,
    /// Distance scales, metres: tall cover, flush, tree food.
    pub scale_m: [f32; 3],
    /// Altitudes, metres: none below, full from, full to, none above.
    pub altitude_m: [f32; 4],
    /// Slopes, degrees: full to, none above.
    pub slope_deg: [f32; 2],
    /// Scale of use with depth inside a wood, metres.
    pub wood_depth_m: f32,
    /// Shift of the age curve, years.
    pub wood_age_shift: f32,
    /// Worth of open wood.
    pub wood_open: f32,
    /// Canopy: open below, closed from.
    pub wood_canopy: [f32; 2],
    /// Reach, metres: display, nesting, brood, winter.
    pub reach_m: [f32; 4],
    /// Hens a cock, young a hen.
    pub hens_young: [f32; 2],
    /// Worth of unmapped ground.
    pub unmapped: f32,
}

/// Keys of the four reaches, in the order of [`Figures::reach_m`].
pub const REACH_KEYS: [&str; 4] = ["reach.display_m", "reach.nesting_m", "reach.brood_m", "reach.winter_m"];

/// Which reach a season uses: an index into [`REACH_KEYS`].
pub fn reach_of(season: Season) -> usize {
    match season {
        Season::Display => 0,
        Season::PreLaying | Season::Nest => 1,
        Season::Brood => 2,
        Season::Autumn | Season::Winter | Season::Snowbound => 3,
    }
}

impl Figures {
    /// Read every figure through `get`, which answers a key with its number in this draw.
    pub fn read(get: &mut dyn FnMut(&str) -> Result<f64, Unknown>) -> Result<Self, Unknown> {
        let mut f = Figures::default();
        let mut g = |key: &str| get(key).map(|v| v as f32);
        for (i, s) in Season::ALL.iter().enumerate() {
            let k = s.key();
            let sf = &mut f.season[i];
            for (j, food) in FOOD_KEYS.iter().enumerate() {
                sf.food[j] = g(&format!("season.{k}.food.{food}"))?;
            }
            sf.food_half = g(&format!("season.{k}.food_half"))?;
            if *s != Season::Snowbound {
                for (j, n) in ["none_below", "full_from", "full_to", "none_above"].iter().enumerate() {
                    sf.sward_cm[j] = g(&format!("season.{k}.sward_cm.{n}"))?;
                }
                // Drawn limits must keep their order.
                for j in 1..4 {
                    sf.sward_cm[j] = sf.sward_cm[j].max(sf.sward_cm[j - 1] + 0.5);
                }
            }
            sf.weight_food = g(&format!("season.{k}.weight.food"))?;
            sf.weight_cover = g(&format!("season.{k}.weight.cover"))?;
            sf.far_cover = if matches!(s, Season::Nest | Season::Snowbound) { 1.0 } else { g(&format!("season.{k}.far.tall_cover"))? };
            sf.far_flush = if *s == Season::Brood { g("season.brood.far.flush")? } else { 1.0 };
            sf.far_tree = if matches!(s, Season::Nest | Season::Brood) { 1.0 } else { g(&format!("season.{k}.far.tree_food"))? };
            sf.need_ha = g(&format!("need.{k}.ha_per_bird"))?;
        }
        for (plant, food) in [
            (Plant::Heather, 0),
            (Plant::Blaeberry, 1),
            (Plant::OtherBerries, 1),
            (Plant::CottonGrass, 2),
            (Plant::SedgeGrass, 2),
            (Plant::SedgeGrass, 3),
            (Plant::Rush, 3),
            (Plant::Herbs, 3),
            (Plant::Crop, 3),
        ] {
            f.part[plant as usize][food] = g(&format!("food.part.{}.{}", plant.key(), FOOD_KEYS[food]))?;
        }
        for plant in Plant::ALL {
            if plant != Plant::Bare {
                f.insects[plant as usize] = g(&format!("season.brood.invertebrates.{}", plant.key()))?;
            }
        }
        f.insects_half = g("season.brood.invertebrates.half")?;
        f.insects_wet = g("season.brood.invertebrates.wet")?;
        f.flush_wetness = g("site.flush.least_wetness")?;
        f.insect_share = g("season.brood.invertebrate_share")?;
        f.grazing_loss = g("season.brood.grazing.invertebrates_lost")?;
        f.grazing_from_to = [g("season.brood.grazing.light_ewes_per_ha")?, g("season.brood.grazing.heavy_ewes_per_ha")?];
        f.variation = [g("season.brood.variation.best")?, g("season.brood.variation.width")?];
        f.nest_plants = [g("season.nest.plants_half")?, g("season.nest.plant.sedge_grass")?];
        f.snow = [
            g("season.snowbound.depth_cm")?,
            g("season.snowbound.cover.open")?,
            g("season.snowbound.cover.canopy_full")?,
        ];
        for tree in Tree::ALL {
            f.tree_food[tree as usize] = g(&format!("tree_food.{}", tree.key()))?;
        }
        f.tree_young = g("tree_food.before_bearing")?;
        f.disturbed_loss = g("site.disturbed.loss")?;
        f.flush_m = g("site.disturbed.flush_m")?;
        f.scale_m = [g("site.tall_cover.scale_m")?, g("site.flush.scale_m")?, g("site.tree_food.scale_m")?];
        for (j, n) in ["none_below", "full_from", "full_to", "none_above"].iter().enumerate() {
            f.altitude_m[j] = g(&format!("site.altitude_m.{n}"))?;
        }
        f.slope_deg = [g("site.slope_deg.full_to")?, g("site.slope_deg.none_above")?];
        f.wood_depth_m = g("wood.use_depth_scale_m")?;
        f.wood_age_shift = g("wood.age_shift_yr")?;
        f.wood_open = g("wood.open_score")?;
        f.wood_canopy = [g("wood.canopy.open_below")?, g("wood.canopy.closed_from")?];
        for (j, k) in REACH_KEYS.iter().enumerate() {
            f.reach_m[j] = g(k)?;
        }
        f.hens_young = [g("need.hens_per_cock")?, g("need.young_per_hen")?];
        f.unmapped = g("survey.unmapped_worth")?;
        Ok(f)
    }

    /// The figures at the middle of every spread.
    pub fn middle(guidance: &Guidance, country: Country) -> Result<Self, Unknown> {
        Self::read(&mut |key| guidance.number(key, country))
    }

    /// The figures of every draw, and the keys they rest on.
    pub fn drawn(draws: &Draws) -> Result<(Vec<Self>, Vec<String>), Unknown> {
        let mut keys = Vec::new();
        let mut columns: Vec<&[f64]> = Vec::new();
        // The order of reading is the same in every draw: look each column up once.
        let mut all = Vec::with_capacity(draws.n());
        for d in 0..draws.n() {
            let mut next = 0;
            all.push(Self::read(&mut |key| {
                if d == 0 {
                    columns.push(draws.of(key)?);
                    keys.push(key.to_string());
                }
                next += 1;
                Ok(columns[next - 1][d])
            })?);
        }
        keys.sort();
        keys.dedup();
        Ok((all, keys))
    }

    /// Move the berries' share of the diet to herbs and seeds, where the local birds do not take blaeberry.
    pub fn without_blaeberry(mut self) -> Self {
        for s in &mut self.season {
            s.food[3] += s.food[1];
            s.food[1] = 0.0;
        }
        self
    }
}
