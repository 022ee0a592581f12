//! Working days, and crews.

use super::window::{Window, open};
use chrono::{Datelike, NaiveDate};
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;

/// Days of the week, Monday first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Weekdays(pub [bool; 7]);

impl Weekdays {
    /// All seven.
    pub const ALL: Weekdays = Weekdays([true; 7]);
    /// Monday to Friday.
    pub const MONDAY_TO_FRIDAY: Weekdays = Weekdays([true, true, true, true, true, false, false]);
    /// Monday alone: for programmes in whole weeks.
    pub const MONDAY: Weekdays = Weekdays([true, false, false, false, false, false, false]);

    /// Whether a date falls on one of them.
    pub fn has(self, date: NaiveDate) -> bool {
        self.0[date.weekday().num_days_from_monday() as usize]
    }
}

/// Which days are worked.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Calendar {
    /// Days of the week that are worked.
    pub worked: Weekdays,
    /// Days of the week on which a task may begin; with Mondays alone a programme runs in whole weeks.
    pub begin: Weekdays,
    /// Days on which nobody works.
    pub holidays: BTreeSet<NaiveDate>,
}

impl Default for Calendar {
    /// Monday to Friday, a beginning on any of them, no holidays.
    fn default() -> Self {
        Calendar { worked: Weekdays::MONDAY_TO_FRIDAY, begin: Weekdays::ALL, holidays: BTreeSet::new() }
    }
}

impl Calendar {
    /// Whether a day is worked.
    pub fn works(&self, date: NaiveDate) -> bool {
        self.worked.has(date) && !self.holidays.contains(&date)
    }
}

/// Days from one to another, both counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Days {
    /// First day.
    pub first: NaiveDate,
    /// Last day.
    pub last: NaiveDate,
}

/// People or equipment that do works: a squad of so many, one digger.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Crew {
    /// Identity.
    pub id: String,
    /// The kinds of work it can do.
    pub kinds: BTreeSet<String>,
    /// People of the squad, or 1: the units of works that can go on in it on one day.
    pub capacity: u32,
    /// Seasons in which it is there; none for all the year.
    pub there: Vec<Window>,
    /// Days off.
    pub away: Vec<Days>,
}

impl Crew {
    /// Whether it is there on a day (the calendar's holidays aside).
    pub fn there(&self, date: NaiveDate) -> bool {
        open(&self.there, date) && !self.away.iter().any(|off| (off.first..=off.last).contains(&date))
    }
}
