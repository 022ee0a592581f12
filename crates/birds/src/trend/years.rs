//! A level for each year: the index, and what any smoother shape's years are held against.

use super::IndexYear;
use super::glm::{Family, Fit, NoFit, fit};
use super::limits::deviations;
use super::shape::{Shape, frame};
use super::table::{Count, place, years_of};

/// What was counted in one year.
#[derive(Clone, Copy, Debug)]
pub(super) struct Year {
    pub year: i32,
    pub leks: usize,
    pub counted: u64,
    /// Fitted cocks of the leks counted, at the level of the first year held.
    seen: f64,
}

/// The years of some counts, each at its own level.
pub(super) struct Years {
    /// Every year counted, in order.
    pub all: Vec<Year>,
    /// Years with a cock, in order.
    pub held: Vec<i32>,
    /// The levels of the years held against the first of them: those of years without a cock run to minus infinity, and bear on no
    /// other.
    fit: Result<Fit, NoFit>,
    degrees_of_freedom: usize,
    dispersion: Option<f64>,
}

impl Years {
    pub fn of(counts: &[Count]) -> Self {
        let years = years_of(counts);
        let mut all: Vec<Year> = years.iter().map(|&year| Year { year, leks: 0, counted: 0, seen: 0.0 }).collect();
        let mut at = 0;
        for c in counts {
            at = place(&years, c.year, at).unwrap_or_else(|at| at);
            all[at].leks += 1;
            all[at].counted += u64::from(c.cocks);
        }
        let held: Vec<i32> = all.iter().filter(|y| y.counted > 0).map(|y| y.year).collect();
        let some: Vec<Count>;
        let kept = if held.len() == all.len() {
            counts
        } else {
            some = counts.iter().filter(|c| held.binary_search(&c.year).is_ok()).copied().collect();
            &some
        };
        let laid = frame(kept, &Shape::Years { years: held.clone() }, |_| 0.0);
        let fit = fit(&laid, Family::Poisson, None);
        let dispersion = fit.as_ref().ok().and_then(|f| f.dispersion(&laid));
        if let Ok(fit) = &fit {
            let seen = laid.sums_by_kind(&fit.level.iter().map(|l| l.exp()).collect::<Vec<_>>());
            all.iter_mut().filter(|y| y.counted > 0).zip(seen).for_each(|(y, seen)| y.seen = seen);
        }
        Self { all, held, fit, degrees_of_freedom: laid.degrees_of_freedom(), dispersion }
    }

    /// Years in which nobody saw a cock anywhere.
    pub fn empty(&self) -> Vec<i32> {
        self.all.iter().filter(|y| y.counted == 0).map(|y| y.year).collect()
    }

    /// What was counted in a year; `None` where it is not among them.
    pub fn at(&self, year: i32) -> Option<&Year> {
        self.all.binary_search_by_key(&year, |y| y.year).ok().map(|at| &self.all[at])
    }

    /// How whole years scatter about a fitted shape, and the degrees of freedom of that: the deviance that a level for every year takes
    /// away, over the years less the shape's parameters. `None` where no year is left over or years have no fit.
    pub fn scatter(&self, deviance: f64, parameters: usize) -> Option<(f64, f64)> {
        let df = self.all.len().checked_sub(parameters + 1).filter(|df| *df > 0)? as f64;
        let full = self.fit.as_ref().ok()?;
        Some(((deviance - full.deviance).max(0.0) / df, df))
    }

    /// The index against a base year held, and totals.
    pub fn index(&self, base: i32, level: f64) -> Result<Vec<IndexYear>, NoFit> {
        let fitted = self.fit.as_ref().map_err(|e| *e)?;
        let covariance = fitted.covariance().ok_or(NoFit::NotTold)?;
        // Never narrower than by chance alone.
        let spread = self.dispersion.unwrap_or(1.0).max(1.0);
        let deviations = deviations(level, self.dispersion.map(|_| self.degrees_of_freedom as f64));
        let all_leks: f64 = fitted.level.iter().map(|l| l.exp()).sum();
        // The first year held has no column.
        let column = |year: i32| self.held.binary_search(&year).ok().and_then(|at| at.checked_sub(1));
        let log_of = |year: i32| column(year).map_or(0.0, |c| fitted.coefficient[c]);
        let shared = |a: Option<usize>, b: Option<usize>| a.zip(b).map_or(0.0, |(a, b)| covariance.at(a, b));
        let of = |y: &Year| {
            let (log, reach) = if y.counted == 0 {
                (f64::NEG_INFINITY, None)
            } else {
                let (here, there) = (column(y.year), column(base));
                let variance = shared(here, here) + shared(there, there) - 2.0 * shared(here, there);
                (log_of(y.year) - log_of(base), (y.year != base).then(|| deviations * (variance * spread).sqrt()))
            };
            let missed = if y.counted == 0 { 0.0 } else { (all_leks - y.seen).max(0.0) * log_of(y.year).exp() };
            IndexYear {
                year: y.year,
                value: log.exp(),
                lo: reach.map(|r| (log - r).exp()),
                hi: reach.map(|r| (log + r).exp()),
                leks: y.leks,
                counted: y.counted,
                total: y.counted as f64 + missed,
            }
        };
        Ok(self.all.iter().map(of).collect())
    }
}
