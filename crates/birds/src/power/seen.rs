//! What visits see of the cocks there are: the mean and the scatter of a year's highest count.
//!
//! Every cock is there on a visit with the same chance, on its own; the year's figure is the highest of the visits. Real cocks
//! come and go together, so that single visits vary more than this.

use statrs::distribution::{Binomial, Discrete, DiscreteCDF, NegativeBinomial, Poisson};

/// Mean and dispersion (variance over mean) of the highest of `visits` counts, where the cocks there are have a mean and a
/// dispersion (1 for Poisson; above 1 negative binomial) and each is there with chance `attendance`.
pub fn highest(cocks: f64, dispersion: f64, attendance: f64, visits: u32) -> (f64, f64) {
    let chances = numbers(cocks, dispersion);
    let (mut mean, mut square) = (0.0, 0.0);
    for (n, chance) in chances.into_iter().enumerate() {
        let (first, second) = highest_of(n as u64, attendance, visits);
        mean += chance * first;
        square += chance * second;
    }
    (mean, if mean > 0.0 { (square - mean * mean) / mean } else { 1.0 })
}

/// Mean and mean square of the highest of some binomial counts.
fn highest_of(n: u64, attendance: f64, visits: u32) -> (f64, f64) {
    let Ok(law) = Binomial::new(attendance, n) else { return (0.0, 0.0) };
    let mut before = 0.0;
    let (mut mean, mut square) = (0.0, 0.0);
    for k in 0..=n {
        let upto = law.cdf(k).min(1.0).powi(visits as i32);
        mean += (upto - before) * k as f64;
        square += (upto - before) * (k * k) as f64;
        before = upto;
    }
    (mean, square)
}

/// Chances of 0, 1, 2 ... cocks, until next to nothing is left.
fn numbers(mean: f64, dispersion: f64) -> Vec<f64> {
    let mut all = Vec::new();
    let mut sum = 0.0;
    let poisson = Poisson::new(mean).ok();
    let negative = (dispersion > 1.0 + 1e-9).then(|| NegativeBinomial::new(mean / (dispersion - 1.0), 1.0 / dispersion).ok()).flatten();
    while sum < 1.0 - 1e-10 && all.len() < 2000 {
        let k = all.len() as u64;
        let chance = match (&negative, &poisson) {
            (Some(law), _) => law.pmf(k),
            (None, Some(law)) => law.pmf(k),
            (None, None) => f64::from(u8::from(k == 0)),
        };
        sum += chance;
        all.push(chance);
    }
    all
}
