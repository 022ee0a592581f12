//! Trends of lek counts: how numbers of displaying cocks ran over the years, and how sure that is.
//!
//! Model: the count of a lek in a year is log-linear in a level of the lek and a term of the year, Poisson with whatever
//! more scatter the counts show, and years in which a lek was not counted are simply missing (ter Braak, van Strien, Meijer
//! & Verstrael 1994, from memory). The year's term is a line ([`Trend::annual_change`]), a line with bends, a smooth curve,
//! or a level for each year (the index).
//!
//! - [`table`]: counts by lek and year, sorted out
//! - [`glm`], [`negbin`]: the fits; [`normal`]: their normal equations
//! - [`shape`]: lines, bends, curves, years
//! - [`limits`]: limits, six ways
//! - [`bends`]: where the line bends
//! - [`region`]: beside a region's index
//! - [`words`]: the verdict

pub mod bends;
pub mod glm;
pub mod limits;
pub mod negbin;
pub mod normal;
pub mod region;
pub mod shape;
pub mod table;
pub mod words;

use glm::{Family, Fit, Frame, NoFit, fit};
use limits::{Limits, Slope, profile, quantile};
use negbin::{NegBin, NoNegBin, fit_negbin};
use serde::Serialize;
use shape::{Shape, frame, without_empty_years};
use std::fmt;
use std::sync::OnceLock;
use table::{Count, Table, years_of};

/// What is asked of a trend.
#[derive(Clone, Debug, PartialEq)]
pub struct Ask {
    /// Share of limits, above 0 and below 1.
    pub level: f64,
    /// Limits that the verdict stands on.
    pub limits: Limits,
    /// Year whose index is 1; the first with a bird when left out.
    pub base: Option<i32>,
    /// Years at which the line bends; `None`: looked for.
    pub bends: Option<Vec<i32>>,
    /// Degrees of freedom of the smooth curve; three tenths of the years when left out, at least 2.
    pub smooth_df: Option<usize>,
}

impl Default for Ask {
    fn default() -> Self {
        Self { level: 0.9, limits: Limits::default(), base: None, bends: None, smooth_df: None }
    }
}

/// Why no trend can be drawn.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NoTrend {
    /// No lek ever held a cock.
    NoBirds,
    /// Counts of one year, or of none.
    TooFewYears(Vec<i32>),
    /// The year asked for as base holds no bird or no count.
    NoBase {
        /// Asked for.
        asked: i32,
        /// Years that may be.
        may_be: Vec<i32>,
    },
    /// A bend outside the years, or at their edge.
    NoBend {
        /// Asked for.
        asked: i32,
        /// First year that may be.
        first: i32,
        /// Last year that may be.
        last: i32,
    },
    /// The fit failed.
    NoFit(NoFit),
}

impl fmt::Display for NoTrend {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NoTrend::NoBirds => f.write_str("no lek was ever counted with a cock; needed: counts of two years or more. Hint: `counts FILE import` brings counts in"),
            NoTrend::TooFewYears(years) => match years.as_slice() {
                [] => f.write_str("there is no valid count; needed: counts of two years or more"),
                years => write!(f, "counts of {} only; needed: counts of two years or more", words::list_of_years(years)),
            },
            NoTrend::NoBase { asked, may_be } => write!(f, "the index cannot start from {asked}: no cock was counted that year; needed: one of {}", words::list_of_years(may_be)),
            NoTrend::NoBend { asked, first, last } => write!(f, "the line cannot bend in {asked}; needed: a year from {first} to {last}"),
            NoTrend::NoFit(why) => write!(f, "no trend can be drawn: {why}"),
        }
    }
}

impl std::error::Error for NoTrend {}

impl From<NoFit> for NoTrend {
    fn from(why: NoFit) -> Self {
        NoTrend::NoFit(why)
    }
}

/// A share with its limits: 0.05 is five per cent up in a year.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Change {
    /// Change in a year.
    pub value: f64,
    /// Lower limit.
    pub lo: f64,
    /// Upper limit.
    pub hi: f64,
}

impl From<Slope> for Change {
    fn from(s: Slope) -> Self {
        Self { value: s.value.exp_m1(), lo: s.lo.exp_m1(), hi: s.hi.exp_m1() }
    }
}

/// The index of one year: numbers as a multiple of the base year's.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct IndexYear {
    /// Year.
    pub year: i32,
    /// Index.
    pub value: f64,
    /// Lower limit; missing in the base year and in a year without a bird.
    pub lo: Option<f64>,
    /// Upper limit.
    pub hi: Option<f64>,
    /// Leks counted.
    pub leks: usize,
    /// Cocks counted.
    pub counted: u64,
    /// Cocks at all leks: counted where counted, fitted where not.
    pub total: f64,
}

/// One kind of limits of the annual change, or why there is none.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ByKind {
    /// Kind.
    pub limits: Limits,
    /// The slope.
    pub slope: Option<Slope>,
    /// As a change in a year.
    pub annual_change: Option<Change>,
    /// Why there is none.
    pub why_not: Option<String>,
}

/// The change of numbers taken apart: how many leks, and how many cocks at each.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Split {
    /// Change in a year of the number of leks in use.
    pub leks: Option<Change>,
    /// Change in a year of the cocks at a lek in use.
    pub cocks_a_lek: Option<Change>,
    /// Leks in use in the first and the last year, as fitted.
    pub leks_in_use: Option<(f64, f64)>,
}

/// A trend.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Trend {
    /// First and last year.
    pub span: (i32, i32),
    /// Leks the trend is drawn from.
    pub leks: usize,
    /// Counts it is drawn from.
    pub counts: usize,
    /// Leks counted but never with a cock.
    pub empty_leks: Vec<String>,
    /// Leks counted in one year only.
    pub once: usize,
    /// Leks that no year links with the others: left out.
    pub unlinked: Vec<String>,
    /// Years in which no cock was seen anywhere.
    pub empty_years: Vec<i32>,
    /// Share of limits.
    pub level: f64,
    /// Kind of limits that stand in `annual_change`; another than asked where those cannot be had.
    pub limits: Limits,
    /// Change in a year over the whole span.
    pub annual_change: Change,
    /// Chance, judged by those limits, that numbers truly fell.
    pub falling: f64,
    /// Every kind of limits.
    pub by_kind: Vec<ByKind>,
    /// Dispersion of single counts about the line (Pearson).
    pub dispersion: Option<f64>,
    /// Dispersion of whole years about the line.
    pub dispersion_of_years: Option<f64>,
    /// Size of the negative binomial and its standard error.
    pub theta: Option<(f64, f64)>,
    /// Base year.
    pub base: i32,
    /// Year indices; empty with `no_index` saying why.
    pub index: Vec<IndexYear>,
    /// Why there is no index.
    pub no_index: Option<String>,
    /// The smooth curve, a point a year from first to last.
    pub smooth: Vec<IndexYear>,
    /// Bends of the line and the change before and after each.
    pub bends: Vec<bends::Bend>,
    /// Number of leks and cocks at a lek.
    pub split: Split,
}

/// A line fitted to counts, with what its limits stand on.
pub(crate) struct Line {
    pub frame: Frame,
    pub fit: Fit,
    pub se: f64,
    /// Scatter of years about the line, and its degrees of freedom.
    pub years: Option<(f64, f64)>,
    /// The negative binomial fit, made when first asked for.
    negbin: OnceLock<Result<NegBin, NoNegBin>>,
}

/// Fit a line to counts with a known part of each year's logarithm.
pub(crate) fn line(counts: &[Count], known: impl Fn(i32) -> f64) -> Result<Line, NoFit> {
    let years: Vec<i32> = years_of(counts);
    let from = years.first().copied().unwrap_or_default();
    let frame = frame(counts, &Shape::Line { from, bends: Vec::new() }, &known);
    let fitted = fit(&frame, Family::Poisson, None)?;
    let se = fitted.covariance().ok_or(NoFit::NotTold)?.at(0, 0).sqrt();
    let years = scatter_of_years(counts, fitted.deviance, 1, known);
    Ok(Line { frame, fit: fitted, se, years, negbin: OnceLock::new() })
}

/// How whole years scatter about a fitted shape: the deviance that a level for every year takes away, over the years less
/// the shape's parameters. `None` where no year is left over or years have no fit.
pub(crate) fn scatter_of_years(counts: &[Count], deviance: f64, parameters: usize, known: impl Fn(i32) -> f64) -> Option<(f64, f64)> {
    let (held, empty) = without_empty_years(counts);
    let years = years_of(&held);
    let df = (years.len() + empty.len()).checked_sub(parameters + 1).filter(|df| *df > 0)? as f64;
    let full = fit(&frame(&held, &Shape::Years { years }, known), Family::Poisson, None).ok()?;
    Some(((deviance - full.deviance).max(0.0) / df, df))
}

impl Line {
    fn negbin(&self) -> &Result<NegBin, NoNegBin> {
        self.negbin.get_or_init(|| fit_negbin(&self.frame))
    }

    pub(crate) fn slope(&self, kind: Limits, level: f64) -> Result<Slope, String> {
        let value = self.fit.coefficient[0];
        let df = self.frame.degrees_of_freedom();
        let dispersion = || self.fit.dispersion(&self.frame).ok_or("as many leks and years as counts: nothing is left to see scatter by".to_string());
        match kind {
            Limits::Poisson => Ok(Slope::wald(value, self.se, None, level)),
            Limits::Quasi => Ok(Slope::wald(value, self.se * dispersion()?.sqrt(), Some(df as f64), level)),
            Limits::Profile => {
                let dispersion = dispersion()?;
                let (lo, hi) = profile(&self.frame, Family::Poisson, &self.fit, 0, dispersion, level).map_err(|e| e.to_string())?;
                Ok(Slope { value, se: self.se * dispersion.sqrt(), lo, hi, df: None })
            }
            Limits::NegBin => {
                let with = self.negbin().as_ref().map_err(ToString::to_string)?;
                let se = with.fit.covariance().ok_or(NoFit::NotTold.to_string())?.at(0, 0).sqrt();
                Ok(Slope::wald(with.fit.coefficient[0], se, None, level))
            }
            Limits::ByLek => {
                let leks = self.frame.groups();
                let covariance = self.fit.covariance_by_group(&self.frame, true).ok_or("there are too few leks or counts")?;
                Ok(Slope::wald(value, covariance.at(0, 0).sqrt(), Some(leks as f64 - 1.0), level))
            }
            Limits::ByYear => {
                let (scatter, df) = self.years.ok_or("there are too few years, or they are not linked by leks counted in both")?;
                Ok(Slope::wald(value, self.se * scatter.sqrt(), Some(df), level))
            }
        }
    }
}

/// Draw a trend.
///
/// Errors: [`NoTrend`].
pub fn trend(table: &Table, ask: &Ask) -> Result<Trend, NoTrend> {
    let sorted = table.sort_out();
    let counts = &sorted.used;
    if counts.is_empty() {
        return Err(if table.counts.is_empty() { NoTrend::TooFewYears(Vec::new()) } else { NoTrend::NoBirds });
    }
    let years = years_of(counts);
    let (&[first, .., last], Some(_)) = (years.as_slice(), years.get(1)) else { return Err(NoTrend::TooFewYears(years)) };
    let (held, empty_years) = without_empty_years(counts);
    let held_years = years_of(&held);
    let base = match ask.base {
        Some(asked) if !held_years.contains(&asked) => return Err(NoTrend::NoBase { asked, may_be: held_years }),
        Some(asked) => asked,
        None => held_years[0],
    };
    let line = line(counts, |_| 0.0)?;
    let by_kind: Vec<ByKind> = Limits::ALL
        .into_iter()
        .map(|limits| match line.slope(limits, ask.level) {
            Ok(slope) if slope.se.is_finite() => ByKind { limits, slope: Some(slope), annual_change: Some(slope.into()), why_not: None },
            Ok(_) => ByKind { limits, slope: None, annual_change: None, why_not: Some("it cannot be told from these counts".to_string()) },
            Err(why) => ByKind { limits, slope: None, annual_change: None, why_not: Some(why) },
        })
        .collect();
    let had = |kind: Limits| by_kind.iter().find(|k| k.limits == kind).and_then(|k| k.slope).map(|s| (kind, s));
    let (limits, slope) = had(ask.limits).or_else(|| had(Limits::Quasi)).or_else(|| had(Limits::Poisson)).ok_or(NoFit::NotTold)?;
    let dispersion = line.fit.dispersion(&line.frame);
    let spread = dispersion.unwrap_or(1.0);
    let df = dispersion.map(|_| line.frame.degrees_of_freedom() as f64);
    let leks = counts.iter().map(|c| c.lek).collect::<std::collections::BTreeSet<_>>().len();
    let (index, no_index) = match index(counts, &held, base, &empty_years, ask.level) {
        Ok(index) => (index, None),
        Err(why) => (Vec::new(), Some(why.to_string())),
    };
    let theta = line.negbin().as_ref().ok().map(|n| (n.theta, n.se_theta));
    Ok(Trend {
        span: (first, last),
        leks,
        counts: counts.len(),
        empty_leks: sorted.empty.clone(),
        once: sorted.once,
        unlinked: sorted.unlinked.clone(),
        level: ask.level,
        limits,
        annual_change: slope.into(),
        falling: slope.falling(),
        dispersion,
        dispersion_of_years: line.years.map(|y| y.0),
        theta,
        base,
        index,
        no_index,
        smooth: smooth(counts, base, ask, spread, df),
        bends: bends::bends(counts, &line, ask)?,
        split: split(counts, first, last, ask),
        empty_years,
        by_kind,
    })
}

/// A level for each year, against the base year's, and totals.
fn index(counts: &[Count], held: &[Count], base: i32, empty_years: &[i32], level: f64) -> Result<Vec<IndexYear>, NoFit> {
    let years = years_of(held);
    // The base year has no column: the others are told against it.
    let of_years = frame_of_years(held, &years, base);
    let fitted = fit(&of_years.0, Family::Poisson, None)?;
    let spread = fitted.dispersion(&of_years.0);
    let df = spread.map(|_| of_years.0.degrees_of_freedom() as f64);
    let covariance = fitted.covariance().ok_or(NoFit::NotTold)?;
    // Levels of the leks at hand: groups follow the counts' order.
    let mut leks: Vec<usize> = held.iter().map(|c| c.lek).collect();
    leks.dedup();
    let all_levels: f64 = fitted.level.iter().map(|l| l.exp()).sum();
    let mut all: Vec<IndexYear> = Vec::new();
    for year in years.iter().chain(empty_years) {
        let here: Vec<&Count> = counts.iter().filter(|c| c.year == *year).collect();
        let counted: u64 = here.iter().map(|c| u64::from(c.cocks)).sum();
        let column = of_years.1.iter().position(|y| y == year);
        let (log, se) = match column {
            Some(c) => (fitted.coefficient[c], Some((covariance.at(c, c) * spread.unwrap_or(1.0)).sqrt())),
            None if *year == base => (0.0, None),
            None => (f64::NEG_INFINITY, None),
        };
        let reach = se.map(|s| s * quantile(0.5 + level / 2.0, df));
        let seen: f64 = here.iter().filter_map(|c| leks.binary_search(&c.lek).ok()).map(|at| fitted.level[at].exp()).sum();
        all.push(IndexYear {
            year: *year,
            value: log.exp(),
            lo: reach.map(|r| (log - r).exp()),
            hi: reach.map(|r| (log + r).exp()),
            leks: here.len(),
            counted,
            total: counted as f64 + (all_levels - seen).max(0.0) * log.exp(),
        });
    }
    all.sort_by_key(|y| y.year);
    Ok(all)
}

/// Counts in columns of years other than the base; the columns' years beside.
fn frame_of_years(held: &[Count], years: &[i32], base: i32) -> (Frame, Vec<i32>) {
    let columns: Vec<i32> = years.iter().copied().filter(|y| *y != base).collect();
    let mut laid = Frame::new(columns.len(), true);
    for (at, c) in held.iter().enumerate() {
        laid.push(f64::from(c.cocks), columns.binary_search(&c.year).ok().map(|k| (k, 1.0)));
        if held.get(at + 1).is_none_or(|next| next.lek != c.lek) {
            laid.close_group();
        }
    }
    (laid, columns)
}

/// A smooth curve through the years; empty where there are too few or it has no fit.
fn smooth(counts: &[Count], base: i32, ask: &Ask, spread: f64, df: Option<f64>) -> Vec<IndexYear> {
    let years = years_of(counts);
    let (first, last) = (years[0], years[years.len() - 1]);
    let freedom = ask.smooth_df.unwrap_or((years.len() * 3).div_ceil(10)).max(2);
    if freedom + 1 >= years.len() {
        return Vec::new();
    }
    let shape = Shape::smooth(first, last, freedom);
    let Ok(fitted) = fit(&frame(counts, &shape, |_| 0.0), Family::Poisson, None) else { return Vec::new() };
    let Some(covariance) = fitted.covariance() else { return Vec::new() };
    // The scatter of years about the curve where it can be had: neighbouring counts share their year's luck.
    let (spread, df) = scatter_of_years(counts, fitted.deviance, freedom, |_| 0.0).map_or((spread, df), |(s, d)| (s, Some(d)));
    let total: f64 = fitted.level.iter().map(|l| l.exp()).sum();
    let at_base = shape.whole_row(base);
    (first..=last)
        .map(|year| {
            let row: Vec<f64> = shape.whole_row(year).iter().zip(&at_base).map(|(a, b)| a - b).collect();
            let log: f64 = row.iter().zip(&fitted.coefficient).map(|(x, b)| x * b).sum();
            let whole: f64 = shape.whole_row(year).iter().zip(&fitted.coefficient).map(|(x, b)| x * b).sum();
            let reach = (covariance.form(&row) * spread).sqrt() * quantile(0.5 + ask.level / 2.0, df);
            let here = || counts.iter().filter(|c| c.year == year);
            IndexYear {
                year,
                value: log.exp(),
                lo: (year != base).then_some((log - reach).exp()),
                hi: (year != base).then_some((log + reach).exp()),
                leks: here().count(),
                counted: here().map(|c| u64::from(c.cocks)).sum(),
                total: total * whole.exp(),
            }
        })
        .collect()
}

/// Leks in use, and cocks at those in use: the same line fitted to presence (a Poisson working model of yes and no, after
/// Zou 2004, from memory) and to the counts above zero. Their changes in a year multiply to about the whole one.
fn split(counts: &[Count], first: i32, last: i32, ask: &Ask) -> Split {
    let change = |counts: &[Count]| -> Option<(Change, Line)> {
        let line = line(counts, |_| 0.0).ok()?;
        let slope = line.slope(ask.limits, ask.level).or_else(|_| line.slope(Limits::Quasi, ask.level)).ok()?;
        slope.se.is_finite().then_some((slope.into(), line))
    };
    let presence: Vec<Count> = counts.iter().map(|c| Count { cocks: c.cocks.min(1), ..*c }).collect();
    let used: Vec<Count> = counts.iter().filter(|c| c.cocks > 0).copied().collect();
    let leks = change(&presence);
    let leks_in_use = leks.as_ref().map(|(_, line)| {
        let at_first: f64 = line.fit.level.iter().map(|l| l.exp()).sum();
        (at_first, at_first * (line.fit.coefficient[0] * f64::from(last - first)).exp())
    });
    Split { leks: leks.map(|(c, _)| c), cocks_a_lek: change(&used).map(|(c, _)| c), leks_in_use }
}
