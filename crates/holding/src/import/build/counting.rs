//! What visits and brood counts share: days, numbers of birds, and what is kept as it was written.

use super::Values;
use crate::import::features::Mode;
use crate::import::value::{Birds, When, month_word, says_not_counted};
use crate::model::{Extra, KnownTo};
use chrono::{Datelike, NaiveDate};

/// No count is older; the program's own limit.
const YEAR_MIN: i32 = 1900;

/// How counts are taken in.
pub(in crate::import) struct Counting {
    /// The day it is.
    pub today: Option<NaiveDate>,
    /// Whether the counts join those of the plan.
    pub mode: Mode,
    /// Whether leks put forward are made.
    pub make_leks: bool,
    /// Whether rows that cannot be used are left out.
    pub leave_out: bool,
    /// More young than this to a hen are a slip.
    pub young_most: f64,
    /// First and last month and day of the season of brood counts, where guidance knows them.
    pub brood_season: Option<[(u32, u32); 2]>,
    /// Birds no farther than this from a lek belong to it, metres.
    pub same_lek_m: f64,
    /// A lone bird no farther than this from a lek belongs to it, metres.
    pub lone_bird_m: f64,
}

/// The day of a count, or the first day of its month or year where no more is known.
pub(super) fn day(v: &mut Values<'_, '_>, counting: &Counting) -> Option<(NaiveDate, KnownTo)> {
    let field = ["date", "day", "year"].into_iter().find(|f| v.has(f)).unwrap_or("date");
    let when = when(v)?;
    let Some(day) = when.first_day() else {
        v.fault(field, "a day of the calendar", "");
        return None;
    };
    if day.year() < YEAR_MIN {
        v.fault(field, format!("a day from {YEAR_MIN} on"), "look whether the year lacks figures");
        return None;
    }
    if counting.today.is_some_and(|today| day > today) {
        let today = counting.today.unwrap_or_default();
        v.fault(field, format!("a day up to today, {today}"), "a count cannot lie ahead: look at the year");
        return None;
    }
    let known_to = match when {
        When::Day(_) => KnownTo::Day,
        When::Month(..) => KnownTo::Month,
        When::Year(_) => KnownTo::Year,
    };
    Some((day, known_to))
}

/// A column of days, or a column each for year, month and day of the month.
fn when(v: &mut Values<'_, '_>) -> Option<When> {
    if v.has("date") {
        return v.when("date");
    }
    // A column `day` with no year beside it holds whole days.
    if v.has("day") && !v.maps("year") {
        return v.when("day");
    }
    if !v.has("year") || v.has("day") && !v.has("month") {
        let field = ["date", "year", "month", "day"].into_iter().find(|f| v.maps(f) && !v.has(f)).unwrap_or("date");
        v.fault(field, "the day of the count", "a count without a day cannot be used; the year alone will do for an old one");
        return None;
    }
    let year = v.number("year", 1800.0, 2200.0)? as i32;
    if !v.has("month") {
        return Some(When::Year(year));
    }
    let said = v.text("month");
    let month = said.parse().ok().or_else(|| month_word(&said)).filter(|m| (1..=12).contains(m));
    let Some(month) = month else {
        v.fault("month", "a month from 1 to 12, or its name", "");
        return None;
    };
    if !v.has("day") {
        return Some(When::Month(year, month));
    }
    let date = v.count("day").map(|day| NaiveDate::from_ymd_opt(year, month, day))?;
    if date.is_none() {
        v.fault("day", "a day of the calendar", "");
    }
    date.map(When::Day)
}

/// A number of birds up to `most`. What stood there is kept in `extra` where more than a figure was written.
pub(super) fn birds(v: &mut Values<'_, '_>, field: &str, most: u32, extra: &mut Extra) -> Option<u32> {
    let Some(read) = v.birds(field) else {
        // A visit without its cocks counts for nothing: what stood there is not lost without a word.
        if field == "cocks" && v.as_written(field).is_some_and(|(_, text)| says_not_counted(&text)) {
            v.note("marks or words in `cocks` for not counted, such as `x`, `?` or `n/c`, were kept as written, and the birds as not counted");
            keep(v, field, extra);
        }
        return None;
    };
    let number = match read {
        Birds::Figure(figure) => figure,
        Birds::Taken(number, how) => {
            v.note(how);
            keep(v, field, extra);
            f64::from(number)
        }
        Birds::Unclear => {
            v.note(format!("words in `{field}` that give no number were kept as written, and the birds as not counted"));
            keep(v, field, extra);
            return None;
        }
    };
    if number < 0.0 || number.fract() != 0.0 || number > f64::from(most) {
        v.fault(field, format!("a whole number of birds from 0 to {most}"), "leave the cell empty where nothing was counted");
        return None;
    }
    Some(number as u32)
}

/// Keep what stands in a field as it was written.
pub(super) fn keep(v: &Values<'_, '_>, field: &str, extra: &mut Extra) {
    if let Some((column, text)) = v.as_written(field) {
        extra.insert(format!("{column} as written"), text.into());
    }
}

/// Whether a row is the sum of those above: a total by its name, without a day; or the last row, with figures alone.
pub(super) fn is_total(v: &Values<'_, '_>, last: bool) -> bool {
    let dated = ["date", "year", "month", "day"].iter().any(|f| v.has(f));
    if dated {
        return false;
    }
    let first = crate::words::loose(&v.first());
    let total = ["total", "totals", "grandtotal", "sum", "subtotal", "mean", "average", "max", "maximum"].contains(&first.as_str());
    total || last && v.plain("lek").is_empty() && v.first().parse::<f64>().is_ok()
}
