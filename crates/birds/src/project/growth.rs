//! What growth hangs on: elasticities of the mean matrix, and the share of its variance that each rate explains.
//!
//! Elasticity asks what a change of the mean would do; the share of variance asks what makes one year differ from another. The share is of first order:
//! the variance of the mean of log growth given the rate, over the whole variance (Sobol' 1993; from memory), for one year of birds
//! at stable stages, chance of single birds apart.

use super::chance::Stream;
use super::matrix::{Analysis, MatrixFault};
use super::rates::Rates;
use serde::Serialize;

/// Steps through the range of a rate whose share is measured.
const STEPS: usize = 200;
/// Sets of the other rates, the same at every step.
const SETS: usize = 400;
/// Years drawn for the whole variance.
const YEARS: usize = 20_000;
/// Rates that vary.
const VARYING: usize = 4;

/// One rate's part.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct RatePart {
    /// Which.
    pub rate: Rate,
    /// Relative change of growth with a relative change of its mean; `None` for what is no rate of the matrix.
    pub elasticity: Option<f64>,
    /// Share of the variance of log growth that it explains, 0 to 1.
    pub variance_share: f64,
}

/// The rates told apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Rate {
    /// Survival of grown hens, which varies between years.
    HenSurvival,
    /// Young per hen in August, which chick survival makes vary between years.
    YoungPerHen,
    /// Survival of young from August to spring; what varies is what is not known of it.
    JuvenileSurvival,
    /// Snow winters.
    SnowWinters,
    /// Survival of grown cocks, on which growth does not hang.
    CockSurvival,
}

impl Rate {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Rate::HenSurvival => "survival of grown hens",
            Rate::YoungPerHen => "young per hen",
            Rate::JuvenileSurvival => "survival of young, August to spring",
            Rate::SnowWinters => "snow winters",
            Rate::CockSurvival => "survival of grown cocks",
        }
    }
}

/// What growth hangs on.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Growth {
    /// The mean matrix of an ordinary year.
    pub mean: Analysis,
    /// Each rate's part.
    pub rates: Vec<RatePart>,
    /// Young per hen in August that hold numbers steady in ordinary years.
    pub break_even_young_per_hen: f64,
    /// The same where snow winters come as often as they do.
    pub break_even_with_snow: f64,
    /// The figure said in the field for steady numbers.
    pub steady_young_per_hen: f64,
    /// Young per hen taken as the mean.
    pub mean_young_per_hen: f64,
}

impl Growth {
    /// Of rates: their middle, and the draws for what is not known.
    ///
    /// # Errors
    /// Rates that no bird has.
    pub fn of(middle: &Rates, drawn: &[Rates], seed: u64) -> Result<Growth, MatrixFault> {
        let mean = middle.matrix()?.analyse()?;
        let row = |i: usize| mean.elasticity[i].iter().sum::<f64>();
        // Each cell is in proportion to its rates, so a rate's elasticity is the sum over the cells that hold it.
        let young = row(0) + row(2);
        let elasticity = [Some(row(1)), Some(young), Some(young), None];
        let rates = [Rate::HenSurvival, Rate::YoungPerHen, Rate::JuvenileSurvival, Rate::SnowWinters];
        let shares = variance_shares(middle, drawn, seed);
        let mut rates: Vec<RatePart> = (0..VARYING).map(|i| RatePart { rate: rates[i], elasticity: elasticity[i], variance_share: shares[i] }).collect();
        rates.push(RatePart { rate: Rate::CockSurvival, elasticity: Some(row(3)), variance_share: 0.0 });
        Ok(Growth {
            mean,
            rates,
            break_even_young_per_hen: middle.break_even(),
            break_even_with_snow: middle.break_even_with_snow(),
            steady_young_per_hen: middle.steady_young_per_hen,
            mean_young_per_hen: middle.young_per_hen,
        })
    }
}

/// A year: deviates of survival and of young per hen, which draw of juvenile survival, and whether snow lies.
type Draw = [f64; VARYING];

fn variance_shares(middle: &Rates, drawn: &[Rates], seed: u64) -> [f64; VARYING] {
    let variance = (middle.young_cv * middle.young_cv).ln_1p();
    let mut juvenile: Vec<f64> = drawn.iter().map(|r| r.juvenile_survival).collect();
    juvenile.sort_by(f64::total_cmp);
    if juvenile.is_empty() {
        juvenile.push(middle.juvenile_survival);
    }
    // Each rate at a probability.
    let value = |which: usize, u: f64| match which {
        0 => (middle.hen_survival + middle.survival_sd * normal(u)).clamp(0.0, 1.0),
        1 => middle.young_per_hen * (variance.sqrt() * normal(u) - variance / 2.0).exp(),
        2 => juvenile[((u * juvenile.len() as f64) as usize).min(juvenile.len() - 1)],
        _ => if u < 1.0 / middle.snow_interval_years { middle.snow_factor(middle.snow_average) } else { 1.0 },
    };
    let growth = |d: &Draw| ((d[0] + middle.hen_share * d[1] * d[2]) * d[3]).ln();
    let stream = Stream::of(seed).named("variance");
    let draw = |i: usize| -> Draw { std::array::from_fn(|k| value(k, stream.at(i as u64).at(k as u64).uniform())) };
    let sets: Vec<Draw> = (0..SETS).map(draw).collect();
    let all: Vec<f64> = (0..YEARS).map(|i| growth(&draw(SETS + i))).collect();
    let whole = spread(&all);
    std::array::from_fn(|k| {
        let means: Vec<f64> = (0..STEPS)
            .map(|step| {
                let x = value(k, (step as f64 + 0.5) / STEPS as f64);
                sets.iter().map(|set| { let mut d = *set; d[k] = x; growth(&d) }).sum::<f64>() / SETS as f64
            })
            .collect();
        if whole > 0.0 { (spread(&means) / whole).min(1.0) } else { 0.0 }
    })
}

fn normal(u: f64) -> f64 {
    use statrs::distribution::{ContinuousCDF, Normal};
    Normal::standard().inverse_cdf(u)
}

fn spread(values: &[f64]) -> f64 {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / n
}
