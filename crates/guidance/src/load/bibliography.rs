//! The file of sources.

use std::collections::BTreeMap;

use crate::fault::Fault;
use crate::load::csv_file::{self, Line};
use crate::source::{Kind, ReadStatus, Source};

const COLUMNS: [&str; 8] = ["source", "kind", "authors", "year", "title", "container", "read_status", "note"];

/// The sources by key; what is wrong with them goes to `faults`.
pub(super) fn read(file: &str, text: &str, faults: &mut Vec<Fault>) -> BTreeMap<String, Source> {
    let mut sources = BTreeMap::new();
    for line in csv_file::read(file, text, &COLUMNS, faults) {
        let Some(source) = source(&line, faults) else { continue };
        if sources.insert(source.key.clone(), source).is_some() {
            faults.push(line.fault("source", "a key of its own", "give the second source another key, such as `white2013b`"));
        }
    }
    sources
}

fn source(line: &Line, faults: &mut Vec<Fault>) -> Option<Source> {
    let before = faults.len();
    let key = line.cell("source");
    if key.is_empty() || !key.chars().all(|letter| letter.is_ascii_lowercase() || letter.is_ascii_digit() || letter == '_') {
        faults.push(line.fault("source", "a key of small letters, digits and `_`", "use author and year, such as `white2013`"));
    }
    let kind = Kind::from_word(line.cell("kind"));
    if kind.is_none() {
        faults.push(line.fault("kind", words(Kind::ALL.map(Kind::word)), "choose the nearest"));
    }
    let read_status = ReadStatus::from_word(line.cell("read_status"));
    if read_status.is_none() {
        faults.push(line.fault("read_status", words(ReadStatus::ALL.map(ReadStatus::word)), "say how much of it was read"));
    }
    if line.cell("authors").is_empty() && line.cell("title").is_empty() {
        faults.push(line.fault("authors", "authors or a title", "name who wrote or published it"));
    }
    if faults.len() > before {
        return None;
    }
    Some(Source {
        key: key.to_owned(),
        kind: kind?,
        authors: line.cell("authors").to_owned(),
        year: line.cell("year").to_owned(),
        title: line.cell("title").to_owned(),
        container: line.cell("container").to_owned(),
        read_status: read_status?,
        note: line.cell("note").to_owned(),
    })
}

/// "one of `a`, `b`, `c`".
pub(super) fn words<const N: usize>(words: [&str; N]) -> String {
    format!("one of `{}`", words.join("`, `"))
}
