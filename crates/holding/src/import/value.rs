//! Numbers, days, times and yes-or-no as people write them.

use super::table::Cell;
use super::unit::Unit;
use chrono::{Datelike, Days, NaiveDate, NaiveDateTime, NaiveTime};

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

/// A time of day; `None` where nothing is recorded.
pub(super) fn time(cell: &Cell) -> Result<Option<NaiveTime>, Bad> {
    let wrong = || bad("a time of day such as `05:10`", "");
    match cell {
        Cell::Empty => Ok(None),
        Cell::Time(time) | Cell::Moment(_, time) => Ok(Some(*time)),
        // A sheet stores a time as a share of the day.
        Cell::Number(n) if (0.0..1.0).contains(n) => {
            NaiveTime::from_num_seconds_from_midnight_opt((n * 86_400.0).round() as u32, 0).map(Some).ok_or_else(wrong)
        }
        Cell::Number(n) if (100.0..2400.0).contains(n) && n.fract() == 0.0 => {
            NaiveTime::from_hms_opt(*n as u32 / 100, *n as u32 % 100, 0).map(Some).ok_or_else(wrong)
        }
        Cell::Text(text) if is_blank(text) => Ok(None),
        Cell::Text(text) => {
            let mut plain = text.trim().to_lowercase().replace('.', ":");
            // `510` and `0510` are ten past five.
            if plain.len() == 3 && plain.bytes().all(|b| b.is_ascii_digit()) {
                plain.insert(0, '0');
            }
            ["%H:%M", "%H:%M:%S", "%I:%M%p", "%I:%M %p", "%H%M"]
                .iter()
                .find_map(|form| NaiveTime::parse_from_str(&plain, form).ok())
                .map(Some)
                .ok_or_else(wrong)
        }
        _ => Err(wrong()),
    }
}

const DAY_NEEDED: &str = "a day such as `2026-04-17` or `17/04/2026`";

/// A day, with what was taken for granted about it; `None` where nothing is recorded.
pub(super) fn date(cell: &Cell) -> Result<Option<(NaiveDate, Option<&'static str>)>, Bad> {
    let found = match cell {
        Cell::Empty => return Ok(None),
        Cell::Date(date) | Cell::Moment(date, _) => (*date, None),
        Cell::Number(serial) => (
            serial_day(*serial, false).ok_or(bad(DAY_NEEDED, "a bare number is taken for a day only as a sheet's serial number"))?,
            Some("a bare number in a date column was taken for a sheet's serial day number"),
        ),
        Cell::Text(text) if is_blank(text) => return Ok(None),
        // Five figures alone are a sheet's serial number that was saved as text: 1954 to 2173.
        Cell::Text(text) if text.trim().len() == 5 && text.trim().parse::<u32>().is_ok_and(|n| n >= 20_000) => {
            return date(&Cell::Number(text.trim().parse().unwrap_or(f64::NAN)));
        }
        Cell::Text(text) => {
            let date = date_in_text(text.trim())?;
            (date, either_way(text.trim()).then_some("days written like 03/04/2026 were read day first: 3 April"))
        }
        _ => return Err(bad(DAY_NEEDED, "")),
    };
    if !(1800..=2200).contains(&found.0.year()) {
        return Err(bad("a day between 1800 and 2200", "write the year with four figures"));
    }
    Ok(Some(found))
}

/// The day of a sheet's serial number: days from 30 December 1899, or from 1 January 1904.
pub(super) fn serial_day(serial: f64, from_1904: bool) -> Option<NaiveDate> {
    if !(1.0..150_000.0).contains(&serial) {
        return None;
    }
    let epoch = if from_1904 { NaiveDate::from_ymd_opt(1904, 1, 1) } else { NaiveDate::from_ymd_opt(1899, 12, 30) };
    epoch?.checked_add_days(Days::new(serial as u64))
}

/// Whether a day in figures reads as another day with the month first.
fn either_way(text: &str) -> bool {
    let mut parts = text.split(['-', '/', '.', ' ']).map(str::trim).filter(|p| !p.is_empty());
    let figure = |part: Option<&str>| part.filter(|p| p.len() <= 2).and_then(|p| p.parse::<u32>().ok()).filter(|n| (1..=12).contains(n));
    matches!((figure(parts.next()), figure(parts.next())), (Some(a), Some(b)) if a != b)
}

fn date_in_text(text: &str) -> Result<NaiveDate, Bad> {
    let wrong = || bad(DAY_NEEDED, "write the day in figures");
    for form in ["%Y-%m-%dT%H:%M:%S%.fZ", "%Y-%m-%dT%H:%M:%S%.f%:z", "%Y-%m-%dT%H:%M:%S%.f", "%Y-%m-%d %H:%M:%S%.f", "%Y/%m/%d %H:%M:%S%.f", "%Y-%m-%dT%H:%M", "%Y-%m-%d %H:%M", "%d/%m/%Y %H:%M:%S", "%d/%m/%Y %H:%M"] {
        if let Ok(moment) = NaiveDateTime::parse_from_str(text, form) {
            return Ok(moment.date());
        }
    }
    let parts: Vec<&str> =
        text.split(|c: char| c.is_whitespace() || matches!(c, '-' | '/' | '.' | ',')).filter(|p| !p.is_empty()).collect();
    let [a, b, c] = parts[..] else {
        if text.len() == 8 && text.bytes().all(|b| b.is_ascii_digit()) {
            return NaiveDate::parse_from_str(text, "%Y%m%d").map_err(|_| wrong());
        }
        return Err(wrong());
    };
    let figures = |part: &str| part.trim_end_matches(|c: char| c.is_ascii_alphabetic()).parse::<u32>().ok();
    let (year, month, day) = if a.len() == 4 && a.bytes().all(|b| b.is_ascii_digit()) {
        (a, month(b), figures(c))
    } else if let Some(word) = month_word(a) {
        (c, Some(word), figures(b))
    } else {
        (c, month(b), figures(a))
    };
    if year.len() == 2 && year.bytes().all(|b| b.is_ascii_digit()) {
        return Err(bad("a day with the year in four figures", "write 2026, not 26"));
    }
    let year = year.parse::<i32>().map_err(|_| wrong())?;
    match (month, day) {
        (Some(month), Some(day)) if month > 12 && day <= 12 => {
            Err(bad("a day before its month, such as `17/04/2026`", "the month seems to stand first: write the days as 2026-04-17"))
        }
        (Some(month), Some(day)) => NaiveDate::from_ymd_opt(year, month, day).ok_or(bad("a day of the calendar", "there is no such day")),
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
        ] {
            assert_eq!(date(&Cell::text(text)).ok().flatten().map(|d| d.0), Some(day), "{text}");
        }
        assert_eq!(serial_day(46_129.0, false), Some(day));
        assert_eq!(serial_day(44_667.0, true), Some(day));
        for wrong in ["last spring", "17/04/26", "04/17/2026", "31/02/2026", "2026", "April 2026", "17/04/20266", "0017-04-17"] {
            assert!(date(&Cell::text(wrong)).is_err(), "{wrong}");
        }
    }

    #[test]
    fn times_and_flags() {
        assert_eq!(time(&Cell::text("5:10")).ok().flatten(), NaiveTime::from_hms_opt(5, 10, 0));
        assert_eq!(time(&Cell::text("05.10")).ok().flatten(), NaiveTime::from_hms_opt(5, 10, 0));
        assert_eq!(time(&Cell::Number(0.25)).ok().flatten(), NaiveTime::from_hms_opt(6, 0, 0));
        assert_eq!(time(&Cell::text("510")).ok().flatten(), NaiveTime::from_hms_opt(5, 10, 0));
        assert_eq!(time(&Cell::Number(1745.0)).ok().flatten(), NaiveTime::from_hms_opt(17, 45, 0));
        assert!(time(&Cell::text("dawn")).is_err() && time(&Cell::text("575")).is_err());
        assert_eq!(flag(&Cell::text("Y")).ok().flatten(), Some(true));
        assert!(flag(&Cell::text("perhaps")).is_err());
    }

    #[test]
    fn control_characters_go_and_quotes_and_markup_stay() {
        assert_eq!(clean("Long \"Fell\" <b>&'\u{7}"), ("Long \"Fell\" <b>&'".to_owned(), true));
        assert_eq!(clean("O\u{2019}Hare"), ("O\u{2019}Hare".to_owned(), false));
    }
}
