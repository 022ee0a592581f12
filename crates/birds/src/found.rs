//! What visits found: each lek's figure of a year with what it probably missed, what repeated visits tell, and the broods of late summer.

use crate::detection::attendance::{self, Attendance, Cocks};
use crate::detection::mixture::{self, Fit, Mixing};
use crate::detection::{Interval, Limits};
use crate::productivity::{BreakEven, Broods, Fault, Productivity, Survival, Verdict, share};
use crate::visits::{Window, YearFigure, of_every_lek};
use chrono::{Datelike, NaiveDate};
use guidance::{Country, Draws, Guidance, Unknown};
use holding::{BroodCount, Holding, Lek, Visit};
use serde::Serialize;
use std::collections::{BTreeMap, HashMap};

/// A lek in a year.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LekYear {
    /// The lek's id.
    pub lek: String,
    /// The figure and the visits behind it.
    pub figure: YearFigure,
    /// The cocks the lek probably had; `None` without a figure.
    pub cocks: Option<Result<Cocks, attendance::Refusal>>,
}

impl LekYear {
    /// Share of the cocks missed: at the ends of the interval of their number, and as expected, or at the nearer end where that lies beyond it
    /// (a number hardly in doubt). `None` where no cock was seen or the
    /// number cannot be told.
    pub fn missed(&self) -> Option<Interval> {
        let cocks = self.cocks.as_ref()?.as_ref().ok()?;
        let of = |all: u32| 1.0 - f64::from(cocks.highest) / f64::from(all);
        let (low, high) = (of(cocks.low), of(cocks.high));
        Some(Interval { value: cocks.share_missed?.clamp(low, high), low, high })
    }
}

/// What repeated visits tell of birds and of the chance to see one.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Repeated {
    /// The year; `None`: every lek and year a place of its own.
    pub year: Option<i32>,
    /// Places with a visit that counts.
    pub places: usize,
    /// What they tell, or why they do not.
    pub fit: Result<Fit, mixture::Refusal>,
}

/// The broods of a summer.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Summer {
    /// The year; `None`: all years together.
    pub year: Option<i32>,
    /// Counts used.
    pub counts: usize,
    /// Counts that gave no number of hens or of young.
    pub unfit: usize,
    /// Counts made before or after the season of brood counts.
    pub out_of_season: Vec<NaiveDate>,
    /// Young per hen and share with broods, or what is wrong with the counts.
    pub found: Result<Productivity, Vec<Fault>>,
    /// Beside the break-even.
    pub verdict: Option<Verdict>,
    /// Share of hens with broods where the young were not counted.
    pub with_broods_alone: Option<Interval>,
}

/// All of it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Found {
    /// Leks in the plan's order, years oldest first.
    pub leks: Vec<LekYear>,
    /// How cocks are taken to come to their lek.
    pub attendance: Attendance,
    /// All years together first, then each.
    pub repeated: Vec<Repeated>,
    /// All summers together first where there are several, then each.
    pub summers: Vec<Summer>,
    /// Young per hen that hold numbers steady.
    pub break_even: Interval,
}

/// What the visits and brood counts of a plan found; limits hold with chance `level`.
///
/// - `place`: longitude and latitude of a lek, degrees, where known; else the hours of its visits are not judged
///
/// Errors: a key that guidance does not hold.
pub fn found(holding: &Holding, guidance: &Guidance, draws: &Draws, place: impl Fn(&Lek) -> Option<(f64, f64)>, level: f64) -> Result<Found, Unknown> {
    let country = holding.about.country;
    let attendance = Attendance::together(guidance, country)?;
    let figures = of_every_lek(holding, guidance, &place)?;
    let leks = holding
        .leks
        .iter()
        .zip(figures)
        .flat_map(|(lek, years)| years.into_iter().map(|figure| (lek.id.clone(), figure)))
        .map(|(lek, figure)| LekYear { lek, cocks: figure.cocks.map(|highest| attendance.cocks(highest, figure.valid as u32, level)), figure })
        .collect();
    let break_even = BreakEven::of(Survival::Modelled, guidance, draws)?;
    Ok(Found {
        leks,
        attendance,
        repeated: repeated(holding, guidance, place)?,
        summers: summers(holding, guidance, &break_even, level)?,
        break_even: break_even.limits(level),
    })
}

/// The mixture put to the visits that count, all years together and year by year.
fn repeated(holding: &Holding, guidance: &Guidance, place: impl Fn(&Lek) -> Option<(f64, f64)>) -> Result<Vec<Repeated>, Unknown> {
    let window = Window::of(guidance, holding.about.country)?;
    let limits = Limits::of(guidance, holding.about.country)?;
    let mut places: BTreeMap<(i32, &str), Vec<Option<u32>>> = BTreeMap::new();
    let mut visits: HashMap<&str, Vec<&Visit>> = HashMap::new();
    for visit in &holding.visits {
        visits.entry(&visit.lek).or_default().push(visit);
    }
    for lek in &holding.leks {
        for (visit, counts) in window.judge(visits.remove(lek.id.as_str()).unwrap_or_default(), place(lek)) {
            if let Ok(cocks) = counts {
                places.entry((visit.date.year(), lek.id.as_str())).or_default().push(Some(cocks));
            }
        }
    }
    let mut years: Vec<i32> = places.keys().map(|(year, _)| *year).collect();
    years.dedup();
    let of = |year: Option<i32>| {
        let rows: Vec<Vec<Option<u32>>> = places.iter().filter(|((y, _), _)| year.is_none_or(|year| year == *y)).map(|(_, row)| row.clone()).collect();
        Repeated { year, places: rows.len(), fit: fitted(&rows, &limits) }
    };
    let each = years.iter().map(|year| of(Some(*year)));
    Ok(if years.is_empty() { vec![] } else { std::iter::once(of(None)).chain(each).collect() })
}

/// Leks differ in size, so that the birds of places are taken to differ more than by chance; where they do not, as by chance.
fn fitted(rows: &[Vec<Option<u32>>], limits: &Limits) -> Result<Fit, mixture::Refusal> {
    match mixture::fit(rows, Mixing::NegativeBinomial, limits) {
        Err(mixture::Refusal::NoExtraSpread) => mixture::fit(rows, Mixing::Poisson, limits),
        other => other,
    }
}

/// First and last month and day of the season of brood counts.
///
/// Errors: a key that guidance does not hold.
pub fn brood_season(guidance: &Guidance, country: Country) -> Result<[(u32, u32); 2], Unknown> {
    Ok([guidance.month_day("counts.brood.first", country)?, guidance.month_day("counts.brood.last", country)?])
}

/// Whether a brood count was made inside the season, its first and last month and day.
pub fn in_season(count: &BroodCount, [first, last]: [(u32, u32); 2]) -> bool {
    (first..=last).contains(&(count.date.month(), count.date.day()))
}

/// The brood counts of all summers, and of each.
fn summers(holding: &Holding, guidance: &Guidance, break_even: &BreakEven, level: f64) -> Result<Vec<Summer>, Unknown> {
    let mut years: Vec<i32> = holding.broods.iter().map(|b| b.date.year()).collect();
    years.sort_unstable();
    years.dedup();
    let all = (years.len() > 1).then_some(None);
    all.into_iter().chain(years.into_iter().map(Some)).map(|year| summer(holding, guidance, break_even, level, year)).collect()
}

/// The brood counts of a summer, or of all together where `year` is `None`; limits hold with chance `level`.
///
/// Errors: a key that guidance does not hold.
pub fn summer(holding: &Holding, guidance: &Guidance, break_even: &BreakEven, level: f64, year: Option<i32>) -> Result<Summer, Unknown> {
    let country = holding.about.country;
    let season = brood_season(guidance, country)?;
    // Out of season young are too small to be found or gone their own way: such counts are told and left out.
    let (counts, late): (Vec<&BroodCount>, Vec<&BroodCount>) = holding.broods.iter().filter(|b| year.is_none_or(|y| y == b.date.year())).partition(|b| in_season(b, season));
    let whole: Vec<Broods> = counts.iter().filter_map(|c| Broods::of(c)).collect();
    let pooled = Broods::pooled(&whole);
    let found = match pooled.measure(level) {
        Ok(found) => Ok(found.or_usual(guidance, country, level)?),
        Err(faults) => Err(faults),
    };
    let verdict = match &found {
        Ok(found) => Some(Verdict::of(found, break_even, guidance, country, level)?),
        Err(_) => None,
    };
    let (with, hens) = counts.iter().filter_map(|c| c.hens_with_brood.zip(c.hens)).fold((0, 0), |(w, h), (with, hens)| (w + with, h + hens));
    Ok(Summer {
        year,
        counts: whole.len(),
        unfit: counts.len() - whole.len(),
        out_of_season: late.iter().map(|c| c.date).collect(),
        with_broods_alone: (found.is_err() && hens > 0).then(|| share(with, hens, level)),
        found,
        verdict,
    })
}

/// Standard error of a share of a half of so many hens, by the table of guidance: hens, and per cent.
///
/// Errors: a key that guidance does not hold.
pub fn hens_needed(guidance: &Guidance, country: Country) -> Result<Vec<(f64, f64)>, Unknown> {
    Ok(guidance.curve("counts.brood.standard_error", country)?.points().to_vec())
}
