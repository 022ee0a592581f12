//! Columns, days, times and counts of a table of text, for readers that need no holding.

use super::fault::Faults;
use super::format::csv::{decode, separator};
use super::guess::{self, MapTo, Mapping};
use super::kind::Kind;
use super::note::Notes;
use super::table::{Crs, Table};
use super::value;

pub use super::value::{Birds, Clock, When};

/// The text of a table and the byte that stands between its values. What was taken for granted is noted.
///
/// Errors: bytes that are no text.
pub fn text(bytes: &[u8]) -> Result<(String, u8, Notes), Faults> {
    let mut notes = Notes::default();
    let text = decode(bytes, &mut notes)?;
    let separator = separator(&text);
    Ok((text, separator, notes))
}

/// Which column is which field of a kind, by their names and what was told.
///
/// Errors: a field that is needed and has no column, two columns for one field, an instruction that fits nothing.
pub fn columns(kind: Kind, columns: Vec<String>, told: &[MapTo], file: &str) -> Result<Mapping, Faults> {
    let table = Table { layer: None, columns, rows: Vec::new(), crs: Crs::Unsaid, notes: Notes::default() };
    guess::guess(kind, &table, told, &[], file).map_err(|faults| faults.located(file, None))
}

/// Whether a column's days in figures have the month first: one of them shows it, and none shows the contrary.
pub fn month_first<'t>(column: impl Iterator<Item = &'t str>) -> bool {
    value::month_first(column)
}

/// A day, month or year.
///
/// - `month_first`: days in figures have the month before the day
///
/// Errors: what was needed, in words.
pub fn when(text: &str, month_first: bool) -> Result<When, &'static str> {
    value::when_in_text(text, month_first).map(|(when, _)| when).map_err(|bad| bad.needed)
}

/// A month, by its number or name.
pub fn month(text: &str) -> Option<u32> {
    text.parse().ok().or_else(|| value::month_word(text)).filter(|m| (1..=12).contains(m))
}

/// A time of day.
///
/// Errors: what was needed, in words, where the figures are no time of day.
pub fn clock(text: &str) -> Result<Clock, &'static str> {
    value::time_in_text(text).map_err(|bad| bad.needed)
}

/// A number of birds; `None` where none is recorded.
pub fn birds(text: &str) -> Option<Birds> {
    value::birds_in_text(text)
}
