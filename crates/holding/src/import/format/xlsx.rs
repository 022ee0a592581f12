//! Sheets (XLSX): one sheet, its first row with anything in it taken for the column names.
//!
//! A formula's value is the one worked out when the file was saved; a formula that was never worked out is refused.
//! Cells are read in a stream, so that one cell in the farthest corner costs no memory.

use super::{column_names, pick, title_row, within_limits};
use crate::import::kind::Kind;
use crate::import::fault::{Faults, ImportFault};
use crate::import::limit::{COLUMNS_MAX, unzip};
use crate::import::note::Notes;
use crate::import::table::{Cell, Crs, Row, Shape, Table};
use crate::import::value::serial_day;
use calamine::{DataRef, Reader, Xlsx};
use chrono::NaiveTime;
use std::io::Cursor;

/// Read one sheet.
pub(in crate::import) fn read(bytes: &[u8], asked: Option<&str>, kind: Kind) -> Result<Table, Faults> {
    let mut book = book(bytes)?;
    let from_1904 = book.has_1904_epoch();
    let mut names = book.sheet_names();
    if asked.is_none() && names.len() > 1 {
        names.retain(|name| book.worksheet_cells_reader(name).is_ok_and(|mut cells| matches!(cells.next_cell(), Ok(Some(_)))));
    }
    let many = names.len() > 1;
    let name = pick(&names, asked, kind, "sheet")?.to_owned();
    let mut cells = book.worksheet_cells_reader(&name).map_err(|e| damaged(e.to_string()))?;
    let mut sheet = Sheet::default();
    loop {
        match cells.next_cell_with_formula() {
            Ok(None) => break,
            Ok(Some(found)) => {
                let cell = cell(found.value, found.formula.as_deref(), from_1904);
                if !cell.is_empty() {
                    sheet.put(found.pos, cell, found.formula.is_some())?;
                }
            }
            Err(error) => return Err(damaged(error.to_string()).into()),
        }
    }
    sheet.table(many.then_some(name))
}

/// Its sheets.
pub(in crate::import) fn names(bytes: &[u8]) -> Result<Vec<String>, ImportFault> {
    Ok(book(bytes)?.sheet_names())
}

fn damaged(why: String) -> ImportFault {
    ImportFault::new("a whole XLSX file", why).hint("open it in the sheet program and save it again")
}

fn book(bytes: &[u8]) -> Result<Xlsx<Cursor<&[u8]>>, ImportFault> {
    // Looks for bombs and for damage before the sheet's own reader unfolds anything.
    drop(unzip(bytes)?);
    Xlsx::new(Cursor::new(bytes)).map_err(|e| damaged(e.to_string()))
}

#[derive(Default)]
struct Sheet {
    header: Vec<String>,
    header_row: Option<u32>,
    rows: Vec<(u32, Vec<Cell>)>,
    formulas: Vec<usize>,
    faults: Faults,
}

impl Sheet {
    fn put(&mut self, (row, column): (u32, u32), cell: Cell, formula: bool) -> Result<(), ImportFault> {
        let at = column as usize;
        if *self.header_row.get_or_insert(row) == row {
            if at >= COLUMNS_MAX {
                within_limits(0, at + 1)?;
            }
            self.header.resize(self.header.len().max(at + 1), String::new());
            self.header[at] = cell.shown();
            return Ok(());
        }
        if at >= self.header.len() {
            self.faults.push(
                ImportFault::new("a column name above every value", format!("`{}` in a column without one", cell.shown().chars().take(40).collect::<String>()))
                    .row(format!("row {}", row + 1)),
            );
            return Ok(());
        }
        if self.rows.last().is_none_or(|(last, _)| *last != row) {
            self.rows.push((row, vec![Cell::Empty; self.header.len()]));
            within_limits(self.rows.len(), self.header.len())?;
        }
        if formula && !self.formulas.contains(&at) {
            self.formulas.push(at);
        }
        if let Some((_, cells)) = self.rows.last_mut() {
            cells[at] = cell;
        }
        Ok(())
    }

    fn table(self, layer: Option<String>) -> Result<Table, Faults> {
        if !self.faults.is_empty() {
            // One word and then whole rows: a title stands where the headings should.
            if let [title] = &self.header.iter().filter(|h| !h.is_empty()).collect::<Vec<_>>()[..] {
                return Err(title_row(title).into());
            }
            return Err(self.faults);
        }
        if self.header.is_empty() {
            return Err(ImportFault::new("a first row of column names", "an empty sheet").into());
        }
        let columns = column_names(self.header);
        let mut notes = Notes::default();
        for at in self.formulas {
            notes.file(format!("column `{}` holds formulas; the values worked out when the file was saved were taken", columns[at]));
        }
        let rows = self.rows.into_iter().map(|(row, cells)| Row { place: format!("row {}", row + 1), cells, shape: Shape::None });
        Ok(Table { layer, columns, rows: rows.collect(), crs: Crs::Unsaid, notes })
    }
}

fn cell(value: DataRef<'_>, formula: Option<&str>, from_1904: bool) -> Cell {
    match value {
        DataRef::Empty => formula.map_or(Cell::Empty, unworked),
        DataRef::String(text) if text.is_empty() && formula.is_some() => unworked(formula.unwrap_or_default()),
        DataRef::String(text) => Cell::text(&text),
        DataRef::SharedString(text) => Cell::text(text),
        DataRef::Int(number) => Cell::Number(number as f64),
        DataRef::Float(number) => Cell::Number(number),
        DataRef::Bool(flag) => Cell::Flag(flag),
        DataRef::DateTime(serial) => moment(serial.as_f64(), from_1904),
        DataRef::DateTimeIso(text) | DataRef::DurationIso(text) => Cell::text(&text),
        DataRef::Error(error) => Cell::Unusable(format!("{error}")),
    }
}

fn unworked(formula: &str) -> Cell {
    let shown: String = formula.trim_start_matches('=').chars().take(40).collect();
    Cell::Unusable(format!("the formula ={shown}, never worked out"))
}

/// A sheet's serial number as a day, a time, or both.
fn moment(serial: f64, from_1904: bool) -> Cell {
    let seconds = (serial.fract() * 86_400.0).round().clamp(0.0, 86_399.0) as u32;
    let time = NaiveTime::from_num_seconds_from_midnight_opt(seconds, 0);
    match (serial_day(serial, from_1904), time) {
        (Some(day), Some(_)) if seconds == 0 => Cell::Date(day),
        (Some(day), Some(time)) => Cell::Moment(day, time),
        (None, Some(time)) if (0.0..1.0).contains(&serial) => Cell::Time(time),
        _ => Cell::Number(serial),
    }
}
