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

/// No ratio looked for lies farther from 1 than e to this.
const LOG_MOST: f64 = 30.0;
/// Halvings of that range: down to what a number can hold.
const HALVINGS: usize = 64;

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

/// The ratio common to several leks, each with a level of its own: before and after of each. Leks visited unequally on the two sides make
/// no change where none is.
///
/// The likeliest ratio of Poisson counts solves: cocks after = sum over leks of all its cocks x its expected share after. The limits are those of
/// the sums as at one lek whose springs give that ratio, widened by how much less such counts tell of it; where every lek was counted
/// alike on both sides that is nothing, and they are exact. `None` as of one lek; leks lacking a side or without a cock tell nothing.
pub fn common(leks: &[[Side; 2]], clumping: f64, level: f64) -> Option<Interval> {
    let leks: Vec<&[Side; 2]> = leks.iter().filter(|[b, a]| b.years > 0 && a.years > 0 && b.cocks + a.cocks > 0).collect();
    let sum = |at: usize| leks.iter().fold(Side::default(), |sum, lek| Side { years: sum.years + lek[at].years, cocks: sum.cocks + lek[at].cocks });
    let (before, after) = (sum(0), sum(1));
    let pooled = ratio(before, after, clumping, level)?;
    if before.cocks == 0 || after.cocks == 0 || leks.len() == 1 {
        return Some(pooled);
    }
    let shares = |log: f64| leks.iter().map(move |[b, a]| (f64::from(b.cocks + a.cocks), 1.0 / (1.0 + f64::from(b.years) / f64::from(a.years) * (-log).exp())));
    let (mut low, mut high) = (-LOG_MOST, LOG_MOST);
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(low, high);
        let expected: f64 = shares(middle).map(|(cocks, share)| cocks * share).sum();
        if expected < f64::from(after.cocks) { low = middle } else { high = middle }
    }
    let log = f64::midpoint(low, high);
    let told: f64 = shares(log).map(|(cocks, share)| cocks * share * (1.0 - share)).sum();
    let (b, a) = (f64::from(before.cocks), f64::from(after.cocks));
    let wide = ratio(before, after, clumping * b * a / (b + a) / told, level)?;
    let by = log.exp() / wide.value;
    Some(Interval { value: log.exp(), low: wide.low * by, high: wide.high * by })
}

/// What to widen limits by: the scatter, and more where it stands on few degrees of freedom, by Student's t over the normal law.
pub fn clumping(scatter: Option<Scatter>, level: f64) -> f64 {
    scatter.map_or(1.0, |s| {
        let at = 0.5 + level / 2.0;
        s.times.max(1.0) * (quantile(at, Some(s.df)) / quantile(at, None)).powi(2)
    })
}
