//! Power: how many years, leks or visits it takes to see a change of numbers, by formula and by simulation.
//!
//! Method: the information about the slope that a design is expected to give, summed over leks, and the chance that the
//! estimate then clears its limits (after Gerrodette 1987, Ecology 68, from memory, for log-linear counts of many leks). With
//! shared good and bad years the slope has a scatter that no number of leks takes away, only years do.
//!
//! - [`seen`]: what visits see of the cocks there are
//! - [`simulated`]: the same by simulation

pub mod seen;
pub mod simulated;

use crate::trend::Trend;
use crate::trend::limits::{Limits, quantile};
use guidance::{Country, Guidance, Unknown};
use serde::Serialize;
use statrs::distribution::{ContinuousCDF, Normal};

/// Most years or leks looked through before it is said that there is no answer.
const MOST: u32 = 400;

/// A design of counting.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Design {
    /// Leks counted every year.
    pub leks: u32,
    /// Years, from the first to the last count.
    pub years: u32,
    /// Cocks counted at a lek in the first year, on average, above 0.
    pub cocks: f64,
    /// Dispersion of single counts: variance over mean, from above 0.
    pub dispersion: f64,
    /// Standard deviation, on the log scale, of good and bad years shared by all leks, from 0.
    pub swing: f64,
}

/// What a test of a change comes to.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Power {
    /// Standard error of the slope.
    pub se: f64,
    /// Chance that the change is seen: the limits on either side exclude no change.
    pub two_sided: f64,
    /// Chance that a fall is seen by a test for a fall alone, at the same certainty (one-sided).
    pub one_sided: f64,
}

/// What is asked of a design.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Question {
    /// Change in a year, as a fraction.
    pub change: f64,
    /// Certainty of the limits that must exclude no change.
    pub level: f64,
    /// Chance of seeing it that is wanted.
    pub wanted: f64,
    /// Limits.
    pub limits: Limits,
}

/// What a design comes to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Answer {
    /// Chance that the change is seen; `None` where it cannot be told.
    pub power: Option<f64>,
    /// Years needed with the same leks; `None` where no number would do.
    pub years: Option<u32>,
    /// Leks needed in the same years; `None` where no number would do.
    pub leks: Option<u32>,
}

impl Question {
    /// What is usually asked.
    ///
    /// Errors: a key that guidance does not hold.
    pub fn usual(guidance: &Guidance, country: Country) -> Result<Self, Unknown> {
        let part = |key: &str| guidance.number(key, country).map(|v| v / 100.0);
        Ok(Self { change: part("trend.change")?, level: part("trend.certainty")?, wanted: part("trend.power")?, limits: Limits::default() })
    }

    /// Put to a design.
    pub fn answer(&self, design: &Design) -> Answer {
        Answer {
            power: design.power_by(self.limits, self.change, self.level).map(|p| p.two_sided),
            years: design.years_needed(self.limits, self.change, self.level, self.wanted),
            leks: design.leks_needed(self.limits, self.change, self.level, self.wanted),
        }
    }
}

impl Design {
    /// The design that the counts behind a trend come to.
    pub fn of(t: &Trend) -> Self {
        let years = (t.span.1 - t.span.0 + 1) as u32;
        // An index year's total is over all leks used.
        let cocks = t.index.last().map_or(1.0, |y| y.total / t.leks as f64).max(0.1);
        // Counts that scatter less than chance would have it did so by luck: the next years need not.
        let dispersion = t.dispersion.unwrap_or(1.0).max(1.0);
        // Years scatter by single counts' scatter and by what they share: the second grows with the cocks counted in a year.
        let a_year = t.index.iter().map(|y| y.counted as f64).sum::<f64>() / t.index.len().max(1) as f64;
        let swing = t.dispersion_of_years.map_or(0.0, |of_years| ((of_years - dispersion).max(0.0) / a_year.max(1.0)).sqrt());
        Self { leks: t.leks as u32, years, cocks, dispersion, swing }
    }

    /// Expected standard error of the slope (log scale, a year) when numbers change by `slope` a year.
    pub fn se(&self, slope: f64) -> f64 {
        let mean = |t: u32| self.cocks * (slope * f64::from(t)).exp();
        let total: f64 = (0..self.years).map(mean).sum();
        let middle = (0..self.years).map(|t| mean(t) * f64::from(t)).sum::<f64>() / total;
        let lever = |t: u32| mean(t) * (f64::from(t) - middle);
        let information: f64 = (0..self.years).map(|t| lever(t) * (f64::from(t) - middle)).sum();
        // The second term is of shared years: each pulls all leks alike, so that the number of leks falls out.
        let shared: f64 = (0..self.years).map(|t| lever(t).powi(2)).sum::<f64>() * (self.swing / information).powi(2);
        (self.dispersion / (information * f64::from(self.leks)) + shared).sqrt()
    }

    /// Degrees of freedom that limits of a kind leave; `None` for the normal law.
    pub fn degrees_of_freedom(&self, limits: Limits) -> Option<f64> {
        let (leks, years) = (f64::from(self.leks), f64::from(self.years));
        match limits {
            Limits::Poisson | Limits::Profile | Limits::NegBin => None,
            Limits::Quasi => Some(leks * years - leks - 1.0),
            Limits::ByLek => Some(leks - 1.0),
            Limits::ByYear => Some(years - 2.0),
        }
        .filter(|df| *df > 0.0)
    }

    /// Power to see an annual change, with limits of a certainty.
    ///
    /// - `change`: a share a year above -1, such as -0.05
    /// - `level`: certainty of two-sided limits, such as 0.9
    /// - `df`: degrees of freedom of Student's t, `None` for the normal law
    pub fn power(&self, change: f64, level: f64, df: Option<f64>) -> Power {
        self.power_above(change, level, df, 0.0)
    }

    /// Power by the limits asked for, never narrower than Poisson's, as a verdict has them; `None` where they cannot be had from so few
    /// years or leks.
    pub fn power_by(&self, limits: Limits, change: f64, level: f64) -> Option<Power> {
        let df = self.degrees_of_freedom(limits);
        let needs_df = matches!(limits, Limits::Quasi | Limits::ByLek | Limits::ByYear);
        let slope = change.ln_1p();
        let chance_alone = Design { dispersion: 1.0, swing: 0.0, ..*self }.se(slope);
        (!needs_df || df.is_some()).then(|| self.power_above(change, level, df, chance_alone))
    }

    /// Power with limits that are never narrower than those of a standard error of `least` and the normal law.
    fn power_above(&self, change: f64, level: f64, df: Option<f64>, least: f64) -> Power {
        let slope = change.ln_1p();
        let se = self.se(slope);
        let (away, least) = (slope / se, least / se);
        let reach = |p: f64| (quantile(p, df), least * quantile(p, None));
        let (two, one) = (reach(0.5 + level / 2.0), reach(level));
        Power { se, two_sided: beyond(two, -away, df) + beyond(two, away, df), one_sided: beyond(one, -away, df) }
    }

    /// Years of counting until a change is seen with the power wanted; `None` if not in [`MOST`] years.
    pub fn years_needed(&self, limits: Limits, change: f64, level: f64, wanted: f64) -> Option<u32> {
        (2..=MOST).find(|&years| Design { years, ..*self }.power_by(limits, change, level).is_some_and(|p| p.two_sided >= wanted))
    }

    /// Leks to count until a change is seen with the power wanted; `None` if no number of leks does it in these years.
    pub fn leks_needed(&self, limits: Limits, change: f64, level: f64, wanted: f64) -> Option<u32> {
        (1..=MOST).find(|&leks| Design { leks, ..*self }.power_by(limits, change, level).is_some_and(|p| p.two_sided >= wanted))
    }
}

/// Chance that an estimate that lies `away` true standard errors above nought comes out above its reach: `reach.0` times the estimated
/// scatter or `reach.1`, whichever is more. The normal chance averaged over the law of the estimated scatter (chi over the root of its
/// degrees of freedom), by the midpoints of 1,000 slices of nine of its standard deviations either way; without degrees of freedom the
/// scatter is known.
fn beyond(reach: (f64, f64), away: f64, df: Option<f64>) -> f64 {
    let normal = Normal::standard();
    let above = |scatter: f64| normal.sf((reach.0 * scatter).max(reach.1) - away);
    let Some(df) = df else { return above(1.0) };
    const SLICES: usize = 1000;
    let wide = 9.0 / (2.0 * df).sqrt();
    let least = (1.0 - wide).max(0.0);
    let step = (1.0 + wide - least) / SLICES as f64;
    let (mut weights, mut sum) = (0.0, 0.0);
    for k in 0..SLICES {
        let scatter = least + step * (k as f64 + 0.5);
        // Density of the scatter, up to a factor, 1 at its usual size.
        let weight = ((df - 1.0) * scatter.ln() - df * (scatter * scatter - 1.0) / 2.0).exp();
        weights += weight;
        sum += weight * above(scatter);
    }
    sum / weights
}
