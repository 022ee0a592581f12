//! Broken files and what must be said of each.
#![allow(dead_code)]

use crate::making::{guidance, holding};
use chrono::NaiveDate;
use holding::import::{Faults, Imported, Kind, MapTo, Options, Source, read};

pub enum Then {
    /// A fault whose text holds each of these.
    Fault(&'static [&'static str]),
    /// Read, with a note whose text holds each of these.
    Note(&'static [&'static str]),
    /// Read, with so many rows going in, and word of each of these.
    In(usize, &'static [&'static str]),
}
use Then::*;

pub struct Case {
    pub what: &'static str,
    pub kind: Kind,
    pub file: &'static str,
    pub bytes: Vec<u8>,
    pub map: &'static [&'static str],
    pub leave_out: bool,
    pub make_leks: bool,
    pub then: Then,
}

pub fn case(what: &'static str, kind: Kind, file: &'static str, bytes: impl Into<Vec<u8>>, then: Then) -> Case {
    Case { what, kind, file, bytes: bytes.into(), map: &[], leave_out: false, make_leks: false, then }
}

pub fn run(case: &Case) -> Result<Imported, Faults> {
    let map = case.map.iter().map(|m| MapTo::from_text(m).unwrap()).collect();
    let (today, leave_out, make_leks) = (NaiveDate::from_ymd_opt(2026, 6, 1), case.leave_out, case.make_leks);
    let options = Options { map, today, leave_out, make_leks, ..Options::default() };
    read(case.kind, &Source::bytes(case.file, case.bytes.clone()), &options, &holding(), guidance())
}

/// Everything an import says beside its mapping.
pub fn told(imported: &Imported) -> String {
    let notes = imported.notes.0.iter().map(ToString::to_string);
    let left_out = imported.left_out.iter().map(ToString::to_string);
    notes.chain(left_out).chain(imported.proposed.iter().map(ToString::to_string)).collect::<Vec<_>>().join("\n")
}

/// Look at every case, and fail with all that is wrong.
pub fn judge(cases: &[Case]) {
    let mut wrong = Vec::new();
    for case in cases {
        let started = std::time::Instant::now();
        let got = run(case);
        let (expected, text) = match (&case.then, &got) {
            (Fault(parts), Err(faults)) => (parts, faults.to_string()),
            (Note(parts), Ok(imported)) => (parts, told(imported)),
            (In(count, parts), Ok(imported)) => {
                if imported.count != *count {
                    wrong.push(format!("{}: {} rows go in, not {count}: {}", case.what, imported.count, told(imported)));
                }
                (parts, told(imported))
            }
            (Fault(_), Ok(imported)) => {
                wrong.push(format!("{}: read without a fault: {:?}", case.what, imported.notes));
                continue;
            }
            (Note(_) | In(..), Err(faults)) => {
                wrong.push(format!("{}: refused: {faults}", case.what));
                continue;
            }
        };
        for part in expected.iter().filter(|part| !text.contains(**part)) {
            wrong.push(format!("{}: no `{part}` in:\n{text}", case.what));
        }
        if let Err(faults) = &got {
            for fault in &faults.listed {
                if fault.file != case.file || fault.needed.is_empty() || fault.found.is_empty() {
                    wrong.push(format!("{}: a fault without file, needed or found: {fault:?}", case.what));
                }
            }
        }
        if started.elapsed().as_secs() > 20 {
            wrong.push(format!("{}: took {:?}", case.what, started.elapsed()));
        }
    }
    println!("{} broken files looked at", cases.len());
    assert!(wrong.is_empty(), "{} of {}:\n\n{}", wrong.len(), cases.len(), wrong.join("\n\n"));
}
