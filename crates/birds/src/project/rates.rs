//! The bird's rates, as guidance holds them for a country.
//!
//! Birds are told at the spring count in four stages: yearling hen, adult hen, yearling cock, adult cock. A hen of either age rears `B` young to August
//! (`projection.fecundity`), of which a share `Sj` lives to the next spring; hens and cocks survive a year with `Sh` and `Sc`. Young
//! are hens in the share `f`. Hens alone set growth, `lambda = Sh + f B Sj`, so that numbers hold at
//! `B = (1 - Sh) / (f Sj)`.
//!
//! Spreads are of two kinds. Between years of one future: survival (`high` of `projection.adult_hen_survival`, the same deviate for cocks, for which
//! none was found) and young per hen (`high` of `projection.fecundity`). Between futures, since the figure is not known: juvenile survival, years between
//! snow winters, the ceiling, the share of young hens that leave, and the responses to the ledger.

use super::matrix::{Matrix, MatrixFault};
use guidance::{Country, Guidance, Unknown};
use serde::Serialize;

/// Stages in the order of the matrix.
pub const STAGES: [&str; 4] = ["yearling hen", "adult hen", "yearling cock", "adult cock"];

/// Keys read, for the evidence of an answer.
pub const KEYS: [&str; 21] = [
    "projection.adult_hen_survival",
    "projection.adult_cock_survival",
    "projection.juvenile_survival",
    "projection.fecundity",
    "projection.lek_effect",
    "projection.snow_winter_interval",
    "projection.snow_winter.no_woods",
    "projection.snow_winter.woods",
    "projection.snow_winter.average",
    "projection.yearling_hens_leaving",
    "projection.response.brood",
    "projection.response.winter",
    "projection.few_cocks",
    "rates.sex_ratio_young",
    "rates.hens_with_broods.less_grazing",
    "rates.hens_with_broods.normal_grazing",
    "rates.adult_survival.winter",
    "rates.adult_survival.summer",
    "density.ceiling",
    "fence.cock_share",
    "stability.chicks_per_hen",
];

/// The rates of one future, or the middle of each.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Rates {
    /// Share of grown hens that live from one spring to the next.
    pub hen_survival: f64,
    /// The same of grown cocks.
    pub cock_survival: f64,
    /// Standard deviation of both between years.
    pub survival_sd: f64,
    /// Share of young in August that live to the next spring.
    pub juvenile_survival: f64,
    /// Young per hen in August, mean over years.
    pub young_per_hen: f64,
    /// Its coefficient of variation between years at one lek.
    pub young_cv: f64,
    /// The part of that which leks do not share, as a coefficient of variation.
    pub lek_cv: f64,
    /// Share of the young that are hens.
    pub hen_share: f64,
    /// Share of young hens that leave the lek they were reared at.
    pub hens_leaving: f64,
    /// Years from one snow winter to the next, on average.
    pub snow_interval_years: f64,
    /// Spring cocks after a snow winter over those before, with no woodland food.
    pub snow_without_food: f64,
    /// The same with all the woodland food that is needed.
    pub snow_with_food: f64,
    /// The same on average over leks.
    pub snow_average: f64,
    /// Most cocks per km² of suitable ground.
    pub ceiling_per_km2: f64,
    /// Power of the brood margin on young per hen.
    pub brood_response: f64,
    /// Most that young per hen may rise, and one over it the most that it may fall.
    pub brood_bound: f64,
    /// Power of the winter margin on survival from August or spring to spring.
    pub winter_response: f64,
    /// Most that survival may rise, and one over it the most that it may fall.
    pub winter_bound: f64,
    /// Share of the birds that die on fences which are cocks.
    pub fence_cock_share: f64,
    /// Fewer cocks than this are too few to last.
    pub few_cocks: f64,
    /// Young per hen said to hold numbers steady, to set beside [`Rates::break_even`].
    pub steady_young_per_hen: f64,
}

impl Rates {
    /// The middle of every figure.
    ///
    /// # Errors
    /// A key that guidance does not hold.
    pub fn of(guidance: &Guidance, country: Country) -> Result<Rates, Unknown> {
        Rates::read(guidance, country, |key| guidance.number(key, country))
    }

    /// One set a draw, on the draws of the ledger with the same seed.
    ///
    /// # Errors
    /// A key that guidance does not hold.
    pub fn drawn(guidance: &Guidance, country: Country, seed: u64, draws: usize) -> Result<Vec<Rates>, Unknown> {
        let all = guidance.draws(seed, draws, country);
        (0..draws).map(|d| Rates::read(guidance, country, |key| Ok(all.of(key)?[d]))).collect()
    }

    fn read(guidance: &Guidance, country: Country, number: impl Fn(&str) -> Result<f64, Unknown>) -> Result<Rates, Unknown> {
        // The spread of these two is between years, not doubt about the mean.
        let yearly = |key: &str| -> Result<(f64, f64), Unknown> { Ok((guidance.number(key, country)?, guidance.row(key, country)?.high.unwrap_or(0.0))) };
        let (hen_survival, survival_sd) = yearly("projection.adult_hen_survival")?;
        let (young_per_hen, young_cv) = yearly("projection.fecundity")?;
        Ok(Rates {
            hen_survival,
            cock_survival: number("projection.adult_cock_survival")?,
            survival_sd,
            juvenile_survival: number("projection.juvenile_survival")?,
            young_per_hen,
            young_cv,
            lek_cv: number("projection.lek_effect")?,
            hen_share: 1.0 / (1.0 + number("rates.sex_ratio_young")?),
            hens_leaving: number("projection.yearling_hens_leaving")? / 100.0,
            snow_interval_years: number("projection.snow_winter_interval")?,
            snow_without_food: number("projection.snow_winter.no_woods")?,
            snow_with_food: number("projection.snow_winter.woods")?,
            snow_average: number("projection.snow_winter.average")?,
            ceiling_per_km2: number("density.ceiling")?,
            brood_response: number("projection.response.brood")?,
            // The largest difference in breeding that a study of ground found: hens keeping broods, grazed less over as usual.
            brood_bound: guidance.number("rates.hens_with_broods.less_grazing", country)? / guidance.number("rates.hens_with_broods.normal_grazing", country)?,
            winter_response: number("projection.response.winter")?,
            // At best a winter takes no more than a summer does.
            winter_bound: guidance.number("rates.adult_survival.summer", country)? / guidance.number("rates.adult_survival.winter", country)?,
            fence_cock_share: number("fence.cock_share")? / 100.0,
            few_cocks: number("projection.few_cocks")?,
            steady_young_per_hen: number("stability.chicks_per_hen")?,
        })
    }

    /// The matrix of an ordinary year at the means, stages as [`STAGES`].
    ///
    /// # Errors
    /// Rates that no bird has.
    pub fn matrix(&self) -> Result<Matrix, MatrixFault> {
        let young = self.young_per_hen * self.juvenile_survival;
        let (hens, cocks) = (young * self.hen_share, young * (1.0 - self.hen_share));
        let (sh, sc) = (self.hen_survival, self.cock_survival);
        Matrix::new(&[vec![hens, hens, 0.0, 0.0], vec![sh, sh, 0.0, 0.0], vec![cocks, cocks, 0.0, 0.0], vec![0.0, 0.0, sc, sc]])
    }

    /// Growth in an ordinary year at the means, once stages are stable.
    pub fn growth(&self) -> f64 {
        self.hen_survival + self.hen_share * self.young_per_hen * self.juvenile_survival
    }

    /// Mean yearly change of the logarithm of numbers over good and bad years and snow winters, ceiling and luck of single birds aside: that of the mean year less half
    /// the variance of log growth (small noise; Tuljapurkar 1982, from memory), and the loss of snow winters at the average of leks.
    pub fn drift(&self) -> f64 {
        let growth = self.growth();
        let young = 1.0 - self.hen_survival / growth;
        let variance = (young * self.young_cv).powi(2) + (self.survival_sd / growth).powi(2);
        growth.ln() - variance / 2.0 + self.snow_factor(self.snow_average).ln() / self.snow_interval_years
    }

    /// Young per hen in August that hold numbers steady, snow winters and chance aside.
    pub fn break_even(&self) -> f64 {
        (1.0 - self.hen_survival) / (self.hen_share * self.juvenile_survival)
    }

    /// The same with the mean loss of snow winters made good.
    pub fn break_even_with_snow(&self) -> f64 {
        let kept = 1.0 - (1.0 - self.snow_factor(self.snow_average)) / self.snow_interval_years;
        (1.0 / kept - self.hen_survival) / (self.hen_share * self.juvenile_survival)
    }

    /// Hens per cock once stages are stable, hens outlasting cocks where they survive better.
    pub fn hens_per_cock(&self) -> f64 {
        let cocks = (1.0 - self.hen_share) * self.young_per_hen * self.juvenile_survival;
        (self.growth() - self.cock_survival).max(0.0) / cocks
    }

    /// What a snow winter leaves of the spring birds, beside an ordinary winter, where cocks after it are `change` times those before. The
    /// changes read are changes of counts, recruits and all, so the growth of an ordinary year is taken out; it never adds birds.
    pub fn snow_factor(&self, change: f64) -> f64 {
        (change / self.growth()).min(1.0)
    }
}
