//! A trend beside a region's index: whether the leks at hand did better or worse than their region in the same years.
//!
//! The region's index enters each year's logarithm as known, so that the line left over is the difference of the two
//! trends, and good and bad years that both share fall out. The region's own uncertainty is not in the limits.

use super::limits::Limits;
use super::table::{Table, years_of};
use super::{Ask, Change, NoTrend, Standing, line};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// One year of a region's index, any base.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct RegionYear {
    /// Year.
    pub year: i32,
    /// Index, above zero.
    pub index: f64,
}

/// Leks beside their region.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Beside {
    /// First and last year that both were counted.
    pub span: (i32, i32),
    /// Years that both were counted.
    pub years: usize,
    /// Change of the region in a year, by least squares on the logarithms.
    pub region: f64,
    /// Change of the leks against their region in a year: 0.05 is five per cent a year better.
    pub against: Change,
    /// Kind of limits.
    pub limits: Limits,
    /// Chance that the leks truly did worse.
    pub worse: f64,
}

/// Set leks beside their region.
///
/// Errors: fewer than two years that both were counted, with the years of each, or no fit.
pub fn beside(table: &Table, region: &[RegionYear], ask: &Ask) -> Result<Beside, NoTrend> {
    let known: BTreeMap<i32, f64> = region.iter().filter(|y| y.index > 0.0 && y.index.is_finite()).map(|y| (y.year, y.index.ln())).collect();
    let shared = Table { leks: table.leks.clone(), counts: table.counts.iter().filter(|c| known.contains_key(&c.year)).copied().collect() };
    let counts = shared.sort_out().used;
    let years = years_of(&counts);
    let (&[first, .., last], Some(_)) = (years.as_slice(), years.get(1)) else {
        let ends = |years: &mut dyn Iterator<Item = i32>| years.fold(None, |ends, y| Some(ends.map_or((y, y), |(a, b): (i32, i32)| (a.min(y), b.max(y)))));
        let (leks, region) = (ends(&mut table.counts.iter().map(|c| c.year)), ends(&mut known.keys().copied()));
        return Err(match leks.zip(region) {
            Some((leks, region)) => NoTrend::TooFewShared { both: years, leks, region },
            None => NoTrend::TooFewYears(years),
        });
    };
    let line = line(&counts, |year| known[&year])?;
    let Standing { limits, slope, .. } = line.standing(ask.limits, ask.level).ok_or(NoTrend::NoFit(super::glm::NoFit::NotTold))?;
    let mean = |of: &dyn Fn(i32) -> f64| years.iter().map(|y| of(*y)).sum::<f64>() / years.len() as f64;
    let (at, log) = (mean(&|y| f64::from(y)), mean(&|y| known[&y]));
    let run: f64 = years.iter().map(|y| (f64::from(*y) - at).powi(2)).sum();
    let rise: f64 = years.iter().map(|y| (f64::from(*y) - at) * (known[y] - log)).sum();
    Ok(Beside { span: (first, last), years: years.len(), region: (rise / run).exp_m1(), against: slope.into(), limits, worse: slope.falling() })
}
