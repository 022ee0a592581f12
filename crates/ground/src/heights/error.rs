//! What a height source got wrong, where, and what to do about it.

/// One fault of a height source.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{what}: needed {needed}, found {found}\n  at: {file}{}\n  hint: {hint}", place_after_file(place))]
pub struct HeightsError {
    /// The file, or the entry of an archive as `archive.zip/entry.asc`.
    pub file: String,
    /// Line, tag, strip or tile inside the file; empty when the whole file is meant.
    pub place: String,
    /// What is wrong, in a few words.
    pub what: String,
    /// What was needed there.
    pub needed: String,
    /// What was found there.
    pub found: String,
    /// What the reader of this message can do.
    pub hint: String,
}

fn place_after_file(place: &str) -> String {
    if place.is_empty() { String::new() } else { format!(", {place}") }
}

/// Collects the faults of one file, showing the first few in full and counting the rest.
pub(super) struct Faults<'a> {
    file: &'a str,
    list: Vec<HeightsError>,
    left_out: usize,
}

/// Faults shown in full for one file; the rest are counted.
const SHOWN: usize = 20;

impl<'a> Faults<'a> {
    pub fn of(file: &'a str) -> Self {
        Self { file, list: Vec::new(), left_out: 0 }
    }

    pub fn add(
        &mut self,
        place: impl Into<String>,
        what: impl Into<String>,
        needed: impl Into<String>,
        found: impl Into<String>,
        hint: impl Into<String>,
    ) {
        if self.list.len() >= SHOWN {
            self.left_out += 1;
            return;
        }
        self.list.push(HeightsError {
            file: self.file.to_owned(),
            place: place.into(),
            what: what.into(),
            needed: needed.into(),
            found: found.into(),
            hint: hint.into(),
        });
    }

    pub fn any(&self) -> bool {
        !self.list.is_empty()
    }

    /// The faults, with a last one that counts those left out.
    pub fn finish(mut self) -> Vec<HeightsError> {
        if self.left_out > 0 {
            self.list.push(HeightsError {
                file: self.file.to_owned(),
                place: String::new(),
                what: "more faults of the same file".into(),
                needed: "none".into(),
                found: self.left_out.to_string(),
                hint: "mend the faults above first, then read the file again".into(),
            });
        }
        self.list
    }
}

/// A single fault as the whole answer.
pub(super) fn one(
    file: &str,
    place: impl Into<String>,
    what: impl Into<String>,
    needed: impl Into<String>,
    found: impl Into<String>,
    hint: impl Into<String>,
) -> Vec<HeightsError> {
    let mut faults = Faults::of(file);
    faults.add(place, what, needed, found, hint);
    faults.finish()
}

/// A piece of foreign text made fit to show: printable, and no longer than 40 characters.
pub(super) fn shown(bytes: &[u8]) -> String {
    let text = String::from_utf8_lossy(&bytes[..bytes.len().min(160)]);
    let mut out: String = text.chars().map(|c| if c.is_control() { '?' } else { c }).take(40).collect();
    if text.chars().count() > 40 || bytes.len() > 160 {
        out.push('…');
    }
    format!("`{out}`")
}
