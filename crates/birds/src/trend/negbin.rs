//! The negative binomial size by maximum likelihood, in turns with the fit at that size.
//!
//! Variant: variance `mean + mean^2 / theta`; theta's standard error from the observed information, the coefficients' from
//! the expected information at that theta (Venables & Ripley 2002, Modern Applied Statistics with S, sec. 7.4, from memory).

use super::glm::{Family, Fit, Frame, NoFit, fit};
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
    let first = fit(frame, Family::Poisson, None).map_err(NoNegBin::Fit)?;
    let scatter: f64 = frame.count.iter().zip(&first.mean).map(|(&y, &m)| (y / m - 1.0).powi(2)).sum();
    let mut theta = size(frame, &first.mean, frame.count.len() as f64 / scatter.max(f64::MIN_POSITIVE)).ok_or(NoNegBin::NoSpread)?;
    for _ in 0..TURNS {
        let fitted = fit(frame, Family::NegativeBinomial { theta }, None).map_err(NoNegBin::Fit)?;
        let next = size(frame, &fitted.mean, theta).ok_or(NoNegBin::NoSpread)?;
        let settled = (next - theta).abs() < 1e-11 * theta;
        theta = next;
        if settled {
            let (_, information) = slope_and_information(frame, &fitted.mean, theta);
            return Ok(NegBin { fit: fitted, theta, se_theta: (1.0 / information).sqrt() });
        }
    }
    Err(NoNegBin::Fit(NoFit::Unsettled))
}

/// The size of highest likelihood at given means; `None` where it runs to infinity.
fn size(frame: &Frame, mean: &[f64], start: f64) -> Option<f64> {
    let mut theta = start.clamp(1e-3, NO_SPREAD);
    for _ in 0..200 {
        let (slope, information) = slope_and_information(frame, mean, theta);
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

/// First derivative of the log likelihood by theta, and the negative of the second. Counts are whole, so that differences
/// of digamma and trigamma are plain sums.
fn slope_and_information(frame: &Frame, mean: &[f64], theta: f64) -> (f64, f64) {
    let (mut slope, mut information) = (0.0, 0.0);
    for (&y, &m) in frame.count.iter().zip(mean) {
        let (mut first, mut second) = (0.0, 0.0);
        for j in 0..y as u64 {
            let at = theta + j as f64;
            first += 1.0 / at;
            second += 1.0 / (at * at);
        }
        slope += first + theta.ln() + 1.0 - (theta + m).ln() - (y + theta) / (m + theta);
        information += second - 1.0 / theta + 2.0 / (m + theta) - (y + theta) / ((m + theta) * (m + theta));
    }
    (slope, information)
}
