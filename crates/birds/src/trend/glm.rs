//! Log-linear models of counts: `count ~ Poisson(exp(lek + x b))` or its negative binomial kin, with a level of its own for
//! every group (lek) and any columns besides, by maximum likelihood.
//!
//! The groups' levels are never columns of a matrix: they are taken out of the normal equations group by group (the Schur
//! complement of their diagonal block), so that thousands of leks cost no more than their counts. Columns belong to kinds of
//! rows (years), so that logarithms and powers are taken once a year and once a lek, not once a count. For the Poisson model
//! a lek's level follows from the columns in closed form, and the fit is that of conditioning on each lek's total.
//!
//! Method: Newton's, with halving of steps that make the deviance worse (McCullagh & Nelder 1989, Generalized Linear Models,
//! ch. 2 and 6, from memory). With the log link both likelihoods bend down everywhere, so that no step leads uphill. The information
//! told is the expected one.

use super::normal::Symmetric;
use serde::Serialize;
use statrs::function::gamma::ln_gamma;
use std::fmt;
use std::ops::Range;

/// Rounds before giving up.
const ROUNDS: usize = 200;
/// What columns add to a logarithm when a coefficient is running away: a factor of 10^13.
const RUNAWAY: f64 = 30.0;
/// A change of a logarithm too small to step on for.
const SETTLED: f64 = 1e-11;

/// The rows of a model: counts, the group of each, and the columns besides, kept sparse. Rows alike in every column, such as
/// the counts of one year, are of one kind, whose columns are held once.
#[derive(Clone, Debug, Default)]
pub struct Frame {
    /// The counts, whole numbers, sorted by group.
    pub count: Vec<f64>,
    /// First row of each group, and at the end the number of rows. Empty: no groups, and a constant must be among the columns.
    pub group_start: Vec<usize>,
    /// Number of columns.
    pub columns: usize,
    /// Kind of each row.
    kind: Vec<u32>,
    /// Known part of each kind's logarithm.
    known: Vec<f64>,
    kind_start: Vec<usize>,
    column: Vec<u32>,
    value: Vec<f64>,
}

impl Frame {
    /// A frame without rows.
    pub fn new(columns: usize, grouped: bool) -> Self {
        Self { columns, kind_start: vec![0], group_start: if grouped { vec![0] } else { Vec::new() }, ..Self::default() }
    }

    /// Make room for so many rows.
    pub(super) fn reserve(&mut self, rows: usize) {
        self.count.reserve(rows);
        self.kind.reserve(rows);
    }

    /// The same rows, their kinds in other columns.
    pub(super) fn reshaped(&self, columns: usize, kinds: impl IntoIterator<Item = Vec<(usize, f64)>>) -> Self {
        let mut other = Self { count: self.count.clone(), kind: self.kind.clone(), group_start: self.group_start.clone(), ..Self::new(columns, true) };
        for (x, known) in kinds.into_iter().zip(&self.known) {
            other.add_kind(*known, x);
        }
        other
    }

    /// Add a kind of rows: the known part of its logarithm and its columns that are not zero. Returns its number.
    pub fn add_kind(&mut self, known: f64, x: impl IntoIterator<Item = (usize, f64)>) -> usize {
        for (column, value) in x {
            self.column.push(column as u32);
            self.value.push(value);
        }
        self.kind_start.push(self.column.len());
        self.known.push(known);
        self.known.len() - 1
    }

    /// Add a row of a kind to the group at hand.
    pub fn push_kind(&mut self, count: f64, kind: usize) {
        self.count.push(count);
        self.kind.push(kind as u32);
    }

    /// Add a row of a kind of its own to the group at hand: its count and its columns that are not zero.
    pub fn push(&mut self, count: f64, x: impl IntoIterator<Item = (usize, f64)>) {
        let kind = self.add_kind(0.0, x);
        self.push_kind(count, kind);
    }

    /// The group at hand is whole.
    pub fn close_group(&mut self) {
        self.group_start.push(self.count.len());
    }

    /// Number of groups.
    pub fn groups(&self) -> usize {
        self.group_start.len().saturating_sub(1)
    }

    /// A kind's columns that are not zero.
    fn columns_of(&self, kind: usize) -> impl Iterator<Item = (usize, f64)> + '_ {
        let span = self.kind_start[kind]..self.kind_start[kind + 1];
        self.column[span.clone()].iter().map(|&c| c as usize).zip(self.value[span].iter().copied())
    }

    /// A figure of every kind: its columns, each times a coefficient.
    fn times(&self, coefficient: &[f64]) -> Vec<f64> {
        (0..self.known.len()).map(|k| self.columns_of(k).map(|(c, v)| coefficient[c] * v).sum()).collect()
    }

    /// The counts and kinds of rows.
    fn rows(&self, span: Range<usize>) -> impl Iterator<Item = (f64, usize)> + '_ {
        self.count[span.clone()].iter().copied().zip(self.kind[span].iter().map(|&k| k as usize))
    }

    /// Rows less parameters.
    pub fn degrees_of_freedom(&self) -> usize {
        self.count.len().saturating_sub(self.groups() + self.columns)
    }

    /// The spans of rows that share a level; one span without a level where there are no groups.
    pub(super) fn spans(&self) -> impl Iterator<Item = Range<usize>> + '_ {
        let whole = self.group_start.is_empty().then_some(0..self.count.len());
        whole.into_iter().chain(self.group_start.windows(2).map(|w| w[0]..w[1]))
    }

    /// A sum over all rows of a figure of their counts.
    fn sum_of_counts(&self, figure: impl Fn(f64) -> f64) -> f64 {
        // Most counts are small and come again and again.
        let small: Vec<f64> = (0..256).map(|y| figure(f64::from(y))).collect();
        self.count.iter().map(|&y| small.get(y as usize).copied().unwrap_or_else(|| figure(y))).sum()
    }

    /// Of every kind, the sum of a figure of the groups that hold a row of it.
    pub(super) fn sums_by_kind(&self, of_group: &[f64]) -> Vec<f64> {
        let mut sums = vec![0.0; self.known.len()];
        for (span, figure) in self.spans().zip(of_group) {
            self.kind[span].iter().for_each(|&k| sums[k as usize] += figure);
        }
        sums
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
    /// Minus the second derivative of a count's log likelihood by the mean's logarithm, and the first.
    fn bend_and_slope(self, count: f64, mean: f64) -> (f64, f64) {
        match self {
            Family::Poisson => (mean, count - mean),
            Family::NegativeBinomial { theta } => {
                let share = theta / (mean + theta);
                (mean * share * (count + theta) / (mean + theta), (count - mean) * share)
            }
        }
    }

    /// Variance at a mean.
    pub fn variance(self, mean: f64) -> f64 {
        match self {
            Family::Poisson => mean,
            Family::NegativeBinomial { theta } => mean + mean * mean / theta,
        }
    }

    /// What a count adds to half the deviance by itself, whatever its mean.
    fn of_count(self, count: f64) -> f64 {
        let own = if count > 0.0 { count * count.ln() } else { 0.0 };
        match self {
            Family::Poisson => own - count,
            Family::NegativeBinomial { theta } => own - (count + theta) * (count / theta).ln_1p(),
        }
    }

    /// What a mean adds to half the deviance, besides the count times the mean's logarithm.
    fn of_mean(self, count: f64, mean: f64) -> f64 {
        match self {
            Family::Poisson => mean,
            Family::NegativeBinomial { theta } => (count + theta) * (mean / theta).ln_1p(),
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
    /// Slope of the log likelihood along each column: nought but along one held at a value.
    pub(super) slope: Vec<f64>,
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
    fit_from(frame, family, fixed, None)
}

/// Fit a model, beginning at coefficients and levels near the end, such as those of another fit.
///
/// Errors: [`NoFit`].
pub(super) fn fit_from(frame: &Frame, family: Family, fixed: Option<(usize, f64)>, start: Option<(&[f64], &[f64])>) -> Result<Fit, NoFit> {
    let totals = Totals::of(frame, family);
    let mut coefficient = match start {
        Some((coefficient, _)) => coefficient.to_vec(),
        None if frame.groups() > 0 => vec![0.0; frame.columns],
        None => start_without_groups(frame),
    };
    if let Some((column, value)) = fixed {
        coefficient[column] = value;
    }
    let held = fixed.map(|f| f.0);
    let mut at = Point::new(frame, family, &totals, coefficient, start.map(|(_, level)| level.to_vec()).filter(|l| !l.is_empty()));
    if !at.deviance.is_finite() {
        return Err(NoFit::RunsAway);
    }
    for _ in 0..ROUNDS {
        let sums = Sums::of(frame, &at, |y, m| family.bend_and_slope(y, m));
        let step = sums.step(held)?;
        let by_kind = frame.times(&step);
        let level_step = if frame.groups() == 0 || family == Family::Poisson { Vec::new() } else { sums.level_step(frame, family, &at, &by_kind) };
        let largest = by_kind.iter().chain(&level_step).fold(0.0_f64, |a, b| a.max(b.abs()));
        if largest < SETTLED {
            let information = match family {
                Family::Poisson => sums.information,
                Family::NegativeBinomial { theta } => Sums::of(frame, &at, |_, m| (m * theta / (m + theta), 0.0)).information,
            };
            let mut mean = Vec::with_capacity(frame.count.len());
            frame.spans().zip(&at.height).for_each(|(span, height)| mean.extend(frame.kind[span].iter().map(|&k| height * at.kind[k as usize])));
            let level = if frame.groups() > 0 { at.level } else { Vec::new() };
            return Ok(Fit { coefficient: at.coefficient, level, mean, information, deviance: at.deviance, slope: sums.slope, family });
        }
        let mut share = 1.0;
        at = loop {
            let moved = |from: &[f64], by: &[f64]| from.iter().zip(by).map(|(a, b)| a + share * b).collect::<Vec<_>>();
            let level = (!level_step.is_empty()).then(|| moved(&at.level, &level_step));
            let next = Point::new(frame, family, &totals, moved(&at.coefficient, &step), level);
            if next.deviance.is_finite() && next.deviance <= at.deviance + 1e-9 * (1.0 + at.deviance.abs()) {
                break next;
            }
            share /= 2.0;
            if share < 1e-10 {
                return Err(NoFit::Unsettled);
            }
        };
        if held.is_none() && frame.times(&at.coefficient).iter().any(|added| added.abs() > RUNAWAY) {
            return Err(NoFit::RunsAway);
        }
    }
    // Rounding may keep a long model from coming quite to rest.
    Err(NoFit::Unsettled)
}

/// Without groups the first guess is least squares on the logarithms, as scoring does from the counts themselves.
fn start_without_groups(frame: &Frame) -> Vec<f64> {
    let mut normal = Symmetric::zero(frame.columns);
    let mut right = vec![0.0; frame.columns];
    for (count, kind) in frame.rows(0..frame.count.len()) {
        let weight = count + 0.1;
        for (i, xi) in frame.columns_of(kind) {
            right[i] += weight * xi * weight.ln();
            for (j, xj) in frame.columns_of(kind).filter(|&(j, _)| j >= i) {
                normal.add(i, j, weight * xi * xj);
            }
        }
    }
    normal.factor().map_or(vec![0.0; frame.columns], |factor| factor.solve(right))
}

/// What of the counts does not change from round to round.
struct Totals {
    /// Counts of each group and of each kind.
    group: Vec<f64>,
    kind: Vec<f64>,
    /// Half the deviance's part of the counts themselves.
    own: f64,
}

impl Totals {
    fn of(frame: &Frame, family: Family) -> Self {
        let mut kind = vec![0.0; frame.known.len()];
        frame.rows(0..frame.count.len()).for_each(|(y, k)| kind[k] += y);
        let group = frame.spans().map(|span| frame.count[span].iter().sum()).collect();
        Self { group, kind, own: frame.sum_of_counts(|y| family.of_count(y)) }
    }
}

/// Where a fit stands.
struct Point {
    coefficient: Vec<f64>,
    /// Levels of the groups, and what they multiply means by.
    level: Vec<f64>,
    height: Vec<f64>,
    /// What each kind multiplies means by.
    kind: Vec<f64>,
    deviance: f64,
}

impl Point {
    /// At some coefficients; without levels given, those at which each group's means add up to its counts, which for Poisson
    /// counts are the likeliest.
    fn new(frame: &Frame, family: Family, totals: &Totals, coefficient: Vec<f64>, level: Option<Vec<f64>>) -> Self {
        let log: Vec<f64> = frame.times(&coefficient).iter().zip(&frame.known).map(|(x, known)| x + known).collect();
        let kind: Vec<f64> = log.iter().map(|l| l.exp()).collect();
        let sum = |span: Range<usize>| frame.kind[span].iter().map(|&k| kind[k as usize]).sum::<f64>();
        let balanced = frame.groups() > 0 && (family == Family::Poisson || level.is_none());
        let (level, height): (Vec<f64>, Vec<f64>) = if balanced {
            frame.spans().zip(&totals.group).map(|(span, y)| y / sum(span)).map(|height| (height.ln(), height)).unzip()
        } else {
            level.unwrap_or(vec![0.0]).into_iter().map(|level| (level, level.exp())).unzip()
        };
        let told = |of: &[f64], logs: &[f64]| of.iter().zip(logs).map(|(y, log)| y * log).sum::<f64>();
        let of_means: f64 = if balanced && family == Family::Poisson {
            totals.group.iter().sum()
        } else {
            frame.spans().zip(&height).map(|(span, height)| frame.rows(span).map(|(y, k)| family.of_mean(y, height * kind[k])).sum::<f64>()).sum()
        };
        let deviance = 2.0 * (totals.own + of_means - told(&totals.kind, &log) - told(&totals.group, &level));
        Self { coefficient, level, height, kind, deviance }
    }
}

/// The normal equations at a point, the groups' levels taken out.
struct Sums {
    information: Symmetric,
    slope: Vec<f64>,
    /// Sum of weights and own slope of each group.
    group: Vec<(f64, f64)>,
}

impl Sums {
    /// By a weight and a slope of every count at its mean.
    fn of(frame: &Frame, at: &Point, weigh: impl Fn(f64, f64) -> (f64, f64)) -> Self {
        match (frame.groups(), frame.columns) {
            (0, _) => Self::by(Few::<0>::of(frame), frame, at, weigh),
            (_, 1) => Self::by(Few::<1>::of(frame), frame, at, weigh),
            (_, 2) => Self::by(Few::<2>::of(frame), frame, at, weigh),
            (_, 3) => Self::by(Few::<3>::of(frame), frame, at, weigh),
            (_, 4) => Self::by(Few::<4>::of(frame), frame, at, weigh),
            _ => Self::by(Many::of(frame), frame, at, weigh),
        }
    }

    fn by(mut columns: impl GroupColumns, frame: &Frame, at: &Point, weigh: impl Fn(f64, f64) -> (f64, f64)) -> Self {
        let p = frame.columns;
        let mut information = Symmetric::zero(p);
        let mut slope = vec![0.0; p];
        let mut group = Vec::with_capacity(at.height.len());
        let mut by_kind = vec![(0.0, 0.0); at.kind.len()];
        for (span, height) in frame.spans().zip(&at.height) {
            let (mut all, mut own) = (0.0, 0.0);
            for (y, k) in frame.rows(span) {
                let (w, pull) = weigh(y, height * at.kind[k]);
                all += w;
                own += pull;
                let kind = &mut by_kind[k];
                *kind = (kind.0 + w, kind.1 + pull);
                columns.add(k, w);
            }
            group.push((all, own));
            columns.take_out(all, own, &mut information.of, &mut slope);
        }
        for (k, (w, pull)) in by_kind.into_iter().enumerate() {
            for (i, xi) in frame.columns_of(k) {
                slope[i] += pull * xi;
                for (j, xj) in frame.columns_of(k).filter(|&(j, _)| j >= i) {
                    information.of[i * p + j] += w * xi * xj;
                }
            }
        }
        for i in 0..p {
            for j in 0..i {
                information.of[i * p + j] = information.of[j * p + i];
            }
        }
        Self { information, slope, group }
    }

    /// What to add to the coefficients; nothing to one held.
    fn step(&self, held: Option<usize>) -> Result<Vec<f64>, NoFit> {
        let p = self.slope.len();
        if p == 0 {
            return Ok(Vec::new());
        }
        let (mut solved, mut slope) = (self.information.clone(), self.slope.clone());
        if let Some(held) = held {
            slope[held] = 0.0;
            for k in 0..p {
                solved.of[held * p + k] = 0.0;
                solved.of[k * p + held] = 0.0;
            }
            solved.of[held * p + held] = 1.0;
        }
        Ok(solved.factor().ok_or(NoFit::NotTold)?.solve(slope))
    }

    /// What to add to the groups' levels, once it is known what the columns' step adds to each kind.
    fn level_step(&self, frame: &Frame, family: Family, at: &Point, by_kind: &[f64]) -> Vec<f64> {
        let groups = frame.spans().zip(&at.height).zip(&self.group);
        groups
            .map(|((span, height), (all, own))| {
                let taken: f64 = frame.rows(span).map(|(y, k)| family.bend_and_slope(y, height * at.kind[k]).0 * by_kind[k]).sum();
                (own - taken) / all
            })
            .collect()
    }
}

/// The weighted sums of a group's columns, gathered row by row.
trait GroupColumns {
    /// Add a row of a kind.
    fn add(&mut self, kind: usize, weight: f64);

    /// The group is whole, with its sum of weights and its own slope: take its level out of the upper half of the information and
    /// out of the slope.
    fn take_out(&mut self, all: f64, own: f64, information: &mut [f64], slope: &mut [f64]);
}

/// Few columns, each kind's held whole; none where there are no groups.
struct Few<const P: usize> {
    kinds: Vec<[f64; P]>,
    sums: [f64; P],
}

impl<const P: usize> Few<P> {
    fn of(frame: &Frame) -> Self {
        let whole = |k: usize| {
            let mut whole = [0.0; P];
            frame.columns_of(k).filter(|(c, _)| *c < P).for_each(|(c, v)| whole[c] = v);
            whole
        };
        Self { kinds: (0..frame.known.len()).map(whole).collect(), sums: [0.0; P] }
    }
}

impl<const P: usize> GroupColumns for Few<P> {
    fn add(&mut self, kind: usize, weight: f64) {
        self.sums.iter_mut().zip(&self.kinds[kind]).for_each(|(sum, x)| *sum += weight * x);
    }

    fn take_out(&mut self, all: f64, own: f64, information: &mut [f64], slope: &mut [f64]) {
        for i in 0..P {
            let share = self.sums[i] / all;
            slope[i] -= share * own;
            for j in i..P {
                information[i * P + j] -= share * self.sums[j];
            }
        }
        self.sums = [0.0; P];
    }
}

/// Many columns, most of them zero in a group.
struct Many<'a> {
    frame: &'a Frame,
    sums: Vec<f64>,
    /// Columns that some row of the group has.
    touched: Vec<usize>,
    seen: Vec<bool>,
}

impl<'a> Many<'a> {
    fn of(frame: &'a Frame) -> Self {
        Self { frame, sums: vec![0.0; frame.columns], touched: Vec::new(), seen: vec![false; frame.columns] }
    }
}

impl GroupColumns for Many<'_> {
    fn add(&mut self, kind: usize, weight: f64) {
        for (i, x) in self.frame.columns_of(kind) {
            self.sums[i] += weight * x;
            if !self.seen[i] {
                self.seen[i] = true;
                self.touched.push(i);
            }
        }
    }

    fn take_out(&mut self, all: f64, own: f64, information: &mut [f64], slope: &mut [f64]) {
        self.touched.sort_unstable();
        for (k, &i) in self.touched.iter().enumerate() {
            let share = self.sums[i] / all;
            slope[i] -= share * own;
            let row = &mut information[i * self.sums.len()..];
            for &j in &self.touched[k..] {
                row[j] -= share * self.sums[j];
            }
        }
        for i in self.touched.drain(..) {
            self.sums[i] = 0.0;
            self.seen[i] = false;
        }
    }
}

impl Fit {
    /// What another fit can begin at.
    pub(super) fn start(&self) -> (&[f64], &[f64]) {
        (&self.coefficient, &self.level)
    }

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
        let mut slope = vec![0.0; p];
        for span in frame.group_start.windows(2) {
            slope.fill(0.0);
            for at in span[0]..span[1] {
                let ratio = self.mean[at] / self.family.variance(self.mean[at]);
                for (i, x) in frame.columns_of(frame.kind[at] as usize) {
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
