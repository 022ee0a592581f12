//! Which dawn visits count, and what a lek's figure for a year is.
//!
//! A visit counts when it falls inside the season of counting, begins within the allowed hours round sunrise, and gives
//! a number of cocks. Of several entries of one dawn at one lek the highest counts, and the others do not: they are one visit. The year's figure is the largest number of cocks, displaying or not, of the visits that count.
//!
//! Season and hours come from guidance: `counts.visit_1.first` to `counts.visit_2.last` (the two visits of the survey rule,
//! taken as one season; which of the two were made is told beside), `counts.hours_before_sunrise` and `counts.hours_after_sunrise`. Sunrise is that of a sea-level
//! horizon, see [`crate::sun`]; hills hide it longer. Wind and rain are words in the records and are not judged.
//! A visit without a start time is taken as in time, and one of which only the year is known as in season, as older
//! records seldom give more. One known to its month counts where a day of the month lies in the season.

use crate::{clock, sun};
use chrono::{Datelike, NaiveDate, NaiveDateTime};
use guidance::{Country, Guidance, Unknown};
use holding::{Holding, KnownTo, Lek, Visit};
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, HashMap};
use std::fmt;

/// Why a visit does not count.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "why")]
pub enum Refusal {
    /// Nobody wrote down a number of cocks.
    NotCounted,
    /// Before or after the season of counting.
    OutOfSeason {
        /// First day of the season that year.
        first: NaiveDate,
        /// Last day of the season that year.
        last: NaiveDate,
    },
    /// Begun too long before sunrise.
    TooEarly {
        /// Minutes from start to sunrise.
        before_min: i64,
        /// Most minutes allowed.
        allowed_min: i64,
    },
    /// Begun too long after sunrise.
    TooLate {
        /// Minutes from sunrise to start.
        after_min: i64,
        /// Most minutes allowed.
        allowed_min: i64,
    },
    /// The sun does not rise there on that day.
    NoSunrise,
    /// Another entry of the same dawn at the same lek, with as many cocks or more, counts.
    SameDawn {
        /// That entry's id.
        visit: String,
    },
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Refusal::NotCounted => write!(f, "no number of cocks was written down"),
            Refusal::OutOfSeason { first, last } => write!(f, "outside the season of counting, {first} to {last}"),
            // By how much is not told: with many visits it would fix the hour of sunrise, and so the lek, finely.
            Refusal::TooEarly { allowed_min, .. } => write!(f, "begun more than {allowed_min} minutes before sunrise"),
            Refusal::TooLate { allowed_min, .. } => write!(f, "begun more than {allowed_min} minutes after sunrise"),
            Refusal::SameDawn { visit } => write!(f, "the same dawn as {visit}, which counts: entries of one dawn at one lek are one visit"),
            Refusal::NoSunrise => write!(f, "no sunrise at that place on that day"),
        }
    }
}

/// A lek's figure for one year.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct YearFigure {
    /// Year.
    pub year: i32,
    /// Most cocks of a visit that counts; `None` where no visit counts.
    pub cocks: Option<u32>,
    /// Visits made.
    pub visits: usize,
    /// Visits that count.
    pub valid: usize,
    /// Visits that count and were made in the first and in the second window of the survey rule.
    pub windows: [usize; 2],
    /// Visits that do not, by id, with the reason, in order of date.
    pub refused: Vec<(String, Refusal)>,
}

/// When a visit may be made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Window {
    /// First and last day of each of the two visits.
    visits: [[(u32, u32); 2]; 2],
    before_min: i64,
    after_min: i64,
}

impl Window {
    /// The window of a country.
    ///
    /// Errors: a key that guidance does not hold.
    pub fn of(guidance: &Guidance, country: Country) -> Result<Self, Unknown> {
        let minutes = |key| guidance.number(key, country).map(|hours| (hours * 60.0).round() as i64);
        Ok(Self {
            visits: [
                [guidance.month_day("counts.visit_1.first", country)?, guidance.month_day("counts.visit_1.last", country)?],
                [guidance.month_day("counts.visit_2.first", country)?, guidance.month_day("counts.visit_2.last", country)?],
            ],
            before_min: minutes("counts.hours_before_sunrise")?,
            after_min: minutes("counts.hours_after_sunrise")?,
        })
    }

    /// Whether a visit counts at a place given as (longitude, latitude) in degrees; if not, why not. Where the place is not
    /// known the hours are not judged.
    pub fn check(&self, visit: &Visit, place: Option<(f64, f64)>) -> Result<u32, Refusal> {
        let [first, last] = [self.visits[0][0], self.visits[1][1]].map(|day| of_year(day, visit.date));
        let in_season = match visit.known_to {
            KnownTo::Year => true,
            KnownTo::Month => (first.month()..=last.month()).contains(&visit.date.month()),
            KnownTo::Day => (first..=last).contains(&visit.date),
        };
        if !in_season {
            return Err(Refusal::OutOfSeason { first, last });
        }
        if let (Some(_), Some(place), KnownTo::Day) = (visit.start, place, visit.known_to) {
            let after_min = minutes_after_sunrise(visit, place).ok_or(Refusal::NoSunrise)?;
            if after_min > self.after_min {
                return Err(Refusal::TooLate { after_min, allowed_min: self.after_min });
            }
            if -after_min > self.before_min {
                return Err(Refusal::TooEarly { before_min: -after_min, allowed_min: self.before_min });
            }
        }
        visit.cocks.ok_or(Refusal::NotCounted)
    }

    /// The visits of one lek in order of date, each with its cocks where it counts, else why not. One dawn is one visit: of the entries of
    /// a day that would count the one with most cocks does, the first where they are alike. Visits known to their month or year alone are
    /// taken as of different dawns.
    pub fn judge<'a>(&self, mut visits: Vec<&'a Visit>, place: Option<(f64, f64)>) -> Vec<(&'a Visit, Result<u32, Refusal>)> {
        visits.sort_by(|a, b| (a.date, a.start, &a.id).cmp(&(b.date, b.start, &b.id)));
        let mut judged: Vec<(&Visit, Result<u32, Refusal>)> = visits.into_iter().map(|v| (v, self.check(v, place))).collect();
        let mut best: BTreeMap<NaiveDate, (u32, &str)> = BTreeMap::new();
        for (visit, counts) in judged.iter().filter(|(v, _)| v.known_to == KnownTo::Day) {
            if let Ok(cocks) = counts
                && best.get(&visit.date).is_none_or(|(most, _)| cocks > most)
            {
                best.insert(visit.date, (*cocks, &visit.id));
            }
        }
        for (visit, counts) in judged.iter_mut().filter(|(v, c)| c.is_ok() && v.known_to == KnownTo::Day) {
            if let Some((_, id)) = best.get(&visit.date).filter(|(_, id)| *id != visit.id) {
                *counts = Err(Refusal::SameDawn { visit: (*id).to_string() });
            }
        }
        judged
    }

    /// Which of the two windows of the survey rule a visit was made in, 0 or 1; `None` in neither, or where its day is
    /// not known.
    pub fn which(&self, visit: &Visit) -> Option<usize> {
        let within = |[first, last]: [(u32, u32); 2]| (of_year(first, visit.date)..=of_year(last, visit.date)).contains(&visit.date);
        (visit.known_to == KnownTo::Day).then(|| self.visits.iter().position(|window| within(*window))).flatten()
    }

    /// Whether so many minutes after sunrise, or before it where negative, lie within the hours of counting.
    pub fn in_hours(&self, after_min: i64) -> bool {
        (-self.before_min..=self.after_min).contains(&after_min)
    }
}

/// Longitude and latitude of leks, where the plan lies on the British grid: there the sun is known.
pub fn place_of(holding: &Holding) -> impl Fn(&Lek) -> Option<(f64, f64)> + use<> {
    let on_grid = holding.about.epsg == 27700;
    move |lek| on_grid.then(|| holding::grid_ref::lonlat_from_grid(lek.at.x(), lek.at.y()).ok()).flatten()
}

/// Why visits do not count, by id; those that do are not in it.
pub fn refused<'a>(holding: &'a Holding, window: &Window, place: impl Fn(&Lek) -> Option<(f64, f64)>) -> HashMap<&'a str, String> {
    let mut of: HashMap<&str, Vec<&'a Visit>> = HashMap::new();
    for visit in &holding.visits {
        of.entry(&visit.lek).or_default().push(visit);
    }
    let mut why = HashMap::new();
    for lek in &holding.leks {
        let judged = window.judge(of.remove(lek.id.as_str()).unwrap_or_default(), place(lek));
        why.extend(judged.into_iter().filter_map(|(visit, counts)| Some((visit.id.as_str(), counts.err()?.to_string()))));
    }
    why.extend(of.into_values().flatten().map(|v| (v.id.as_str(), "its lek is not in the plan".to_string())));
    why
}

/// A day of the year of a date.
fn of_year((month, day): (u32, u32), date: NaiveDate) -> NaiveDate {
    NaiveDate::from_ymd_opt(date.year(), month, day).unwrap_or(date)
}

/// Whole minutes from sunrise at a place (longitude, latitude) to a visit's start by the local clock, away from zero: one
/// second too late is a minute too late. `None` without a start or a sunrise.
pub fn minutes_after_sunrise(visit: &Visit, place: (f64, f64)) -> Option<i64> {
    let sunrise: NaiveDateTime = sun::times(visit.date, place.0, place.1).sunrise.map(clock::local)?;
    let seconds = (visit.date.and_time(visit.start?) - sunrise).num_seconds();
    Some(if seconds >= 0 { (seconds + 59) / 60 } else { (seconds - 59) / 60 })
}

/// A lek's figures, one for each year it was visited, oldest first.
///
/// - `place`: longitude and latitude of the lek, degrees; where it is not known, the hours are not judged
///
/// A lek that was never visited has no figures.
///
/// Errors: a key that guidance does not hold.
pub fn by_year(holding: &Holding, lek_id: &str, guidance: &Guidance, place: Option<(f64, f64)>) -> Result<Vec<YearFigure>, Unknown> {
    let window = Window::of(guidance, holding.about.country)?;
    Ok(figures(&window, holding.visits.iter().filter(|v| v.lek == lek_id).collect(), place))
}

/// Every lek's figures, in the plan's order of leks, each as by [`by_year`].
///
/// - `place`: longitude and latitude of a lek, degrees, where known
///
/// Errors: a key that guidance does not hold.
pub fn of_every_lek(
    holding: &Holding,
    guidance: &Guidance,
    place: impl Fn(&Lek) -> Option<(f64, f64)>,
) -> Result<Vec<Vec<YearFigure>>, Unknown> {
    let window = Window::of(guidance, holding.about.country)?;
    let mut visits: HashMap<&str, Vec<&Visit>> = HashMap::new();
    for visit in &holding.visits {
        visits.entry(&visit.lek).or_default().push(visit);
    }
    let of = |lek: &Lek| figures(&window, visits.get(lek.id.as_str()).cloned().unwrap_or_default(), place(lek));
    Ok(holding.leks.iter().map(of).collect())
}

/// The figures of one lek's visits.
fn figures(window: &Window, visits: Vec<&Visit>, place: Option<(f64, f64)>) -> Vec<YearFigure> {
    let mut years: BTreeMap<i32, YearFigure> = BTreeMap::new();
    for (visit, counts) in window.judge(visits, place) {
        let year = visit.date.year();
        let figure = years.entry(year).or_insert_with(|| YearFigure { year, cocks: None, visits: 0, valid: 0, windows: [0; 2], refused: vec![] });
        figure.visits += 1;
        match counts {
            Ok(cocks) => {
                figure.valid += 1;
                if let Some(which) = window.which(visit) {
                    figure.windows[which] += 1;
                }
                figure.cocks = figure.cocks.max(Some(cocks));
            }
            Err(why) => figure.refused.push((visit.id.clone(), why)),
        }
    }
    years.into_values().collect()
}
