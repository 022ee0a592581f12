//! Counts as a random walk with drift: chance of ever falling to a threshold, and what a series of counts says of drift and spread.
//!
//! The logarithm of the count drifts by `mu` a year with variance `sigma2` a year. The chance of reaching a threshold `d` below within
//! `T` years is the first passage of Brownian motion (Ginzburg et al. 1982; Lande & Orzack 1988); `mu` and `sigma2` are
//! estimated by the regression of Dennis, Munholland & Scott 1991 (all from memory), which takes unequal steps between counts.
//! Errors of counting are not taken apart from the spread between years and widen it.

use serde::Serialize;
use statrs::distribution::{ChiSquared, ContinuousCDF, Normal, StudentsT};

/// Below this a normal probability is taken from its tail series.
const TAIL: f64 = -30.0;

/// Why counts give no estimate.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum SeriesFault {
    /// Too short.
    #[error("too few counts for drift and spread: needed at least 3 years with birds, found {0}")]
    TooFew(usize),
    /// Years that do not rise.
    #[error("the years do not rise: needed each year once, in order, found {after} after {before}")]
    Years {
        /// A year.
        before: i32,
        /// The one that follows it.
        after: i32,
    },
    /// Nothing counted.
    #[error("no birds were counted in {0}: needed counts above nothing, as a random walk of logarithms never gets there\n  hint: leave out what follows the last bird, or use the projection of the leks")]
    Nothing(i32),
}

/// Drift and spread of a series of counts.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Drift {
    /// Mean yearly change of the natural logarithm.
    pub mu: f64,
    /// Its standard error.
    pub mu_se: f64,
    /// Its 95 % limits (t).
    pub mu_95: (f64, f64),
    /// Variance of the yearly change, unbiased.
    pub sigma2: f64,
    /// Its 95 % limits (chi-squared).
    pub sigma2_95: (f64, f64),
    /// Steps between counts.
    pub steps: usize,
}

impl Drift {
    /// From counts by year.
    ///
    /// # Errors
    /// Fewer than three counts, years that do not rise, or a count of nothing.
    pub fn of(counts: &[(i32, f64)]) -> Result<Drift, SeriesFault> {
        if let Some((year, _)) = counts.iter().find(|(_, n)| !n.is_finite() || *n <= 0.0) {
            return Err(SeriesFault::Nothing(*year));
        }
        if let Some(w) = counts.windows(2).find(|w| w[0].0 >= w[1].0) {
            return Err(SeriesFault::Years { before: w[0].0, after: w[1].0 });
        }
        if counts.len() < 3 {
            return Err(SeriesFault::TooFew(counts.len()));
        }
        let (first, last) = (counts[0], counts[counts.len() - 1]);
        let span = f64::from(last.0 - first.0);
        let mu = (last.1 / first.1).ln() / span;
        let steps = counts.len() - 1;
        let free = steps as f64 - 1.0;
        let residual = |w: &[(i32, f64)]| {
            let years = f64::from(w[1].0 - w[0].0);
            ((w[1].1 / w[0].1).ln() - mu * years).powi(2) / years
        };
        let squares: f64 = counts.windows(2).map(residual).sum();
        let sigma2 = squares / free;
        let mu_se = (sigma2 / span).sqrt();
        let t = StudentsT::new(0.0, 1.0, free).map_or(f64::INFINITY, |t| t.inverse_cdf(0.975));
        let chi = |u| ChiSquared::new(free).map_or(f64::NAN, |c| c.inverse_cdf(u));
        Ok(Drift { mu, mu_se, mu_95: (mu - t * mu_se, mu + t * mu_se), sigma2, sigma2_95: (squares / chi(0.975), squares / chi(0.025)), steps })
    }

    /// Chance of falling to a share of the present number within some years.
    pub fn falls_to(&self, share: f64, years: f64) -> f64 {
        first_passage(-share.ln(), self.mu, self.sigma2, years)
    }
}

/// Chance that a walk which drifts by `mu` with variance `sigma2` a year falls by `distance` (a difference of natural logarithms) within
/// `years`.
pub fn first_passage(distance: f64, mu: f64, sigma2: f64, years: f64) -> f64 {
    if distance <= 0.0 {
        return 1.0;
    }
    let spread = (sigma2 * years).sqrt();
    if spread <= 0.0 {
        return if distance + mu * years <= 0.0 { 1.0 } else { 0.0 };
    }
    let there = log_below((-distance - mu * years) / spread).exp();
    // Both factors of the second part may lie beyond what a number holds; their product does not.
    let back = (-2.0 * mu * distance / sigma2 + log_below((-distance + mu * years) / spread)).exp();
    (there + back).min(1.0)
}

/// Chance of ever falling by `distance`, given time without end.
pub fn ever(distance: f64, mu: f64, sigma2: f64) -> f64 {
    if distance <= 0.0 || mu < 0.0 || (mu == 0.0 && sigma2 > 0.0) {
        return 1.0;
    }
    if sigma2 > 0.0 { (-2.0 * mu * distance / sigma2).exp() } else { 0.0 }
}

/// Logarithm of the standard normal probability below `z`.
fn log_below(z: f64) -> f64 {
    if z > TAIL {
        return Normal::standard().cdf(z).ln();
    }
    let s = 1.0 / (z * z);
    -z * z / 2.0 - (-z).ln() - (2.0 * std::f64::consts::PI).ln() / 2.0 + (-s + 3.0 * s * s - 15.0 * s * s * s).ln_1p()
}
