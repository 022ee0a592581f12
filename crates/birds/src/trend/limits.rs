//! Limits of a slope, six ways. Each says which it is; none is right for all counts.

use super::glm::{Family, Fit, Frame, NoFit, fit_from};
use serde::{Deserialize, Serialize};
use statrs::distribution::{ContinuousCDF, Normal, StudentsT};
use std::fmt;

/// How limits are drawn.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Limits {
    /// Wald, the counts taken as Poisson and each on its own: too narrow where counts scatter more.
    Poisson,
    /// Wald, with Pearson's dispersion and Student's t on the counts' degrees of freedom: right where each count scatters on
    /// its own.
    Quasi,
    /// By profile of the deviance over Pearson's dispersion.
    Profile,
    /// Negative binomial, Wald.
    NegBin,
    /// The sandwich by lek, corrected, with Student's t on the leks less one: right where a lek drifts its own way, with
    /// twenty leks or more.
    ByLek,
    /// The scatter of whole years about the line, with Student's t on the years less the line's parameters: right where good
    /// and bad years are shared by all leks, as they are in black grouse (Baines, Warren & Richardson 2007).
    #[default]
    ByYear,
}

impl Limits {
    /// All, in the order they are listed.
    pub const ALL: [Limits; 6] = [Limits::Poisson, Limits::Quasi, Limits::Profile, Limits::NegBin, Limits::ByLek, Limits::ByYear];

    /// Name in commands and documents.
    pub fn word(self) -> &'static str {
        match self {
            Limits::Poisson => "poisson",
            Limits::Quasi => "quasi",
            Limits::Profile => "profile",
            Limits::NegBin => "negbin",
            Limits::ByLek => "by-lek",
            Limits::ByYear => "by-year",
        }
    }

    /// What it is, in words for a reader.
    pub fn means(self) -> &'static str {
        match self {
            Limits::Poisson => "counts taken as Poisson, each on its own (Wald)",
            Limits::Quasi => "counts that scatter more than Poisson, each on its own (Wald, Student's t)",
            Limits::Profile => "counts that scatter more than Poisson, each on its own (profile of the deviance)",
            Limits::NegBin => "negative binomial counts, each on its own (Wald)",
            Limits::ByLek => "leks that drift each its own way (robust, by lek)",
            Limits::ByYear => "good and bad years shared by all leks (scatter of years about the line)",
        }
    }
}

impl fmt::Display for Limits {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

impl std::str::FromStr for Limits {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let words: Vec<&str> = Limits::ALL.iter().map(|l| l.word()).collect();
        Limits::ALL.into_iter().find(|l| l.word() == text).ok_or_else(|| format!("`{text}` is no kind of limits; there are: {}", words.join(", ")))
    }
}

/// A value with its limits, on the log scale.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Slope {
    /// Change of the logarithm in a year.
    pub value: f64,
    /// Standard error.
    pub se: f64,
    /// Lower limit.
    pub lo: f64,
    /// Upper limit.
    pub hi: f64,
    /// Degrees of freedom of Student's t; `None` for the normal law.
    pub df: Option<f64>,
}

impl Slope {
    /// Wald limits.
    ///
    /// - `level`: between 0 and 1
    pub fn wald(value: f64, se: f64, df: Option<f64>, level: f64) -> Self {
        let reach = se * deviations(level, df);
        Self { value, se, lo: value - reach, hi: value + reach, df }
    }

    /// This, or the other where that reaches further to either side of its value: limits that claim no more than the other's.
    pub fn no_narrower_than(self, other: Slope) -> Self {
        let reach = |s: &Slope| (s.hi - s.lo) / 2.0;
        if reach(&other) > reach(&self) { Self { value: self.value, lo: self.value - reach(&other), hi: self.value + reach(&other), ..other } } else { self }
    }

    /// How sure it is that the true slope lies below zero: the one-sided certainty, 0 to 1.
    pub fn falling(&self) -> f64 {
        let at = -self.value / self.se;
        match self.df {
            Some(df) => StudentsT::new(0.0, 1.0, df).map_or(f64::NAN, |t| t.cdf(at)),
            None => Normal::standard().cdf(at),
        }
    }
}

/// Quantile of Student's t, or of the normal law.
pub fn quantile(p: f64, df: Option<f64>) -> f64 {
    match df {
        Some(df) => StudentsT::new(0.0, 1.0, df).map_or(f64::NAN, |t| t.inverse_cdf(p)),
        None => Normal::standard().inverse_cdf(p),
    }
}

/// Deviations to either side that hold a share `level` of Student's t, or of the normal law.
pub fn deviations(level: f64, df: Option<f64>) -> f64 {
    quantile(0.5 + level.clamp(0.0, 1.0) / 2.0, df)
}

/// Limits of one coefficient by profile: where the deviance, the rest fitted anew, has risen by the normal quantile squared
/// times the dispersion.
///
/// The deviance bends up everywhere and its slope along the coefficient is that of the likelihood, so that Newton's method from the
/// Wald limit cannot go astray: it stops at a hundred-millionth of the standard error.
///
/// Errors: the rest could not be fitted somewhere on the way, or the deviance never rises so far.
pub fn profile(frame: &Frame, family: Family, fitted: &Fit, column: usize, dispersion: f64, level: f64) -> Result<(f64, f64), NoFit> {
    let deviations = deviations(level, None);
    let allowed = deviations.powi(2) * dispersion;
    let best = fitted.coefficient[column];
    let se = fitted.covariance().ok_or(NoFit::NotTold)?.at(column, column).sqrt() * dispersion.sqrt();
    let limit = |side: f64| -> Result<f64, NoFit> {
        let mut at = best + side * deviations * se;
        for _ in 0..100 {
            let held = fit_from(frame, family, Some((column, at)), Some(fitted.start()))?;
            let step = (held.deviance - fitted.deviance - allowed) / (2.0 * held.slope[column]);
            at += step;
            if step.is_nan() || (at - best).abs() > 1e3 * se {
                return Err(NoFit::RunsAway);
            }
            if step.abs() < 1e-8 * se {
                return Ok(at);
            }
        }
        Err(NoFit::Unsettled)
    };
    Ok((limit(-1.0)?, limit(1.0)?))
}
