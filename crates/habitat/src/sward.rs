//! Shares of a sward that are tall or short enough, from the mean and spread of its height.

use std::f32::consts::{FRAC_1_SQRT_2, PI};

/// Complementary error function, absolute error below 1.2e-7 relative (rational Chebyshev fit).
///
/// Source: Press, Flannery, Teukolsky & Vetterling, Numerical Recipes, section 6.2 (`erfcc`); constants from memory,
/// checked in tests against a library.
#[expect(clippy::excessive_precision, reason = "the constants as published")]
fn erfc(x: f32) -> f32 {
    let z = x.abs();
    let t = 1.0 / (1.0 + 0.5 * z);
    let poly = -1.265_512_2
        + t * (1.000_023_7
            + t * (0.374_091_97
                + t * (0.096_784_18
                    + t * (-0.186_288_06
                        + t * (0.278_868_07 + t * (-1.135_203_98 + t * (1.488_515_87 + t * (-0.822_152_23 + t * 0.170_872_77))))))));
    let tail = t * (-z * z + poly).exp();
    if x >= 0.0 { tail } else { 2.0 - tail }
}

/// Mean excess of a normal height over a level: `E[max(H - level, 0)]`, in the unit of the height.
fn excess(mean: f32, sd: f32, level: f32) -> f32 {
    let z = (mean - level) / sd;
    let density = (-0.5 * z * z).exp() / (2.0 * PI).sqrt();
    (mean - level) * 0.5 * erfc(-z * FRAC_1_SQRT_2) + sd * density
}

/// Share of the sward past a ramp: the mean of a line rising from 0 at `from_cm` to 1 at `to_cm`, over heights
/// normally spread about `mean_cm` with standard deviation `sd_cm` (closed form). Result 0 to 1.
///
/// Rises with the mean; a ramp wider than the spread approaches the line itself.
pub fn share_past(mean_cm: f32, sd_cm: f32, from_cm: f32, to_cm: f32) -> f32 {
    let sd = sd_cm.max(0.1);
    ((excess(mean_cm, sd, from_cm) - excess(mean_cm, sd, to_cm)) / (to_cm - from_cm)).clamp(0.0, 1.0)
}

/// Part of the plants that stands above a level: mean height above it over mean height. Result 0 to 1.
pub fn part_above(mean_cm: f32, sd_cm: f32, level_cm: f32) -> f32 {
    (excess(mean_cm, sd_cm.max(0.1), level_cm) / mean_cm.max(0.1)).clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn erfc_agrees_with_a_library() {
        for i in -60..=60 {
            let x = i as f32 * 0.1;
            let want = statrs::function::erf::erfc(x as f64) as f32;
            assert!((erfc(x) - want).abs() < 4e-7, "{x}: {} {want}", erfc(x));
        }
    }

    #[test]
    fn share_past_is_the_integral_of_the_ramp() {
        // Outside check: a plain sum over the normal density.
        for (m, s, a, b) in [(20.0, 8.0, 10.0, 25.0), (5.0, 2.0, 8.0, 20.0), (60.0, 20.0, 45.0, 80.0)] {
            let (mut sum, mut mass) = (0.0f64, 0.0f64);
            for i in 0..40_000 {
                let h = m - 6.0 * s + i as f64 * 12.0 * s / 40_000.0;
                let w = (-0.5 * ((h - m) / s).powi(2)).exp();
                sum += w * ((h - a) / (b - a)).clamp(0.0, 1.0);
                mass += w;
            }
            let got = share_past(m as f32, s as f32, a as f32, b as f32) as f64;
            assert!((got - sum / mass).abs() < 1e-4, "{got} {}", sum / mass);
        }
    }
}
