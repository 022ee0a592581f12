//! When a measure is done: the months told, and the windows of the guidance they are held against.

use super::seen::OnMeasures;
use crate::kind::facts::months_of;
use guidance::{Country, Unknown};
use holding::Measure;

/// A span of the year, month and day; it may run over the turn of the year.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Window {
    /// First day.
    pub first: (u32, u32),
    /// Last day.
    pub last: (u32, u32),
}

/// How a month lies to a window.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lies {
    /// Wholly inside.
    Inside,
    /// Partly.
    Partly,
    /// Wholly outside.
    Outside,
}

/// Days of the months in a leap year.
pub const DAYS: [u32; 12] = [31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
/// Names of the months.
pub const NAMES: [&str; 12] =
    ["January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December"];

impl Window {
    /// From two dates of the guidance.
    ///
    /// # Errors
    /// An unknown key, or one that is no date.
    pub fn read(o: &OnMeasures, first: &str, last: &str, country: Country) -> Result<Window, Unknown> {
        let g = o.context.guidance;
        let end = g.month_day(last, country)?;
        // The end of February is its end in every year.
        let last = if end == (2, 28) { (2, 29) } else { end };
        Ok(Window { first: g.month_day(first, country)?, last })
    }

    /// Whether a day lies in it.
    pub fn holds(self, day: (u32, u32)) -> bool {
        if self.first <= self.last { self.first <= day && day <= self.last } else { day >= self.first || day <= self.last }
    }

    /// How a month (January 0) lies to it.
    pub fn of_month(self, month: usize) -> Lies {
        let Some(days) = DAYS.get(month) else { return Lies::Outside };
        let inside = (1..=*days).filter(|d| self.holds((month as u32 + 1, *d))).count() as u32;
        match inside {
            0 => Lies::Outside,
            n if n == *days => Lies::Inside,
            _ => Lies::Partly,
        }
    }

    /// Whether it shares a day with another.
    pub fn meets(self, other: Window) -> bool {
        (0..12).any(|m| (1..=DAYS[m]).any(|d| self.holds((m as u32 + 1, d)) && other.holds((m as u32 + 1, d))))
    }

    /// In words.
    pub fn words(self) -> String {
        let day = |(m, d): (u32, u32)| format!("{d} {}", NAMES[(m as usize).clamp(1, 12) - 1]);
        let last = if self.last == (2, 29) { "end of February".to_string() } else { day(self.last) };
        format!("{} to {last}", day(self.first))
    }
}

/// The months a measure is said to be done in (January 0); `None` where none is told or none can be read.
pub fn months(measure: &Measure) -> Option<Vec<usize>> {
    let said = measure.facts.get("month")?;
    let said = said.as_str().map_or_else(|| said.to_string(), str::to_string);
    months_of(&said).filter(|m| !m.is_empty())
}

/// Months in words.
pub fn words(months: &[usize]) -> String {
    let names: Vec<&str> = months.iter().filter_map(|m| NAMES.get(*m).copied()).collect();
    match names.as_slice() {
        [] => String::new(),
        [one] => (*one).to_string(),
        [first, .., last] => format!("{first} to {last}"),
    }
}

/// The dates of the guidance between which a measure's work is usually done; `None` for kinds without any.
pub fn usual_keys<'a>(o: &OnMeasures<'a>, measure: &'a Measure) -> Option<[&'static str; 2]> {
    let work = o.facts(measure).word("work");
    Some(match (measure.kind.as_str(), work.as_str()) {
        ("wood", _) | ("conifer_edge", "restock") => ["window.planting.first", "window.planting.last"],
        ("heather", "burn") => return None,
        ("heather", _) => ["heather.cutting.first", "heather.cutting.last"],
        ("water", "scrape") => ["water.scrape.first", "water.scrape.last"],
        ("water", _) => ["water.season.first", "water.season.last"],
        ("fence", _) => ["window.fence_work.first", "window.fence_work.last"],
        ("inbye", "rush") => ["arable.rush.cut_first", "arable.rush.cut_last"],
        ("lek_care", "short" | "clear") => ["window.cutting.first", "window.cutting.last"],
        _ => return None,
    })
}

/// The usual window of a measure's work by the guidance; `None` for kinds without one.
///
/// # Errors
/// A date the tables lack.
pub fn usual<'a>(o: &OnMeasures<'a>, measure: &'a Measure) -> Result<Option<Window>, Unknown> {
    usual_keys(o, measure).map(|[first, last]| Window::read(o, first, last, o.country())).transpose()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_window_over_the_turn_of_the_year_holds_its_days_only() {
        let w = Window { first: (10, 1), last: (4, 15) };
        assert!(w.holds((10, 1)) && w.holds((1, 1)) && w.holds((4, 15)) && !w.holds((4, 16)) && !w.holds((9, 30)));
        assert_eq!([w.of_month(2), w.of_month(3), w.of_month(4), w.of_month(99)], [Lies::Inside, Lies::Partly, Lies::Outside, Lies::Outside]);
        assert_eq!(w.words(), "1 October to 15 April");
        assert!(w.meets(Window { first: (4, 15), last: (5, 1) }) && !w.meets(Window { first: (4, 16), last: (9, 30) }));
        assert_eq!(words(&[10, 11, 0]), "November to January");
    }
}
