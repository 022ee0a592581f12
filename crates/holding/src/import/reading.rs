//! One row's values by field, with every fault and note gathered.

use super::fault::{Faults, ImportFault};
use super::field::{Field, Holds};
use super::guess::{Mapping, Matched, map_words};
use super::limit::TEXT_MAX;
use super::note::{LeftOut, Notes};
use super::proposed::ProposedLek;
use super::scale::Scales;
use super::table::{Cell, Row};
use super::unit::Unit;
use super::value::{self, Bad, Birds, Clock, When};
use crate::model::{Extra, Lek};
use crate::words::Word;
use chrono::NaiveDate;

/// A larger count is a slip.
const COUNT_MAX: f64 = 100_000.0;

/// What the rows of one import share.
pub(super) struct Reading<'a> {
    pub mapping: &'a Mapping,
    pub columns: &'a [String],
    pub fields: &'a [Field],
    pub scales: Scales<'a>,
    pub faults: Faults,
    pub notes: Notes,
    /// Columns whose figures are shares from 0 to 1 though nothing says so.
    pub shares: Vec<usize>,
    /// Columns already said to lack a unit.
    pub unclear: Vec<usize>,
    /// Columns whose days in figures have the month first.
    pub month_first: Vec<usize>,
    /// Rows left out, by reason.
    pub left_out: Vec<LeftOut>,
    /// Leks put forward for the places of visits.
    pub proposed: Vec<ProposedLek>,
    /// Those of them that are made.
    pub made: Vec<Lek>,
}

impl<'a> Reading<'a> {
    /// The row's values.
    pub fn row<'r>(&'r mut self, row: &'r Row, place: Option<(f64, f64)>) -> Values<'r, 'a> {
        Values { reading: self, row, place }
    }

    /// Leave a row out for its faults, those after the first `before`; false where it has none.
    pub fn leave_out(&mut self, before: usize, row: &str) -> bool {
        let faults = self.faults.since(before);
        if let Some(first) = faults.first() {
            LeftOut::add(&mut self.left_out, &first.needed, first.column.as_deref(), row, &first.found);
        }
        !faults.is_empty()
    }
}

/// The values of one row.
pub(super) struct Values<'r, 'a> {
    reading: &'r mut Reading<'a>,
    row: &'r Row,
    place: Option<(f64, f64)>,
}

impl Values<'_, '_> {
    fn cell(&self, field: &str) -> Option<(&Matched, &Cell)> {
        let matched = self.reading.mapping.of(field)?;
        let cell = &self.row.cells[matched.at];
        (!cell.is_empty()).then_some((matched, cell))
    }

    /// Whether the row holds something for a field.
    pub fn has(&self, field: &str) -> bool {
        self.cell(field).is_some()
    }

    /// Whether the file has a column for a field.
    pub fn maps(&self, field: &str) -> bool {
        self.reading.mapping.of(field).is_some()
    }

    /// Where the row stands in the file.
    pub fn row_place(&self) -> &str {
        &self.row.place
    }

    /// Say that something is wrong with a field's value.
    pub fn fault(&mut self, field: &str, needed: impl Into<String>, hint: impl Into<String>) {
        let (column, found) = match self.cell(field) {
            Some((matched, cell)) => (Some(matched.column.clone()), format!("`{}`", short(&cell.shown()))),
            None => (self.reading.mapping.of(field).map(|m| m.column.clone()), "nothing".to_owned()),
        };
        let mut fault = ImportFault::new(needed, found).hint(hint).row(&self.row.place).place(self.place);
        fault.column = column;
        self.reading.faults.push(fault);
    }

    /// A fault of the row that is not one field's.
    pub fn push(&mut self, fault: ImportFault) {
        self.reading.faults.push(fault);
    }

    /// Say what was taken for granted or mended.
    pub fn note(&mut self, text: impl Into<String>) {
        self.reading.notes.row(&self.row.place, text);
    }

    fn take<T>(&mut self, field: &str, read: impl FnOnce(&Cell) -> Result<Option<T>, Bad>) -> Option<T> {
        let (_, cell) = self.cell(field)?;
        match read(cell) {
            Ok(value) => value,
            Err(bad) => {
                self.fault(field, bad.needed, bad.hint);
                None
            }
        }
    }

    /// Text, cleaned; empty where there is none.
    pub fn text(&mut self, field: &str) -> String {
        let Some((_, cell)) = self.cell(field) else { return String::new() };
        if let Cell::Unusable(_) = cell {
            self.fault(field, "text", "write the value in place of the formula and save again");
            return String::new();
        }
        let (mut text, changed) = value::clean(&cell.json().as_str().map_or_else(|| cell.shown(), str::to_owned));
        if changed {
            self.note("characters that cannot be printed were taken out");
        }
        if text.chars().count() > TEXT_MAX {
            self.fault(field, format!("text of at most {TEXT_MAX} characters"), "");
            text.clear();
        }
        text
    }

    /// Text as it stands, without looking at it; empty where there is none.
    pub fn plain(&self, field: &str) -> String {
        self.cell(field).map_or_else(String::new, |(_, cell)| cell.shown())
    }

    /// The first value of the row, whichever column it stands in.
    pub fn first(&self) -> String {
        self.row.cells.iter().find(|c| !c.is_empty()).map_or_else(String::new, Cell::shown)
    }

    /// A word of a closed list.
    pub fn word<W: Word>(&mut self, field: &str) -> Option<W> {
        let text = self.text(field);
        if text.is_empty() {
            return None;
        }
        let word = W::from_word(&text);
        if word.is_none() {
            self.fault(field, format!("one of {}", W::all_words()), "");
        }
        word
    }

    /// Yes or no; no where nothing is recorded.
    pub fn flag(&mut self, field: &str) -> bool {
        self.maybe_flag(field).unwrap_or(false)
    }

    /// Yes, no, or nothing recorded.
    pub fn maybe_flag(&mut self, field: &str) -> Option<bool> {
        self.take(field, value::flag)
    }

    /// A day.
    pub fn date(&mut self, field: &str) -> Option<NaiveDate> {
        let month_first = self.month_first(field);
        let (date, taken) = self.take(field, |cell| value::date(cell, month_first))?;
        if let Some(taken) = taken {
            self.note(taken);
        }
        Some(date)
    }

    /// A day, a month or a year.
    pub fn when(&mut self, field: &str) -> Option<When> {
        let month_first = self.month_first(field);
        let (when, taken) = self.take(field, |cell| value::when(cell, month_first))?;
        if let Some(taken) = taken {
            self.note(taken);
        }
        Some(when)
    }

    fn month_first(&self, field: &str) -> bool {
        self.reading.mapping.of(field).is_some_and(|m| self.reading.month_first.contains(&m.at))
    }

    /// A time of day.
    pub fn clock(&mut self, field: &str) -> Option<Clock> {
        self.take(field, value::time)
    }

    /// The time of day that stands beside a day in one cell.
    pub fn moment_clock(&self, field: &str) -> Option<Clock> {
        self.cell(field).and_then(|(_, cell)| value::moment_time(cell))
    }

    /// A number of birds.
    pub fn birds(&mut self, field: &str) -> Option<Birds> {
        self.take(field, value::birds)
    }

    /// What stands in a field, as it came, by its column's name.
    pub fn as_written(&self, field: &str) -> Option<(String, String)> {
        self.cell(field).map(|(matched, cell)| (matched.column.clone(), value::clean(&cell.shown()).0))
    }

    /// A number without dimension, or in the unit its field is named for.
    pub fn number(&mut self, field: &str, low: f64, high: f64) -> Option<f64> {
        let (value, _) = self.take(field, value::number)?;
        if !(low..=high).contains(&value) {
            self.fault(field, format!("a number from {low} to {high}"), "");
            return None;
        }
        Some(value)
    }

    /// A whole number from 0.
    pub fn count(&mut self, field: &str) -> Option<u32> {
        let (value, _) = self.take(field, value::number)?;
        if value < 0.0 || value.fract() != 0.0 || value > COUNT_MAX {
            self.fault(field, format!("a whole number from 0 to {COUNT_MAX}"), "");
            return None;
        }
        Some(value as u32)
    }

    /// A length in the field's unit, not negative and at most `high` of it.
    pub fn length(&mut self, field: &str, high: f64) -> Option<f32> {
        let to = self.reading.fields.iter().find(|f| f.name == field).and_then(Field::unit)?;
        let (at, said) = self.cell(field).map(|(m, _)| (m.at, m.unit))?;
        let (value, own) = self.take(field, value::number)?;
        let Some(from) = own.or(said) else {
            self.unclear(field, at, to);
            return None;
        };
        let Some(value) = from.convert(value, to) else {
            self.fault(field, format!("a length in {}", to.sign()), "");
            return None;
        };
        if !(0.0..=high).contains(&value) {
            self.fault(
                field,
                format!("a length from 0 to {high} {}", to.sign()),
                format!("the column is read in {}: `--map {field}=COLUMN:UNIT` says otherwise", from.sign()),
            );
            return None;
        }
        Some(value as f32)
    }

    /// One fault a column that does not say its unit.
    fn unclear(&mut self, field: &str, at: usize, to: Unit) {
        if self.reading.unclear.contains(&at) {
            return;
        }
        self.reading.unclear.push(at);
        let column = self.reading.columns[at].clone();
        let stem = field.trim_end_matches(to.sign()).trim_end_matches('_').to_owned();
        self.reading.faults.push(
            ImportFault::new(format!("the unit of {stem}"), "figures without one")
                .column(&column)
                .hint(format!("say it: {}; or leave the column out: `--map {field}=-`", map_words(field, &column, Some(to)))),
        );
    }

    /// Percent from 0 to 100.
    pub fn percent(&mut self, field: &str) -> Option<f32> {
        let (at, said) = self.cell(field).map(|(m, _)| (m.at, m.unit))?;
        let (value, own) = self.take(field, value::number)?;
        self.in_range(field, at, own.or(said), value)
    }

    fn in_range(&mut self, field: &str, at: usize, unit: Option<Unit>, value: f64) -> Option<f32> {
        if unit.is_none() && self.reading.shares.contains(&at) {
            self.unclear(field, at, Unit::Percent);
            return None;
        }
        let percent = unit.unwrap_or(Unit::Percent).convert(value, Unit::Percent).unwrap_or(f64::NAN);
        if !(0.0..=100.0).contains(&percent) {
            self.fault(field, "a percentage from 0 to 100", "");
            return None;
        }
        Some(percent as f32)
    }

    /// Percent cover: a figure, or a letter or figure of a cover scale.
    pub fn cover(&mut self, field: &str) -> Option<f32> {
        let (at, said, cell) = self.cell(field).map(|(m, c)| (m.at, m.unit, c.clone()))?;
        if let Cell::Text(text) = &cell
            && text.trim().starts_with(|c: char| c.is_alphabetic() || c == '+')
            && value::number(&cell).is_err()
        {
            return match self.reading.scales.percent(text) {
                Some((percent, scale)) => {
                    self.reading.notes.file(format!("cover letters were read by the {scale} scale of the guidance tables"));
                    Some(percent)
                }
                None => {
                    let words = self.reading.scales.words();
                    self.fault(field, format!("a percentage, or a cover letter ({words})"), "");
                    None
                }
            };
        }
        if said == Some(Unit::Domin) {
            let percent = self.reading.scales.domin(cell.shown().trim());
            if percent.is_none() {
                self.fault(field, "a figure of the Domin scale, 1 to 10", "");
            }
            return percent;
        }
        let (value, own) = self.take(field, value::number)?;
        self.in_range(field, at, own.or(said), value)
    }

    /// A Phase 1 class that the guidance tables know.
    pub fn phase1(&mut self, field: &str) -> Option<String> {
        let text = self.text(field);
        if text.is_empty() {
            return None;
        }
        match self.reading.scales.phase1(&text) {
            Ok(class) => Some(class),
            Err(near) => {
                let hint = if near.is_empty() { String::new() } else { format!("near it: {}", near.join("; ")) };
                self.fault(field, "a Phase 1 habitat class of the guidance tables by its code or its name, such as `D1.1` or `Dry dwarf shrub heath, acid`", hint);
                None
            }
        }
    }

    /// The columns no field was found for, as they came.
    pub fn extra(&mut self) -> Extra {
        let used: Vec<usize> = self.reading.mapping.matched.iter().map(|m| m.at).collect();
        let mut extra = Extra::new();
        for (at, column) in self.reading.columns.iter().enumerate() {
            if self.reading.mapping.extra.contains(column) && !used.contains(&at) && !self.row.cells[at].is_empty() {
                let json = match self.row.cells[at].json() {
                    serde_json::Value::String(text) => value::clean(&text).0.into(),
                    other => other,
                };
                extra.insert(column.clone(), json);
            }
        }
        extra
    }
}

fn short(text: &str) -> String {
    let mut cut: String = text.chars().filter(|c| !c.is_control()).take(60).collect();
    if text.chars().count() > 60 {
        cut.push('\u{2026}');
    }
    cut
}

/// Columns of percentages that hold nothing above 1 and something between 0 and 1: they may be shares.
pub(super) fn share_columns(mapping: &Mapping, fields: &[Field], rows: &[Row]) -> Vec<usize> {
    let percent = |m: &&Matched| {
        m.unit.is_none() && fields.iter().any(|f| f.name == m.field && matches!(f.holds, Holds::Percent | Holds::Cover))
    };
    let is_share = |at: usize| {
        let figures = rows.iter().filter_map(|row| value::number(&row.cells[at]).ok().flatten()).map(|(v, _)| v);
        let (mut top, mut part) = (0.0_f64, false);
        for value in figures {
            top = top.max(value);
            part |= value > 0.0 && value < 1.0;
        }
        part && top <= 1.0
    };
    mapping.matched.iter().filter(percent).map(|m| m.at).filter(|at| is_share(*at)).collect()
}

/// Columns whose days in figures have the month first, as the whole of each shows.
pub(super) fn month_first_columns(mapping: &Mapping, fields: &[Field], rows: &[Row]) -> Vec<usize> {
    // A column `day` of visits may hold whole days.
    let days = |m: &&Matched| fields.iter().any(|f| f.name == m.field && (f.holds == Holds::Date || f.name == "day"));
    let columns = mapping.matched.iter().filter(days).map(|m| m.at);
    columns.filter(|at| value::month_first(rows.iter().filter_map(|row| row.cells[*at].as_text()))).collect()
}
