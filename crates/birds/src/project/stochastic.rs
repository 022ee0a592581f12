//! Environments drawn by chance: quasi-extinction exactly and by simulation, and growth in the long run.
//!
//! Each year one of a few matrices holds, drawn independently of the years before. A population is quasi-extinct from the first year in
//! which the stages that are counted come to fewer than a threshold.

use super::chance::Stream;
use super::matrix::{Matrix, MatrixFault};
use serde::Serialize;

/// Most sequences of environments that are listed.
const MOST_SEQUENCES: f64 = (1_u64 << 24) as f64;
/// Years let go before growth is measured, and years in a batch of the error.
const BATCH_YEARS: usize = 1000;

/// Why environments make no sense.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum EnvironmentFault {
    /// Probabilities.
    #[error("the chances of the environments are wrong: needed numbers above nothing that sum to one, found {0:?}")]
    Chances(Vec<f64>),
    /// Matrices of several sizes.
    #[error("the environments do not fit together: needed matrices of one size, found sizes {0:?}")]
    Sizes(Vec<usize>),
    /// Start or counted stages that the matrices do not have.
    #[error("the stages do not fit: needed {stages} numbers to start from and counted stages below {stages}, found {start} and {counted:?}")]
    Stages {
        /// Stages of the matrices.
        stages: usize,
        /// Numbers to start from.
        start: usize,
        /// Counted stages.
        counted: Vec<usize>,
    },
    /// More sequences than can be listed.
    #[error("too many sequences of environments to list: needed at most 2^24, found {environments}^{years}\n  hint: simulate instead")]
    TooMany {
        /// Environments.
        environments: usize,
        /// Years.
        years: usize,
    },
    /// Too short a run.
    #[error("too few years to measure growth over: needed at least {needed}, found {found}")]
    TooShort {
        /// Least number of years.
        needed: usize,
        /// Years asked for.
        found: usize,
    },
}

/// When a population counts as quasi-extinct.
#[derive(Clone, Debug, PartialEq)]
pub struct Few {
    /// Stages that are counted, from 0.
    pub stages: Vec<usize>,
    /// Fewer than this are too few.
    pub below: f64,
}

impl Few {
    fn holds(&self, numbers: &[f64]) -> bool {
        self.stages.iter().map(|s| numbers[*s]).sum::<f64>() < self.below
    }
}

/// Matrices with the chance of each.
#[derive(Clone, Debug, PartialEq)]
pub struct Environments {
    parts: Vec<(f64, Matrix)>,
}

/// What listing every sequence tells.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Exact {
    /// Chance of having been quasi-extinct by each year, the start first.
    pub by_year: Vec<f64>,
    /// Chance of too few in the last year.
    pub below_at_end: f64,
    /// Expected number, all stages, in the last year.
    pub mean_total: f64,
    /// Expected natural logarithm of it.
    pub mean_log_total: f64,
}

/// Growth in the long run.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct LongRun {
    /// Mean yearly change of the natural logarithm.
    pub log_lambda: f64,
    /// Its standard error, by batch means.
    pub standard_error: f64,
}

impl Environments {
    /// From matrices and their chances.
    ///
    /// # Errors
    /// Chances that do not sum to one, or matrices of several sizes.
    pub fn new(parts: Vec<(f64, Matrix)>) -> Result<Environments, EnvironmentFault> {
        let chances: Vec<f64> = parts.iter().map(|p| p.0).collect();
        if chances.iter().any(|c| !c.is_finite() || *c <= 0.0) || (chances.iter().sum::<f64>() - 1.0).abs() > 1e-9 {
            return Err(EnvironmentFault::Chances(chances));
        }
        let sizes: Vec<usize> = parts.iter().map(|p| p.1.stages()).collect();
        if sizes.iter().any(|s| *s != sizes[0]) {
            return Err(EnvironmentFault::Sizes(sizes));
        }
        Ok(Environments { parts })
    }

    /// The mean matrix.
    pub fn mean(&self) -> Matrix {
        Matrix::mean(self.parts.iter().map(|(chance, m)| (*chance, m))).unwrap_or_else(|| self.parts[0].1.clone())
    }

    fn fits(&self, start: &[f64], few: &Few) -> Result<(), EnvironmentFault> {
        let stages = self.parts[0].1.stages();
        if start.len() == stages && few.stages.iter().all(|s| *s < stages) {
            Ok(())
        } else {
            Err(EnvironmentFault::Stages { stages, start: start.len(), counted: few.stages.clone() })
        }
    }

    /// The environment at a probability.
    fn drawn(&self, u: f64) -> &Matrix {
        let mut below = 0.0;
        let found = self.parts.iter().find(|(chance, _)| {
            below += chance;
            u < below
        });
        &found.unwrap_or(&self.parts[self.parts.len() - 1]).1
    }

    /// Quasi-extinction and expected numbers, by listing every sequence of environments.
    ///
    /// # Errors
    /// Stages that do not fit, or more sequences than can be listed.
    pub fn exact(&self, start: &[f64], few: &Few, years: usize) -> Result<Exact, EnvironmentFault> {
        self.fits(start, few)?;
        if (self.parts.len() as f64).powi(years as i32) > MOST_SEQUENCES {
            return Err(EnvironmentFault::TooMany { environments: self.parts.len(), years });
        }
        let mut out = Exact { by_year: vec![0.0; years + 1], below_at_end: 0.0, mean_total: 0.0, mean_log_total: 0.0 };
        self.follow(start, few, years, 0, 1.0, few.holds(start).then_some(0), &mut out);
        Ok(out)
    }

    /// Every way on from `year`, reached with `chance`; `since` is the first year with too few.
    #[allow(clippy::too_many_arguments, reason = "the state of one walk")]
    fn follow(&self, numbers: &[f64], few: &Few, years: usize, year: usize, chance: f64, since: Option<usize>, out: &mut Exact) {
        if year == years {
            if let Some(since) = since {
                out.by_year[since..].iter_mut().for_each(|p| *p += chance);
            }
            let total: f64 = numbers.iter().sum();
            out.below_at_end += if few.holds(numbers) { chance } else { 0.0 };
            out.mean_total += chance * total;
            out.mean_log_total += chance * total.ln();
            return;
        }
        for (share, matrix) in &self.parts {
            let next = matrix.step(numbers);
            let since = since.or_else(|| few.holds(&next).then_some(year + 1));
            self.follow(&next, few, years, year + 1, chance * share, since, out);
        }
    }

    /// Share of `runs` that have been quasi-extinct by each year, the start first.
    ///
    /// # Errors
    /// Stages that do not fit.
    pub fn simulate(&self, start: &[f64], few: &Few, years: usize, runs: usize, seed: u64) -> Result<Vec<f64>, EnvironmentFault> {
        self.fits(start, few)?;
        let mut first = vec![0_usize; years + 1];
        for run in 0..runs {
            let stream = Stream::of(seed).at(run as u64);
            let mut numbers = start.to_vec();
            for (year, count) in first.iter_mut().enumerate() {
                if year > 0 {
                    numbers = self.drawn(stream.at(year as u64).uniform()).step(&numbers);
                }
                if few.holds(&numbers) {
                    *count += 1;
                    break;
                }
            }
        }
        let mut sum = 0;
        Ok(first.into_iter().map(|n| { sum += n; sum as f64 / runs.max(1) as f64 }).collect())
    }

    /// Growth in the long run, from one seeded run of `years`.
    ///
    /// # Errors
    /// Too few years.
    pub fn long_run(&self, years: usize, seed: u64) -> Result<LongRun, EnvironmentFault> {
        let needed = 10 * BATCH_YEARS;
        if years < needed {
            return Err(EnvironmentFault::TooShort { needed, found: years });
        }
        let stages = self.parts[0].1.stages();
        let mut numbers = vec![1.0 / stages as f64; stages];
        let mut batches = vec![0.0; years / BATCH_YEARS];
        for year in 0..batches.len() * BATCH_YEARS {
            numbers = self.drawn(Stream::of(seed).at(year as u64).uniform()).step(&numbers);
            let total: f64 = numbers.iter().sum();
            numbers.iter_mut().for_each(|n| *n /= total);
            batches[year / BATCH_YEARS] += total.ln() / BATCH_YEARS as f64;
        }
        // The first batch still remembers the start.
        let kept = &batches[1..];
        let n = kept.len() as f64;
        let log_lambda = kept.iter().sum::<f64>() / n;
        let variance = kept.iter().map(|b| (b - log_lambda).powi(2)).sum::<f64>() / (n - 1.0);
        Ok(LongRun { log_lambda, standard_error: (variance / n).sqrt() })
    }

    /// Growth in the long run by the approximation for small noise: `ln l1 - tau2 / (2 l1^2)`, where `l1` is the growth of the mean
    /// matrix and `tau2` the variance of its sensitivities times the cells (Tuljapurkar 1982; from memory).
    ///
    /// # Errors
    /// A mean matrix without a single dominant eigenvalue.
    pub fn small_noise(&self) -> Result<f64, MatrixFault> {
        let mean = self.mean();
        let analysis = mean.analyse()?;
        let n = mean.stages();
        let pull = |m: &Matrix| -> f64 { (0..n).flat_map(|i| (0..n).map(move |j| (i, j))).map(|(i, j)| analysis.sensitivity[i][j] * (m.cell(i, j) - mean.cell(i, j))).sum() };
        let variance: f64 = self.parts.iter().map(|(chance, m)| chance * pull(m).powi(2)).sum();
        Ok(analysis.r - variance / (2.0 * analysis.lambda.powi(2)))
    }
}
