//! A worked lek beside leks where nothing was done: the ratio of ratios.
//!
//! Every lek has a level, every spring a level shared by all, and the worked lek one term more for the springs after the work: its
//! coefficient is the logarithm of the ratio at the lek over the ratio at the others, good and bad years taken out. Where every lek was
//! counted every spring it is that of the two-by-two table of sums, and so is its error (Woolf 1955, Annals of Human Genetics 19, from memory).
//!
//! Two kinds of limits: `by_year` takes single counts to scatter about the shared springs (Pearson's dispersion, never below 1,
//! Student's t); `by_lek` takes each comparison lek to drift its own way, and asks how far the worked one lies from the rest (Student's t of
//! one new case). With two comparison leks or more the wider of the two stands; with one, nothing is claimed.

use super::Ask;
use super::ratio::Side;
use crate::detection::Interval;
use crate::trend::glm::{Family, Frame, NoFit, fit};
use crate::trend::limits::Slope;
use crate::trend::table::{Count, years_of};
use serde::Serialize;
use std::collections::BTreeSet;
use std::fmt;

/// The ratio at a worked lek over that at the others.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Beside {
    /// Comparison leks.
    pub leks: usize,
    /// Their counts before.
    pub before: Side,
    /// Their counts after.
    pub after: Side,
    /// The counts of each, before and after.
    #[serde(skip)]
    pub each: Vec<[Side; 2]>,
    /// Limits of counts that scatter about springs shared by all.
    pub by_year: Interval,
    /// Limits of leks that drift each its own way; `None` with fewer than two comparison leks.
    pub by_lek: Option<Interval>,
    /// The limits the verdict stands on.
    pub limits: Interval,
    /// Which of them those are.
    pub stands_on: StandsOn,
    /// Variance over mean of counts about lek and spring; `None` where no count is left over to see it by.
    pub dispersion: Option<f64>,
}

/// Which limits a verdict stands on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum StandsOn {
    /// Counts about shared springs.
    ByYear,
    /// Leks that drift.
    ByLek,
}

/// Why there is no comparison.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case", tag = "why")]
pub enum NoComparison {
    /// The worked lek was not counted on both sides, or held no cock on one of them.
    LekNotCounted,
    /// No lek without work was counted on both sides with a cock.
    NoLeks,
    /// The counts do not tell it.
    NoFit {
        /// Why.
        fit: NoFit,
    },
}

impl fmt::Display for NoComparison {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NoComparison::LekNotCounted => write!(f, "the lek has no springs with a cock on both sides of the work"),
            NoComparison::NoLeks => write!(f, "no lek without work was counted with a cock both before and after"),
            NoComparison::NoFit { fit } => write!(f, "{fit}"),
        }
    }
}

/// The worked lek, number 0 of the counts, beside the others; counts are sorted by lek and year.
///
/// Errors: why there is no comparison.
pub fn beside(counts: &[Count], after: impl Fn(i32) -> bool, ask: &Ask) -> Result<Beside, NoComparison> {
    let sides = |lek: usize| {
        let mut sides = [Side::default(); 2];
        for c in counts.iter().filter(|c| c.lek == lek) {
            let side = &mut sides[usize::from(after(c.year))];
            side.years += 1;
            side.cocks += c.cocks;
        }
        sides
    };
    let [was, is] = sides(0);
    if was.cocks == 0 || is.cocks == 0 {
        return Err(NoComparison::LekNotCounted);
    }
    let others: BTreeSet<usize> = counts.iter().map(|c| c.lek).filter(|l| *l > 0).collect();
    let kept: Vec<(usize, [Side; 2])> = others.into_iter().map(|l| (l, sides(l))).filter(|(_, [b, a])| b.years > 0 && a.years > 0 && b.cocks + a.cocks > 0).collect();
    let all = |at: usize| kept.iter().fold(Side::default(), |sum, (_, s)| Side { years: sum.years + s[at].years, cocks: sum.cocks + s[at].cocks });
    let (before, later) = (all(0), all(1));
    if before.cocks == 0 || later.cocks == 0 {
        return Err(NoComparison::NoLeks);
    }
    let used: Vec<Count> = counts.iter().filter(|c| c.lek == 0 || kept.iter().any(|(l, _)| *l == c.lek)).copied().collect();
    let (slope, dispersion) = shared_springs(&used, &after, ask.level).map_err(|fit| NoComparison::NoFit { fit })?;
    let by_year = of(&slope);
    let logs: Vec<f64> = kept.iter().map(|(_, s)| log_ratio(s)).collect();
    let by_lek = one_more(log_ratio(&[was, is]), &logs, ask.level).map(|s| of(&s));
    let wide = |i: &Interval| (i.high / i.low).ln();
    let drifting = by_lek.filter(|l| wide(l) > wide(&by_year));
    Ok(Beside {
        leks: kept.len(),
        before,
        after: later,
        each: kept.iter().map(|(_, sides)| *sides).collect(),
        by_year,
        by_lek,
        limits: drifting.unwrap_or(by_year),
        stands_on: if drifting.is_some() { StandsOn::ByLek } else { StandsOn::ByYear },
        dispersion,
    })
}

fn of(slope: &Slope) -> Interval {
    Interval { value: slope.value.exp(), low: slope.lo.exp(), high: slope.hi.exp() }
}

/// The term of the worked lek after the work, and the dispersion.
fn shared_springs(counts: &[Count], after: impl Fn(i32) -> bool, level: f64) -> Result<(Slope, Option<f64>), NoFit> {
    // A spring without a cock anywhere says nothing of who had more.
    let held: BTreeSet<i32> = counts.iter().filter(|c| c.cocks > 0).map(|c| c.year).collect();
    let counts: Vec<&Count> = counts.iter().filter(|c| held.contains(&c.year)).collect();
    let years = years_of(&counts.iter().map(|c| **c).collect::<Vec<_>>());
    let mut frame = Frame::new(years.len(), true);
    for (at, c) in counts.iter().enumerate() {
        // The first spring has no column; column 0 is the term asked for.
        let spring = years.binary_search(&c.year).ok().filter(|k| *k > 0).map(|k| (k, 1.0));
        frame.push(f64::from(c.cocks), (c.lek == 0 && after(c.year)).then_some((0, 1.0)).into_iter().chain(spring));
        if counts.get(at + 1).is_none_or(|next| next.lek != c.lek) {
            frame.close_group();
        }
    }
    let fitted = fit(&frame, Family::Poisson, None)?;
    let se = fitted.covariance().ok_or(NoFit::NotTold)?.at(0, 0).sqrt();
    let dispersion = fitted.dispersion(&frame);
    let df = dispersion.map(|_| frame.degrees_of_freedom() as f64);
    let slope = Slope::wald(fitted.coefficient[0], se * dispersion.unwrap_or(1.0).max(1.0).sqrt(), df, level);
    if slope.se.is_finite() { Ok((slope, dispersion)) } else { Err(NoFit::NotTold) }
}

/// Logarithm of a lek's ratio, half a cock added to each sum so that none is no infinity.
fn log_ratio([before, after]: &[Side; 2]) -> f64 {
    let mean = |s: &Side| (f64::from(s.cocks) + 0.5) / f64::from(s.years);
    (mean(after) / mean(before)).ln()
}

/// How far one new case lies from others: the difference from their mean, Student's t. `None` with fewer than two others.
fn one_more(case: f64, others: &[f64], level: f64) -> Option<Slope> {
    let n = others.len() as f64;
    let mean = others.iter().sum::<f64>() / n;
    let variance = others.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / (n - 1.0);
    (others.len() >= 2).then(|| Slope::wald(case - mean, (variance * (1.0 + 1.0 / n)).sqrt(), Some(n - 1.0), level))
}
