//! Why a lek is not visited in a window.

use super::ask::Ask;
use super::light::Hours;
use super::rules::Rules;
use super::tour::{may_begin, way_out_min};
use super::words::days;
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use std::fmt;

/// Why a visit is missing.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "why")]
pub enum Reason {
    /// No morning of the window may be used, or nobody is there on any.
    NoMorning {
        /// First day of the window.
        first: NaiveDate,
        /// Last day of the window.
        last: NaiveDate,
    },
    /// The walk in the dark is too long.
    WalkTooLong {
        /// Minutes of walking; `None` where they are withheld.
        walk_min: Option<u32>,
        /// Most minutes allowed.
        allowed_min: u32,
    },
    /// Every base is too far away.
    TooFar {
        /// Minutes of driving and walking from the nearest base of anyone who is there; `None` where they are withheld.
        way_min: Option<u32>,
        /// Most minutes allowed.
        allowed_min: u32,
    },
    /// The sun does not rise there on any usable morning.
    NoSunrise,
    /// Watching takes longer than hours are open.
    HoursTooShort {
        /// Minutes of watching.
        watch_min: i64,
        /// Minutes hours are open.
        open_min: i64,
    },
    /// It can be reached, but other visits take up every morning on which it could be.
    Crowded {
        /// Least days between the two visits to a lek.
        apart_days: i64,
    },
}

impl fmt::Display for Reason {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Reason::NoMorning { first, last } => write!(f, "nobody can go out on any morning from {} to {}", days(&[*first]), days(&[*last])),
            Reason::WalkTooLong { walk_min, allowed_min } => write!(f, "the walk in the dark is {}longer than {allowed_min} minutes", told(*walk_min)),
            Reason::TooFar { way_min, allowed_min } => write!(f, "the way from the nearest base is {}longer than {allowed_min} minutes", told(*way_min)),
            Reason::NoSunrise => write!(f, "the sun does not rise there on any usable morning"),
            Reason::HoursTooShort { watch_min, open_min } => write!(f, "watching takes {watch_min} minutes, and hours are open for {open_min}"),
            Reason::Crowded { apart_days } => {
                write!(f, "every morning on which it could be visited is taken up by other visits, with {apart_days} days between the two visits to a lek")
            }
        }
    }
}

fn told(minutes: Option<u32>) -> String {
    minutes.map_or_else(String::new, |m| format!("{}, ", super::words::minutes(i64::from(m))))
}

/// Why a lek is missing from a window whose usable mornings are `days`, with their `hours` by morning and lek.
pub(super) fn reason(ask: &Ask, rules: &Rules, window: usize, lek: usize, days: &[NaiveDate], hours: &[Vec<Option<Hours>>], toured: bool) -> Reason {
    let [first, last] = rules.window(ask.year, window);
    let allowed_min = rules.way_out_longest_min;
    let there = || (0..ask.observers.len()).filter(|o| days.iter().any(|day| !ask.observers[*o].away.contains(day)));
    let walk_min = ask.leks[lek].walk_min;
    if days.is_empty() {
        Reason::NoMorning { first, last }
    } else if toured {
        Reason::Crowded { apart_days: rules.apart_days }
    } else if walk_min > rules.walk_longest_min {
        Reason::WalkTooLong { walk_min: Some(walk_min), allowed_min: rules.walk_longest_min }
    } else if !there().any(|o| may_begin(ask, rules, o, lek)) {
        Reason::TooFar { way_min: there().map(|o| way_out_min(ask, o, lek)).min(), allowed_min }
    } else if hours.iter().all(|leks| leks[lek].is_none()) {
        Reason::NoSunrise
    } else {
        Reason::HoursTooShort { watch_min: rules.watch_min, open_min: rules.before_min + rules.after_min }
    }
}
