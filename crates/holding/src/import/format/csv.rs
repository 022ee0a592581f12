//! Text tables: comma, semicolon, tab or bar between values; UTF-8, UTF-16 with its mark, or Windows-1252.

use super::{column_names, title_row, within_limits};
use crate::import::fault::{Faults, ImportFault};
use crate::import::note::Notes;
use crate::import::table::{Cell, Crs, Row, Shape, Table};

/// Read a text table.
pub(in crate::import) fn read(bytes: &[u8]) -> Result<Table, Faults> {
    let mut notes = Notes::default();
    let text = decode(bytes, &mut notes)?;
    let separator = separator(&text);
    let mut reader =
        csv::ReaderBuilder::new().delimiter(separator).flexible(true).has_headers(false).from_reader(text.as_bytes());
    let mut columns: Vec<String> = Vec::new();
    let mut rows = Vec::new();
    let mut faults = Faults::new();
    let mut record = csv::StringRecord::new();
    loop {
        let line = reader.position().line();
        match reader.read_record(&mut record) {
            Ok(false) => break,
            Ok(true) => {}
            Err(error) => {
                faults.push(ImportFault::new("a readable line", error.to_string()).row(format!("line {line}")));
                break;
            }
        }
        let line = record.position().map_or(line, csv::Position::line);
        if columns.is_empty() {
            if record.iter().all(|v| v.trim().is_empty()) {
                continue;
            }
            if let (true, [title]) = (record.len() > 1, &record.iter().filter(|v| !v.trim().is_empty()).collect::<Vec<_>>()[..]) {
                return Err(title_row(title).into());
            }
            columns = column_names(record.iter().map(|v| v.trim().to_owned()));
            within_limits(0, columns.len())?;
            continue;
        }
        if record.iter().all(|v| v.trim().is_empty()) {
            continue;
        }
        let values = (0..record.len()).rfind(|at| !record[*at].is_empty()).map_or(0, |at| at + 1);
        if values > columns.len() || record.len() < columns.len() && record.len() == 1 {
            faults.push(
                ImportFault::new(format!("{} values, one for each column", columns.len()), format!("{values}"))
                    .row(format!("line {line}"))
                    .hint("a value that holds the separator needs quotation marks round it"),
            );
            continue;
        }
        let mut cells: Vec<Cell> = record.iter().take(columns.len()).map(Cell::text).collect();
        cells.resize(columns.len(), Cell::Empty);
        rows.push(Row { place: format!("line {line}"), cells, shape: Shape::None });
        within_limits(rows.len(), columns.len())?;
    }
    if !faults.is_empty() {
        if let ([title], true) = (&columns[..], rows.is_empty()) {
            return Err(title_row(title).into());
        }
        return Err(faults);
    }
    if columns.is_empty() {
        return Err(ImportFault::new("a first line of column names", "an empty table").into());
    }
    Ok(Table { layer: None, columns, rows, crs: Crs::Unsaid, notes })
}

/// Bytes to text.
pub(in crate::import) fn decode(bytes: &[u8], notes: &mut Notes) -> Result<String, ImportFault> {
    if let Some(rest) = bytes.strip_prefix(b"\xEF\xBB\xBF") {
        return Ok(utf8_or_1252(rest, notes));
    }
    let wide = |little: bool, rest: &[u8]| {
        let units: Vec<u16> = rest
            .chunks_exact(2)
            .map(|pair| if little { u16::from_le_bytes([pair[0], pair[1]]) } else { u16::from_be_bytes([pair[0], pair[1]]) })
            .collect();
        String::from_utf16(&units).map_err(|_| ImportFault::new("text", "bytes that are no UTF-16 text"))
    };
    match bytes {
        [0xFF, 0xFE, rest @ ..] => wide(true, rest),
        [0xFE, 0xFF, rest @ ..] => wide(false, rest),
        _ if bytes.iter().take(4096).any(|b| *b == 0) => {
            Err(ImportFault::new("a text table", "bytes that are no text").hint("is it a sheet or another format under a .csv name?"))
        }
        _ => Ok(utf8_or_1252(bytes, notes)),
    }
}

fn utf8_or_1252(bytes: &[u8], notes: &mut Notes) -> String {
    match std::str::from_utf8(bytes) {
        Ok(text) => text.to_owned(),
        Err(_) => {
            notes.file("the text is not UTF-8; it was read as Windows-1252");
            bytes.iter().map(|b| windows_1252(*b)).collect()
        }
    }
}

/// A byte of Windows-1252; the five undefined ones become the replacement character.
pub(in crate::import) fn windows_1252(byte: u8) -> char {
    const HIGH: [char; 32] = [
        '\u{20AC}', '\u{FFFD}', '\u{201A}', '\u{192}', '\u{201E}', '\u{2026}', '\u{2020}', '\u{2021}', '\u{2C6}', '\u{2030}',
        '\u{160}', '\u{2039}', '\u{152}', '\u{FFFD}', '\u{17D}', '\u{FFFD}', '\u{FFFD}', '\u{2018}', '\u{2019}', '\u{201C}',
        '\u{201D}', '\u{2022}', '\u{2013}', '\u{2014}', '\u{2DC}', '\u{2122}', '\u{161}', '\u{203A}', '\u{153}', '\u{FFFD}',
        '\u{17E}', '\u{178}',
    ];
    match byte {
        0x80..=0x9F => HIGH[usize::from(byte - 0x80)],
        _ => char::from(byte),
    }
}

/// The separator that cuts the first lines most evenly.
pub(in crate::import) fn separator(text: &str) -> u8 {
    let head: Vec<&str> = text.lines().filter(|l| !l.trim().is_empty()).take(20).collect();
    let score = |separator: char| {
        let counts: Vec<usize> = head.iter().map(|line| outside_quotes(line, separator)).collect();
        let first = counts.first().copied().unwrap_or(0);
        let even = counts.iter().filter(|c| **c == first).count();
        if first == 0 { 0 } else { even * 1000 + first.min(999) }
    };
    // The comma stands first and wins a draw.
    [',', ';', '\t', '|'].into_iter().rev().max_by_key(|s| score(*s)).map_or(b',', |s| s as u8)
}

fn outside_quotes(line: &str, separator: char) -> usize {
    let mut inside = false;
    line.chars()
        .filter(|c| {
            inside ^= *c == '"';
            !inside && *c == separator
        })
        .count()
}
