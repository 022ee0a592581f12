//! The question: leks, stops, people, mornings and minutes, and what may be wrong with it.

use super::rules::Rules;
use chrono::{Datelike, NaiveDate};
use std::collections::BTreeSet;

/// The most leks of one question: a set of them is held in the bits of one word.
pub const LEKS_MAX: usize = 64;
/// The most days of one window, for the same reason.
pub const DAYS_MAX: usize = 128;

/// Where the vehicle stops.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Stop {
    /// Identity.
    pub id: String,
    /// Name.
    pub name: String,
    /// Easting and northing, metres.
    pub at_m: (f64, f64),
}

/// A lek to visit.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LekSite {
    /// Identity.
    pub id: String,
    /// Name.
    pub name: String,
    /// Easting and northing of the centre of display, metres.
    pub at_m: (f64, f64),
    /// Radius of the display ground, metres.
    pub radius_m: f64,
    /// Longitude and latitude, degrees.
    pub lon_lat_deg: (f64, f64),
    /// Index of its stop.
    pub stop: usize,
    /// Walking from the stop to the watching place, minutes; the same back.
    pub walk_min: u32,
}

/// Someone who counts.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Observer {
    /// Name.
    pub name: String,
    /// Where they start from and come back to.
    pub base: String,
    /// Days on which they cannot.
    pub away: BTreeSet<NaiveDate>,
}

/// Minutes between places.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Minutes {
    /// Driving between an observer's base and a stop, either way: by observer, by stop.
    pub from_base: Vec<Vec<u32>>,
    /// Driving from stop to stop.
    pub between_stops: Vec<Vec<u32>>,
    /// Walking straight from lek to lek, leaving the vehicle; only looked at for leks of one stop. `None`: by way of the vehicle.
    pub across: Vec<Vec<Option<u32>>>,
}

/// A spring to plan.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Ask {
    /// What the plan is of, such as the holding's name: tells its dates in a calendar from those of other plans.
    pub of: String,
    /// The year.
    pub year: i32,
    /// Leks.
    pub leks: Vec<LekSite>,
    /// Stops.
    pub stops: Vec<Stop>,
    /// Observers.
    pub observers: Vec<Observer>,
    /// Mornings that may be used; those outside of both windows are left out.
    pub mornings: BTreeSet<NaiveDate>,
    /// Minutes between places.
    pub minutes: Minutes,
}

/// One thing wrong with a question.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{place}: needed {needed}, found {found}\n  hint: {hint}")]
pub struct Fault {
    /// Where.
    pub place: String,
    /// What is needed.
    pub needed: String,
    /// What stands there.
    pub found: String,
    /// What to do.
    pub hint: &'static str,
}

impl Ask {
    /// The usable mornings of a window (0 or 1) on which anyone is there, in order.
    pub(super) fn days(&self, rules: &Rules, window: usize) -> Vec<NaiveDate> {
        let [first, last] = rules.window(self.year, window);
        if first > last {
            return vec![];
        }
        self.mornings.range(first..=last).copied().filter(|day| self.observers.iter().any(|o| !o.away.contains(day))).collect()
    }

    /// Everything wrong with the question.
    ///
    /// # Errors
    /// All faults at once.
    pub fn check(&self, rules: &Rules) -> Result<(), Vec<Fault>> {
        let mut faults = Vec::new();
        let mut fault = |place: String, needed: &str, found: String, hint| faults.push(Fault { place, needed: needed.into(), found, hint });
        if self.leks.len() > LEKS_MAX {
            fault("leks".into(), "at most 64", self.leks.len().to_string(), "plan a region in parts");
        }
        if self.observers.is_empty() {
            fault("observers".into(), "at least one", "none".into(), "name who counts and where they start from");
        }
        if NaiveDate::from_ymd_opt(self.year, 1, 1).is_none() {
            fault("year".into(), "a year of the calendar", self.year.to_string(), "give the year of the coming spring");
        }
        for [first, last] in [0, 1].map(|w| rules.window(self.year, w)) {
            if first > last || (last - first).num_days() >= DAYS_MAX as i64 {
                fault(format!("window {first} to {last}"), "1 to 128 days in one year", format!("{} days", (last - first).num_days() + 1), "see counts.visit_1 and counts.visit_2 in guidance");
            }
        }
        let [[_, end], [begin, _]] = [0, 1].map(|w| rules.window(self.year, w));
        if end >= begin {
            fault("windows".into(), "the second after the first", format!("{end} and {begin}"), "see counts.visit_1.last and counts.visit_2.first in guidance");
        }
        if rules.watch_min < 1 || rules.settle_min < 0 || rules.apart_days < 0 {
            let found = format!("watching {} min, settling {} min, {} days apart", rules.watch_min, rules.settle_min, rules.apart_days);
            fault("rules".into(), "watching of a minute or more and nothing below nought", found, "see counts.watch, counts.settle and counts.visits_apart in guidance");
        }
        let mut seen = BTreeSet::new();
        for lek in &self.leks {
            let place = || format!("lek `{}`", lek.id);
            if !seen.insert(&lek.id) {
                fault(place(), "an identity of its own", "one that another lek has".into(), "give each lek once");
            }
            let (lon, lat) = lek.lon_lat_deg;
            if !((-180.0..=180.0).contains(&lon) && (-90.0..=90.0).contains(&lat)) {
                fault(place(), "longitude -180 to 180 and latitude -90 to 90 degrees", format!("{lon}, {lat}"), "convert eastings and northings first");
            }
            if lek.stop >= self.stops.len() {
                fault(place(), "a stop that is given", format!("stop {} of {}", lek.stop, self.stops.len()), "say where the vehicle stops for this lek");
            }
        }
        let (m, stops, leks) = (&self.minutes, self.stops.len(), self.leks.len());
        let across = m.across.iter().map(|row| row.len()).collect();
        for (table, rows, columns, wide) in [
            ("minutes from base", self.observers.len(), stops, m.from_base.iter().map(Vec::len).collect::<Vec<_>>()),
            ("minutes between stops", stops, stops, m.between_stops.iter().map(Vec::len).collect()),
            ("minutes across", leks, leks, across),
        ] {
            if wide.len() != rows || wide.iter().any(|w| *w != columns) {
                fault(table.into(), &format!("{rows} rows of {columns}"), format!("{} rows of {wide:?}", wide.len()), "fill the tables with `Pace::minutes` and put in what was measured");
            }
        }
        for day in self.mornings.iter().filter(|day| day.year() != self.year) {
            fault("mornings".into(), &format!("days of {}", self.year), day.to_string(), "take out days of other years");
        }
        if faults.is_empty() { Ok(()) } else { Err(faults) }
    }
}
