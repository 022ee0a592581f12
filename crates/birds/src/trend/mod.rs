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
//! - `years`: a level for each year, and the index
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
mod years;

use bends::Looking;
use glm::{Family, Fit, Frame, NoFit, fit};
use guidance::{Country, Guidance, Unknown};
use limits::{Limits, Slope, deviations, profile};
use negbin::{NegBin, NoNegBin, fit_negbin_from};
use serde::Serialize;
use shape::{Shape, frame};
use std::fmt;
use std::sync::OnceLock;
use table::{Count, Table, years_of};
use years::Years;

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
    /// How bends are looked for.
    pub looking: Looking,
    /// Degrees of freedom of the smooth curve as a share of the years; at least 2 are taken.
    pub smooth_share: f64,
}

impl Ask {
    /// What is usually asked.
    ///
    /// Errors: a key that guidance does not hold.
    pub fn usual(guidance: &Guidance, country: Country) -> Result<Self, Unknown> {
        Ok(Self {
            level: guidance.number("trend.certainty", country)? / 100.0,
            limits: Limits::default(),
            base: None,
            bends: None,
            looking: Looking::of(guidance, country)?,
            smooth_share: guidance.number("trend.smooth.share", country)?,
        })
    }
}

/// Why no trend can be drawn.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NoTrend {
    /// No lek ever held a cock.
    NoBirds,
    /// Counts of one year, or of none.
    TooFewYears(Vec<i32>),
    /// The leks and the region they are set beside have fewer than two years in common.
    TooFewShared {
        /// Years in both.
        both: Vec<i32>,
        /// First and last year the leks were counted.
        leks: (i32, i32),
        /// First and last year of the region's index.
        region: (i32, i32),
    },
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
            NoTrend::NoBirds => f.write_str("no lek was ever counted with a cock; needed: counts of two years or more with a cock in them. Hint: `counts FILE import` brings counts in"),
            NoTrend::TooFewYears(years) => match years.as_slice() {
                [] => f.write_str("there is no valid count; needed: counts of two years or more"),
                years => write!(f, "counts of {} only; needed: counts of two years or more", words::list_of_years(years)),
            },
            NoTrend::TooFewShared { both, leks, region } => {
                let there = if both.is_empty() { "no year is".to_string() } else { format!("only {} is", words::list_of_years(both)) };
                write!(f, "{there} both in the counts ({} to {}) and in the region's index ({} to {}); needed: two years or more in both", leks.0, leks.1, region.0, region.1)
            }
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
    /// Whether limits of that kind came out narrower than chance alone allows, so that Poisson's stand in `annual_change`.
    pub widened: bool,
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
    /// How bends were looked for; missing where they were given.
    pub looked: Option<Looking>,
    /// Number of leks and cocks at a lek.
    pub split: Split,
}

impl Trend {
    /// The annual change by limits of a kind; `None` where there are none.
    fn change_by(&self, kind: Limits) -> Option<Change> {
        self.by_kind.iter().find(|k| k.limits == kind)?.annual_change
    }
}

/// A line fitted to counts, with what its limits stand on.
pub(crate) struct Line {
    pub frame: Frame,
    pub fit: Fit,
    pub se: f64,
    /// The years each for itself.
    years: Years,
    /// The negative binomial fit, made when first asked for.
    negbin: OnceLock<Result<NegBin, NoNegBin>>,
}

/// Fit a line to counts with a known part of each year's logarithm.
pub(crate) fn line(counts: &[Count], known: impl Fn(i32) -> f64) -> Result<Line, NoFit> {
    let years = Years::of(counts);
    let from = years.all.first().map(|y| y.year).unwrap_or_default();
    let frame = frame(counts, &Shape::Line { from, bends: Vec::new() }, &known);
    let fitted = fit(&frame, Family::Poisson, None)?;
    let se = fitted.covariance().ok_or(NoFit::NotTold)?.at(0, 0).sqrt();
    Ok(Line { frame, fit: fitted, se, years, negbin: OnceLock::new() })
}

impl Line {
    fn negbin(&self) -> &Result<NegBin, NoNegBin> {
        self.negbin.get_or_init(|| fit_negbin_from(&self.frame, &self.fit))
    }

    /// The line's counts in another shape.
    fn in_shape(&self, shape: &Shape) -> Frame {
        self.frame.reshaped(shape.columns(), self.years.all.iter().map(|y| shape.row(y.year)))
    }

    /// How whole years scatter about the line, and the degrees of freedom of that.
    fn scatter(&self) -> Option<(f64, f64)> {
        self.years.scatter(self.fit.deviance, 1)
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
                if dispersion < 1e-9 {
                    return Err("the counts do not scatter about their line at all".to_string());
                }
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
                let (scatter, df) = self.scatter().ok_or("there are too few years, or they are not linked by leks counted in both")?;
                Ok(Slope::wald(value, self.se * scatter.sqrt(), Some(df), level))
            }
        }
    }

    /// The slope a verdict may stand on ([`Standing::among`]).
    pub(crate) fn standing(&self, asked: Limits, level: f64) -> Option<Standing> {
        Standing::among(asked, |kind| self.slope(kind, level).ok().filter(|s| s.se.is_finite()))
    }
}

/// A slope that a verdict stands on.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Standing {
    /// Kind of limits.
    pub limits: Limits,
    /// The slope.
    pub slope: Slope,
    /// Whether they are Poisson's, the kind's own being narrower.
    pub widened: bool,
}

impl Standing {
    /// The slope a verdict may stand on: the first of the kinds asked, quasi and Poisson that can be had, and never narrower than
    /// Poisson's. Counts of birds do not scatter less than chance alone has it; that a short series seems to is luck, and limits drawn
    /// from that luck would claim too much.
    fn among(asked: Limits, slope: impl Fn(Limits) -> Option<Slope>) -> Option<Self> {
        let (limits, bare) = [asked, Limits::Quasi, Limits::Poisson].into_iter().find_map(|kind| slope(kind).map(|s| (kind, s)))?;
        let slope = slope(Limits::Poisson).map_or(bare, |chance| bare.no_narrower_than(chance));
        Some(Standing { limits, slope, widened: slope != bare })
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
    let line = line(counts, |_| 0.0)?;
    let held = &line.years.held;
    let base = match ask.base {
        Some(asked) if !held.contains(&asked) => return Err(NoTrend::NoBase { asked, may_be: held.clone() }),
        Some(asked) => asked,
        None => held[0],
    };
    let by_kind: Vec<ByKind> = Limits::ALL
        .into_iter()
        .map(|limits| match line.slope(limits, ask.level) {
            Ok(slope) if slope.se.is_finite() => ByKind { limits, slope: Some(slope), annual_change: Some(slope.into()), why_not: None },
            Ok(_) => ByKind { limits, slope: None, annual_change: None, why_not: Some("it cannot be told from these counts".to_string()) },
            Err(why) => ByKind { limits, slope: None, annual_change: None, why_not: Some(why) },
        })
        .collect();
    let slope_of = |kind: Limits| by_kind.iter().find(|k| k.limits == kind).and_then(|k| k.slope);
    let Standing { limits, slope, widened } = Standing::among(ask.limits, slope_of).ok_or(NoFit::NotTold)?;
    let dispersion = line.fit.dispersion(&line.frame);
    // Limits told are never narrower than those of chance alone: counts that scatter less did so by luck.
    let spread = dispersion.unwrap_or(1.0).max(1.0);
    let df = dispersion.map(|_| line.frame.degrees_of_freedom() as f64);
    let (index, no_index) = match line.years.index(base, ask.level) {
        Ok(index) => (index, None),
        Err(why) => (Vec::new(), Some(why.to_string())),
    };
    let theta = line.negbin().as_ref().ok().map(|n| (n.theta, n.se_theta));
    Ok(Trend {
        span: (first, last),
        leks: line.frame.groups(),
        counts: counts.len(),
        empty_leks: sorted.empty.clone(),
        once: sorted.once,
        unlinked: sorted.unlinked.clone(),
        level: ask.level,
        limits,
        widened,
        annual_change: slope.into(),
        falling: slope.falling(),
        dispersion,
        dispersion_of_years: line.scatter().map(|s| s.0),
        theta,
        base,
        index,
        no_index,
        smooth: smooth(&line, base, ask, spread, df),
        bends: bends::bends(&line, ask)?,
        looked: ask.bends.is_none().then_some(ask.looking),
        split: split(counts, first, last, ask),
        empty_years: line.years.empty(),
        by_kind,
    })
}

/// A smooth curve through the years; empty where there are too few or it has no fit.
fn smooth(line: &Line, base: i32, ask: &Ask, spread: f64, df: Option<f64>) -> Vec<IndexYear> {
    let years = &line.years;
    let (first, last) = (years.all[0].year, years.all[years.all.len() - 1].year);
    let freedom = ((years.all.len() as f64 * ask.smooth_share).ceil() as usize).max(2);
    if freedom + 1 >= years.all.len() {
        return Vec::new();
    }
    let shape = Shape::smooth(first, last, freedom);
    let Ok(fitted) = fit(&line.in_shape(&shape), Family::Poisson, None) else { return Vec::new() };
    let Some(covariance) = fitted.covariance() else { return Vec::new() };
    // The scatter of years about the curve where it can be had: neighbouring counts share their year's luck.
    let (spread, df) = years.scatter(fitted.deviance, freedom).map_or((spread, df), |(s, d)| (s.max(1.0), Some(d)));
    let deviations = deviations(ask.level, df);
    let all_leks: f64 = fitted.level.iter().map(|l| l.exp()).sum();
    let log_of = |row: &[f64]| row.iter().zip(&fitted.coefficient).map(|(x, b)| x * b).sum::<f64>();
    let at_base = shape.whole_row(base);
    (first..=last)
        .map(|year| {
            let row = shape.whole_row(year);
            let from_base: Vec<f64> = row.iter().zip(&at_base).map(|(a, b)| a - b).collect();
            let log = log_of(&from_base);
            let reach = (covariance.form(&from_base) * spread).sqrt() * deviations;
            let here = years.at(year);
            IndexYear {
                year,
                value: log.exp(),
                lo: (year != base).then_some((log - reach).exp()),
                hi: (year != base).then_some((log + reach).exp()),
                leks: here.map_or(0, |y| y.leks),
                counted: here.map_or(0, |y| y.counted),
                total: all_leks * log_of(&row).exp(),
            }
        })
        .collect()
}

/// Leks in use, and cocks at those in use: the same line fitted to presence (a Poisson working model of yes and no, after
/// Zou 2004, from memory) and to the counts above zero. Their changes in a year multiply to about the whole one.
fn split(counts: &[Count], first: i32, last: i32, ask: &Ask) -> Split {
    // Presence scatters less than Poisson by its nature, so that its own limits stand.
    let change = |counts: &[Count], presence: bool| -> Option<(Change, Line)> {
        let line = line(counts, |_| 0.0).ok()?;
        let standing = line.standing(ask.limits, ask.level)?;
        let slope = if presence { line.slope(standing.limits, ask.level).ok()? } else { standing.slope };
        Some((slope.into(), line))
    };
    let presence: Vec<Count> = counts.iter().map(|c| Count { cocks: c.cocks.min(1), ..*c }).collect();
    let used: Vec<Count> = counts.iter().filter(|c| c.cocks > 0).copied().collect();
    let leks = change(&presence, true);
    let leks_in_use = leks.as_ref().map(|(_, line)| {
        let at_first: f64 = line.fit.level.iter().map(|l| l.exp()).sum();
        (at_first, at_first * (line.fit.coefficient[0] * f64::from(last - first)).exp())
    });
    Split { leks: leks.map(|(c, _)| c), cocks_a_lek: change(&used, false).map(|(c, _)| c), leks_in_use }
}
