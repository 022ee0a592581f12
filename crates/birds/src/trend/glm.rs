//! Log-linear models of counts: `count ~ Poisson(exp(lek + x b))` or its negative binomial kin, with a level of its own for
//! every group (lek) and any columns besides, by maximum likelihood.
//!
//! The groups' levels are never columns of a matrix: they are taken out of the normal equations group by group (the Schur
//! complement of their diagonal block), so that thousands of leks cost no more than their counts. For the Poisson model
//! this is the same fit as conditioning on each lek's total.
//!
//! Method: scoring (iteratively reweighted least squares) with halving of steps that make the deviance worse
//! (McCullagh & Nelder 1989, Generalized Linear Models, ch. 2 and 6, from memory); expected information throughout.

use super::normal::Symmetric;
use serde::Serialize;
use statrs::function::gamma::ln_gamma;
use std::fmt;

/// Rounds of scoring before giving up.
const ROUNDS: usize = 200;
/// A coefficient on the log scale beyond which it is running away: a factor of 10^13.
const RUNAWAY: f64 = 30.0;

/// The rows of a model: counts, the group of each, and the columns besides, kept sparse.
#[derive(Clone, Debug, Default)]
pub struct Frame {
    /// The counts, sorted by group.
    pub count: Vec<f64>,
    /// First row of each group, and at the end the number of rows. Empty: no groups, and a constant must be among the columns.
    pub group_start: Vec<usize>,
    /// Known part of each row's logarithm; empty where there is none.
    pub offset: Vec<f64>,
    /// Number of columns.
    pub columns: usize,
    row_start: Vec<usize>,
    column: Vec<u32>,
    value: Vec<f64>,
}

impl Frame {
    /// A frame without rows.
    pub fn new(columns: usize, grouped: bool) -> Self {
        Self { columns, row_start: vec![0], group_start: if grouped { vec![0] } else { Vec::new() }, ..Self::default() }
    }

    /// Add a row to the group at hand: its count and its columns that are not zero.
    pub fn push(&mut self, count: f64, x: impl IntoIterator<Item = (usize, f64)>) {
        self.count.push(count);
        for (column, value) in x {
            self.column.push(column as u32);
            self.value.push(value);
        }
        self.row_start.push(self.column.len());
    }

    /// The group at hand is whole.
    pub fn close_group(&mut self) {
        self.group_start.push(self.count.len());
    }

    /// Number of groups.
    pub fn groups(&self) -> usize {
        self.group_start.len().saturating_sub(1)
    }

    /// A row's columns that are not zero.
    pub fn row(&self, at: usize) -> impl Iterator<Item = (usize, f64)> + '_ {
        let span = self.row_start[at]..self.row_start[at + 1];
        self.column[span.clone()].iter().map(|&c| c as usize).zip(self.value[span].iter().copied())
    }

    /// The known part of a row's logarithm.
    fn known(&self, at: usize) -> f64 {
        self.offset.get(at).copied().unwrap_or(0.0)
    }

    /// Rows less parameters.
    pub fn degrees_of_freedom(&self) -> usize {
        self.count.len().saturating_sub(self.groups() + self.columns)
    }

    /// The spans of rows that share a level; one span without a level where there are no groups.
    fn spans(&self) -> Vec<std::ops::Range<usize>> {
        match self.group_start.len() {
            0 => std::iter::once(0..self.count.len()).collect(),
            _ => self.group_start.windows(2).map(|w| w[0]..w[1]).collect(),
        }
    }
}

/// How counts scatter about their mean.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Family {
    /// Variance equal to the mean.
    Poisson,
    /// Variance `mean + mean^2 / theta`.
    NegativeBinomial {
        /// The size parameter, from above 0.
        theta: f64,
    },
}

impl Family {
    /// Variance at a mean.
    pub fn variance(self, mean: f64) -> f64 {
        match self {
            Family::Poisson => mean,
            Family::NegativeBinomial { theta } => mean + mean * mean / theta,
        }
    }

    fn deviance(self, count: f64, mean: f64) -> f64 {
        let part = if count > 0.0 { count * (count / mean).ln() } else { 0.0 };
        2.0 * match self {
            Family::Poisson => part - (count - mean),
            Family::NegativeBinomial { theta } => part - (count + theta) * ((count + theta) / (mean + theta)).ln(),
        }
    }

    fn log_likelihood(self, count: f64, mean: f64) -> f64 {
        let some = if count > 0.0 { count * mean.ln() } else { 0.0 };
        match self {
            Family::Poisson => some - mean - ln_gamma(count + 1.0),
            Family::NegativeBinomial { theta } => {
                ln_gamma(count + theta) - ln_gamma(theta) - ln_gamma(count + 1.0) + theta * theta.ln() + some - (count + theta) * (mean + theta).ln()
            }
        }
    }
}

/// A fitted model.
#[derive(Clone, Debug)]
pub struct Fit {
    /// The columns' coefficients, log scale.
    pub coefficient: Vec<f64>,
    /// The groups' levels, log scale.
    pub level: Vec<f64>,
    /// Fitted mean of every row.
    pub mean: Vec<f64>,
    /// Expected information about the columns, the groups' levels taken out. Its inverse is their covariance at dispersion 1.
    pub information: Symmetric,
    /// Deviance.
    pub deviance: f64,
    /// Rounds it took.
    pub rounds: usize,
    family: Family,
}

/// Why there is no fit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum NoFit {
    /// Columns say the same thing, or nothing.
    NotTold,
    /// The likelihood has no highest point: some coefficient runs to infinity.
    RunsAway,
    /// Too many rounds.
    Unsettled,
}

impl fmt::Display for NoFit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            NoFit::NotTold => "the counts do not tell it: too few leks were counted in more than one of the years",
            NoFit::RunsAway => "it has no highest likelihood: some years or leks hold only zeros against the others",
            NoFit::Unsettled => "the fit did not settle",
        })
    }
}

impl std::error::Error for NoFit {}

/// Fit a model. `fixed` holds one column at a value, for limits by profile.
///
/// Every group needs a count above zero somewhere: a group of zeros tells nothing of the columns and has no level.
///
/// Errors: [`NoFit`].
pub fn fit(frame: &Frame, family: Family, fixed: Option<(usize, f64)>) -> Result<Fit, NoFit> {
    let spans = frame.spans();
    let grouped = frame.groups() > 0;
    let mut level: Vec<f64> = if grouped {
        spans.iter().map(|s| (frame.count[s.clone()].iter().sum::<f64>() / s.clone().map(|at| frame.known(at).exp()).sum::<f64>()).ln()).collect()
    } else {
        vec![0.0]
    };
    if level.iter().any(|l| !l.is_finite()) {
        return Err(NoFit::RunsAway);
    }
    let mut coefficient = vec![0.0; frame.columns];
    if !grouped {
        level[0] = 0.0;
        start_without_groups(frame, &mut coefficient);
    }
    if let Some((column, value)) = fixed {
        coefficient[column] = value;
    }
    let mut mean = vec![0.0; frame.count.len()];
    means(frame, &spans, &level, &coefficient, &mut mean);
    let mut deviance = total(frame, family, &mean);
    for round in 1..=ROUNDS {
        let step = scoring_step(frame, family, &spans, grouped, &mean, fixed.map(|f| f.0))?;
        let mut share = 1.0;
        let (next_level, next_coefficient, next) = loop {
            let moved = |from: &[f64], by: &[f64]| from.iter().zip(by).map(|(a, b)| a + share * b).collect::<Vec<_>>();
            let (l, c) = (if grouped { moved(&level, &step.level) } else { level.clone() }, moved(&coefficient, &step.coefficient));
            means(frame, &spans, &l, &c, &mut mean);
            let next = total(frame, family, &mean);
            if next.is_finite() && next <= deviance + 1e-9 * (1.0 + deviance.abs()) {
                break (l, c, next);
            }
            share /= 2.0;
            if share < 1e-10 {
                return Err(NoFit::Unsettled);
            }
        };
        let largest = step.coefficient.iter().chain(step.level.iter().filter(|_| grouped)).fold(0.0_f64, |a, b| a.max(b.abs()));
        (level, coefficient, deviance) = (next_level, next_coefficient, next);
        if coefficient.iter().enumerate().any(|(c, b)| b.abs() > RUNAWAY && fixed.is_none_or(|f| f.0 != c)) {
            return Err(NoFit::RunsAway);
        }
        if share == 1.0 && largest < 1e-11 {
            let information = scoring_step(frame, family, &spans, grouped, &mean, None)?.information;
            return Ok(Fit { coefficient, level: if grouped { level } else { Vec::new() }, mean, information, deviance, rounds: round, family });
        }
    }
    // Rounding may keep a long model from coming quite to rest.
    Err(NoFit::Unsettled)
}

/// Without groups the first guess is least squares on the logarithms, as scoring does from the counts themselves.
fn start_without_groups(frame: &Frame, coefficient: &mut [f64]) {
    let mut normal = Symmetric::zero(frame.columns);
    let mut right = vec![0.0; frame.columns];
    for (at, &count) in frame.count.iter().enumerate() {
        let weight = count + 0.1;
        for (i, xi) in frame.row(at) {
            right[i] += weight * xi * weight.ln();
            for (j, xj) in frame.row(at).filter(|&(j, _)| j >= i) {
                normal.add(i, j, weight * xi * xj);
            }
        }
    }
    if let Some(factor) = normal.factor() {
        coefficient.copy_from_slice(&factor.solve(right));
    }
}

fn means(frame: &Frame, spans: &[std::ops::Range<usize>], level: &[f64], coefficient: &[f64], mean: &mut [f64]) {
    for (span, level) in spans.iter().zip(level) {
        for at in span.clone() {
            let x: f64 = frame.row(at).map(|(c, v)| coefficient[c] * v).sum();
            mean[at] = (level + frame.known(at) + x).exp();
        }
    }
}

fn total(frame: &Frame, family: Family, mean: &[f64]) -> f64 {
    frame.count.iter().zip(mean).map(|(&y, &m)| family.deviance(y, m)).sum()
}

struct Step {
    level: Vec<f64>,
    coefficient: Vec<f64>,
    information: Symmetric,
}

/// What a round knows of a group, kept to find its level's step after the columns'.
struct Group {
    weight: f64,
    slope: f64,
    /// Its columns' weighted sums.
    sums: Vec<(usize, f64)>,
}

/// One round of scoring: what to add to levels and coefficients, and the information about the columns on the way.
fn scoring_step(frame: &Frame, family: Family, spans: &[std::ops::Range<usize>], grouped: bool, mean: &[f64], held: Option<usize>) -> Result<Step, NoFit> {
    let p = frame.columns;
    let mut information = Symmetric::zero(p);
    let mut slope = vec![0.0; p];
    let mut kept: Vec<Group> = Vec::with_capacity(spans.len());
    let (mut sums, mut touched) = (vec![0.0; p], Vec::new());
    let mut seen = vec![false; p];
    for span in spans {
        let (mut weight_sum, mut own) = (0.0, 0.0);
        for at in span.clone() {
            let (y, m) = (frame.count[at], mean[at]);
            // With the log link both are the mean over the variance.
            let ratio = m / family.variance(m);
            let (weight, pull) = (m * ratio, (y - m) * ratio);
            weight_sum += weight;
            own += pull;
            for (i, xi) in frame.row(at) {
                slope[i] += pull * xi;
                sums[i] += weight * xi;
                if !seen[i] {
                    seen[i] = true;
                    touched.push(i);
                }
                for (j, xj) in frame.row(at) {
                    if j >= i {
                        information.of[i * p + j] += weight * xi * xj;
                    }
                }
            }
        }
        touched.sort_unstable();
        if grouped {
            for (k, &i) in touched.iter().enumerate() {
                slope[i] -= sums[i] * own / weight_sum;
                let share = sums[i] / weight_sum;
                for &j in &touched[k..] {
                    information.of[i * p + j] -= share * sums[j];
                }
            }
        }
        kept.push(Group { weight: weight_sum, slope: own, sums: touched.iter().map(|&i| (i, sums[i])).collect() });
        for i in touched.drain(..) {
            sums[i] = 0.0;
            seen[i] = false;
        }
    }
    for i in 0..p {
        for j in 0..i {
            information.of[i * p + j] = information.of[j * p + i];
        }
    }
    let mut solved = information.clone();
    if let Some(held) = held {
        slope[held] = 0.0;
        for k in 0..p {
            solved.of[held * p + k] = 0.0;
            solved.of[k * p + held] = 0.0;
        }
        solved.of[held * p + held] = 1.0;
    }
    let coefficient = if p == 0 { Vec::new() } else { solved.factor().ok_or(NoFit::NotTold)?.solve(slope) };
    let level = kept.iter().map(|g| (g.slope - g.sums.iter().map(|&(i, s)| s * coefficient[i]).sum::<f64>()) / g.weight).collect();
    Ok(Step { level, coefficient, information })
}

impl Fit {
    /// Covariance of the coefficients at dispersion 1.
    pub fn covariance(&self) -> Option<Symmetric> {
        self.information.inverse()
    }

    /// Pearson's sum of squares.
    pub fn pearson(&self, frame: &Frame) -> f64 {
        frame.count.iter().zip(&self.mean).map(|(&y, &m)| (y - m) * (y - m) / self.family.variance(m)).sum()
    }

    /// Dispersion: Pearson's sum of squares over the degrees of freedom; `None` without any left.
    pub fn dispersion(&self, frame: &Frame) -> Option<f64> {
        let df = frame.degrees_of_freedom();
        (df > 0).then(|| self.pearson(frame) / df as f64)
    }

    /// Log likelihood, all constants included.
    pub fn log_likelihood(&self, frame: &Frame) -> f64 {
        frame.count.iter().zip(&self.mean).map(|(&y, &m)| self.family.log_likelihood(y, m)).sum()
    }

    /// Covariance robust to whatever groups do together within themselves (Liang & Zeger 1986, from memory): the sandwich of
    /// the groups' slopes, uncorrected. `None` without groups.
    ///
    /// `corrected`: times `g / (g - 1) * (n - 1) / (n - k)` for g groups, n rows, k parameters.
    pub fn covariance_by_group(&self, frame: &Frame, corrected: bool) -> Option<Symmetric> {
        let p = frame.columns;
        let groups = frame.groups();
        let mut middle = Symmetric::zero(p);
        for span in frame.group_start.windows(2) {
            let mut slope = vec![0.0; p];
            for at in span[0]..span[1] {
                let ratio = self.mean[at] / self.family.variance(self.mean[at]);
                for (i, x) in frame.row(at) {
                    slope[i] += (frame.count[at] - self.mean[at]) * ratio * x;
                }
            }
            for i in 0..p {
                for j in i..p {
                    middle.add(i, j, slope[i] * slope[j]);
                }
            }
        }
        if groups < 2 {
            return None;
        }
        let mut covariance = self.covariance()?.around(&middle);
        if corrected {
            let (g, n, k) = (groups as f64, frame.count.len() as f64, (groups + p) as f64);
            if n <= k {
                return None;
            }
            let factor = g / (g - 1.0) * (n - 1.0) / (n - k);
            covariance.of.iter_mut().for_each(|v| *v *= factor);
        }
        Some(covariance)
    }
}
