//! The ledger in the years ahead, on the same draws for every option.
//!
//! Stands are stepped year by year at the middle of every figure of growth; the spread of what they then are grows with the years
//! (`ahead.spread_per_decade`). The needs, the leks and the draws stay those of the assessment, so that options and years
//! differ only by the ground.

use super::course::{Moving, Processes};
use super::stock::Head;
use super::variant::Variant;
use super::work::{Doing, Programme, StockFrom};
use crate::arena::{self, Outlook};
use crate::assess::{AssessError, Assessed, missing, quantiles};
use crate::drawn::Errors;
use crate::layout::Layout;
use crate::ledger::{self, SEASONS, Supply, Tally, Values, Weighed};
use crate::outcome::Quantiles;
use crate::reach::Reach;
use crate::season::Season;
use crate::state::{Stand, State};
use chrono::Datelike;
use guidance::{Country, Guidance, Unknown};
use holding::{Holding, Lek};
use rayon::prelude::*;
use serde::Serialize;

/// Years the ledger is told for unless others are asked.
pub const YEARS: [u32; 11] = [0, 1, 2, 3, 5, 8, 10, 15, 20, 25, 30];

/// An option to look ahead under: its features as they will stand and what it does.
#[derive(Clone, Copy)]
pub struct Course<'a> {
    /// The holding with the option's features: new woods, fences, ditches blocked. Surveyed features keep their place in the lists.
    pub holding: &'a Holding,
    /// What is done, when.
    pub programme: &'a Programme,
}

/// The ledger of one season of one lek in one year.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SeasonYear {
    /// Which.
    pub season: Season,
    /// Usable hectares.
    pub supply_ha: Quantiles,
    /// Supply over need.
    pub margin: Quantiles,
    /// Need less supply, draw by draw, hectares; nought in a draw that finds enough.
    pub missing_ha: Quantiles,
    /// Share of draws with margin below one.
    pub short_fraction: f64,
}

/// A lek in one year.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LekYear {
    /// Identity.
    pub id: String,
    /// Name.
    pub name: String,
    /// The seven seasons in calendar order.
    pub seasons: Vec<SeasonYear>,
    /// The season with the least median margin.
    pub pinch: Season,
    /// Share of the display disc in sight, 0 to 1.
    pub view_disc: Option<f64>,
    /// Share of the horizon that is open, 0 to 1.
    pub view_horizon: Option<f64>,
}

/// All leks in one year.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct YearLedger {
    /// Years from the plan's day.
    pub year: u32,
    /// Calendar year, where the plan has a day.
    pub calendar: Option<i32>,
    /// One entry a lek.
    pub leks: Vec<LekYear>,
}

/// The years ahead under one course.
pub struct Forecast {
    /// The ledger by year.
    pub years: Vec<YearLedger>,
    /// Supply by year, lek, season and draw, usable hectares.
    pub supply: Vec<Vec<Supply>>,
    /// Every stand on its way, by year.
    pub stands: Vec<Vec<Moving>>,
    /// The ground as it was cut up.
    pub variant: Variant,
    /// Guidance keys it rests on beyond the assessment's.
    pub evidence: Vec<String>,
}

/// Look ahead under one course. `surveyed` is the holding of the assessment, whose stock is the present one. `years` must rise; 0 is
/// the ground as surveyed.
///
/// # Errors
/// A guidance figure that is missing, or years that do not rise.
pub fn forecast(base: &Assessed, surveyed: &Holding, guidance: &Guidance, course: Course, years: &[u32]) -> Result<Forecast, AssessError> {
    let (processes, figures) = ready(guidance, surveyed.about.country, years)?;
    let mut walk = Walk::start(base, surveyed, guidance, course, &processes, &figures)?;
    for year in 0..=years[years.len() - 1] {
        walk.step(year);
        if years.contains(&year) {
            walk.tell(year, None)?;
        }
    }
    Ok(walk.out)
}

/// Look ahead under several courses, in their order, as [`forecast`] does under each to within rounding. They go side by side: where the
/// first puts no new stand on the ground, as the ground left as it is does not, the others are worked out by what differs from it.
///
/// # Errors
/// As [`forecast`].
pub fn forecasts(base: &Assessed, surveyed: &Holding, guidance: &Guidance, courses: &[Course], years: &[u32]) -> Result<Vec<Forecast>, AssessError> {
    let (processes, figures) = ready(guidance, surveyed.about.country, years)?;
    let mut walks = courses.par_iter().map(|c| Walk::start(base, surveyed, guidance, *c, &processes, &figures)).collect::<Result<Vec<_>, Unknown>>()?;
    for year in 0..=years[years.len() - 1] {
        walks.par_iter_mut().for_each(|w| w.step(year));
        if let Some((first, others)) = walks.split_first_mut().filter(|_| years.contains(&year)) {
            first.tell(year, None)?;
            let first = &*first;
            others.par_iter_mut().try_for_each(|w| w.tell(year, Some(first)))?;
        }
    }
    Ok(walks.into_iter().map(|w| w.out).collect())
}

/// What every course is stepped by, once the years are found to rise.
fn ready(guidance: &Guidance, country: Country, years: &[u32]) -> Result<(Processes, Spreading), AssessError> {
    if years.is_empty() || years.windows(2).any(|w| w[0] >= w[1]) || years.iter().any(|y| *y > 100) {
        return Err(AssessError::Setting { what: "the years", found: format!("{years:?}"), needed: "rising years from 0 to 100" });
    }
    let (processes, mut evidence) = Processes::read(guidance, country)?;
    let per_decade = guidance.number("ahead.spread_per_decade", country)? as f32;
    evidence.push("ahead.spread_per_decade".to_string());
    Ok((processes, Spreading { per_decade, evidence }))
}

/// How the spread of what stands are grows, and the keys read.
struct Spreading {
    per_decade: f32,
    evidence: Vec<String>,
}

/// One course on its way.
struct Walk<'a> {
    base: &'a Assessed,
    surveyed: &'a Holding,
    guidance: &'a Guidance,
    course: Course<'a>,
    processes: &'a Processes,
    per_decade: f32,
    /// The stock as surveyed.
    first: Head,
    errors: Vec<Vec<Errors>>,
    all: Vec<Moving>,
    layout: Layout,
    reaches: Vec<Reach>,
    /// The stands of the year told now, and of the one told before.
    state: State,
    was: Vec<Stand>,
    values: Option<Values>,
    /// What every lek's ground adds up to.
    tallies: Vec<Tally>,
    /// Every lek's outlook of the year told now, and what is seen.
    seen: Vec<Option<Seen>>,
    out: Forecast,
}

/// What is seen from a lek.
struct Seen {
    outlook: Outlook,
    disc: Option<f64>,
    horizon: Option<f64>,
}

impl<'a> Walk<'a> {
    fn start(base: &'a Assessed, surveyed: &'a Holding, guidance: &'a Guidance, course: Course<'a>, processes: &'a Processes, spreading: &Spreading) -> Result<Self, Unknown> {
        let variant = Variant::of(base, course.holding, guidance, course.programme)?;
        let of_survey = ledger::errors(&base.state, base.settings.seed, base.settings.draws);
        let first = Head::of(surveyed);
        Ok(Walk {
            errors: variant.origin.iter().map(|o| of_survey[*o].clone()).collect(),
            all: processes.start(variant.stands.clone(), &variant.places, &first),
            layout: base.layout.clone(),
            reaches: base.reaches.clone(),
            state: State { stands: Vec::new(), notes: Vec::new(), keys: Vec::new() },
            was: Vec::new(),
            values: None,
            tallies: Vec::new(),
            seen: Vec::new(),
            out: Forecast { years: Vec::new(), supply: Vec::new(), stands: Vec::new(), variant, evidence: spreading.evidence.clone() },
            per_decade: spreading.per_decade,
            base,
            surveyed,
            guidance,
            course,
            processes,
            first,
        })
    }

    /// Go on to a year.
    fn step(&mut self, year: u32) {
        let programme = self.course.programme;
        if year > 0 {
            let fall = |works: &Vec<usize>| works.iter().map(|w| &programme.works[*w]).filter(|w| w.falls_in(year)).map(|w| &w.doing).collect();
            let falls: Vec<Vec<&Doing>> = self.out.variant.works_on.iter().map(fall).collect();
            let changes: Vec<&StockFrom> = programme.stock.iter().filter(|s| s.year <= year).collect();
            let stock = if changes.is_empty() { self.first.clone() } else { self.first.with(&changes, self.surveyed) };
            self.processes.year(&mut self.all, &falls, &stock, year);
        }
    }

    /// Lay the ground out as it now is: from what it was, or from what another course has made of the same ground.
    fn lay_out(&mut self, year: u32, beside: Option<&Walk>) {
        let stands = self.all.iter().map(|m| spread_out(&m.stand, self.per_decade, year)).collect();
        self.was = std::mem::replace(&mut self.state.stands, stands);
        if let Some(beside) = beside {
            self.layout.clone_from(&beside.layout);
            self.reaches.clone_from(&beside.reaches);
        }
        let painted: &[(u32, u32)] = if beside.is_some() || self.values.is_none() { &self.out.variant.painted } else { &[] };
        let moved = self.layout.alter(&self.state.stands, painted);
        let shifts = self.base.kernels.shifts(&moved);
        self.reaches.par_iter_mut().zip(&shifts).for_each(|(r, s)| r.shift(s));
    }

    /// Tell the year, beside another course that has told it.
    fn tell(&mut self, year: u32, beside: Option<&Walk>) -> Result<(), Unknown> {
        let ground = beside.filter(|b| b.out.variant.painted.is_empty());
        self.lay_out(year, ground);
        let base = self.base;
        let stands = &self.state.stands;
        // Surveyed stands keep their place and their draws under every course.
        let same: Vec<bool> = match beside {
            Some(b) => (0..base.state.stands.len()).map(|i| b.state.stands[i] == stands[i]).collect(),
            None => Vec::new(),
        };
        let same = |i: usize| same.get(i).copied().unwrap_or(false);
        let fresh = self.values.is_none();
        let mut values = self.values.take().unwrap_or_else(|| Values::of_places(&self.layout, &base.figures));
        if let Some(others) = beside.and_then(|b| b.values.as_ref()) {
            values.take_over(others, stands.len(), same);
        }
        values.restate(stands, |i| !same(i) && (fresh || self.was[i] != stands[i]), &base.figures, &self.errors, &base.age);
        let tallies: Vec<Tally> = match ground {
            Some(Walk { layout, values: Some(theirs), reaches, tallies, .. }) => {
                let was = Weighed { layout, values: theirs, reaches };
                let now = Weighed { layout: &self.layout, values: &values, reaches: &self.reaches };
                tallies.par_iter().enumerate().map(|(lek, tally)| tally.altered(&was, &now, lek, same)).collect()
            }
            _ => self.reaches.par_iter().map(|r| Tally::of(&self.layout, &values, r, None)).collect(),
        };
        let supply: Vec<Supply> = tallies.par_iter().map(|t| t.supply(&base.figures, &base.reach_m)).collect();
        (self.values, self.tallies) = (Some(values), tallies);
        self.seen = self.look(beside)?;
        let leks = self.leks(&supply);
        let calendar = self.course.holding.about.as_at.map(|d| d.year() + year as i32);
        self.out.years.push(YearLedger { year, calendar, leks });
        self.out.supply.push(supply);
        self.out.stands.push(self.all.clone());
        Ok(())
    }

    /// What is seen from every lek; `None` without heights.
    fn look(&self, beside: Option<&Walk>) -> Result<Vec<Option<Seen>>, Unknown> {
        let holding = self.course.holding;
        let from = |(i, lek): (usize, &Lek)| -> Result<Option<Seen>, Unknown> {
            let outlook = Outlook::of(&self.layout, &self.state, lek, self.guidance, holding.about.country)?;
            let known = |o: &Outlook| beside.and_then(|b| b.seen[i].as_ref()).filter(|s| s.outlook.same_cover(o)).map(|s| (s.disc, s.horizon));
            Ok(outlook.and_then(|outlook| {
                let (disc, horizon) = match known(&outlook) {
                    Some(seen) => seen,
                    None => outlook.view().map(|v| (arena::known(v.disc_open), arena::known(v.horizon_open)))?,
                };
                Some(Seen { outlook, disc, horizon })
            }))
        };
        holding.leks.par_iter().enumerate().map(from).collect()
    }

    fn leks(&self, supply: &[Supply]) -> Vec<LekYear> {
        let of = |(i, lek): (usize, &Lek)| {
            let seasons: Vec<SeasonYear> = Season::ALL.iter().map(|s| season_year(*s, &supply[i][*s as usize], &self.base.need[i][*s as usize])).collect();
            let pinch = seasons.iter().min_by(|a, b| a.margin.p50.total_cmp(&b.margin.p50)).map_or(Season::Display, |s| s.season);
            let seen = self.seen[i].as_ref();
            let (view_disc, view_horizon) = (seen.and_then(|s| s.disc), seen.and_then(|s| s.horizon));
            LekYear { id: lek.id.clone(), name: self.base.assessment.leks[i].name.clone(), seasons, pinch, view_disc, view_horizon }
        };
        self.course.holding.leks.par_iter().enumerate().map(of).collect()
    }
}

/// A stand with the spread of what will be: independent growth errors add to the survey's.
fn spread_out(stand: &Stand, per_decade: f32, year: u32) -> Stand {
    let more = per_decade * year as f32 / 10.0;
    Stand { cv: stand.cv.map(|cv| cv.hypot(more)), ..stand.clone() }
}

fn season_year(season: Season, supply: &[f64], need: &[f64]) -> SeasonYear {
    let margins = margins(supply, need);
    let short = margins.iter().filter(|m| **m < 1.0).count();
    SeasonYear {
        season,
        supply_ha: quantiles(supply),
        margin: quantiles(&margins),
        missing_ha: missing(supply, need),
        short_fraction: short as f64 / margins.len().max(1) as f64,
    }
}

fn margins(supply: &[f64], need: &[f64]) -> Vec<f64> {
    supply.iter().zip(need).map(|(s, n)| s / n.max(1e-9)).collect()
}

impl Forecast {
    /// The assessment of one of the years, for rules and maps.
    ///
    /// # Errors
    /// A guidance figure that is missing.
    pub fn assessed(&self, base: &Assessed, holding: &Holding, guidance: &Guidance, index: usize) -> Result<Assessed, AssessError> {
        let year = self.years[index].year;
        let spread = guidance.number("ahead.spread_per_decade", holding.about.country)? as f32;
        let stands: Vec<Stand> = self.stands[index].iter().map(|m| spread_out(&m.stand, spread, year)).collect();
        let mut layout = base.layout.clone();
        layout.alter(&stands, &self.variant.painted);
        let state = State { stands, notes: base.state.notes.clone(), keys: base.state.keys.clone() };
        Ok(base.with(holding, guidance, state, layout, self.supply[index].clone())?)
    }
}

/// The difference two courses make to one season of one lek in one year: margin under the second less margin under the first, draw
/// by draw.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Difference {
    /// Years from the plan's day.
    pub year: u32,
    /// Identity of the lek.
    pub lek: String,
    /// Season.
    pub season: Season,
    /// Paired: both courses meet the same luck in every draw.
    pub margin: Quantiles,
    /// Unpaired: as if each had met luck of its own. Wider; shown to say what pairing gains.
    pub unpaired: Quantiles,
    /// Share of draws in which the second is better.
    pub better_fraction: f64,
    /// Share of draws in which the second is worse.
    pub worse_fraction: f64,
}

/// Margins nearer to each other than this share of them are the same: single precision tells no more.
const ROUNDING: f64 = 1e-6;

/// Compare two forecasts of the same assessment, year by year, over the years both tell. Differences within rounding are none.
pub fn compare(base: &Assessed, first: &Forecast, second: &Forecast) -> Vec<Difference> {
    let mut out = Vec::new();
    for (i, year) in first.years.iter().enumerate() {
        let Some(j) = second.years.iter().position(|y| y.year == year.year) else { continue };
        for lek in 0..base.need.len() {
            for s in 0..SEASONS {
                let a = margins(&first.supply[i][lek][s], &base.need[lek][s]);
                let b = margins(&second.supply[j][lek][s], &base.need[lek][s]);
                let n = a.len();
                let difference = |a: f64, b: f64| if (b - a).abs() <= ROUNDING * a.max(b) { 0.0 } else { b - a };
                let paired: Vec<f64> = a.iter().zip(&b).map(|(a, b)| difference(*a, *b)).collect();
                // Every draw of one against the draw half the deck away of the other.
                let unpaired: Vec<f64> = (0..n).map(|d| b[(d + n / 2) % n] - a[d]).collect();
                out.push(Difference {
                    year: year.year,
                    lek: year.leks[lek].id.clone(),
                    season: Season::ALL[s],
                    better_fraction: paired.iter().filter(|d| **d > 0.0).count() as f64 / n.max(1) as f64,
                    worse_fraction: paired.iter().filter(|d| **d < 0.0).count() as f64 / n.max(1) as f64,
                    margin: quantiles(&paired),
                    unpaired: quantiles(&unpaired),
                });
            }
        }
    }
    out
}
