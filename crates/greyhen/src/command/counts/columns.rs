//! A small table given beside a plan: named columns of a CSV.

use std::path::Path;

/// A row: where it stands, and its cells in the order of the columns wanted.
pub struct Row<const N: usize> {
    /// File and line.
    pub place: String,
    /// What stands there; empty where the row is short.
    pub cells: [String; N],
}

/// The rows of a file under the columns wanted, which may stand in any order and among others; what is wrong with it goes to `faults`.
pub fn rows<const N: usize>(path: &Path, wanted: [&str; N], hint: &str, faults: &mut Vec<String>) -> Vec<Row<N>> {
    let shown = path.display();
    let text = match std::fs::read_to_string(path) {
        Ok(text) => text,
        Err(why) => {
            faults.push(format!("{shown}: reading failed: {why}"));
            return vec![];
        }
    };
    let mut reader = csv::ReaderBuilder::new().flexible(true).trim(csv::Trim::All).from_reader(text.trim_start_matches('\u{feff}').as_bytes());
    let head: Vec<String> = reader.headers().map(|h| h.iter().map(str::to_lowercase).collect()).unwrap_or_default();
    let found = wanted.map(|name| head.iter().position(|h| h == name));
    if found.contains(&None) {
        faults.push(format!("{shown}: found columns {}; needed: {}. Hint: {hint}", head.join(", "), wanted.join(", ")));
        return vec![];
    }
    let mut rows = Vec::new();
    for row in reader.records() {
        match row {
            Ok(row) => rows.push(Row {
                place: format!("{shown} line {}", row.position().map_or(0, csv::Position::line)),
                cells: found.map(|at| at.and_then(|at| row.get(at)).unwrap_or_default().to_owned()),
            }),
            Err(why) => faults.push(format!("{shown}: {why}; needed: a table of text in UTF-8")),
        }
    }
    rows
}
