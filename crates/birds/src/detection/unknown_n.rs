//! One place counted several times, number of birds and chance of seeing one both unknown (Olkin, Petkau & Zidek 1981).
//!
//! Counts x with mean m and variance v (over the number of counts) as of a binomial: the estimate by moments is m^2 / (m - v), that
//! of greatest likelihood the whole number N at which the likelihood, taken at its best chance m / N, is greatest. Both run
//! away as v nears m, and one bird more in the largest count can then double them: so the estimate comes with that
//! number, and is called steady only where m / v reaches
//! `counts.unknown_number.steady_ratio` and one bird more still gives a number.

use super::Limits;
use serde::{Deserialize, Serialize};
use std::fmt;

/// Numbers beyond this are not looked at.
const FURTHEST: u32 = 1 << 20;

/// What several counts of one place say.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Estimate {
    /// Birds, by greatest likelihood.
    pub birds: u32,
    /// Birds, by moments.
    pub by_moments: f64,
    /// Chance of seeing one.
    pub chance: f64,
    /// Logarithm of the likelihood at that number.
    pub log_likelihood: f64,
    /// Mean of the counts over their variance; `None` where all are alike.
    pub ratio: Option<f64>,
    /// Birds, had the largest count been one more; `None` where none could then be given.
    pub with_one_more: Option<u32>,
    /// How far to lean on it.
    pub steadiness: Steadiness,
}

/// How far an estimate can be leaned on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Steadiness {
    /// A bird more or less hardly moves it.
    Steady,
    /// A bird more or less moves it far.
    Unsteady,
}

impl fmt::Display for Steadiness {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Steadiness::Steady => write!(f, "steady: a bird more or less in one count hardly moves it"),
            Steadiness::Unsteady => write!(f, "unsteady: a bird more or less in one count moves it far; not to be leaned on"),
        }
    }
}

/// Why counts of one place give no number.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "why")]
pub enum Refusal {
    /// Fewer than two counts.
    TooFewCounts {
        /// Counts given.
        counts: usize,
    },
    /// No bird was ever seen.
    NoBirds,
    /// The counts differ as much as, or more than, chance sightings would.
    TooSpread {
        /// Mean.
        mean: f64,
        /// Variance.
        variance: f64,
    },
    /// The number is too great to be told.
    RunsAway {
        /// Numbers looked at.
        furthest: u32,
    },
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Refusal::TooFewCounts { counts } => write!(f, "{counts} counts; two are the least"),
            Refusal::NoBirds => write!(f, "no bird was seen on any visit"),
            Refusal::TooSpread { mean, variance } => write!(
                f,
                "the counts vary too much for one number of birds seen with one chance (variance {variance:.2}, mean {mean:.2}): any number, however great, would fit"
            ),
            Refusal::RunsAway { furthest } => write!(f, "the counts fit numbers beyond {furthest} as well as smaller ones"),
        }
    }
}

/// Birds from several counts of one place.
///
/// Errors: why the counts give no number.
pub fn estimate(counts: &[u32], limits: &Limits) -> Result<Estimate, Refusal> {
    let (mean, variance) = moments(counts)?;
    let birds = likeliest(counts)?;
    let mut more = counts.to_vec();
    if let Some(largest) = more.iter_mut().max() {
        *largest += 1;
    }
    let ratio = (variance > 0.0).then(|| mean / variance);
    let with_one_more = likeliest(&more).ok();
    let steady = with_one_more.is_some() && ratio.is_none_or(|ratio| ratio >= limits.steady_ratio);
    Ok(Estimate {
        birds,
        by_moments: mean * mean / (mean - variance),
        chance: mean / f64::from(birds),
        log_likelihood: log_likelihood(counts, birds),
        ratio,
        with_one_more,
        steadiness: if steady { Steadiness::Steady } else { Steadiness::Unsteady },
    })
}

/// Logarithm of the likelihood of `birds`, at the chance that suits them best; minus infinity below the largest count.
pub fn log_likelihood(counts: &[u32], birds: u32) -> f64 {
    if counts.iter().any(|count| *count > birds) {
        return f64::NEG_INFINITY;
    }
    let ways: f64 = counts.iter().map(|count| statrs::function::factorial::ln_binomial(u64::from(birds), u64::from(*count))).sum();
    let seen: f64 = counts.iter().map(|count| f64::from(*count)).sum();
    let all = f64::from(birds) * counts.len() as f64;
    let part = |n: f64| if n > 0.0 { n * (n / all).ln() } else { 0.0 };
    ways + part(seen) + part(all - seen)
}

/// Mean and variance of counts that can come from one number of birds.
fn moments(counts: &[u32]) -> Result<(f64, f64), Refusal> {
    let n = counts.len() as f64;
    if counts.len() < 2 {
        return Err(Refusal::TooFewCounts { counts: counts.len() });
    }
    let mean = counts.iter().map(|count| f64::from(*count)).sum::<f64>() / n;
    if mean == 0.0 {
        return Err(Refusal::NoBirds);
    }
    let variance = counts.iter().map(|count| (f64::from(*count) - mean).powi(2)).sum::<f64>() / n;
    // At a very great number the likelihood nears that of a Poisson, from above only where the variance is below the mean.
    if variance >= mean { Err(Refusal::TooSpread { mean, variance }) } else { Ok((mean, variance)) }
}

/// The number of greatest likelihood. The likelihood rises to one top and falls (Levin & Reeds 1977, from memory), so the
/// first number after which it does not rise is found by halving.
fn likeliest(counts: &[u32]) -> Result<u32, Refusal> {
    moments(counts)?;
    let least = counts.iter().copied().max().unwrap_or(0);
    let mut step = 1;
    while rises_after(counts, least + step) {
        if step >= FURTHEST {
            return Err(Refusal::RunsAway { furthest: FURTHEST });
        }
        step *= 2;
    }
    let (mut below, mut at) = (least, least + step);
    if !rises_after(counts, below) {
        return Ok(below);
    }
    while at - below > 1 {
        let middle = below + (at - below) / 2;
        if rises_after(counts, middle) { below = middle } else { at = middle }
    }
    Ok(at)
}

/// Whether `birds` + 1 is likelier than `birds`; the difference is built up from small terms, so that it keeps its sign.
fn rises_after(counts: &[u32], birds: u32) -> bool {
    let next = f64::from(birds) + 1.0;
    let (n, seen) = (counts.len() as f64, counts.iter().map(|count| f64::from(*count)).sum::<f64>());
    let mean = seen / n;
    let ways: f64 = counts.iter().map(|count| -(-f64::from(*count) / next).ln_1p()).sum();
    // n (N+1 - m) ln(1 - m/(N+1)) - n (N - m) ln(1 - m/N) - seen ln((N+1)/N)
    let unseen = |birds: f64| if birds > mean { n * (birds - mean) * (-mean / birds).ln_1p() } else { 0.0 };
    ways + unseen(next) - unseen(next - 1.0) - seen * (1.0 / (next - 1.0)).ln_1p() > 0.0
}
