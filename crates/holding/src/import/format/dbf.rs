//! The attribute table of a Shapefile (dBASE III and its kin): text, numbers, days, flags.

use super::csv::windows_1252;
use super::within_limits;
use crate::import::fault::ImportFault;
use crate::import::table::Cell;
use chrono::NaiveDate;

/// Columns and rows; a row that is marked as deleted is `None`.
pub(super) struct Attributes {
    pub columns: Vec<String>,
    pub rows: Vec<Option<Vec<Cell>>>,
    /// Text that was no UTF-8 though nothing named another code page.
    pub not_utf8: bool,
}

struct Column {
    kind: u8,
    from: usize,
    to: usize,
}

/// Read a whole table; `code_page` is the text of a .cpg file.
pub(super) fn read(bytes: &[u8], code_page: Option<&str>) -> Result<Attributes, ImportFault> {
    let damaged = |why: String| ImportFault::new("a whole .dbf table", why).hint("copy the .dbf again");
    let cut = || damaged("a table that is cut short".to_owned());
    let word = |at: usize| bytes.get(at..at + 2).map(|b| usize::from(u16::from_le_bytes([b[0], b[1]])));
    let count = bytes.get(4..8).map(|b| u32::from_le_bytes([b[0], b[1], b[2], b[3]]) as usize).ok_or_else(cut)?;
    let (header, record) = (word(8).ok_or_else(cut)?, word(10).ok_or_else(cut)?);
    let body = bytes.get(header..).ok_or_else(cut)?;
    if record == 0 || count.saturating_mul(record) > body.len() {
        return Err(damaged(format!("a claim of {count} rows of {record} bytes in {} bytes", body.len())));
    }
    let mut columns = Vec::new();
    let mut names = Vec::new();
    let mut from = 1;
    let mut at = 32;
    while at + 32 <= header && bytes.get(at).is_some_and(|b| *b != 0x0D) {
        let descriptor = bytes.get(at..at + 32).ok_or_else(cut)?;
        let to = from + usize::from(descriptor[16]);
        if to > record {
            return Err(damaged("columns wider than a row".to_owned()));
        }
        let name: Vec<u8> = descriptor[..11].iter().copied().take_while(|b| *b != 0).collect();
        names.push(String::from_utf8_lossy(&name).trim().to_owned());
        columns.push(Column { kind: descriptor[11], from, to });
        (from, at) = (to, at + 32);
    }
    within_limits(count, columns.len())?;
    // Language drivers 0x03 and 0x57 name Windows-1252.
    let ansi_said = matches!(bytes.get(29), Some(0x03 | 0x57));
    let utf8_said = code_page.is_some_and(|c| c.trim().to_uppercase().contains("UTF"));
    let mut not_utf8 = false;
    let mut text = |raw: &[u8]| match std::str::from_utf8(raw) {
        Ok(text) => text.trim_end_matches(['\0', ' ']).to_owned(),
        Err(_) => {
            not_utf8 |= (code_page.is_none() && !ansi_said) || utf8_said;
            raw.iter().map(|b| windows_1252(*b)).collect::<String>().trim_end_matches(['\0', ' ']).to_owned()
        }
    };
    let rows = body
        .chunks_exact(record)
        .take(count)
        .map(|row| (row[0] != b'*').then(|| columns.iter().map(|c| cell(c.kind, &row[c.from..c.to], &mut text)).collect()))
        .collect();
    Ok(Attributes { columns: names, rows, not_utf8 })
}

fn cell(kind: u8, raw: &[u8], text: &mut impl FnMut(&[u8]) -> String) -> Cell {
    match (kind, raw) {
        (b'I', [a, b, c, d]) => Cell::Number(f64::from(i32::from_le_bytes([*a, *b, *c, *d]))),
        (b'O' | b'B', _) if raw.len() == 8 => {
            let mut eight = [0; 8];
            eight.copy_from_slice(raw);
            Cell::Number(f64::from_le_bytes(eight))
        }
        (b'L', [flag]) => match flag {
            b'T' | b't' | b'Y' | b'y' => Cell::Flag(true),
            b'F' | b'f' | b'N' | b'n' => Cell::Flag(false),
            _ => Cell::Empty,
        },
        (b'D', _) => {
            let digits = text(raw);
            match NaiveDate::parse_from_str(digits.trim(), "%Y%m%d") {
                Ok(date) => Cell::Date(date),
                Err(_) if digits.trim().trim_matches('0').is_empty() => Cell::Empty,
                Err(_) => Cell::text(&digits),
            }
        }
        (b'N' | b'F', _) => {
            let digits = text(raw);
            let digits = digits.trim();
            // A number that does not fit its column is written as stars: there is none.
            if digits.trim_matches('*').is_empty() {
                return Cell::Empty;
            }
            digits.parse().map_or_else(|_| Cell::text(digits), Cell::Number)
        }
        _ => Cell::text(&text(raw)),
    }
}
