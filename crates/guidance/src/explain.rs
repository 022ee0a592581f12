//! A row in words, for a reader who wants to check it.

use serde::Serialize;

use crate::country::Country;
use crate::fault::{Unknown, Why};
use crate::row::{Row, Spread, Value};
use crate::source::{Kind, ReadStatus};
use crate::tables::Guidance;
use crate::unit::Unit;

/// All that the tables say about one key.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Explanation {
    /// The key.
    pub key: String,
    /// One statement a row: several for a curve or for countries that differ.
    pub statements: Vec<Statement>,
}

/// One row in words.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Statement {
    /// Abscissa of a curve point.
    pub x: Option<f64>,
    /// The value with its unit: "6 %", "15 March".
    pub value: String,
    /// The spread in words: "between 4 and 9 %, most likely the value given".
    pub spread: String,
    /// Key of the source.
    pub source: String,
    /// Full reference of the source.
    pub reference: String,
    /// How much of the source was read.
    pub read: String,
    /// Where in the source.
    pub locator: String,
    /// The grade in plain words.
    pub grade: String,
    /// Where it holds.
    pub country: String,
    /// Edition of the source.
    pub edition: String,
    /// From when to when it holds, in words; empty where it is not dated.
    pub validity: String,
    /// A word to check the code in force, where the figure comes from a law, a scheme or a standard or is a date.
    pub check: Option<String>,
    /// Which room it waits for; empty where the program uses it.
    pub used: String,
    /// Anything else a reader should know.
    pub note: String,
    /// Table and line.
    pub place: String,
}

impl Guidance {
    /// All that the tables say about `key`, in words.
    ///
    /// # Errors
    /// An unknown key, with the nearest ones.
    pub fn explain(&self, key: &str) -> Result<Explanation, Unknown> {
        let statements: Vec<Statement> = self.rows_of(key).map(|row| self.statement(row)).collect();
        if statements.is_empty() {
            return Err(self.unknown(key, Country::GB, Why::NoKey));
        }
        Ok(Explanation { key: key.to_owned(), statements })
    }

    fn statement(&self, row: &Row) -> Statement {
        let source = self.source(&row.source);
        Statement {
            x: row.x,
            value: value_in_words(row),
            spread: spread_in_words(row),
            source: row.source.clone(),
            reference: source.map(|source| source.reference()).unwrap_or_default(),
            read: source.map_or(ReadStatus::None, |source| source.read_status).in_words().to_owned(),
            locator: row.locator.clone(),
            grade: row.grade.in_words().to_owned(),
            country: row.country.in_words().to_owned(),
            edition: row.edition.clone(),
            validity: validity_in_words(row),
            check: check(row, source.map(|source| source.kind)),
            used: used(row),
            note: row.note.clone(),
            place: format!("{}, line {}", row.file, row.line),
        }
    }
}

/// The value of a row with its unit.
pub fn value_in_words(row: &Row) -> String {
    match &row.value {
        Value::Text(text) => text.clone(),
        Value::MonthDay(month, day) => format!("{day} {}", month_name(*month)),
        Value::Number(number) => with_unit(*number, &row.unit),
    }
}

/// The spread of a row in words.
pub fn spread_in_words(row: &Row) -> String {
    let end = |bound: Option<f64>| bound.map_or_else(String::new, |bound| with_unit(bound, &row.unit));
    let (low, high) = (row.low.map_or_else(String::new, |low| low.to_string()), end(row.high));
    match row.spread {
        Spread::None => "taken as fixed".to_owned(),
        Spread::Range => format!("between {low} and {high}, most likely the value given"),
        Spread::Uniform => format!("anything between {low} and {high}"),
        Spread::Sd => format!("standard deviation {high}"),
        Spread::Se => format!("standard error {high}"),
        Spread::Cv => format!("skewed to the right, standard deviation {} of the mean", row.high.map_or_else(String::new, |cv| cv.to_string())),
        Spread::Ci95 => format!("95 % limits {low} to {high}"),
    }
}

fn with_unit(number: f64, unit: &str) -> String {
    match Unit::from_word(unit).map_or("", |unit| unit.symbol) {
        "" => number.to_string(),
        "°" => format!("{number}°"),
        symbol => format!("{number} {symbol}"),
    }
}

fn month_name(month: u32) -> &'static str {
    const NAMES: [&str; 12] =
        ["January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December"];
    NAMES.get((month as usize).wrapping_sub(1)).copied().unwrap_or("")
}

fn validity_in_words(row: &Row) -> String {
    match (row.valid_from, row.valid_to) {
        (Some(first), Some(last)) => format!("from {first} to {last}"),
        (Some(first), None) => format!("from {first}"),
        (None, Some(last)) => format!("to {last}"),
        (None, None) => String::new(),
    }
}

fn check(row: &Row, kind: Option<Kind>) -> Option<String> {
    let dated = matches!(row.value, Value::MonthDay(..)) || row.valid_from.is_some() || row.valid_to.is_some();
    let official = matches!(kind, Some(Kind::Law | Kind::Scheme | Kind::Standard)) || row.key.starts_with("law.");
    (dated || official).then(|| "check the code, scheme or law in force before you act on it".to_owned())
}

fn used(row: &Row) -> String {
    if row.waits.is_empty() { String::new() } else { format!("held for later work ({}), not used yet", row.waits) }
}
