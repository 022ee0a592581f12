//! Dwarf shrubs and bracken: cover gained or lost as stock use more or less of the year's growth.
//!
//! Up to a limit of use a plant gains, the more the less is eaten; past it the plant loses, fastest at the use at which shoot production
//! is halved in three years (Grant 1978: 40 percent of heather's shoots leave it unharmed, 80 percent halve it). Blaeberry's limit is
//! lower (Welch 1998). What counts is the difference from the pace under the stock present at the survey: with unchanged stock covers
//! stay as surveyed.

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

    fn pace(&self, l: &Limits, eaten: f32, young: bool) -> f32 {
        let safe = if young { l.young } else { l.safe };
        if eaten <= safe { self.gain * (1.0 - eaten / safe) } else { -self.loss * ((eaten - safe) / (l.heavy - safe)).min(1.0) }
    }

    /// Change a year of heather cover, share of itself, at a use; young heather has a lower limit.
    pub fn heather(&self, eaten: f32, young: bool) -> f32 {
        self.pace(&self.heather, eaten, young)
    }

    /// Change a year of blaeberry cover, share of itself, at a use.
    pub fn berries(&self, eaten: f32) -> f32 {
        self.pace(&self.berries, eaten, false)
    }

    /// Change a year of bracken, share of itself, when the share of ground grazed goes from `before` to `now`.
    pub fn bracken(&self, before: f32, now: f32) -> f32 {
        self.bracken * (before - now)
    }
}
