//! Many places counted several times: the binomial mixture of Royle 2004 (Biometrics 60, 105-115).
//!
//! The birds N of a place are Poisson, or negative binomial, with mean lambda; a visit sees each with chance p. The likelihood of
//! a place is summed over N up to `most`, in logarithms; `most` is doubled until nothing moves. The greatest likelihood is
//! climbed to by damped Newton steps in log lambda, logit p and, where there is one, log size; first and second derivatives
//! are exact, as mean and variance over N of those with N known (Louis 1982). Standard errors are of that information.
//!
//! Counts often cannot tell few birds seen well from many seen badly. As p falls to nothing with lambda p held at the mean count, the
//! counts of a place become independent, and the likelihood first leaves that limit by p / mean times the sum, over places and pairs
//! of visits, of the products of the two deviations from the mean. Where that is not positive, endless lambda is a top of its own: for
//! two visits that is the sample covariance of Dennis, Morgan & Ridout 2015 (Biometrics 71, 237-246). Such counts are refused, and
//! so are those whose estimate grows with `most`, whose chance is one, or that are too few.

use super::{Interval, Limits};
use crate::trend::limits::deviations;
use serde::{Deserialize, Serialize};
use statrs::function::factorial::ln_factorial;
use std::collections::BTreeMap;
use std::fmt;

/// Numbers of birds a place are not summed beyond this.
const FURTHEST: u32 = 4096;
/// Moves less than this, as a share, do not matter.
const STILL: f64 = 1e-9;
/// Sizes beyond this are those of a Poisson.
const POISSON_SIZE: f64 = 1e4;
/// Logits and logarithms are held within this of nothing.
const WIDEST: f64 = 30.0;
/// A logit of the chance beyond this is that of one.
const SURE: f64 = 14.0;

/// Counts, one place a row, one visit a column; `None`: no visit.
pub type Counts = [Vec<Option<u32>>];

/// How the birds of places differ.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Mixing {
    /// As chance alone would have it.
    Poisson,
    /// More than that.
    NegativeBinomial,
}

/// A point at which the likelihood is taken.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Point {
    /// Mean birds a place.
    pub mean: f64,
    /// Chance that a visit sees a bird.
    pub chance: f64,
    /// Size of the negative binomial, variance mean + mean^2 / size; `None`: Poisson.
    pub size: Option<f64>,
}

/// The top of the likelihood with numbers summed to a given one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Top {
    /// Where.
    pub point: Point,
    /// Logarithm of the likelihood there.
    pub log_likelihood: f64,
    /// Negated second derivatives in log mean, logit chance and log size.
    information: [[f64; 3]; 3],
}

/// What repeated counts say.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Fit {
    /// Estimates.
    pub point: Point,
    /// Logarithm of the likelihood.
    pub log_likelihood: f64,
    /// Greatest number of birds a place that was summed.
    pub most: u32,
    /// Standard error of the logarithm of the mean.
    pub se_log_mean: f64,
    /// Standard error of the logit of the chance.
    pub se_logit_chance: f64,
    /// Standard error of the logarithm of the size.
    pub se_log_size: Option<f64>,
    /// Mean product of the deviations of two visits of a place.
    pub covariance: f64,
    /// Places with two counts or more.
    pub places: usize,
}

/// Why repeated counts cannot tell birds from the chance of seeing them.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "why")]
pub enum Refusal {
    /// Too few places with two counts or more.
    TooFewPlaces {
        /// Places with two counts or more.
        places: usize,
        /// Fewest needed.
        needed: usize,
    },
    /// No bird was ever seen.
    NoBirds,
    /// The visits of a place do not go together.
    NoCovariance {
        /// Mean product of the deviations of two visits of a place.
        covariance: f64,
    },
    /// The estimate grows with the numbers summed.
    RunsAway {
        /// Greatest number summed, and the mean found with it.
        means: Vec<(u32, f64)>,
    },
    /// The visits of each place agree, so that every bird seems seen.
    AlwaysSeen,
    /// Places differ no more than chance would have it.
    NoExtraSpread,
    /// The likelihood is flat at its top.
    Flat,
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Refusal::TooFewPlaces { places, needed } => write!(f, "{places} places were counted twice or more; {needed} are the least"),
            Refusal::NoBirds => write!(f, "no bird was seen on any visit"),
            Refusal::NoCovariance { covariance } => write!(
                f,
                "places with a high count on one visit do not have high counts on the others (mean product of deviations {covariance:.2}, must be above 0): many birds seen badly fit as well as few seen well"
            ),
            Refusal::RunsAway { means } => {
                write!(f, "the estimate grows with the greatest number allowed")?;
                let last = means.len().saturating_sub(2);
                for (i, (most, mean)) in means.iter().skip(last).enumerate() {
                    write!(f, "{} {mean:.0} birds a place with up to {most}", if i == 0 { ":" } else { "," })?;
                }
                write!(f, "; the counts set no upper limit")
            }
            Refusal::AlwaysSeen => write!(f, "the visits of each place agree so well that every bird seems seen; how sure that is cannot be told"),
            Refusal::NoExtraSpread => write!(f, "places differ no more than chance would have it; the simpler (Poisson) form is enough"),
            Refusal::Flat => write!(f, "the likelihood is flat at its top: the counts do not tell birds from the chance of seeing them"),
        }
    }
}

impl Fit {
    /// Mean birds a place with limits that hold it with chance `level`, by its logarithm.
    pub fn mean(&self, level: f64) -> Interval {
        let by = (deviations(level, None) * self.se_log_mean).exp();
        Interval { value: self.point.mean, low: self.point.mean / by, high: self.point.mean * by }
    }

    /// Chance that a visit sees a bird with limits that hold it with chance `level`, by its logit.
    pub fn chance(&self, level: f64) -> Interval {
        let at = |deviations: f64| logistic(logit(self.point.chance) + deviations * self.se_logit_chance);
        let z = deviations(level, None);
        Interval { value: self.point.chance, low: at(-z), high: at(z) }
    }
}

/// Mean birds a place and chance of seeing one, from repeated counts.
///
/// Errors: why the counts cannot tell the two apart.
pub fn fit(counts: &Counts, mixing: Mixing, limits: &Limits) -> Result<Fit, Refusal> {
    let places = counts.iter().filter(|visits| visits.iter().flatten().count() >= 2).count();
    if places < limits.places {
        return Err(Refusal::TooFewPlaces { places, needed: limits.places });
    }
    let covariance = covariance(counts).ok_or(Refusal::NoBirds)?;
    if covariance <= 0.0 {
        return Err(Refusal::NoCovariance { covariance });
    }
    let mut most = counts.iter().flatten().flatten().max().map_or(64, |largest| (4 * largest).max(64));
    let mut found = top(counts, mixing, most).ok_or(Refusal::Flat)?;
    let mut means = vec![(most, found.point.mean)];
    loop {
        if 2 * most > FURTHEST.max(16 * means[0].0) {
            return Err(Refusal::RunsAway { means });
        }
        most *= 2;
        let next = climb(counts, found.point, most).ok_or(Refusal::Flat)?;
        means.push((most, next.point.mean));
        let apart = |a: f64, b: f64| (a - b).abs() > STILL * (1.0 + b.abs());
        let moved = apart(found.log_likelihood, next.log_likelihood) || apart(found.point.mean, next.point.mean) || apart(found.point.chance, next.point.chance);
        found = next;
        if !moved {
            break;
        }
    }
    if logit(found.point.chance) > SURE {
        return Err(Refusal::AlwaysSeen);
    }
    if found.point.size.is_some_and(|size| size > POISSON_SIZE) {
        return Err(Refusal::NoExtraSpread);
    }
    let errors = standard_errors(&found.information, found.point.dimensions()).ok_or(Refusal::Flat)?;
    Ok(Fit {
        point: found.point,
        log_likelihood: found.log_likelihood,
        most,
        se_log_mean: errors[0],
        se_logit_chance: errors[1],
        se_log_size: found.point.size.map(|_| errors[2]),
        covariance,
        places,
    })
}

/// Mean product of the deviations, from the mean of all counts, of two visits of a place, over all pairs; `None` where no bird
/// was seen or no place was counted twice.
pub fn covariance(counts: &Counts) -> Option<f64> {
    let all: Vec<f64> = counts.iter().flatten().flatten().map(|count| f64::from(*count)).collect();
    let mean = all.iter().sum::<f64>() / all.len() as f64;
    let (mut sum, mut pairs) = (0.0, 0_usize);
    for visits in counts {
        let off: Vec<f64> = visits.iter().flatten().map(|count| f64::from(*count) - mean).collect();
        for (i, a) in off.iter().enumerate() {
            sum += off[i + 1..].iter().map(|b| a * b).sum::<f64>();
            pairs += off.len() - i - 1;
        }
    }
    (mean > 0.0 && pairs > 0).then(|| sum / pairs as f64)
}

/// Logarithm of the likelihood at a point, birds a place summed to `most`; minus infinity where a count is above that.
pub fn log_likelihood(counts: &Counts, at: &Point, most: u32) -> f64 {
    let spread = Spread::of(at, most);
    places(counts).iter().map(|(place, times)| place.terms(&spread, at).map_or(f64::NEG_INFINITY, |terms| times * terms.log_sum)).sum()
}

/// Birds of each place at a point, given its counts: mean, and limits that leave at most half of what `level` lacks on each side.
/// The point is taken as known. Empty where a count is above `most`.
pub fn birds(counts: &Counts, at: &Point, most: u32, level: f64) -> Vec<Interval> {
    let spread = Spread::of(at, most);
    let each: Option<Vec<Interval>> = counts
        .iter()
        .map(|visits| {
            let place = Place::of(visits.iter().flatten().copied().collect());
            let terms = place.terms(&spread, at)?;
            let number = |i: usize| f64::from(place.largest) + i as f64;
            let value = terms.weights.iter().enumerate().map(|(i, weight)| number(i) * weight).sum();
            let quantile = |share: f64| {
                let mut held = 0.0;
                let past = terms.weights.iter().position(|weight| {
                    held += weight;
                    held >= share
                });
                number(past.unwrap_or(terms.weights.len() - 1))
            };
            let tail = (1.0 - level) / 2.0;
            Some(Interval { value, low: quantile(tail), high: quantile(1.0 - tail) })
        })
        .collect();
    each.unwrap_or_default()
}

/// The top of the likelihood with birds a place summed to `most`, the best reached from several starts; `None` where there is
/// no bird or none is reached.
pub fn top(counts: &Counts, mixing: Mixing, most: u32) -> Option<Top> {
    let seen: Vec<f64> = counts.iter().flatten().flatten().map(|count| f64::from(*count)).collect();
    let mean = seen.iter().sum::<f64>() / seen.len() as f64;
    if mean.is_nan() || mean <= 0.0 {
        return None;
    }
    let size = match mixing {
        Mixing::Poisson => None,
        Mixing::NegativeBinomial => Some(2.0),
    };
    [0.15_f64, 0.5, 0.85]
        .into_iter()
        .filter_map(|chance| climb(counts, Point { mean: mean / chance, chance, size }, most))
        .max_by(|a, b| a.log_likelihood.total_cmp(&b.log_likelihood))
}

impl Point {
    fn dimensions(&self) -> usize {
        if self.size.is_some() { 3 } else { 2 }
    }

    /// The point a step away, in log mean, logit chance and log size.
    fn moved(&self, step: [f64; 3]) -> Self {
        Self {
            mean: (self.mean.ln() + step[0]).clamp(-WIDEST, WIDEST).exp(),
            chance: logistic((logit(self.chance) + step[1]).clamp(-WIDEST, WIDEST)),
            size: self.size.map(|size| (size.ln() + step[2]).clamp(-WIDEST, WIDEST).exp()),
        }
    }
}

fn logistic(x: f64) -> f64 {
    1.0 / (1.0 + (-x).exp())
}

fn logit(p: f64) -> f64 {
    (p / (1.0 - p)).ln().clamp(-WIDEST, WIDEST)
}

/// The distribution of birds a place at a point: for each number its logarithm, first derivatives in log mean and log size, and
/// second ones (mean twice, size twice, both).
struct Spread {
    log: Vec<f64>,
    first: Vec<[f64; 2]>,
    second: Vec<[f64; 3]>,
    ln_factorial: Vec<f64>,
}

impl Spread {
    fn of(at: &Point, most: u32) -> Self {
        let n = most as usize + 1;
        let mut spread = Self { log: Vec::with_capacity(n), first: Vec::with_capacity(n), second: Vec::with_capacity(n), ln_factorial: (0..=u64::from(most)).map(ln_factorial).collect() };
        let mean = at.mean;
        // Running sums over k below N of ln(1 + k/size), 1/(size + k) and 1/(size + k)^2.
        let (mut rising, mut one, mut two) = (0.0, 0.0, 0.0);
        for number in 0..=most {
            let birds = f64::from(number);
            let factorial = spread.ln_factorial[number as usize];
            let Some(size) = at.size else {
                spread.log.push(birds * mean.ln() - mean - factorial);
                spread.first.push([birds - mean, 0.0]);
                spread.second.push([-mean, 0.0, 0.0]);
                continue;
            };
            let both = size + mean;
            // size^N cancels between the rising factorial and the power of size / (size + mean).
            spread.log.push(rising - factorial - (size + birds) * (mean / size).ln_1p() + birds * mean.ln());
            let slope = one - (mean / size).ln_1p() + (mean - birds) / both;
            let bend = -two + mean / (size * both) - (mean - birds) / (both * both);
            spread.first.push([size * (birds - mean) / both, size * slope]);
            spread.second.push([-(birds + size) * size * mean / (both * both), size * slope + size * size * bend, size * mean * (birds - mean) / (both * both)]);
            rising += (birds / size).ln_1p();
            one += 1.0 / (size + birds);
            two += 1.0 / (size + birds).powi(2);
        }
        spread
    }
}

/// The counts of one place.
struct Place {
    counts: Vec<u32>,
    seen: f64,
    largest: u32,
}

/// Logarithm of the likelihood of a place and the chance of each number of birds, from its largest count upward.
struct Terms {
    log_sum: f64,
    weights: Vec<f64>,
}

impl Place {
    fn of(counts: Vec<u32>) -> Self {
        let seen = counts.iter().map(|count| f64::from(*count)).sum();
        let largest = counts.iter().copied().max().unwrap_or(0);
        Self { counts, seen, largest }
    }

    fn terms(&self, spread: &Spread, at: &Point) -> Option<Terms> {
        let visits = self.counts.len() as f64;
        let (seen, unseen) = (at.chance.ln(), (-at.chance).ln_1p());
        let fixed: f64 = self.counts.iter().map(|count| spread.ln_factorial.get(*count as usize).copied()).sum::<Option<f64>>()?;
        let mut weights: Vec<f64> = (self.largest as usize..spread.log.len())
            .map(|number| {
                let ways = visits * spread.ln_factorial[number] - self.counts.iter().map(|count| spread.ln_factorial[number - *count as usize]).sum::<f64>();
                let missed = visits * number as f64 - self.seen;
                let sighting = if self.seen > 0.0 { self.seen * seen } else { 0.0 } + if missed > 0.0 { missed * unseen } else { 0.0 };
                spread.log[number] + ways - fixed + sighting
            })
            .collect();
        let greatest = weights.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        if !greatest.is_finite() {
            return None;
        }
        for weight in &mut weights {
            *weight = (*weight - greatest).exp();
        }
        let sum: f64 = weights.iter().sum();
        for weight in &mut weights {
            *weight /= sum;
        }
        Some(Terms { log_sum: greatest + sum.ln(), weights })
    }
}

/// Places that were visited, those with the same counts as one, and how many they are.
fn places(counts: &Counts) -> Vec<(Place, f64)> {
    let mut alike: BTreeMap<Vec<u32>, f64> = BTreeMap::new();
    for visits in counts {
        let mut seen: Vec<u32> = visits.iter().flatten().copied().collect();
        seen.sort_unstable();
        if !seen.is_empty() {
            *alike.entry(seen).or_default() += 1.0;
        }
    }
    alike.into_iter().map(|(counts, times)| (Place::of(counts), times)).collect()
}

/// The likelihood at a point with its slope and, negated, its bend.
struct Local {
    log_likelihood: f64,
    slope: [f64; 3],
    information: [[f64; 3]; 3],
}

fn local(places: &[(Place, f64)], at: &Point, most: u32) -> Option<Local> {
    let spread = Spread::of(at, most);
    let mut local = Local { log_likelihood: 0.0, slope: [0.0; 3], information: [[0.0; 3]; 3] };
    for (place, times) in places {
        let terms = place.terms(&spread, at)?;
        let visits = place.counts.len() as f64;
        let (mut mean, mut square, mut bend) = ([0.0; 3], [[0.0; 3]; 3], [[0.0; 3]; 3]);
        for (i, weight) in terms.weights.iter().enumerate() {
            let number = place.largest as usize + i;
            let birds = number as f64;
            let ([by_mean, by_size], [mean_twice, size_twice, mean_size]) = (spread.first[number], spread.second[number]);
            let slope = [by_mean, place.seen - visits * birds * at.chance, by_size];
            for a in 0..3 {
                mean[a] += weight * slope[a];
                for b in 0..3 {
                    square[a][b] += weight * slope[a] * slope[b];
                }
            }
            bend[0][0] += weight * mean_twice;
            bend[1][1] -= weight * visits * birds * at.chance * (1.0 - at.chance);
            bend[2][2] += weight * size_twice;
            bend[0][2] += weight * mean_size;
        }
        bend[2][0] = bend[0][2];
        local.log_likelihood += times * terms.log_sum;
        for a in 0..3 {
            local.slope[a] += times * mean[a];
            for b in 0..3 {
                local.information[a][b] -= times * (bend[a][b] + square[a][b] - mean[a] * mean[b]);
            }
        }
    }
    Some(local)
}

/// Damped Newton steps upward (Levenberg 1944, Marquardt 1963) until the slope is nothing or the steps are.
fn climb(counts: &Counts, start: Point, most: u32) -> Option<Top> {
    let d = start.dimensions();
    let places = places(counts);
    let (mut at, mut here) = (start, local(&places, &start, most)?);
    let mut damping = 1e-3;
    for _ in 0..500 {
        if at.size.is_some_and(|size| size > 2.0 * POISSON_SIZE) {
            break;
        }
        let scale = (0..d).map(|i| here.information[i][i].abs()).fold(1e-9, f64::max);
        if here.slope[..d].iter().all(|slope| slope.abs() <= 1e-11 * scale.max(1.0)) {
            break;
        }
        let mut damped = here.information;
        for (i, row) in damped.iter_mut().enumerate().take(d) {
            row[i] += damping * scale;
        }
        let step = cholesky(&damped, d).map(|lower| solve(&lower, d, here.slope));
        let longest = step.map_or(f64::INFINITY, |step| step.iter().fold(0.0, |a: f64, b| a.max(b.abs())));
        let next = step.filter(|_| longest <= 3.0).map(|step| at.moved(step));
        match next.and_then(|next| Some((next, local(&places, &next, most)?))) {
            Some((next, there)) if there.log_likelihood >= here.log_likelihood - 1e-13 * here.log_likelihood.abs() => {
                (at, here) = (next, there);
                damping = if damping < 1e-12 { 0.0 } else { damping / 10.0 };
                if longest < 1e-12 {
                    break;
                }
            }
            _ => damping = (damping * 10.0).max(1e-9),
        }
        if damping > 1e9 {
            break;
        }
    }
    Some(Top { point: at, log_likelihood: here.log_likelihood, information: here.information })
}

/// Lower factor of a positive definite matrix of `d` rows; `None` where it is not.
fn cholesky(matrix: &[[f64; 3]; 3], d: usize) -> Option<[[f64; 3]; 3]> {
    let mut lower = [[0.0; 3]; 3];
    for i in 0..d {
        for j in 0..=i {
            let rest = matrix[i][j] - (0..j).map(|k| lower[i][k] * lower[j][k]).sum::<f64>();
            if i == j {
                if rest.is_nan() || rest <= 1e-14 * matrix[i][i].abs() {
                    return None;
                }
                lower[i][i] = rest.sqrt();
            } else {
                lower[i][j] = rest / lower[j][j];
            }
        }
    }
    Some(lower)
}

fn solve(lower: &[[f64; 3]; 3], d: usize, mut right: [f64; 3]) -> [f64; 3] {
    for i in 0..d {
        right[i] = (right[i] - (0..i).map(|k| lower[i][k] * right[k]).sum::<f64>()) / lower[i][i];
    }
    for i in (0..d).rev() {
        right[i] = (right[i] - (i + 1..d).map(|k| lower[k][i] * right[k]).sum::<f64>()) / lower[i][i];
    }
    right[d..].fill(0.0);
    right
}

/// Roots of the diagonal of the inverse; `None` where the matrix is not positive definite.
fn standard_errors(information: &[[f64; 3]; 3], d: usize) -> Option<[f64; 3]> {
    let lower = cholesky(information, d)?;
    let mut errors = [0.0; 3];
    for (i, error) in errors.iter_mut().enumerate().take(d) {
        let mut unit = [0.0; 3];
        unit[i] = 1.0;
        *error = solve(&lower, d, unit)[i].sqrt();
    }
    Some(errors)
}
