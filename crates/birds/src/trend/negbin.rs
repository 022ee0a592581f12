//! The negative binomial size by maximum likelihood, in turns with the fit at that size.
//!
//! Variant: variance `mean + mean^2 / theta`; theta's standard error from the observed information, the coefficients' from
//! the expected information at that theta (Venables & Ripley 2002, Modern Applied Statistics with S, sec. 7.4, from memory).

use super::glm::{Family, Fit, Frame, NoFit, fit, fit_from};
use serde::Serialize;
use std::fmt;

/// A size above which the counts scatter no more than Poisson ones for all practical ends.
const NO_SPREAD: f64 = 1e6;
/// Turns before giving up.
const TURNS: usize = 500;

/// A negative binomial fit.
#[derive(Clone, Debug)]
pub struct NegBin {
    /// The fit at that size.
    pub fit: Fit,
    /// Size.
    pub theta: f64,
    /// Its standard error.
    pub se_theta: f64,
}

/// Why there is none.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum NoNegBin {
    /// No more scatter than Poisson.
    NoSpread,
    /// The fit itself failed.
    Fit(NoFit),
}

impl fmt::Display for NoNegBin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NoNegBin::NoSpread => f.write_str("the counts scatter no more than chance alone would have it, so that there is no spread to estimate"),
            NoNegBin::Fit(why) => write!(f, "{why}"),
        }
    }
}

impl std::error::Error for NoNegBin {}

/// Fit coefficients, levels and size together.
///
/// Errors: [`NoNegBin`].
pub fn fit_negbin(frame: &Frame) -> Result<NegBin, NoNegBin> {
    fit_negbin_from(frame, &fit(frame, Family::Poisson, None).map_err(NoNegBin::Fit)?)
}

/// The same, beginning at the Poisson fit.
pub(super) fn fit_negbin_from(frame: &Frame, poisson: &Fit) -> Result<NegBin, NoNegBin> {
    let counts = Runs::of(frame);
    let scatter: f64 = frame.count.iter().zip(&poisson.mean).map(|(&y, &m)| (y / m - 1.0).powi(2)).sum();
    let mut theta = size(frame, &counts, &poisson.mean, frame.count.len() as f64 / scatter.max(f64::MIN_POSITIVE)).ok_or(NoNegBin::NoSpread)?;
    let mut last: Option<(Fit, f64, f64)> = None;
    for _ in 0..TURNS {
        let fitted = fit_from(frame, Family::NegativeBinomial { theta }, None, Some(last.as_ref().map_or(poisson, |l| &l.0).start())).map_err(NoNegBin::Fit)?;
        let next = size(frame, &counts, &fitted.mean, theta).ok_or(NoNegBin::NoSpread)?;
        let (log, off) = (theta.ln(), (next / theta).ln());
        if off.abs() < 1e-11 {
            let (_, information) = slope_and_information(frame, &counts, &fitted.mean, next);
            return Ok(NegBin { fit: fitted, theta: next, se_theta: (1.0 / information).sqrt() });
        }
        // Each turn comes nearer by a share of the last one's way: two turns tell where that ends.
        let along = last.as_ref().map(|(_, log_before, off_before)| (off - off_before) / (log - log_before)).filter(|s| (-1.5..-0.01).contains(s));
        theta = (log - off / along.unwrap_or(-1.0)).exp();
        last = Some((fitted, log, off));
    }
    Err(NoNegBin::Fit(NoFit::Unsettled))
}

/// The size of highest likelihood at given means; `None` where it runs to infinity.
fn size(frame: &Frame, counts: &Runs, mean: &[f64], start: f64) -> Option<f64> {
    let mut theta = start.clamp(1e-3, NO_SPREAD);
    for _ in 0..200 {
        let (slope, information) = slope_and_information(frame, counts, mean, theta);
        // Where the likelihood is not bent down yet, go up or down by half and try again.
        let next = if information > 0.0 { (theta + slope / information).clamp(theta / 4.0, theta * 4.0) } else if slope > 0.0 { theta * 2.0 } else { theta / 2.0 };
        if next > NO_SPREAD {
            return None;
        }
        if (next - theta).abs() < 1e-13 * theta {
            return Some(next);
        }
        theta = next;
    }
    Some(theta)
}

/// How many counts lie above each whole number: runs of numbers (first, one past the last) with the counts above them.
struct Runs(Vec<(u64, u64, f64)>);

impl Runs {
    fn of(frame: &Frame) -> Self {
        let mut sorted: Vec<u64> = frame.count.iter().map(|&y| y as u64).collect();
        sorted.sort_unstable();
        let mut runs = Vec::new();
        let (mut from, mut at) = (0, 0);
        while at < sorted.len() {
            let to = sorted[at];
            if to > from {
                runs.push((from, to, (sorted.len() - at) as f64));
                from = to;
            }
            at += sorted[at..].partition_point(|&y| y == to);
        }
        Runs(runs)
    }
}

/// First derivative of the log likelihood by theta, and the negative of the second. Counts are whole, so that differences
/// of digamma and trigamma are plain sums.
fn slope_and_information(frame: &Frame, counts: &Runs, mean: &[f64], theta: f64) -> (f64, f64) {
    let (mut slope, mut information) = (0.0, 0.0);
    for &(from, to, above) in &counts.0 {
        for at in (from..to).map(|j| theta + j as f64) {
            slope += above / at;
            information += above / (at * at);
        }
    }
    for (&y, &m) in frame.count.iter().zip(mean) {
        let share = (y + theta) / (m + theta);
        slope += 1.0 - (m / theta).ln_1p() - share;
        information += (2.0 - share) / (m + theta) - 1.0 / theta;
    }
    (slope, information)
}
