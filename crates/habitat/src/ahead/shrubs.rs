//! Dwarf shrubs and bracken: cover gained or lost as stock use more or less of the year's growth.
//!
//! Up to a limit of use a plant gains, the more the less is eaten; past it the plant loses, fastest at the use at which shoot production
//! is halved in three years (Grant 1978: 40 percent of heather's shoots leave it unharmed, 80 percent halve it). Blaeberry's limit is
//! lower (Welch 1998). What counts is the change from the use under the stock present at the survey: with unchanged stock covers stay
//! as surveyed.

use super::ask::Ask;
use guidance::Unknown;

/// Figures of dwarf shrubs and bracken.
pub struct Figures {
    heather: Limits,
    berries: Limits,
    /// Gain a year, share of itself, with no use.
    gain: f32,
    /// Loss a year, share of itself, at heavy use.
    loss: f32,
    /// Gain of bracken a year when trampling stops.
    bracken: f32,
}

struct Limits {
    safe: f32,
    heavy: f32,
    young: f32,
}

impl Figures {
    pub(crate) fn read(r: &mut Ask) -> Result<Self, Unknown> {
        let effect = r.percent("utilisation.heather.heavy_effect")?;
        let years = r.number("ahead.heather.loss_years")?;
        let safe = r.percent("ahead.blaeberry.limit")?;
        Ok(Figures {
            heather: Limits {
                safe: r.percent("utilisation.heather.safe")?,
                heavy: r.percent("utilisation.heather.heavy")?,
                young: r.percent("utilisation.heather.limit_young")?,
            },
            berries: Limits { safe, heavy: r.percent("ahead.blaeberry.heavy")?, young: safe },
            gain: r.percent("ahead.shrub.gain")?,
            loss: 1.0 - (1.0 + effect).powf(1.0 / years),
            bracken: r.percent("ahead.bracken.pace")?,
        })
    }

    /// Pace of cover a year, share of itself, at the use `now` where the survey found the cover at home under the use `then`: released
    /// from use it gains, pressed further past the limit it loses; more use below the limit does it no harm.
    fn pace(&self, l: &Limits, then: f32, now: f32, young: bool) -> f32 {
        let safe = if young { l.young } else { l.safe };
        let gain = |eaten: f32| self.gain * (1.0 - eaten / safe).max(0.0);
        let loss = |eaten: f32| self.loss * ((eaten - safe) / (l.heavy - safe)).clamp(0.0, 1.0);
        (gain(now) - gain(then)).max(0.0) - (loss(now) - loss(then)).max(0.0)
    }

    /// Change a year of heather cover, share of itself, when the share of shoots eaten goes from `then` to `now`; young heather has a
    /// lower limit.
    pub fn heather(&self, then: f32, now: f32, young: bool) -> f32 {
        self.pace(&self.heather, then, now, young)
    }

    /// Change a year of blaeberry cover, share of itself, when the share of its growth eaten goes from `then` to `now`.
    pub fn berries(&self, then: f32, now: f32) -> f32 {
        self.pace(&self.berries, then, now, false)
    }

    /// Change a year of bracken, share of itself, when the share of ground grazed goes from `before` to `now`.
    pub fn bracken(&self, before: f32, now: f32) -> f32 {
        self.bracken * (before - now)
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::panic, reason = "a test may stop")]
    use super::*;
    use guidance::{Country, Guidance};

    /// Grant 1978: 40 percent of the shoots leaves heather unharmed, 80 percent halves it in three years.
    #[test]
    fn forty_percent_is_safe_and_eighty_halves() {
        let g = Guidance::load().unwrap_or_else(|f| panic!("{f:?}"));
        let f = Figures::read(&mut Ask { guidance: &g, country: Country::GB, keys: Vec::new() }).unwrap();
        assert_eq!(f.heather(0.1, 0.4, false), 0.0);
        assert!(((1.0 + f.heather(0.1, 0.8, false)).powi(3) - 0.5).abs() < 1e-5);
        assert!(f.heather(0.4, 0.1, false) > 0.0 && f.berries(0.1, 0.3) < 0.0 && f.heather(0.1, 0.3, true) < 0.0);
        assert_eq!((f.heather(0.7, 0.7, false), f.berries(0.3, 0.3)), (0.0, 0.0));
    }
}
