//! Sward: how use becomes height and its spread, and how ground left ungrazed turns rank.
//!
//! The field layer is a pattern of grazed patches, bitten to a few centimetres (Hill Farming Research Organisation, from memory), and
//! of ungrazed ground between. A patch that is grazed loses four fifths of its growth (the improved sward of Plynlimon 1974), so
//! the share of ground grazed is the share eaten over that. The pattern follows a change of stock over some years. Ungrazed ground
//! stands first at the height of its fresh leaf, then litter builds at the pace at which it no longer decays, and the ground turns
//! rank: taller, closer and more even, with fewer low herbs. Mean and spread of the whole follow from the parts, heather included.
//! They are tied to the survey by their odds between nothing and a ceiling: the surveyed odds over the predicted ones are carried along.

use super::ask::Ask;
use guidance::Unknown;

/// Figures of the sward.
pub struct Figures {
    short_cm: f32,
    fresh_cm: f32,
    rank_cm: f32,
    ceiling_cm: f32,
    /// Share of the growth of a grazed patch that is eaten.
    bite: f32,
    turnover: f32,
    decay: f32,
    spread_fresh: f32,
    spread_rank: f32,
    herbs_lost: f32,
    pub(crate) herbs_pace: f32,
}

/// Field layer of a stand on its way.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Sward {
    /// Share of the field layer kept short by stock, 0 to 1.
    pub grazed: f32,
    /// Rankness of the rest: 0 fresh, 1 as rank as it gets.
    pub rank: f32,
}

impl Sward {
    /// Rankness of the whole field layer, 0 to 1.
    pub fn rank_share(&self) -> f32 {
        (1.0 - self.grazed) * self.rank
    }
}

/// Mean height and its spread (standard deviation), centimetres.
pub(crate) type Tall = (f32, f32);

impl Figures {
    pub(crate) fn read(r: &mut Ask) -> Result<Self, Unknown> {
        Ok(Figures {
            short_cm: r.number("utilisation.sward_target.sheep")?,
            fresh_cm: r.number("ahead.sward.fresh_cm")?,
            rank_cm: r.number("ahead.sward.rank_cm")?,
            ceiling_cm: r.number("ahead.sward.ceiling_cm")?,
            bite: r.percent("production.plynlimon.utilisation_improved")?,
            turnover: r.percent("ahead.sward.turnover")?,
            decay: r.percent("ahead.litter.decay")?,
            spread_fresh: r.number("survey.height_spread_share")?,
            spread_rank: r.number("ahead.sward.spread_rank")?,
            herbs_lost: r.percent("ahead.herbs.lost_rank")?,
            herbs_pace: r.percent("ahead.herbs.pace")?,
        })
    }

    /// The pattern that a use kept up for many years makes.
    pub(crate) fn settled(&self, eaten: f32) -> Sward {
        let grazed = (eaten / self.bite).min(1.0);
        Sward { grazed, rank: self.decay / (self.decay + self.turnover * grazed) }
    }

    /// A year at a use.
    pub(crate) fn year(&self, s: &mut Sward, eaten: f32) {
        let to = (eaten / self.bite).min(1.0);
        let grazed = s.grazed + self.turnover * (to - s.grazed);
        if grazed < s.grazed {
            // Ground that stock leave joins the ungrazed without litter.
            s.rank *= (1.0 - s.grazed) / (1.0 - grazed);
        }
        s.grazed = grazed;
        s.rank = (s.rank + self.decay * (1.0 - s.rank) - self.turnover * s.grazed * s.rank).clamp(0.0, 1.0);
    }

    /// Share of herbs left by rankness, 1 with none.
    pub(crate) fn herbs_left(&self, s: &Sward) -> f32 {
        1.0 - self.herbs_lost * s.rank_share()
    }

    /// Height of the field layer. `vigour` is the growth of its full cover against acid grassland.
    pub(crate) fn field(&self, s: &Sward, vigour: f32) -> Tall {
        let tall = (self.fresh_cm + (self.rank_cm - self.fresh_cm) * s.rank) * vigour;
        let short = self.short_cm.min(tall);
        let within = self.spread_fresh + (self.spread_rank - self.spread_fresh) * s.rank;
        mixed(&[(s.grazed, (short, self.spread_fresh * short)), (1.0 - s.grazed, (tall, within * tall))])
    }

    /// Heather of a height.
    pub(crate) fn heather(&self, height_cm: f32) -> Tall {
        (height_cm, self.spread_fresh * height_cm)
    }

    /// Tie to a surveyed height.
    pub(crate) fn tie_height(&self, surveyed_cm: f32, predicted_cm: f32) -> Tie {
        Tie::new(surveyed_cm, predicted_cm, self.ceiling_cm)
    }
}

/// Mean and spread of ground made of parts: weights and the height of each. Nothing where no part has weight.
pub(crate) fn mixed(parts: &[(f32, Tall)]) -> Tall {
    let whole: f32 = parts.iter().map(|p| p.0).sum();
    if whole <= 0.0 {
        return (0.0, 0.0);
    }
    let mean = parts.iter().map(|(w, (h, _))| w * h).sum::<f32>() / whole;
    let square = parts.iter().map(|(w, (h, sd))| w * (h * h + sd * sd)).sum::<f32>() / whole;
    (mean, (square - mean * mean).max(0.0).sqrt())
}

/// A surveyed figure tied to its prediction by the odds between nothing and a ceiling.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Tie {
    odds: f32,
    ceiling: f32,
}

impl Tie {
    /// Surveyed and predicted at the start; a ceiling too low for either is raised.
    pub(crate) fn new(surveyed: f32, predicted: f32, ceiling: f32) -> Tie {
        let ceiling = ceiling.max(1.25 * surveyed).max(1.25 * predicted);
        let odds = |x: f32| x.max(1e-3 * ceiling) / (ceiling - x.min(0.999 * ceiling));
        Tie { odds: odds(surveyed) / odds(predicted), ceiling }
    }

    /// The figure for a prediction.
    pub(crate) fn of(&self, predicted: f32) -> f32 {
        let p = (predicted / self.ceiling).clamp(0.0, 0.999);
        self.ceiling * self.odds * p / (1.0 - p + self.odds * p)
    }

    /// The prediction that gives a figure: what a height left by a machine means to the curves.
    pub(crate) fn back(&self, figure: f32) -> f32 {
        let y = (figure / self.ceiling).clamp(0.0, 0.99999);
        self.ceiling * y / (self.odds * (1.0 - y) + y)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn a_tie_gives_back_the_survey_and_keeps_order(s in 1.0f32..90.0, p in 1.0f32..90.0, q in 1.0f32..90.0) {
            let t = Tie::new(s, p, 100.0);
            prop_assert!((t.of(p) - s).abs() < 1e-2 * s && (t.back(t.of(q)) - q).abs() < 1e-2 * q);
            prop_assert!((t.of(q) >= t.of(p)) == (q >= p) || (t.of(q) - t.of(p)).abs() < 1e-3);
            prop_assert!(t.of(q) >= 0.0 && t.of(q) <= t.ceiling);
        }
    }
}
