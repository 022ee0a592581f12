//! Reading and checking the tables: all faults of all of them, none half-read.
//!
//! - [`csv_file`]: a table as cells by column, with lines
//! - [`bibliography`]: the sources
//! - [`fact`]: one row read and checked by itself
//! - [`across`]: checks that need more than one row

mod across;
mod bibliography;
mod csv_file;
mod fact;

use std::collections::BTreeMap;

use crate::fault::Fault;
use crate::row::Row;
use crate::source::Source;

/// Name of the file of sources.
const BIBLIOGRAPHY: &str = "bibliography.csv";
/// Name of the file that holds the edition.
const EDITION: &str = "edition.txt";

/// What the tables hold.
pub(crate) struct Tables {
    pub(crate) edition: String,
    pub(crate) sources: BTreeMap<String, Source>,
    pub(crate) rows: Vec<Row>,
}

/// The tables in `texts`, or everything that is wrong with them by file and line.
pub(crate) fn read(texts: &[(&str, &str)]) -> Result<Tables, Vec<Fault>> {
    let mut faults = Vec::new();
    let edition = edition(texts, &mut faults);
    let sources = match texts.iter().find(|(name, _)| *name == BIBLIOGRAPHY) {
        Some((name, text)) => bibliography::read(name, text, &mut faults),
        None => {
            faults.push(missing(BIBLIOGRAPHY, "the file of sources"));
            BTreeMap::new()
        }
    };
    let mut rows = Vec::new();
    for (name, text) in texts.iter().filter(|(name, _)| name.ends_with(".csv") && *name != BIBLIOGRAPHY) {
        rows.extend(fact::read(name, text, &sources, &mut faults));
    }
    across::check(&rows, &mut faults);
    if faults.is_empty() {
        return Ok(Tables { edition, sources, rows });
    }
    faults.sort_by(|a, b| (&a.file, a.row, &a.column).cmp(&(&b.file, b.row, &b.column)));
    Err(faults)
}

fn edition(texts: &[(&str, &str)], faults: &mut Vec<Fault>) -> String {
    let Some((name, text)) = texts.iter().find(|(name, _)| *name == EDITION) else {
        faults.push(missing(EDITION, "the edition of the tables"));
        return String::new();
    };
    let mut lines = text.lines().map(str::trim).filter(|line| !line.is_empty());
    match (lines.next(), lines.next()) {
        (Some(line), None) => line.to_owned(),
        (first, _) => {
            let found = if first.is_some() { "several lines" } else { "an empty file" };
            faults.push(Fault {
                file: (*name).to_owned(),
                row: 0,
                column: String::new(),
                needed: "one line with the edition".to_owned(),
                found: found.to_owned(),
                hint: "write the year and month, such as `2026-11`".to_owned(),
            });
            String::new()
        }
    }
}

fn missing(file: &str, what: &str) -> Fault {
    Fault {
        file: file.to_owned(),
        row: 0,
        column: String::new(),
        needed: what.to_owned(),
        found: "no such file".to_owned(),
        hint: format!("add `{file}` to the tables"),
    }
}
