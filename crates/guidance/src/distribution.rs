//! What a spread means as a probability distribution, by its inverse.
//!
//! `range` is triangular; `sd` and `se` are normal, cut at the bounds of the unit; `cv` is log-normal with the value as mean, held at the bounds of the unit;
//! `ci95` is a normal on each side of the value, so that the median is the value and the limits are met exactly; `uniform`
//! and `none` are as they sound. Nothing here draws: a probability goes in, the figure at that probability comes out.

use statrs::distribution::{ContinuousCDF, Normal};

use crate::row::Spread;
use crate::unit::Unit;

/// Half-width of a 95 % interval of the standard normal.
const Z95: f64 = 1.959_963_984_540_054;

/// The figure below which a share `u` (0 to 1, both excluded) of the distribution lies.
///
/// `value`, `low` and `high` are those of the row; a missing bound leaves the value as it is (the loader lets none through).
pub fn quantile(value: f64, low: Option<f64>, high: Option<f64>, spread: Spread, unit: &Unit, u: f64) -> f64 {
    match (spread, low, high) {
        (Spread::Range, Some(low), Some(high)) => triangular(low, value, high, u),
        (Spread::Uniform, Some(low), Some(high)) => low + (high - low) * u,
        (Spread::Sd | Spread::Se, _, Some(deviation)) => bounded_normal(value, deviation, unit, u),
        (Spread::Cv, _, Some(cv)) => log_normal(value, cv, u).clamp(unit.min, unit.max),
        (Spread::Ci95, Some(low), Some(high)) => two_sided(low, value, high, u).clamp(unit.min, unit.max),
        _ => value,
    }
}

/// The figure below which a share `u` of a triangular distribution lies.
pub fn triangular(low: f64, mode: f64, high: f64, u: f64) -> f64 {
    let width = high - low;
    if width <= 0.0 {
        return mode;
    }
    let below = (mode - low) / width;
    if u < below { low + (u * width * (mode - low)).sqrt() } else { high - ((1.0 - u) * width * (high - mode)).sqrt() }
}

fn bounded_normal(mean: f64, deviation: f64, unit: &Unit, u: f64) -> f64 {
    let Ok(normal) = Normal::new(mean, deviation) else { return mean };
    let (from, to) = (normal.cdf(unit.min), normal.cdf(unit.max));
    normal.inverse_cdf(from + (to - from) * u).clamp(unit.min, unit.max)
}

fn log_normal(mean: f64, cv: f64, u: f64) -> f64 {
    let variance = (cv * cv).ln_1p();
    mean * (variance.sqrt() * standard(u) - variance / 2.0).exp()
}

fn two_sided(low: f64, value: f64, high: f64, u: f64) -> f64 {
    let z = standard(u);
    let side = if z < 0.0 { value - low } else { high - value };
    value + z * side / Z95
}

fn standard(u: f64) -> f64 {
    Normal::standard().inverse_cdf(u)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(value: f64, low: Option<f64>, high: Option<f64>, spread: Spread, unit: &str, u: f64) -> f64 {
        quantile(value, low, high, spread, Unit::from_word(unit).expect("unit"), u)
    }

    /// Means by midpoint rule over the inverse.
    fn mean(value: f64, low: Option<f64>, high: Option<f64>, spread: Spread, unit: &str) -> f64 {
        let n = 20_000;
        (0..n).map(|i| at(value, low, high, spread, unit, (f64::from(i) + 0.5) / f64::from(n))).sum::<f64>() / f64::from(n)
    }

    #[test]
    fn triangular_has_its_closed_form_mean_and_median() {
        assert!((mean(3.0, Some(1.0), Some(8.0), Spread::Range, "m") - 4.0).abs() < 1e-3);
        // Median of a triangle with the mode left of the middle: high - sqrt(width (high - mode) / 2).
        let median = 8.0 - (7.0 * 5.0 / 2.0_f64).sqrt();
        assert!((at(3.0, Some(1.0), Some(8.0), Spread::Range, "m", 0.5) - median).abs() < 1e-12);
        assert_eq!(at(3.0, Some(3.0), Some(3.0), Spread::Range, "m", 0.7), 3.0);
    }

    #[test]
    fn log_normal_keeps_mean_and_cv() {
        let (n, cv) = (200_000, 0.6);
        let draws: Vec<f64> = (0..n).map(|i| at(1.3, None, Some(cv), Spread::Cv, "chicks_per_hen", (f64::from(i) + 0.5) / f64::from(n))).collect();
        let mean = draws.iter().sum::<f64>() / f64::from(n);
        let sd = (draws.iter().map(|d| (d - mean).powi(2)).sum::<f64>() / f64::from(n)).sqrt();
        assert!((mean - 1.3).abs() < 1e-3, "mean {mean}");
        assert!((sd / mean - cv).abs() < 2e-3, "cv {}", sd / mean);
    }

    #[test]
    fn confidence_limits_and_median_are_met() {
        let f = |u| at(0.81, Some(0.63), Some(0.90), Spread::Ci95, "fraction", u);
        for (u, expected) in [(0.025, 0.63), (0.5, 0.81), (0.975, 0.90)] {
            assert!((f(u) - expected).abs() < 1e-6, "at {u}: {}", f(u));
        }
    }

    #[test]
    fn normal_is_cut_at_the_bounds_of_the_unit() {
        assert!((at(54.0, None, Some(6.0), Spread::Se, "percent", 0.975) - (54.0 + 6.0 * Z95)).abs() < 1e-6);
        let low = at(0.5, None, Some(2.0), Spread::Sd, "m", 1e-9);
        assert!((0.0..0.01).contains(&low), "{low}");
        assert!(at(-1.7, None, Some(1.4), Spread::Se, "percent_per_year", 0.1) < -1.7);
    }

    #[test]
    fn every_spread_rises_with_the_probability() {
        for spread in Spread::ALL {
            let mut last = f64::NEG_INFINITY;
            for i in 1..200 {
                let next = at(0.5, Some(0.2), Some(0.7), spread, "fraction", f64::from(i) / 200.0);
                assert!(next >= last && (0.0..=1.0).contains(&next), "{spread:?} at {i}: {next} after {last}");
                last = next;
            }
        }
    }
}
