//! Numbers, days, times and yes-or-no as people write them.

use super::table::Cell;
use super::unit::Unit;
use chrono::{Datelike, Days, NaiveDate, NaiveTime};

/// A value that cannot be taken: what was needed, and a hint.
pub(super) struct Bad {
    pub needed: &'static str,
    pub hint: &'static str,
}

fn bad(needed: &'static str, hint: &'static str) -> Bad {
    Bad { needed, hint }
}

/// Words for "nothing recorded".
fn is_blank(text: &str) -> bool {
    matches!(text.trim().to_lowercase().as_str(), "" | "-" | "--" | "\u{2013}" | "?" | "n/a" | "na" | "null" | "none" | "not recorded")
}

/// A number, with the unit written behind it where there is one; `None` where nothing is recorded.
pub(super) fn number(cell: &Cell) -> Result<Option<(f64, Option<Unit>)>, Bad> {
    match cell {
        Cell::Empty => Ok(None),
        Cell::Number(n) if n.is_finite() => Ok(Some((*n, None))),
        Cell::Number(_) => Err(bad("a finite number", "leave the cell empty where nothing was measured")),
        Cell::Text(text) if is_blank(text) => Ok(None),
        Cell::Text(text) => number_in_text(text.trim()).map(Some),
        Cell::Unusable(_) => Err(bad("a number", "write the value in place of the formula and save again")),
        _ => Err(bad("a number", "")),
    }
}

fn number_in_text(text: &str) -> Result<(f64, Option<Unit>), Bad> {
    let lower = text.to_lowercase();
    if matches!(lower.trim_start_matches(['+', '-']), "nan" | "inf" | "infinity") {
        return Err(bad("a finite number", "leave the cell empty where nothing was measured"));
    }
    if text.starts_with(['<', '>', '~', '\u{2264}', '\u{2265}', '\u{2248}']) {
        return Err(bad("a single number", "write one figure; what is above or below goes in a note"));
    }
    if text.starts_with('=') {
        return Err(bad("a number", "write the value in place of the formula and save again"));
    }
    let end = text.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',' | '+' | '-' | 'e' | 'E'))).unwrap_or(text.len());
    // `e` may begin a word (`12 each`), never end a number.
    let (figures, tail) = text.split_at(end);
    let trimmed = figures.trim_end_matches(['e', 'E']);
    let tail = format!("{}{}", &figures[trimmed.len()..], tail);
    let value = plain_number(trimmed)?;
    let unit = match tail.trim() {
        "" => None,
        word => Some(Unit::from_word(word).ok_or(bad("a number", "write one figure and nothing else; a unit may follow it"))?),
    };
    Ok((value, unit))
}

fn plain_number(text: &str) -> Result<f64, Bad> {
    let whole_bad = || bad("a number", "write one figure with a point for decimals");
    let unsigned = text.trim_start_matches(['+', '-']);
    let plain = if unsigned.contains(',') {
        let mut groups = unsigned.split('.').next().unwrap_or("").split(',');
        let first = groups.next().unwrap_or("");
        let thousands = (1..=3).contains(&first.len()) && first != "0" && groups.all(|g| g.len() == 3);
        if !thousands {
            return Err(bad("a number", "use a point, not a comma, for decimals"));
        }
        text.replace(',', "")
    } else {
        text.to_owned()
    };
    if !plain.chars().any(|c| c.is_ascii_digit()) {
        return Err(whole_bad());
    }
    plain.parse::<f64>().ok().filter(|v| v.is_finite()).ok_or_else(whole_bad)
}

/// Yes or no; `None` where nothing is recorded.
pub(super) fn flag(cell: &Cell) -> Result<Option<bool>, Bad> {
    match cell {
        Cell::Empty => Ok(None),
        Cell::Flag(flag) => Ok(Some(*flag)),
        Cell::Number(n) if *n == 0.0 => Ok(Some(false)),
        Cell::Number(n) if *n == 1.0 => Ok(Some(true)),
        Cell::Text(text) => match text.trim().to_lowercase().as_str() {
            "yes" | "y" | "true" | "t" | "1" | "x" => Ok(Some(true)),
            "no" | "n" | "false" | "f" | "0" => Ok(Some(false)),
            other if is_blank(other) => Ok(None),
            _ => Err(bad("yes or no", "")),
        },
        _ => Err(bad("yes or no", "")),
    }
}

/// A time of day as somebody wrote it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Clock {
    /// A time, whether it was said to be Greenwich time, and what was taken for granted about it.
    At(NaiveTime, bool, Option<&'static str>),
    /// Words or marks that give no time, such as `dawn`.
    Unclear,
}

const TIME_HINT: &str = "hours run from 0 to 23 and minutes from 0 to 59";

fn hours(hour: u32, minute: u32, second: u32) -> Result<NaiveTime, Bad> {
    NaiveTime::from_hms_opt(hour, minute, second).ok_or(bad("a time of day such as `05:10`", TIME_HINT))
}

/// A time of day; `None` where nothing is recorded.
///
/// Errors: figures that are no time of day, such as 25:00.
pub(super) fn time(cell: &Cell) -> Result<Option<Clock>, Bad> {
    let at = |time| Ok(Some(Clock::At(time, false, None)));
    match cell {
        Cell::Empty => Ok(None),
        Cell::Time(time) | Cell::Moment(_, time) => at(*time),
        Cell::Number(n) => number_time(*n).map(Some),
        Cell::Text(text) if is_blank(text) => Ok(None),
        Cell::Text(text) => time_in_text(text).map(Some),
        Cell::Unusable(_) => Err(bad("a time of day such as `05:10`", "write the value in place of the formula and save again")),
        _ => Err(bad("a time of day such as `05:10`", "")),
    }
}

/// A time in a bare number: a sheet's share of the day, `645`, or `5.45` for a quarter to six.
fn number_time(n: f64) -> Result<Clock, Bad> {
    if (0.0..1.0).contains(&n) {
        let seconds = (n * 86_400.0).round().min(86_399.0) as u32;
        return Ok(Clock::At(hours(seconds / 3600, seconds / 60 % 60, seconds % 60)?, false, None));
    }
    let whole = n.fract() == 0.0;
    if whole && (1.0..24.0).contains(&n) {
        return Ok(Clock::Unclear);
    }
    if whole && (100.0..10_000.0).contains(&n) {
        return Ok(Clock::At(hours(n as u32 / 100, n as u32 % 100, 0)?, false, None));
    }
    if !(1.0..24.0).contains(&n) {
        return Err(bad("a time of day such as `05:10`", TIME_HINT));
    }
    let minute = (n.fract() * 100.0).round() as u32;
    Ok(Clock::At(hours(n as u32, minute, 0)?, false, Some("times written like 5.45 were read as 5:45")))
}

/// A time as people write it: `0545`, `5:45`, `05.45`, `5.45am`, `645`, `06;30`, `04:45 GMT`, `0545-0630`.
///
/// Errors: figures that are no time of day.
pub(super) fn time_in_text(text: &str) -> Result<Clock, Bad> {
    if let [h1, h2, b':', m1, m2] = text.as_bytes()
        && [h1, h2, m1, m2].iter().all(|b| b.is_ascii_digit())
    {
        let two = |a: &u8, b: &u8| u32::from(a - b'0') * 10 + u32::from(b - b'0');
        return Ok(Clock::At(hours(two(h1, h2), two(m1, m2), 0)?, false, None));
    }
    let lower = text.trim().to_lowercase();
    let mut plain = lower.trim_matches(['`', '\'', '"', '*', '?', ' ']);
    let mut note = None;
    for before in ["~", "circa", "about", "approx", "from", "c.", "ca.", "c"] {
        if let Some(rest) = plain.strip_prefix(before) {
            plain = rest.trim_start_matches(['.', ' ']);
            note = Some("times said roughly were taken as they stand");
            break;
        }
    }
    // A day in a column of times: what a sheet makes of `5-6`.
    if plain.split(|c: char| !c.is_alphabetic()).any(|w| month_word(w).is_some()) {
        return Ok(Clock::Unclear);
    }
    let parts: Vec<&str> = plain.split(['-', '\u{2013}']).flat_map(|p| p.split(" to ")).map(str::trim).filter(|p| !p.is_empty()).collect();
    if parts.len() > 1 {
        note = Some("of times from and to, the first was taken for the start");
    }
    let Some(first) = parts.first() else { return Ok(Clock::Unclear) };
    let mut plain = first.to_string();
    // The zone may stand behind the last of two times.
    let mut greenwich = false;
    for (word, is_greenwich) in [("bst", false), ("gmt", true), ("utc", true), ("ut", true), ("z", true)] {
        if lower.ends_with(word) {
            plain = plain.trim_end_matches(word).trim().to_owned();
            greenwich = is_greenwich;
            break;
        }
    }
    for word in ["hours", "hrs", "hr", "h"] {
        if let Some(rest) = plain.strip_suffix(word) {
            plain = rest.trim().to_owned();
            break;
        }
    }
    let mut half = None;
    for (word, afternoon) in [("am", false), ("a.m.", false), ("a.m", false), ("pm", true), ("p.m.", true), ("p.m", true)] {
        if let Some(rest) = plain.strip_suffix(word) {
            half = Some(afternoon);
            plain = rest.trim().to_owned();
            break;
        }
    }
    if plain.is_empty() || !plain.chars().all(|c| c.is_ascii_digit() || matches!(c, ':' | '.' | ';' | 'h' | ' ' | ',')) {
        return Ok(Clock::Unclear);
    }
    // A sheet's share of the day, saved as text.
    if (plain.starts_with("0.") || plain.starts_with('.')) && half.is_none() {
        let share = plain.parse::<f64>().unwrap_or(f64::NAN);
        return match number_time(share) {
            Ok(Clock::At(time, ..)) => Ok(Clock::At(time, greenwich, note)),
            other => other,
        };
    }
    let figures: Vec<&str> = plain.split([':', '.', ';', 'h', ' ', ',']).filter(|f| !f.is_empty()).collect();
    let read = |f: &str| f.parse::<u32>().unwrap_or(u32::MAX);
    let (hour, minute, second) = match figures[..] {
        [h] if h.len() <= 2 && half.is_some() => (read(h), 0, 0),
        [h] if h.len() <= 2 => return Ok(Clock::Unclear),
        [hm] if hm.len() <= 4 => (read(&hm[..hm.len() - 2]), read(&hm[hm.len() - 2..]), 0),
        [h, m] if m.len() == 2 => (read(h), read(m), 0),
        [h, m, s] if m.len() == 2 => (read(h), read(m), read(s)),
        _ => return Err(bad("a time of day such as `05:10`", TIME_HINT)),
    };
    let hour = match half {
        Some(true) if hour < 12 => hour + 12,
        Some(false) if hour == 12 => 0,
        _ => hour,
    };
    Ok(Clock::At(hours(hour, minute, second)?, greenwich, note))
}

/// A day, a month or a year as somebody wrote it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum When {
    /// A day.
    Day(NaiveDate),
    /// Year and month.
    Month(i32, u32),
    /// Year.
    Year(i32),
}

impl When {
    /// The year.
    pub fn year(self) -> i32 {
        match self {
            When::Day(day) => day.year(),
            When::Month(year, _) | When::Year(year) => year,
        }
    }

    /// The day, or the first day of the month or year.
    pub fn first_day(self) -> Option<NaiveDate> {
        match self {
            When::Day(day) => Some(day),
            When::Month(year, month) => NaiveDate::from_ymd_opt(year, month, 1),
            When::Year(year) => NaiveDate::from_ymd_opt(year, 1, 1),
        }
    }
}

const DAY_NEEDED: &str = "a day such as `2026-04-17` or `17/04/2026`";

/// A day, with what was taken for granted about it; `None` where nothing is recorded.
pub(super) fn date(cell: &Cell, month_first: bool) -> Result<Option<(NaiveDate, Option<&'static str>)>, Bad> {
    match when(cell, month_first)? {
        None => Ok(None),
        Some((When::Day(day), taken)) => Ok(Some((day, taken))),
        Some(_) => Err(bad(DAY_NEEDED, "write the day in figures")),
    }
}

/// A day, month or year, with what was taken for granted about it; `None` where nothing is recorded.
///
/// - `month_first`: days in figures have the month before the day, as the column they stand in shows
pub(super) fn when(cell: &Cell, month_first: bool) -> Result<Option<(When, Option<&'static str>)>, Bad> {
    let found = match cell {
        Cell::Empty => return Ok(None),
        Cell::Date(date) | Cell::Moment(date, _) => (When::Day(*date), None),
        // A bare year is no serial number of the year 1905.
        Cell::Number(year) if (1900.0..=2100.0).contains(year) && year.fract() == 0.0 => (When::Year(*year as i32), None),
        Cell::Number(serial) => (
            When::Day(serial_day(*serial, false).ok_or(bad(DAY_NEEDED, "a bare number is taken for a day only as a sheet's serial number"))?),
            Some("a bare number in a date column was taken for a sheet's serial day number"),
        ),
        Cell::Text(text) if is_blank(text) => return Ok(None),
        // Five figures alone are a sheet's serial number that was saved as text: 1954 to 2173.
        Cell::Text(text) if text.trim().len() == 5 && text.trim().parse::<u32>().is_ok_and(|n| n >= 20_000) => {
            return when(&Cell::Number(text.trim().parse().unwrap_or(f64::NAN)), month_first);
        }
        Cell::Text(text) => when_in_text(text, month_first)?,
        Cell::Unusable(_) => return Err(bad(DAY_NEEDED, "write the value in place of the formula and save again")),
        _ => return Err(bad(DAY_NEEDED, "")),
    };
    if !(1800..=2200).contains(&found.0.year()) {
        return Err(bad("a day between 1800 and 2200", "write the year with four figures"));
    }
    Ok(Some(found))
}

/// The time of day beside a day in one cell; `None` where there is none.
pub(super) fn moment_time(cell: &Cell) -> Option<Clock> {
    match cell {
        Cell::Moment(_, time) => Some(Clock::At(*time, false, None)),
        Cell::Text(text) => {
            let (_, time) = day_and_time(text.trim());
            // A time zone in figures is that of the clock on the wall, but for +00.
            let (plain, zone) = time?.split_once('+').map_or((time?, ""), |(plain, zone)| (plain, zone));
            let said = time_in_text(plain.split('.').next().unwrap_or(plain)).ok()?;
            match said {
                Clock::At(time, greenwich, note) => Some(Clock::At(time, greenwich || zone.starts_with("00") || plain.ends_with('Z'), note)),
                Clock::Unclear => None,
            }
        }
        _ => None,
    }
}

/// A text's day, and its time where one stands behind it.
fn day_and_time(text: &str) -> (&str, Option<&str>) {
    let Some(colon) = text.find(':') else { return (text, None) };
    let before = &text[..colon];
    match before.rfind([' ', 'T']) {
        Some(cut) => (text[..cut].trim_end(), Some(text[cut + 1..].trim())),
        None => (text, None),
    }
}

/// The day of a sheet's serial number: days from 30 December 1899, or from 1 January 1904.
pub(super) fn serial_day(serial: f64, from_1904: bool) -> Option<NaiveDate> {
    if !(1.0..150_000.0).contains(&serial) {
        return None;
    }
    let epoch = if from_1904 { NaiveDate::from_ymd_opt(1904, 1, 1) } else { NaiveDate::from_ymd_opt(1899, 12, 30) };
    epoch?.checked_add_days(Days::new(serial as u64))
}

fn day_parts(text: &str) -> Vec<&str> {
    text.split(|c: char| c.is_whitespace() || matches!(c, '-' | '/' | '.' | ',')).filter(|p| !p.is_empty()).collect()
}

/// The first two figures of a day in figures whose year stands last.
fn two_figures(text: &str) -> Option<(u32, u32)> {
    let parts = day_parts(day_and_time(text.trim()).0);
    let figure = |part: &str| (part.len() <= 2).then(|| part.parse::<u32>().ok()).flatten();
    match parts[..] {
        [a, b, _] => figure(a).zip(figure(b)),
        _ => None,
    }
}

/// Whether a column's days in figures have the month first: one of them shows it, and none shows the contrary.
pub(super) fn month_first<'t>(column: impl Iterator<Item = &'t str>) -> bool {
    let (mut day, mut month) = (false, false);
    for text in column {
        if let Some((a, b)) = two_figures(text) {
            day |= (13..=31).contains(&a) && (1..=12).contains(&b);
            month |= (13..=31).contains(&b) && (1..=12).contains(&a);
        }
    }
    month && !day
}

/// A day, month or year in text, with what was taken for granted about it.
pub(super) fn when_in_text(text: &str, month_first: bool) -> Result<(When, Option<&'static str>), Bad> {
    let wrong = || bad(DAY_NEEDED, "write the day in figures");
    let (text, _) = day_and_time(text.trim());
    let four = |part: &str| part.len() == 4 && part.bytes().all(|b| b.is_ascii_digit());
    let parts = day_parts(text);
    let (a, b, c) = match parts[..] {
        [a, b, c] => (a, b, c),
        [year] if four(year) => return Ok((When::Year(year.parse().map_err(|_| wrong())?), None)),
        [y, m] | [m, y] if four(y) && month(m).is_some_and(|m| (1..=12).contains(&m)) => {
            return Ok((When::Month(y.parse().map_err(|_| wrong())?, month(m).unwrap_or(1)), None));
        }
        [all] if all.len() == 8 && all.bytes().all(|b| b.is_ascii_digit()) => {
            return NaiveDate::parse_from_str(all, "%Y%m%d").map(|d| (When::Day(d), None)).map_err(|_| bad("a day of the calendar", "eight figures are read as year, month and day, such as 20260417"));
        }
        _ => return Err(wrong()),
    };
    let figures = |part: &str| part.trim_end_matches(|c: char| c.is_ascii_alphabetic()).parse::<u32>().ok();
    let mut taken = None;
    let (year, month, day) = if four(a) {
        (a, month(b), figures(c))
    } else if let Some(word) = month_word(a) {
        (c, Some(word), figures(b))
    } else {
        let (first, second) = if month_first && month_word(b).is_none() { (b, a) } else { (a, b) };
        match two_figures(text) {
            Some(_) if month_first => {
                taken = Some("days of a column were read month first, as it shows: 04/03/2026 is 3 April");
            }
            Some((a, b)) if a != b && (1..=12).contains(&a) && (1..=12).contains(&b) => {
                taken = Some("days written like 03/04/2026 were read day first: 3 April");
            }
            _ => {}
        }
        (c, month(second), figures(first))
    };
    let mut full: i32 = year.parse().map_err(|_| wrong())?;
    if year.len() == 2 && year.bytes().all(|b| b.is_ascii_digit()) {
        full += if full < 50 { 2000 } else { 1900 };
        taken = Some(if taken.is_some() && !month_first {
            "days written like 03/04/26 were read day first, the year between 1950 and 2049: 3 April 2026"
        } else {
            "years of two figures were read as 1950 to 2049"
        });
    } else if year.len() < 4 {
        return Err(bad("a day with the year in four figures", "write 2026, not 26"));
    }
    match (month, day) {
        (Some(month), _) if month > 12 && four(a) => Err(bad("a day of the calendar", "after a year in front comes the month, and there are twelve: write 2026-04-17")),
        (Some(month), Some(day)) if month > 12 && day <= 12 => {
            Err(bad("a day before its month, such as `17/04/2026`", "the month seems to stand first: write the days as 2026-04-17"))
        }
        (Some(month), Some(day)) => {
            let day = NaiveDate::from_ymd_opt(full, month, day).ok_or(bad("a day of the calendar", "there is no such day"))?;
            Ok((When::Day(day), taken))
        }
        _ => Err(wrong()),
    }
}

fn month(part: &str) -> Option<u32> {
    part.parse().ok().or_else(|| month_word(part))
}

/// The month a word or its first three letters name.
pub(super) fn month_word(word: &str) -> Option<u32> {
    const MONTHS: [&str; 12] = [
        "january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november",
        "december",
    ];
    let word = word.to_lowercase();
    let at = MONTHS.iter().position(|m| word.len() >= 3 && (m.starts_with(&word) || (word == "sept" && *m == "september")))?;
    Some(at as u32 + 1)
}

/// A number of birds as somebody wrote it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Birds {
    /// A figure, not judged.
    Figure(f64),
    /// A figure taken out of words, and how.
    Taken(u32, &'static str),
    /// Words that give no number, such as `several`.
    Unclear,
}

/// A number of birds; `None` where none is recorded.
///
/// Errors: what can be no count, such as a day.
pub(super) fn birds(cell: &Cell) -> Result<Option<Birds>, Bad> {
    match cell {
        Cell::Empty => Ok(None),
        Cell::Number(n) if n.is_finite() => Ok(Some(Birds::Figure(*n))),
        Cell::Text(text) => Ok(birds_in_text(text)),
        Cell::Date(_) | Cell::Moment(..) => Err(bad("a whole number", "a sheet makes a day of `5-6`: write one figure")),
        Cell::Unusable(_) => Err(bad("a whole number", "write the value in place of the formula and save again")),
        _ => Err(bad("a whole number", "")),
    }
}

/// Whether marks or words say that birds were not counted, such as `x`, `?` or `n/c`.
pub(super) fn says_not_counted(text: &str) -> bool {
    let lower = text.trim().to_lowercase();
    is_blank(&lower) || matches!(lower.as_str(), "n/c" | "nc" | "not counted" | "no count" | "nd" | "unk" | "unknown" | "x" | "??")
}

/// A number of birds as people write it: `5`, `c. 5`, `5+`, `5-6`, `nil`, `n/c`.
pub(super) fn birds_in_text(text: &str) -> Option<Birds> {
    const SEEN: &[&str] = &[
        "cocks", "cock", "males", "male", "blackcock", "blackcocks", "hens", "hen", "greyhens", "greyhen", "females", "female", "birds",
        "bird", "seen", "lekking", "displaying", "counted",
    ];
    const WORDS: [&str; 13] =
        ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"];
    let lower = text.trim().to_lowercase();
    if matches!(lower.as_str(), "nil" | "none" | "zero" | "no birds" | "none seen" | "no cocks" | "no hens") {
        return Some(Birds::Taken(0, "counts in words such as `nil` and `none` were read as 0"));
    }
    if says_not_counted(&lower) {
        return None;
    }
    if let Ok((figure, None)) = number_in_text(&lower) {
        return Some(Birds::Figure(figure));
    }
    let plain = lower.replace(['*', '(', ')', '[', ']'], " ");
    let below = plain.trim_start().starts_with(['<', '\u{2264}']) || ["up to", "max", "under", "less than", "fewer"].iter().any(|w| plain.contains(w));
    let figures: Vec<&str> = plain.split(|c: char| !c.is_ascii_digit()).filter(|f| !f.is_empty()).collect();
    let rest: Vec<&str> = plain
        .split(|c: char| !(c.is_alphabetic() || matches!(c, '+' | '>' | '\u{2265}')))
        .filter(|w| !w.is_empty() && !SEEN.contains(w))
        .collect();
    let read = |f: &str| f.parse::<u32>().ok();
    // A figure with a remark in brackets beside it that holds no other, as `11 (two small)`: the figure.
    if let Some((figure, remark)) = lower.split_once('(').map(|(a, b)| (a.trim(), b))
        && let (Ok(n), false) = (figure.parse::<u32>(), remark.contains(|c: char| c.is_ascii_digit()))
        && remark.trim_end().ends_with(')')
    {
        return Some(Birds::Taken(n, "counts with words or marks beside the figure were read as the figure"));
    }
    match (&figures[..], &rest[..]) {
        ([_], _) if below || plain.contains(['.', ',']) && !plain.trim_start().starts_with('c') => Some(Birds::Unclear),
        ([one], []) if !plain.contains('-') => read(one).map(|n| Birds::Taken(n, "counts with words or marks beside the figure were read as the figure")),
        ([one], words) if words.iter().all(|w| matches!(*w, "c" | "ca" | "circa" | "about" | "approx" | "approximately" | "around")) => {
            read(one).map(|n| Birds::Taken(n, "counts said roughly were read as the figure"))
        }
        ([one], words) if words.iter().all(|w| matches!(*w, "+" | ">" | "\u{2265}" | "at" | "least" | "min" | "minimum" | "plus" | "or" | "more")) => {
            read(one).map(|n| Birds::Taken(n, "counts of at least so many were read as the figure, which may be too low"))
        }
        ([low, high], words) if words.iter().all(|w| matches!(*w, "to" | "or" | "c" | "between" | "and")) && !plain.contains(['.', ',']) => {
            let (low, high) = (read(low)?, read(high)?);
            Some(if low <= high { Birds::Taken(low, "of counts from and to, the lower was taken") } else { Birds::Unclear })
        }
        ([], [word]) => Some(WORDS.iter().position(|w| w == word).map_or(Birds::Unclear, |n| Birds::Taken(n as u32, "counts in words were read as figures"))),
        _ => Some(Birds::Unclear),
    }
}

/// A Beaufort force as people write it, and what was taken for granted: `3`, `F3`, `SW 3-4`, `light breeze`.
pub(super) fn beaufort(text: &str) -> Option<(u8, Option<&'static str>)> {
    // The scale's own words, each before the shorter ones it holds; the forces are the scale's (from memory).
    const WORDS: [(&str, u8); 16] = [
        ("violent storm", 11), ("hurricane", 12), ("strong gale", 9), ("near gale", 7), ("no wind", 0), ("light air", 1), ("moderate", 4),
        ("gentle", 3), ("strong", 6), ("storm", 10), ("fresh", 5), ("light", 2), ("still", 0), ("gale", 8), ("calm", 0), ("none", 0),
    ];
    let mut lower = text.trim().to_lowercase();
    if ["mph", "kph", "km", "knot", "kt", "m/s"].iter().any(|unit| lower.contains(unit)) {
        return None;
    }
    let figures: Vec<u32> = lower.split(|c: char| !c.is_ascii_digit()).filter(|f| !f.is_empty()).map(|f| f.parse().unwrap_or(u32::MAX)).collect();
    if let Some(most) = figures.iter().max() {
        let force = u8::try_from(*most).ok().filter(|f| *f <= 12 && figures.len() <= 2)?;
        return Some((force, (figures.len() == 2).then_some("of wind forces from and to, the higher was taken")));
    }
    let mut force = None;
    for (word, is) in WORDS {
        if lower.contains(word) {
            force = force.max(Some(is));
            lower = lower.replace(word, " ");
        }
    }
    force.map(|force| (force, Some("wind in words was read by the Beaufort scale")))
}

/// Text without control characters and the marks that turn the direction of writing; true when some were taken out.
pub(super) fn clean(text: &str) -> (String, bool) {
    let unwanted = |c: char| {
        (c.is_control() && c != '\n' && c != '\t') || matches!(c, '\u{202A}'..='\u{202E}' | '\u{2066}'..='\u{2069}' | '\u{FEFF}')
    };
    let kept: String = text.chars().filter(|c| !unwanted(*c)).collect();
    let changed = kept.len() != text.len();
    (kept.trim().to_owned(), changed)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(text: &str) -> Option<(f64, Option<Unit>)> {
        number(&Cell::text(text)).ok().flatten()
    }

    #[test]
    fn numbers_as_people_write_them() {
        assert_eq!(of("12"), Some((12.0, None)));
        assert_eq!(of("1,234"), Some((1234.0, None)));
        assert_eq!(of("1,234,567.5"), Some((1_234_567.5, None)));
        assert_eq!(of("12 cm"), Some((12.0, Some(Unit::Centimetre))));
        assert_eq!(of("12cm"), Some((12.0, Some(Unit::Centimetre))));
        assert_eq!(of("35%"), Some((35.0, Some(Unit::Percent))));
        assert_eq!(of("-3.5e2"), Some((-350.0, None)));
        assert_eq!(of("n/a"), None);
        for wrong in ["12,5", "<5", "~12", "5-10", "NaN", "inf", "-Infinity", "ten", "1.2.3", "=A1*2", "12 furlongs", "1e999", "e", "0,500"] {
            assert!(number(&Cell::text(wrong)).is_err(), "{wrong}");
        }
        assert!(number(&Cell::Number(f64::NAN)).is_err());
    }

    #[test]
    fn days_in_many_forms() {
        let day = NaiveDate::from_ymd_opt(2026, 4, 17).unwrap();
        for text in [
            "2026-04-17", "17/04/2026", "17-04-2026", "17.4.2026", "17 Apr 2026", "17 April 2026", "17th April 2026",
            "Apr 17, 2026", "2026/04/17", "2026-04-17T05:10:00Z", "2026-04-17 05:10:00", "20260417", "17-Apr-2026",
            "17/04/26", "17.4.26", "17-Apr-26", "17/04/2026 05:10", "17/04/2026 5:10 am", "46129",
        ] {
            assert_eq!(date(&Cell::text(text), false).ok().flatten().map(|d| d.0), Some(day), "{text}");
        }
        assert_eq!(serial_day(46_129.0, false), Some(day));
        assert_eq!(serial_day(44_667.0, true), Some(day));
        assert_eq!(date(&Cell::text("04/17/2026"), true).ok().flatten().map(|d| d.0), Some(day));
        assert_eq!(date(&Cell::text("17 Apr 2026"), true).ok().flatten().map(|d| d.0), Some(day));
        for wrong in ["last spring", "04/17/2026", "31/02/2026", "2026", "April 2026", "17/04/20266", "0017-04-17", "17/13/2026"] {
            assert!(date(&Cell::text(wrong), false).is_err(), "{wrong}");
        }
        let of = |text| when(&Cell::text(text), false).ok().flatten().map(|w| w.0);
        assert_eq!([of("1987"), of("April 1987"), of("1987-04")], [Some(When::Year(1987)), Some(When::Month(1987, 4)), Some(When::Month(1987, 4))]);
        assert_eq!(when(&Cell::Number(1987.0), false).ok().flatten().map(|w| w.0), Some(When::Year(1987)));
    }

    #[test]
    fn a_column_tells_whether_the_month_stands_first() {
        let tells = |column: &[&str]| month_first(column.iter().copied());
        assert!(tells(&["04/05/2026", "04/17/2026"]));
        assert!(!tells(&["04/05/2026", "17/04/2026"]) && !tells(&["04/05/2026"]) && !tells(&["04/17/2026", "17/04/2026"]));
        assert!(!tells(&["2026-04-17", "17 Apr 2026"]));
    }

    #[test]
    fn times_and_flags() {
        let at = |h, m| NaiveTime::from_hms_opt(h, m, 0).map(|t| (t, false));
        let of = |cell: &Cell| match time(cell) {
            Ok(Some(Clock::At(time, greenwich, _))) => Some((time, greenwich)),
            _ => None,
        };
        for text in [
            "5:45", "05:45", "0545", "545", "05.45", "5.45", "5.45am", "5:45 AM", "5.45 a.m.", "05:45:00", "05;45", "0545hrs", "5h45",
            "`0545", "c. 5:45", "~0545", "0545-0630", "05:45 to 06:30", "5:45 BST", "0.2395833333",
        ] {
            assert_eq!(of(&Cell::text(text)), at(5, 45), "{text}");
        }
        assert_eq!(of(&Cell::text("04:45 GMT")), NaiveTime::from_hms_opt(4, 45, 0).map(|t| (t, true)));
        assert_eq!(of(&Cell::text("5.45pm")), at(17, 45));
        assert_eq!(of(&Cell::Number(0.25)), at(6, 0));
        assert_eq!(of(&Cell::Number(645.0)), at(6, 45));
        assert_eq!(of(&Cell::Number(5.45)), at(5, 45));
        assert_eq!(of(&Cell::Number(1745.0)), at(17, 45));
        for text in ["dawn", "Unk", "nd", "07:??", "22-Jun", "6", "pm"] {
            assert_eq!(time(&Cell::text(text)).ok().flatten(), Some(Clock::Unclear), "{text}");
        }
        for text in ["25:00", "575", "7030", "71:10:00", "24:00"] {
            assert!(time(&Cell::text(text)).is_err(), "{text}");
        }
        assert_eq!(moment_time(&Cell::text("12/04/2026 5:45")), Some(Clock::At(NaiveTime::from_hms_opt(5, 45, 0).unwrap(), false, None)));
        assert_eq!(moment_time(&Cell::text("2026-04-12T04:45:00Z")), Some(Clock::At(NaiveTime::from_hms_opt(4, 45, 0).unwrap(), true, None)));
        assert_eq!(flag(&Cell::text("Y")).ok().flatten(), Some(true));
        assert!(flag(&Cell::text("perhaps")).is_err());
    }

    #[test]
    fn birds_as_people_write_them() {
        let of = birds_in_text;
        let taken = |text: &str| match of(text) {
            Some(Birds::Taken(n, _)) => Some(n),
            _ => None,
        };
        assert_eq!([of("5"), of("-3"), of("5.5")], [Some(Birds::Figure(5.0)), Some(Birds::Figure(-3.0)), Some(Birds::Figure(5.5))]);
        for text in ["c. 5", "c5", "~5", "about 5", "5+", ">5", "at least 5", "5-6", "5 to 7", "5/6", "5?", "5 cocks", "5*", "five"] {
            assert_eq!(taken(text), Some(5), "{text}");
        }
        assert_eq!([taken("nil"), taken("none"), taken("no birds")], [Some(0); 3]);
        assert_eq!(["-", "?", "n/c", "n/a", "", "not counted"].map(of), [None; 6]);
        for text in ["several", "<5", "max 5", "heard only", "5 lekking + 2 silent", "3 + 2", "6-5"] {
            assert_eq!(of(text), Some(Birds::Unclear), "{text}");
        }
    }

    #[test]
    fn wind_as_people_write_it() {
        let of = |text| beaufort(text).map(|b| b.0);
        assert_eq!(["3", "F3", "SW 3-4", "force 2", "0"].map(of), [Some(3), Some(3), Some(4), Some(2), Some(0)]);
        assert_eq!(["calm", "Light air", "light NW", "near gale", "moderate to fresh"].map(of), [Some(0), Some(1), Some(2), Some(7), Some(5)]);
        assert_eq!(["10 mph", "15", "breezy", "3.5.2"].map(of), [None; 4]);
    }

    #[test]
    fn control_characters_go_and_quotes_and_markup_stay() {
        assert_eq!(clean("Long \"Fell\" <b>&'\u{7}"), ("Long \"Fell\" <b>&'".to_owned(), true));
        assert_eq!(clean("O\u{2019}Hare"), ("O\u{2019}Hare".to_owned(), false));
    }
}
