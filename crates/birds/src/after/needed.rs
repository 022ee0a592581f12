//! What it would take to tell a change at one lek: how large it must be, how many cocks, how many springs.
//!
//! The error of the logarithm of a ratio of two sums is the root of the clumping over the expected sums before and after; a change is seen
//! when it lies as many errors off as the limits and the power ask together. From counts alike before and after in everything but the ratio.

use super::Ask;
use super::ratio::{Side, ratio};
use crate::trend::limits::quantile;
use serde::Serialize;
use statrs::distribution::{ContinuousCDF, Normal};

/// Most springs looked through before it is said that there is no answer.
const MOST: u32 = 60;

/// What it would take.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Needed {
    /// Least rise, as a ratio, that would be seen in the springs counted, with the power asked for; `None` where none would.
    pub rise: Option<f64>,
    /// Least fall, as a ratio; `None` where even none left would not be seen.
    pub fall: Option<f64>,
    /// Mean count after from which the lek's own limits would exclude no change; `None` where no count would.
    pub mean_for_more: Option<f64>,
    /// Mean count after up to which they would.
    pub mean_for_fewer: Option<f64>,
    /// Chance that what was expected would be seen in the springs counted.
    pub power_of_expected: Option<f64>,
    /// Springs after the work until it would be, with the power asked for; `None` where [`MOST`] would not do.
    pub springs_for_expected: Option<u32>,
}

/// What it would take at a lek; `None` without a cock before or without a spring on a side.
pub fn needed(before: Side, after: Side, expected: Option<f64>, clumping: f64, ask: &Ask) -> Option<Needed> {
    if before.cocks == 0 || after.years == 0 {
        return None;
    }
    let error = |ratio: f64, springs: u32| error(before, springs, ratio, clumping);
    let away = quantile(0.5 + ask.level / 2.0, None);
    let reach = away + quantile(ask.power, None);
    let seen = |ratio: f64| ratio.ln().abs() >= reach * error(ratio, after.years);
    let power = |ratio: f64, springs: u32| {
        let off = ratio.ln() / error(ratio, springs);
        Normal::standard().cdf(off.abs() - away)
    };
    let at = |cocks: u32| ratio(before, Side { cocks, ..after }, clumping, ask.level);
    let mean = |cocks: u32| f64::from(cocks) / f64::from(after.years);
    let even = (f64::from(before.cocks) / f64::from(before.years) * f64::from(after.years)).ceil() as u32;
    let expected = expected.filter(|r| *r > 0.0 && *r != 1.0);
    Some(Needed {
        rise: nearest(true, seen),
        fall: nearest(false, seen),
        mean_for_more: (even..=100 * even.max(10)).find(|c| at(*c).is_some_and(|i| i.low > 1.0)).map(mean),
        mean_for_fewer: (0..=even).rev().find(|c| at(*c).is_some_and(|i| i.high < 1.0)).map(mean),
        power_of_expected: expected.map(|r| power(r, after.years)),
        springs_for_expected: expected.and_then(|r| (1..=MOST).find(|springs| power(r, *springs) >= ask.power)),
    })
}

/// Error of the logarithm of a ratio, for so many springs after the work.
fn error(before: Side, springs: u32, ratio: f64, clumping: f64) -> f64 {
    let sum = f64::from(before.cocks);
    let later = sum / f64::from(before.years) * f64::from(springs) * ratio;
    (clumping * (1.0 / sum + 1.0 / later)).sqrt()
}

/// The ratio nearest to no change, upward or downward, from which `there` holds, in steps of a hundredth on the log scale. Falls are
/// looked through one by one: near none left the error grows beyond any fall.
fn nearest(upward: bool, there: impl Fn(f64) -> bool) -> Option<f64> {
    const STEPS: u32 = 700;
    (1..=STEPS).map(|k| (f64::from(k) / if upward { 100.0 } else { -100.0 }).exp()).find(|ratio| there(*ratio))
}
