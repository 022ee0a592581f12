//! One row read and checked by itself.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use crate::country::Country;
use crate::fault::{Fault, near};
use crate::load::bibliography::words;
use crate::load::csv_file::{self, Line};
use crate::row::{Grade, Row, Spread, Value};
use crate::source::{Kind, ReadStatus, Source};
use crate::unit::{UNITS, Unit};

const COLUMNS: [&str; 16] = [
    "key", "x", "value", "unit", "low", "high", "spread", "source", "locator", "grade", "country", "edition", "valid_from", "valid_to", "waits", "note",
];

/// The rooms a row can wait for.
pub(super) const ROOMS: [&str; 8] = ["holding", "habitat", "rules", "ahead", "measures", "birds", "works", "handover"];

/// The rows of one table; what is wrong with them goes to `faults`, and a faulty row is left out.
pub(super) fn read(file: &str, text: &str, sources: &BTreeMap<String, Source>, faults: &mut Vec<Fault>) -> Vec<Row> {
    let mut rows = Vec::new();
    for line in csv_file::read(file, text, &COLUMNS, faults) {
        let before = faults.len();
        let row = row(&line, faults);
        let grade = Grade::from_word(line.cell("grade"));
        check_source(&line, grade, sources, faults);
        if faults.len() == before {
            rows.extend(row);
        }
    }
    rows
}

fn row(line: &Line, faults: &mut Vec<Fault>) -> Option<Row> {
    if !is_key(line.cell("key")) {
        faults.push(line.fault("key", "a dotted name such as `lek.view.distance_m`", "begin with a small letter; letters, digits, `_` and dots follow"));
    }
    let grade = Grade::from_word(line.cell("grade"));
    if grade.is_none() {
        faults.push(line.fault("grade", words(Grade::ALL.map(Grade::word)), "say how far the figure can be trusted"));
    }
    let country = line.cell("country").parse::<Country>().ok().filter(|country| country.name() == line.cell("country"));
    if country.is_none() {
        faults.push(line.fault("country", words(Country::ALL.map(Country::name)), "write `GB` where it holds everywhere"));
    }
    if !(line.cell("waits").is_empty() || ROOMS.contains(&line.cell("waits"))) {
        faults.push(line.fault("waits", format!("nothing, or {}", words(ROOMS)), "leave it empty once the program uses the row"));
    }
    let unit = unit(line, faults);
    let x = optional_number(line, "x", faults);
    let (low, high) = (optional_number(line, "low", faults), optional_number(line, "high", faults));
    let (valid_from, valid_to) = (optional_date(line, "valid_from", faults), optional_date(line, "valid_to", faults));
    if let (Some(first), Some(last)) = (valid_from, valid_to)
        && first > last
    {
        faults.push(line.fault("valid_to", format!("a day not before {first}"), "swap the two days or leave one empty"));
    }
    let value = unit.and_then(|unit| value(line, unit, faults));
    let spread = spread(line, unit, value.as_ref(), low, high, faults);
    if x.is_some() && value.as_ref().is_some_and(|value| !matches!(value, Value::Number(_))) {
        faults.push(line.fault("x", "nothing beside a text or date", "only numbers form a curve"));
    }
    Some(Row {
        key: line.cell("key").to_owned(),
        x,
        value: value?,
        unit: unit?.word.to_owned(),
        low,
        high,
        spread: spread?,
        source: line.cell("source").to_owned(),
        locator: line.cell("locator").to_owned(),
        grade: grade?,
        country: country?,
        edition: line.cell("edition").to_owned(),
        valid_from,
        valid_to,
        waits: line.cell("waits").to_owned(),
        note: line.cell("note").to_owned(),
        file: line.file.to_owned(),
        line: line.number,
    })
}

/// Dotted parts of letters, digits and `_`, the first beginning with a small letter.
fn is_key(key: &str) -> bool {
    let part = |part: &str| !part.is_empty() && part.chars().all(|letter| letter.is_ascii_alphanumeric() || letter == '_');
    key.starts_with(|letter: char| letter.is_ascii_lowercase()) && key.contains('.') && key.split('.').all(part)
}

fn unit(line: &Line, faults: &mut Vec<Fault>) -> Option<&'static Unit> {
    let word = line.cell("unit");
    let unit = Unit::from_word(word);
    if unit.is_none() {
        let near = near(word, UNITS.iter().map(|unit| unit.word));
        let hint = if near.is_empty() { "see the list of units in the guide to the tables".to_owned() } else { format!("near to it: `{}`", near.join("`, `")) };
        faults.push(line.fault("unit", "a unit of the list", hint));
    }
    unit
}

fn value(line: &Line, unit: &'static Unit, faults: &mut Vec<Fault>) -> Option<Value> {
    let cell = line.cell("value");
    let (value, needed, hint) = match unit.word {
        "text" => ((!cell.is_empty()).then(|| Value::Text(cell.to_owned())), "a text".to_owned(), "write the words"),
        "date" => (month_day(cell), "a date of the year as `MM-DD`".to_owned(), "write 15 March as `03-15`"),
        _ => {
            let number = cell.parse::<f64>().ok().filter(|number| unit.holds(*number)).map(Value::Number);
            (number, format!("a number{}", bounds(unit)), "write digits with a point, no thousands mark, and the unit in its own column")
        }
    };
    if value.is_none() {
        faults.push(line.fault("value", needed, hint));
    }
    value
}

fn bounds(unit: &Unit) -> String {
    match (unit.min.is_finite(), unit.max.is_finite()) {
        (true, true) => format!(" from {} to {} [{}]", unit.min, unit.max, unit.word),
        (true, false) => format!(" of at least {} [{}]", unit.min, unit.word),
        _ => format!(" [{}]", unit.word),
    }
}

/// Month and day of `MM-DD`; 29 February counts.
fn month_day(cell: &str) -> Option<Value> {
    let leap_year = 2000;
    let date = NaiveDate::parse_from_str(&format!("{leap_year}-{cell}"), "%Y-%m-%d").ok()?;
    let (month, day) = cell.split_once('-')?;
    let exact = month.len() == 2 && day.len() == 2;
    exact.then(|| Value::MonthDay(chrono::Datelike::month(&date), chrono::Datelike::day(&date)))
}

fn optional_number(line: &Line, column: &str, faults: &mut Vec<Fault>) -> Option<f64> {
    let cell = line.cell(column);
    if cell.is_empty() {
        return None;
    }
    let number = cell.parse::<f64>().ok().filter(|number| number.is_finite());
    if number.is_none() {
        faults.push(line.fault(column, "a number or nothing", "write digits with a point"));
    }
    number
}

fn optional_date(line: &Line, column: &str, faults: &mut Vec<Fault>) -> Option<NaiveDate> {
    let cell = line.cell(column);
    if cell.is_empty() {
        return None;
    }
    let date = NaiveDate::parse_from_str(cell, "%Y-%m-%d").ok();
    if date.is_none() {
        faults.push(line.fault(column, "a day as `YYYY-MM-DD`, or nothing", "write 15 September 2026 as `2026-09-15`"));
    }
    date
}

fn spread(line: &Line, unit: Option<&Unit>, value: Option<&Value>, low: Option<f64>, high: Option<f64>, faults: &mut Vec<Fault>) -> Option<Spread> {
    let Some(spread) = Spread::from_word(line.cell("spread")) else {
        faults.push(line.fault("spread", words(Spread::ALL.map(Spread::word)), "write `none` for a fixed value"));
        return None;
    };
    let value = match value {
        Some(Value::Number(value)) => *value,
        Some(_) if spread != Spread::None => {
            faults.push(line.fault("spread", "`none` beside a text or date", "only numbers have a spread"));
            return None;
        }
        _ => return Some(spread),
    };
    match spread {
        Spread::None => {
            for (column, bound) in [("low", low), ("high", high)] {
                if bound.is_some() {
                    faults.push(line.fault(column, "nothing where the spread is `none`", "name the spread, or leave the bound out"));
                }
            }
        }
        Spread::Range | Spread::Uniform | Spread::Ci95 => {
            for (column, bound) in [("low", low), ("high", high)] {
                let told = bound.is_none() && !line.cell(column).is_empty();
                if !told && bound.is_none_or(|bound| unit.is_some_and(|unit| !unit.holds(bound))) {
                    let needed = unit.map_or_else(|| "a number".to_owned(), |unit| format!("a number{}", bounds(unit)));
                    faults.push(line.fault(column, needed, format!("a spread of `{}` needs both bounds", spread.word())));
                }
            }
            if low.is_some_and(|low| low > value) {
                faults.push(line.fault("low", format!("at most the value {value}"), "put low, value and high in order"));
            }
            if high.is_some_and(|high| high < value) {
                faults.push(line.fault("high", format!("at least the value {value}"), "put low, value and high in order"));
            }
        }
        Spread::Sd | Spread::Se | Spread::Cv => {
            if low.is_some() {
                faults.push(line.fault("low", format!("nothing where the spread is `{}`", spread.word()), "write the deviation in `high` alone"));
            }
            let told = high.is_none() && !line.cell("high").is_empty();
            if !told && high.is_none_or(|high| high <= 0.0) {
                faults.push(line.fault("high", "a number above 0", format!("`high` holds the {}", spread.word())));
            }
            if spread == Spread::Cv && value <= 0.0 {
                faults.push(line.fault("value", "a number above 0 where the spread is `cv`", "a log-normal has no other values"));
            }
        }
    }
    Some(spread)
}

fn check_source(line: &Line, grade: Option<Grade>, sources: &BTreeMap<String, Source>, faults: &mut Vec<Fault>) {
    if line.cell("locator").is_empty() {
        faults.push(line.fault("locator", "where in the source", "name the table or page, or `abstract`, `from memory`, `common practice, no source`"));
    }
    let key = line.cell("source");
    let Some(source) = sources.get(key) else {
        let near = near(key, sources.keys().map(String::as_str));
        let hint = if near.is_empty() { "add it to `bibliography.csv`".to_owned() } else { format!("near to it: `{}`; or add it to `bibliography.csv`", near.join("`, `")) };
        faults.push(line.fault("source", "a key of `bibliography.csv`", hint));
        return;
    };
    let Some(grade) = grade else { return };
    let needed = match (grade, source.kind) {
        (Grade::Published, kind) if !kind.is_study() => Some("a lower grade: only articles, reports, theses and books are `published`"),
        (Grade::Published | Grade::Guidance, _) if source.read_status == ReadStatus::Memory => Some("`memory`: the source was not opened"),
        (Grade::Guidance | Grade::Memory, Kind::Practice) => Some("`practice`, as the source is"),
        (Grade::Guidance | Grade::Practice, Kind::Memory) => Some("`memory`, as the source is"),
        (Grade::Guidance | Grade::Practice | Grade::Memory, Kind::Assumption) => Some("`assumption`, as the source is"),
        (Grade::Assumption, Kind::Practice) => Some("`practice`, as the source is"),
        (Grade::Assumption, Kind::Memory) => Some("`memory`, as the source is"),
        (Grade::Practice, kind) if kind != Kind::Practice => Some("another grade: `practice` belongs to the source `practice`"),
        _ => None,
    };
    if let Some(needed) = needed {
        faults.push(line.fault("grade", needed, format!("the source `{key}` is of the kind `{}`", source.kind.word())));
    }
}
