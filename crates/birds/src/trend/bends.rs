//! Where the line bends: years given, or looked for.
//!
//! Looking: the year whose bend takes most deviance away is taken in while it takes more than the scatter of whole years
//! about the bent line would by chance (an F test on the years, its chance multiplied by the number of years tried), one
//! after another. How far apart, how many and how rare by luck is guidance's: `trend.bends.apart`, `trend.bends.most`,
//! `trend.bends.luck`.

use super::glm::{Family, NoFit, fit, fit_from};
use super::limits::Slope;
use super::shape::Shape;
use super::words::share;
use super::{Ask, Change, Line, NoTrend};
use guidance::{Country, Guidance, Unknown};
use rayon::prelude::*;
use serde::Serialize;
use statrs::distribution::{ContinuousCDF, FisherSnedecor};
use std::fmt;

/// How bends are looked for.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Looking {
    /// Years a bend keeps from another and from the ends.
    pub apart_years: i32,
    /// Bends looked for at most.
    pub most: usize,
    /// Chance by luck up to which a bend is taken in.
    pub luck: f64,
}

impl Looking {
    /// As guidance has it.
    ///
    /// Errors: a key that guidance does not hold.
    pub fn of(guidance: &Guidance, country: Country) -> Result<Self, Unknown> {
        Ok(Self {
            apart_years: guidance.number("trend.bends.apart", country)?.round() as i32,
            most: guidance.number("trend.bends.most", country)?.round() as usize,
            luck: guidance.number("trend.bends.luck", country)? / 100.0,
        })
    }
}

impl fmt::Display for Looking {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "Bends of the line were looked for: {} at most, {} years or more from each other and from either end, each taken in where luck alone would show as much in no more than {} of cases.",
            self.most,
            self.apart_years,
            share(self.luck)
        )
    }
}

/// A bend of the line.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Bend {
    /// The last year before the change.
    pub year: i32,
    /// Change in a year before it.
    pub before: Change,
    /// Change in a year after it.
    pub after: Change,
    /// Chance that so much would come by luck; missing where years tell nothing of it.
    pub chance: Option<f64>,
}

/// The bends asked for, or found.
pub(super) fn bends(line: &Line, ask: &Ask) -> Result<Vec<Bend>, NoTrend> {
    let all = &line.years.all;
    let (first, last) = (all[0].year, all[all.len() - 1].year);
    let chosen = match &ask.bends {
        Some(asked) => {
            let mut asked = asked.clone();
            asked.sort_unstable();
            asked.dedup();
            if let Some(&asked) = asked.iter().find(|y| **y <= first || **y >= last) {
                return Err(NoTrend::NoBend { asked, first: first + 1, last: last - 1 });
            }
            asked.into_iter().map(|year| (year, None)).collect()
        }
        None => found(line, &ask.looking, first, last),
    };
    if chosen.is_empty() {
        return Ok(Vec::new());
    }
    Ok(told(line, first, &chosen, ask.level)?)
}

/// Bends one after another, in order of years, with the chance of each.
fn found(line: &Line, looking: &Looking, first: i32, last: i32) -> Vec<(i32, Option<f64>)> {
    let mut taken: Vec<(i32, Option<f64>)> = Vec::new();
    let (mut deviance, mut coefficient) = (line.fit.deviance, line.fit.coefficient.clone());
    let apart = looking.apart_years;
    while taken.len() < looking.most {
        let free: Vec<i32> = (first + apart..=last - apart).filter(|y| taken.iter().all(|(t, _)| (t - y).abs() >= apart)).collect();
        // The new bend's column comes last, so that the line so far is where to begin.
        let start = [coefficient.as_slice(), &[0.0]].concat();
        let with = |year: i32| {
            let shape = Shape::Line { from: first, bends: taken.iter().map(|t| t.0).chain([year]).collect() };
            fit_from(&line.in_shape(&shape), Family::Poisson, None, Some((&start, &[]))).ok().map(|f| (year, f.deviance, f.coefficient))
        };
        let Some((year, lower, bent)) = free.par_iter().filter_map(|y| with(*y)).min_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0))) else { break };
        let Some((scatter, df)) = line.years.scatter(lower, 2 + taken.len()).filter(|s| s.0 > 0.0) else { break };
        let Ok(law) = FisherSnedecor::new(1.0, df) else { break };
        let chance = ((1.0 - law.cdf((deviance - lower) / scatter)) * free.len() as f64).min(1.0);
        if chance > looking.luck {
            break;
        }
        taken.push((year, Some(chance)));
        (deviance, coefficient) = (lower, bent);
    }
    taken.sort_unstable_by_key(|t| t.0);
    taken
}

/// The change before and after each bend.
fn told(line: &Line, first: i32, chosen: &[(i32, Option<f64>)], level: f64) -> Result<Vec<Bend>, NoFit> {
    let years: Vec<i32> = chosen.iter().map(|c| c.0).collect();
    let laid = line.in_shape(&Shape::Line { from: first, bends: years.clone() });
    let fitted = fit(&laid, Family::Poisson, None)?;
    let covariance = fitted.covariance().ok_or(NoFit::NotTold)?;
    let (spread, df) = match line.years.scatter(fitted.deviance, 1 + years.len()) {
        Some((scatter, df)) => (scatter, Some(df)),
        None => (fitted.dispersion(&laid).unwrap_or(1.0), None),
    };
    let leg = |legs: usize| -> Change {
        let pick: Vec<f64> = (0..=years.len()).map(|k| if k <= legs { 1.0 } else { 0.0 }).collect();
        let value: f64 = pick.iter().zip(&fitted.coefficient).map(|(p, c)| p * c).sum();
        Slope::wald(value, (covariance.form(&pick) * spread).sqrt(), df, level).into()
    };
    Ok(chosen.iter().enumerate().map(|(k, &(year, chance))| Bend { year, before: leg(k), after: leg(k + 1), chance }).collect())
}
