//! Before and after: what became of the cocks of a lek whose ground was worked, and what cannot be concluded from it.
//!
//! - [`ratio`]: cocks after over cocks before, with limits
//! - [`beside`]: the same beside leks where nothing was done
//! - [`needed`]: the counts it would take to tell
//! - [`words`]: what may be said, and what may not
//!
//! Method: before-after-control-impact (Stewart-Oaten, Murdoch & Parker 1986, Ecology 67, 929-940, from memory). Work is done
//! outside the season of display, so that the spring of the first year of work is still before it; springs between the first year of
//! work and its end are neither before nor after. One worked lek is one case: whatever its counts do, they do not say why.

pub mod beside;
pub mod needed;
pub mod ratio;
pub mod words;

use crate::detection::Interval;
use crate::trend::limits::Limits;
use crate::trend::{Change, line};
use crate::trend::table::Count;
use crate::visits::YearFigure;
use beside::{Beside, NoComparison, beside};
use needed::{Needed, needed};
use ratio::{Side, common};
use serde::Serialize;

/// Work done on ground that belongs to a lek.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Work {
    /// The measure's id.
    pub id: String,
    /// What it was, in words.
    pub what: String,
    /// First year of work.
    pub first: i32,
    /// Year it was done.
    pub done: i32,
    /// Years from then until it can be expected to show.
    pub shows_after_years: f64,
    /// Distance from the lek, metres.
    pub away_m: f64,
}

impl Work {
    /// First spring in which it can be expected to show.
    pub fn shows_from(&self) -> i32 {
        self.done + (self.shows_after_years.ceil() as i32).max(1)
    }

    /// Its years in words: `2018` or `2018 to 2019`.
    pub fn years(&self) -> String {
        if self.first == self.done { self.done.to_string() } else { format!("{} to {}", self.first, self.done) }
    }
}

/// What was expected of the work when it was planned.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Expected {
    /// Cocks after as a multiple of those before.
    pub ratio: Interval,
    /// Where that comes from.
    pub from: String,
}

/// A lek with its counts and what was done there.
#[derive(Clone, Debug, PartialEq)]
pub struct Lek {
    /// Name.
    pub name: String,
    /// Figures by year, oldest first.
    pub figures: Vec<YearFigure>,
    /// Work done within its reach; empty: nothing was.
    pub works: Vec<Work>,
    /// What was expected.
    pub expected: Option<Expected>,
}

/// How much more single counts scatter than chance alone, and how well that is known.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Scatter {
    /// Variance over mean; below 1 is taken as 1.
    pub times: f64,
    /// Degrees of freedom it stands on.
    pub df: f64,
}

/// How to read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ask {
    /// Certainty of limits, between 0 and 1.
    pub level: f64,
    /// Power at which a change counts as one that would be seen.
    pub power: f64,
    /// Fewest years counted before, and after.
    pub years_min: usize,
    /// Fewest visits that count, in a year.
    pub visits_min: usize,
    /// Comparison leks below which it is said that they are few.
    pub leks_min: usize,
    /// Scatter of counts about their trend; `None`: as chance alone.
    pub scatter: Option<Scatter>,
}

/// The springs on one side of the work.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Period {
    /// Years with a figure, oldest first.
    pub years: Vec<i32>,
    /// Cocks of each.
    pub cocks: Vec<u32>,
    /// Mean a year; `None` without a year.
    pub mean: Option<f64>,
    /// Visits made.
    pub visits: usize,
    /// Visits that count.
    pub valid: usize,
    /// Years with fewer visits that count than asked for.
    pub thin_years: Vec<i32>,
}

impl Period {
    fn of(figures: &[YearFigure], visits_min: usize, within: impl Fn(i32) -> bool) -> Self {
        let held: Vec<&YearFigure> = figures.iter().filter(|f| within(f.year)).collect();
        let counted: Vec<(&YearFigure, u32)> = held.iter().filter_map(|f| f.cocks.map(|c| (*f, c))).collect();
        let cocks: Vec<u32> = counted.iter().map(|(_, c)| *c).collect();
        Self {
            years: counted.iter().map(|(f, _)| f.year).collect(),
            mean: (!cocks.is_empty()).then(|| cocks.iter().sum::<u32>() as f64 / cocks.len() as f64),
            cocks,
            visits: held.iter().map(|f| f.visits).sum(),
            valid: held.iter().map(|f| f.valid).sum(),
            thin_years: counted.iter().filter(|(f, _)| f.valid < visits_min).map(|(f, _)| f.year).collect(),
        }
    }

    fn side(&self) -> Side {
        Side { years: self.years.len() as u32, cocks: self.cocks.iter().sum() }
    }
}

/// Cocks after over cocks before.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Times {
    /// Limits of counts that scatter as chance alone would have it (exact).
    pub poisson: Interval,
    /// Limits widened by the scatter of the counts.
    pub widened: Interval,
}

/// What the counts come to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Standing {
    /// More cocks than before, beyond chance.
    More,
    /// Fewer.
    Fewer,
    /// It cannot be told.
    CannotTell,
    /// No spring was counted before, or none after.
    NotCounted,
}

impl Standing {
    fn of(limits: &Interval) -> Self {
        match limits {
            i if i.low > 1.0 => Self::More,
            i if i.high < 1.0 => Self::Fewer,
            _ => Self::CannotTell,
        }
    }
}

/// What was expected beside what was seen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Met {
    /// What was seen and what was expected overlap.
    Fits,
    /// More was seen than expected, beyond the limits of both.
    More,
    /// Less was seen than expected, beyond the limits of both.
    Less,
}

/// The read-out of one worked lek.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ReadOut {
    /// Lek.
    pub lek: String,
    /// Work done, first things first.
    pub works: Vec<Work>,
    /// Springs before the work.
    pub before: Period,
    /// Springs after it.
    pub after: Period,
    /// Those after it in which every work could show.
    pub could_show: usize,
    /// Year from which every work could show.
    pub shows_from: i32,
    /// Year from which the first of them could.
    pub shows_first: i32,
    /// Cocks after over cocks before; `None` where there are no counts of both, or no cock in any.
    pub change: Option<Times>,
    /// Change in a year before the work, limits by the scatter of single counts; `None` where it cannot be told.
    pub running: Option<Change>,
    /// The same at the comparison leks together, each at its own level.
    pub others: Option<Times>,
    /// The lek beside them.
    pub beside: Result<Beside, NoComparison>,
    /// What the verdict stands on.
    pub standing: Standing,
    /// What was expected.
    pub expected: Option<Expected>,
    /// Whether what was seen fits it.
    pub met: Option<Met>,
    /// What it would take.
    pub needed: Option<Needed>,
}

/// The read-outs of the worked leks, in their order. Leks without work are the comparison.
pub fn read_out(leks: &[Lek], ask: &Ask) -> Vec<ReadOut> {
    leks.iter().filter(|l| !l.works.is_empty()).map(|worked| one(worked, leks, ask)).collect()
}

fn one(worked: &Lek, leks: &[Lek], ask: &Ask) -> ReadOut {
    let mut works = worked.works.clone();
    works.sort_by(|a, b| a.first.cmp(&b.first).then(a.id.cmp(&b.id)));
    let first = works.iter().map(|w| w.first).min().unwrap_or_default();
    let done = works.iter().map(|w| w.done).max().unwrap_or_default();
    let shows_from = works.iter().map(Work::shows_from).max().unwrap_or_default();
    let shows_first = works.iter().map(Work::shows_from).min().unwrap_or_default();
    let side = |year: i32| if year <= first { Some(false) } else { (year > done).then_some(true) };
    let period = |figures: &[YearFigure], after: bool| Period::of(figures, ask.visits_min, |year| side(year) == Some(after));
    let (before, after) = (period(&worked.figures, false), period(&worked.figures, true));
    let clumping = ratio::clumping(ask.scatter, ask.level);
    let change_of = |leks: &[[Side; 2]]| Some(Times { poisson: common(leks, 1.0, ask.level)?, widened: common(leks, clumping, ask.level)? });
    let change = change_of(&[[before.side(), after.side()]]);
    let comparison: Vec<&Lek> = leks.iter().filter(|l| l.works.is_empty()).collect();
    let counts: Vec<Count> = std::iter::once(worked)
        .chain(comparison.iter().copied())
        .enumerate()
        .flat_map(|(lek, l)| l.figures.iter().filter_map(move |f| f.cocks.map(|cocks| Count { lek, year: f.year, cocks })))
        .filter(|c| side(c.year).is_some())
        .collect();
    let beside = beside(&counts, |year| side(year) == Some(true), ask);
    let others = beside.as_ref().ok().and_then(|b| change_of(&b.each));
    let own: Vec<Count> = counts.iter().filter(|c| c.lek == 0 && side(c.year) == Some(false)).copied().collect();
    let running = (own.len() > 2 && before.side().cocks > 0)
        .then(|| line(&own, |_| 0.0).ok()?.slope(Limits::Quasi, ask.level).ok())
        .flatten()
        .filter(|s| s.se.is_finite() && s.se > 0.0)
        .map(Change::from);
    let standing = match (&change, &beside) {
        _ if before.years.is_empty() || after.years.is_empty() => Standing::NotCounted,
        // One lek beside does not show how far leks drift apart by themselves.
        (_, Ok(beside)) if beside.by_lek.is_none() => Standing::CannotTell,
        (_, Ok(beside)) => Standing::of(&beside.limits),
        (Some(change), Err(_)) => Standing::of(&change.widened),
        (None, Err(_)) => Standing::CannotTell,
    };
    let met = worked.expected.as_ref().zip(change).map(|(expected, change)| match (&expected.ratio, &change.widened) {
        (e, seen) if seen.low > e.high => Met::More,
        (e, seen) if seen.high < e.low => Met::Less,
        _ => Met::Fits,
    });
    let needed = needed(before.side(), after.side(), worked.expected.as_ref().map(|e| e.ratio.value), clumping, ask);
    ReadOut {
        lek: worked.name.clone(),
        could_show: after.years.iter().filter(|y| **y >= shows_from).count(),
        expected: worked.expected.clone(),
        works,
        before,
        after,
        shows_from,
        shows_first,
        change,
        running,
        others,
        beside,
        standing,
        met,
        needed,
    }
}
