//! The ledger in the years ahead, on the same draws for every option.
//!
//! Stands are stepped year by year at the middle of every figure of growth; the spread of what they then are grows with the years
//! (`ahead.spread_per_decade`). The needs, the leks and the draws stay those of the assessment, so that options and years
//! differ only by the ground.

use super::course::{Moving, Processes};
use super::stock::Head;
use super::variant::Variant;
use super::work::{Doing, Programme, StockFrom};
use crate::arena;
use crate::assess::{AssessError, Assessed, quantiles};
use crate::drawn::Errors;
use crate::layout::Layout;
use crate::ledger::{self, SEASONS, Supply, Tally, Values};
use crate::outcome::Quantiles;
use crate::season::Season;
use crate::state::{Stand, State};
use chrono::Datelike;
use guidance::{Guidance, Unknown};
use holding::Holding;
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
    if years.is_empty() || years.windows(2).any(|w| w[0] >= w[1]) || years.iter().any(|y| *y > 100) {
        return Err(AssessError::Setting { what: "the years", found: format!("{years:?}"), needed: "rising years from 0 to 100" });
    }
    let holding = course.holding;
    let country = holding.about.country;
    let (processes, mut evidence) = Processes::read(guidance, country)?;
    let spread = guidance.number("ahead.spread_per_decade", country)? as f32;
    evidence.push("ahead.spread_per_decade".to_string());
    let variant = Variant::of(base, holding, guidance, course.programme)?;
    let errors: Vec<Vec<Errors>> = {
        let surveyed = ledger::errors(&base.state, base.settings.seed, base.settings.draws);
        variant.origin.iter().map(|o| surveyed[*o].clone()).collect()
    };
    let first = Head::of(surveyed);
    let mut all = processes.start(variant.stands.clone(), &variant.places, &first);
    let mut layout = base.layout.clone();
    let mut reaches = base.reaches.clone();
    let mut values: Option<(Values, Vec<Stand>)> = None;
    let mut out = Forecast { years: Vec::new(), supply: Vec::new(), stands: Vec::new(), variant, evidence };
    let as_at = holding.about.as_at.map(|d| d.year());
    let last = years[years.len() - 1];
    for year in 0..=last {
        let falls: Vec<Vec<&Doing>> = out
            .variant
            .works_on
            .iter()
            .map(|works| works.iter().map(|w| &course.programme.works[*w]).filter(|w| w.falls_in(year)).map(|w| &w.doing).collect())
            .collect();
        if year > 0 {
            let changes: Vec<&StockFrom> = course.programme.stock.iter().filter(|s| s.year <= year).collect();
            let stock = if changes.is_empty() { first.clone() } else { first.with(&changes, surveyed) };
            processes.year(&mut all, &falls, &stock, year);
        }
        if !years.contains(&year) {
            continue;
        }
        let stands: Vec<Stand> = all.iter().map(|m| spread_out(&m.stand, spread, year)).collect();
        let painted: &[(u32, u32)] = if values.is_none() { &out.variant.painted } else { &[] };
        let moved = layout.alter(&stands, painted);
        let shifts = base.kernels.shifts(&moved);
        reaches.par_iter_mut().zip(&shifts).for_each(|(r, s)| r.shift(s));
        let state = State { stands, notes: Vec::new(), keys: Vec::new() };
        let (now, was) = match values.take() {
            None => (Values::of(&state, &layout, &base.figures, &errors, &base.age), None),
            Some((v, was)) => (v, Some(was)),
        };
        let mut now = now;
        if let Some(was) = &was {
            now.restate(&state.stands, |i| was[i] != state.stands[i], &base.figures, &errors, &base.age);
        }
        let supply: Vec<Supply> = reaches.par_iter().map(|r| Tally::of(&layout, &now, r, None).supply(&base.figures, &base.reach_m)).collect();
        let leks = leks(base, holding, guidance, &layout, &state, &supply)?;
        out.years.push(YearLedger { year, calendar: as_at.map(|y| y + year as i32), leks });
        out.supply.push(supply);
        out.stands.push(all.clone());
        values = Some((now, state.stands));
    }
    Ok(out)
}

/// A stand with the spread of what will be: independent growth errors add to the survey's.
fn spread_out(stand: &Stand, per_decade: f32, year: u32) -> Stand {
    let more = per_decade * year as f32 / 10.0;
    Stand { cv: stand.cv.map(|cv| cv.hypot(more)), ..stand.clone() }
}

fn leks(base: &Assessed, holding: &Holding, guidance: &Guidance, layout: &Layout, state: &State, supply: &[Supply]) -> Result<Vec<LekYear>, Unknown> {
    holding
        .leks
        .par_iter()
        .enumerate()
        .map(|(i, lek)| {
            let seasons: Vec<SeasonYear> = Season::ALL.iter().map(|s| season_year(*s, &supply[i][*s as usize], &base.need[i][*s as usize])).collect();
            let pinch = seasons.iter().min_by(|a, b| a.margin.p50.total_cmp(&b.margin.p50)).map_or(Season::Display, |s| s.season);
            let (ground, _) = arena::judge(holding, layout, state, lek, guidance, holding.about.country)?;
            Ok(LekYear { id: lek.id.clone(), name: base.assessment.leks[i].name.clone(), seasons, pinch, view_disc: ground.view_disc, view_horizon: ground.view_horizon })
        })
        .collect()
}

fn season_year(season: Season, supply: &[f64], need: &[f64]) -> SeasonYear {
    let margins = margins(supply, need);
    let short = margins.iter().filter(|m| **m < 1.0).count();
    SeasonYear { season, supply_ha: quantiles(supply), margin: quantiles(&margins), short_fraction: short as f64 / margins.len().max(1) as f64 }
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

/// Compare two forecasts of the same assessment, year by year, over the years both tell.
pub fn compare(base: &Assessed, first: &Forecast, second: &Forecast) -> Vec<Difference> {
    let mut out = Vec::new();
    for (i, year) in first.years.iter().enumerate() {
        let Some(j) = second.years.iter().position(|y| y.year == year.year) else { continue };
        for lek in 0..base.need.len() {
            for s in 0..SEASONS {
                let a = margins(&first.supply[i][lek][s], &base.need[lek][s]);
                let b = margins(&second.supply[j][lek][s], &base.need[lek][s]);
                let n = a.len();
                let paired: Vec<f64> = a.iter().zip(&b).map(|(a, b)| b - a).collect();
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
