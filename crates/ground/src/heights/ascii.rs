//! Text grids of heights (.asc): a short header of keys and numbers, then heights from the north-west, row by row.
//!
//! Keys in any case and order: `ncols nrows`, `xllcorner yllcorner` or `xllcenter yllcenter` (also spelt
//! `centre`), `cellsize` or `dx` with `dy`, and optionally `nodata_value` (or `nodata`). Without a missing
//! value every number counts as a height. `nan` is missing. Each row on a line of its own; files that break
//! a row over several lines are taken when every row still begins a new line, or when all stands on one line.

use rayon::prelude::*;

use super::error::{Faults, HeightsError, one, shown};
use super::{HeightModel, limits};
use crate::{Frame, Grid};

const KEYS: [&str; 14] = [
    "ncols", "nrows", "xllcorner", "yllcorner", "xllcenter", "yllcenter", "xllcentre", "yllcentre", "cellsize", "dx",
    "dy", "nodata_value", "nodata", "byteorder",
];

/// True when the first word is a header key of this format.
pub(super) fn looks_like(bytes: &[u8]) -> bool {
    let text = without_mark(bytes);
    let word: Vec<u8> = text.iter().copied().skip_while(u8::is_ascii_whitespace).take_while(u8::is_ascii_graphic).take(16).collect();
    key_of(&word).is_some()
}

fn without_mark(bytes: &[u8]) -> &[u8] {
    bytes.strip_prefix(&[0xEF, 0xBB, 0xBF]).unwrap_or(bytes)
}

fn key_of(word: &[u8]) -> Option<&'static str> {
    KEYS.into_iter().find(|k| word.eq_ignore_ascii_case(k.as_bytes()))
}

/// A line of the file with its number, counted from 1.
#[derive(Clone, Copy)]
struct Line<'a> {
    number: usize,
    text: &'a [u8],
}

/// Lines that hold something; line ends may be LF, CRLF or CR.
fn lines(bytes: &[u8]) -> Vec<Line<'_>> {
    let unix = bytes.contains(&b'\n');
    let ends = move |b: &u8| if unix { *b == b'\n' } else { *b == b'\r' };
    (1..).zip(bytes.split(ends)).map(|(number, text)| Line { number, text }).filter(|l| !l.text.iter().all(u8::is_ascii_whitespace)).collect()
}

fn words(text: &[u8]) -> impl Iterator<Item = &[u8]> {
    text.split(u8::is_ascii_whitespace).filter(|w| !w.is_empty())
}

#[derive(Default)]
struct Header {
    values: Vec<(&'static str, f64, usize)>,
}

impl Header {
    fn get(&self, key: &str) -> Option<(f64, usize)> {
        self.values.iter().find(|(k, ..)| *k == key).map(|&(_, v, line)| (v, line))
    }

    fn first_of(&self, keys: &[&str]) -> Option<(f64, usize)> {
        keys.iter().find_map(|k| self.get(k))
    }
}

/// Reads a grid. See the module for what is taken.
pub(super) fn read(file: &str, bytes: &[u8]) -> Result<HeightModel, Vec<HeightsError>> {
    let all = lines(without_mark(bytes));
    let split = all.iter().position(|l| words(l.text).next().is_none_or(|w| key_of(w).is_none())).unwrap_or(all.len());
    let (head, body) = all.split_at(split);
    let (frame, missing) = frame_of(file, head, bytes.len())?;
    let mut notes = vec![format!("{file}: no coordinate system is stated in the file")];
    let cells = values(file, body, &frame, missing, &mut notes)?;
    Ok(HeightModel { grid: Grid { frame, cells }, epsg: None, notes })
}

fn frame_of(file: &str, head: &[Line<'_>], n_bytes: usize) -> Result<(Frame, Option<f64>), Vec<HeightsError>> {
    let mut faults = Faults::of(file);
    let header = header_of(head, &mut faults);
    let mut count = |key: &str| match header.get(key) {
        Some((v, _)) if v >= 1.0 && v.fract() == 0.0 && v <= u32::MAX.into() => v as u64,
        Some((v, line)) => {
            faults.add(format!("line {line}"), format!("`{key}` is not a count"), "a whole number from 1", v.to_string(), "mend the header");
            0
        }
        None => {
            faults.add("header", format!("`{key}` is missing"), format!("a line `{key} N`"), "none", "add the line to the header");
            0
        }
    };
    let (cols, rows) = (count("ncols"), count("nrows"));
    let mut size = |keys: &[&str]| match header.first_of(keys) {
        Some((v, _)) if v > 0.0 => v,
        Some((v, line)) => {
            faults.add(format!("line {line}"), format!("`{}` is not a cell size", keys[0]), "metres, above 0", v.to_string(), "mend the header");
            1.0
        }
        None => {
            faults.add("header", "the cell size is missing", "`cellsize`, or `dx` and `dy`", "none", "add the line to the header");
            1.0
        }
    };
    let (dx_m, dy_m) = (size(&["cellsize", "dx"]), size(&["cellsize", "dy"]));
    let mut place = |corner: &str, centres: [&str; 2], cell_m: f64| match (header.get(corner), header.first_of(&centres)) {
        (Some((v, _)), _) => v,
        (None, Some((v, _))) => v - cell_m / 2.0,
        (None, None) => {
            faults.add("header", format!("`{corner}` is missing"), format!("`{corner}` or `{}`", centres[0]), "none", "add the line to the header");
            0.0
        }
    };
    let west_m = place("xllcorner", ["xllcenter", "xllcentre"], dx_m);
    let south_m = place("yllcorner", ["yllcenter", "yllcentre"], dy_m);
    // A height takes at least one digit and one space.
    let bearable = (n_bytes as u64).div_ceil(2).min(limits::CELLS_MAX);
    if cols.saturating_mul(rows) > bearable {
        faults.add(
            "header",
            "the header claims more heights than the file can hold",
            format!("at most {bearable} cells in {n_bytes} bytes"),
            format!("{cols} columns x {rows} rows"),
            "the file is cut short or its header is wrong; fetch it again",
        );
    }
    if faults.any() {
        return Err(faults.finish());
    }
    let frame = Frame { west_m, north_m: south_m + dy_m * rows as f64, dx_m, dy_m, cols: cols as usize, rows: rows as usize };
    Ok((frame, header.first_of(&["nodata_value", "nodata"]).map(|(v, _)| v)))
}

fn header_of(head: &[Line<'_>], faults: &mut Faults<'_>) -> Header {
    let mut header = Header::default();
    for line in head {
        let mut on_line = words(line.text);
        let Some(key) = on_line.next().and_then(key_of) else { continue };
        let value = on_line.next().unwrap_or_default();
        let place = format!("line {}", line.number);
        if key == "byteorder" {
            faults.add(place, "this is the header of a binary grid", "heights as text", "`byteorder`", "export a text grid (.asc) or a GeoTIFF");
        } else if header.get(key).is_some() {
            faults.add(place, format!("`{key}` stands twice"), "each key once", shown(line.text), "keep the right one");
        } else if on_line.next().is_some() {
            faults.add(place, format!("`{key}` has more than one value"), "one number", shown(line.text), "put each key on a line of its own");
        } else {
            match number(value) {
                Some(v) if v.is_finite() || key.starts_with("nodata") => header.values.push((key, v, line.number)),
                _ => faults.add(place, format!("`{key}` has no number"), "a number", shown(value), number_hint(value)),
            }
        }
    }
    header
}

/// A number as text gives it; `None` for anything else.
pub(super) fn number(word: &[u8]) -> Option<f64> {
    std::str::from_utf8(word).ok()?.parse().ok()
}

/// What to say of a word that is no number.
pub(super) fn number_hint(word: &[u8]) -> &'static str {
    if word.contains(&b',') { "write decimals with a point, not a comma" } else { "put a number there, or the missing value" }
}

fn values(
    file: &str,
    body: &[Line<'_>],
    frame: &Frame,
    missing: Option<f64>,
    notes: &mut Vec<String>,
) -> Result<Vec<f32>, Vec<HeightsError>> {
    let counts: Vec<usize> = body.par_iter().map(|l| words(l.text).count()).collect();
    let a_row_a_line = counts.first() == Some(&frame.cols);
    if a_row_a_line {
        check_rows(file, body, &counts, frame)?;
    } else {
        check_wrapped(file, body, &counts, frame)?;
        notes.push(format!("{file}: rows are broken over lines of another length; taken as they follow"));
    }
    // Compared as single-precision too: some writers round the heights but not the header's missing value.
    let missing_single = missing.map(|m| m as f32);
    let of_word = |word: &[u8]| -> Option<f32> {
        let value: f32 = std::str::from_utf8(word).ok()?.parse().ok()?;
        if Some(value) == missing_single { Some(f32::NAN) } else { (!value.is_infinite()).then_some(value) }
    };
    let rows: Result<Vec<Vec<f32>>, ()> =
        body.par_iter().map(|l| words(l.text).map(of_word).collect::<Option<Vec<f32>>>().ok_or(())).collect();
    match rows {
        Ok(rows) => Ok(rows.concat()),
        Err(()) => Err(bad_words(file, body, of_word)),
    }
}

fn bad_words(file: &str, body: &[Line<'_>], of_word: impl Fn(&[u8]) -> Option<f32>) -> Vec<HeightsError> {
    let mut faults = Faults::of(file);
    for line in body {
        for (i, word) in (1..).zip(words(line.text)) {
            if of_word(word).is_none() {
                faults.add(format!("line {}, value {i}", line.number), "not a height", "a number", shown(word), number_hint(word));
            }
        }
    }
    faults.finish()
}

/// Every row on a line of its own: right number of lines, right number of heights on each.
fn check_rows(file: &str, body: &[Line<'_>], counts: &[usize], frame: &Frame) -> Result<(), Vec<HeightsError>> {
    let mut faults = Faults::of(file);
    if body.len() != frame.rows {
        let last = body.last().map_or(0, |l| l.number);
        faults.add(
            format!("line {last}, the last"),
            if body.len() < frame.rows { "rows are missing" } else { "there are too many rows" },
            format!("{} rows", frame.rows),
            format!("{} rows", body.len()),
            "the file is cut short or its header is wrong; fetch it again",
        );
    }
    for (line, &count) in body.iter().zip(counts) {
        if count != frame.cols {
            faults.add(
                format!("line {}", line.number),
                "the row has another length",
                format!("{} heights", frame.cols),
                format!("{count} heights"),
                "a value is missing, doubled, or split by a space",
            );
        }
    }
    if faults.any() { Err(faults.finish()) } else { Ok(()) }
}

/// Rows broken over lines: each row must begin a line, or whole rows share one.
fn check_wrapped(file: &str, body: &[Line<'_>], counts: &[usize], frame: &Frame) -> Result<(), Vec<HeightsError>> {
    let mut in_row = 0;
    for (line, &count) in body.iter().zip(counts) {
        let whole_rows = in_row == 0 && count % frame.cols == 0;
        if !whole_rows && in_row + count > frame.cols {
            return Err(one(
                file,
                format!("line {}", line.number),
                "rows have another length than the header says",
                format!("{} heights a row", frame.cols),
                format!("{} heights by the end of this line", in_row + count),
                "a value is missing or doubled, or `ncols` is wrong",
            ));
        }
        in_row = (in_row + count) % frame.cols;
    }
    let total: usize = counts.iter().sum();
    if total == frame.len() {
        return Ok(());
    }
    let last = body.last().map_or(0, |l| l.number);
    Err(one(
        file,
        format!("line {last}, the last"),
        "the number of heights does not fit the header",
        format!("{} heights", frame.len()),
        format!("{total} heights"),
        "the file is cut short or its header is wrong; fetch it again",
    ))
}
