//! Seasons of the year in which a work may be done.

use chrono::{Datelike, NaiveDate};
use serde::{Deserialize, Serialize};
use std::fmt;

/// A day of any year.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct MonthDay {
    /// 1 to 12.
    pub month: u32,
    /// 1 to 31.
    pub day: u32,
}

impl MonthDay {
    /// Whether any year has this day; 29 February is one.
    pub fn exists(self) -> bool {
        NaiveDate::from_ymd_opt(2000, self.month, self.day).is_some()
    }
}

impl fmt::Display for MonthDay {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:02}-{:02}", self.month, self.day)
    }
}

/// Days of every year from one to another, both open. Where the first is the later of the two the window runs over the new year.
///
/// A window that ends on 29 February ends on the 28th in years without one, and one that begins there begins on 1 March. One that ends
/// on the 28th is shut on the 29th.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Window {
    /// First open day.
    pub first: MonthDay,
    /// Last open day.
    pub last: MonthDay,
}

impl Window {
    /// A window of months and days, (month, day) each.
    pub fn new(first: (u32, u32), last: (u32, u32)) -> Window {
        let at = |(month, day)| MonthDay { month, day };
        Window { first: at(first), last: at(last) }
    }

    /// Whether a day lies in the window.
    pub fn open(&self, date: NaiveDate) -> bool {
        let day = MonthDay { month: date.month(), day: date.day() };
        if self.first <= self.last { (self.first..=self.last).contains(&day) } else { day >= self.first || day <= self.last }
    }
}

impl fmt::Display for Window {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} to {}", self.first, self.last)
    }
}

/// Whether a day lies in any of the windows; without windows every day does.
pub fn open(windows: &[Window], date: NaiveDate) -> bool {
    windows.is_empty() || windows.iter().any(|window| window.open(date))
}
