//! Two observers, each on its own, and the birds that both saw (Lincoln-Petersen, and Chapman 1951).
//!
//! Taken as given: the same birds for both, every one as likely to be seen as the next, each sighting known to be of the same
//! bird or of another, and neither observer led by the other. The estimate is Chapman's, with its variance; the limits
//! are by the transformed logit with a half added (Sadinle 2009), which do not fall below the birds seen and stand where no bird
//! was seen by both.

use super::Interval;
use crate::trend::limits::deviations;
use serde::{Deserialize, Serialize};
use std::fmt;

/// What two observers' counts say.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Estimate {
    /// Different birds seen by either.
    pub known: u32,
    /// Birds, Chapman's estimate, with limits.
    pub birds: Interval,
    /// Variance of Chapman's estimate.
    pub variance: f64,
    /// Birds, Lincoln-Petersen; `None` where no bird was seen by both.
    pub lincoln_petersen: Option<f64>,
    /// Chance that the first observer sees a bird.
    pub first_chance: f64,
    /// Chance that the second observer sees a bird.
    pub second_chance: f64,
}

/// Why two counts give no number.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "why")]
pub enum Refusal {
    /// More birds seen by both than by one of them.
    MoreBoth {
        /// Seen by the one who saw fewer.
        fewer: u32,
        /// Seen by both.
        both: u32,
    },
    /// One of the two saw nothing.
    NothingSeen,
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Refusal::MoreBoth { fewer, both } => write!(f, "{both} birds seen by both, but only {fewer} by one of the two"),
            Refusal::NothingSeen => write!(f, "one of the two observers saw no bird, so nothing can be compared"),
        }
    }
}

/// Birds from the counts of two observers: `first` and `second` as each saw, `both` of them the same birds.
///
/// Errors: why they give no number.
pub fn estimate(first: u32, second: u32, both: u32, level: f64) -> Result<Estimate, Refusal> {
    if both > first.min(second) {
        return Err(Refusal::MoreBoth { fewer: first.min(second), both });
    }
    if first == 0 || second == 0 {
        return Err(Refusal::NothingSeen);
    }
    let (a, b, m) = (f64::from(first), f64::from(second), f64::from(both));
    let known = first + second - both;
    let birds = (a + 1.0) * (b + 1.0) / (m + 1.0) - 1.0;
    let variance = (a + 1.0) * (b + 1.0) * (a - m) * (b - m) / ((m + 1.0).powi(2) * (m + 2.0));
    let (only_first, only_second, both_half) = (a - m + 0.5, b - m + 0.5, m + 0.5);
    let spread = (1.0 / both_half + 1.0 / only_first + 1.0 / only_second + both_half / (only_first * only_second)).sqrt();
    let limit = |deviations: f64| f64::from(known) - 0.5 + only_first * only_second / both_half * (deviations * spread).exp();
    let z = deviations(level, None);
    Ok(Estimate {
        known,
        birds: Interval { value: birds, low: limit(-z).max(f64::from(known)), high: limit(z) },
        variance,
        lincoln_petersen: (both > 0).then(|| a * b / m),
        first_chance: m / b,
        second_chance: m / a,
    })
}
