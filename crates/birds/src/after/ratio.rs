//! Cocks after over cocks before, with limits.
//!
//! Two Poisson sums of so many years: given both together, those after are binomial, so that the exact limits of a share (Clopper &
//! Pearson 1934) become those of the ratio (Przyborowski & Wilenski 1940, Biometrika 31, 313-323, from memory). Counts that scatter
//! more than chance are taken as if so many times fewer birds, each worth so many, had been counted, as of young in broods.

use super::Scatter;
use crate::detection::Interval;
use crate::trend::limits::quantile;
use serde::Serialize;
use statrs::distribution::{Beta, ContinuousCDF};

/// The counts of one side of the work.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Side {
    /// Years counted; of several leks together: one for each lek and year.
    pub years: u32,
    /// Cocks, all years' figures together.
    pub cocks: u32,
}

/// Mean count after over mean count before. `clumping` is the variance over the mean of counts, from 1; the limits hold with chance
/// `level`. Infinite where no cock was counted before; `None` where none was counted at all, or a side has no year.
pub fn ratio(before: Side, after: Side, clumping: f64, level: f64) -> Option<Interval> {
    if before.years == 0 || after.years == 0 || before.cocks + after.cocks == 0 {
        return None;
    }
    let odds = |share: f64| if share >= 1.0 { f64::INFINITY } else { share / (1.0 - share) * f64::from(before.years) / f64::from(after.years) };
    let (b, a, tail) = (f64::from(before.cocks) / clumping, f64::from(after.cocks) / clumping, (1.0 - level) / 2.0);
    let limit = |a: f64, b: f64, below: f64| Beta::new(a, b).map_or(f64::NAN, |beta| beta.inverse_cdf(below));
    Some(Interval {
        value: odds(a / (a + b)),
        low: if after.cocks == 0 { 0.0 } else { odds(limit(a, b + 1.0, tail)) },
        high: if before.cocks == 0 { f64::INFINITY } else { odds(limit(a + 1.0, b, 1.0 - tail)) },
    })
}

/// What to widen limits by: the scatter, and more where it stands on few degrees of freedom, by Student's t over the normal law.
pub fn clumping(scatter: Option<Scatter>, level: f64) -> f64 {
    scatter.map_or(1.0, |s| {
        let at = 0.5 + level / 2.0;
        s.times.max(1.0) * (quantile(at, Some(s.df)) / quantile(at, None)).powi(2)
    })
}
