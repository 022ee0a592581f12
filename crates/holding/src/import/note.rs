//! What an import took for granted or mended, with where.

use std::fmt;

/// Rows named in a note; the rest are only counted.
const ROWS_NAMED: usize = 5;

/// One thing to know about an import; the same thing in many rows is one note.
#[derive(Clone, Debug, PartialEq)]
pub struct Note {
    /// What was taken for granted or mended.
    pub text: String,
    /// The first few rows it holds for; empty where it holds for the whole file.
    pub rows: Vec<String>,
    /// How many rows it holds for.
    pub count: usize,
}

impl fmt::Display for Note {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.text)?;
        if !self.rows.is_empty() {
            write!(f, " ({}", self.rows.join(", "))?;
            if self.count > self.rows.len() {
                write!(f, " and {} more", self.count - self.rows.len())?;
            }
            write!(f, ")")?;
        }
        Ok(())
    }
}

/// The notes of an import, in the order they came up.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Notes(pub Vec<Note>);

impl Notes {
    /// A note on the whole file.
    pub fn file(&mut self, text: impl Into<String>) {
        let text = text.into();
        if !self.0.iter().any(|note| note.text == text) {
            self.0.push(Note { text, rows: vec![], count: 0 });
        }
    }

    /// A note on one row.
    pub(super) fn row(&mut self, row: &str, text: impl Into<String>) {
        let text = text.into();
        match self.0.iter_mut().find(|note| note.text == text && note.count > 0) {
            Some(note) => {
                note.count += 1;
                if note.rows.len() < ROWS_NAMED {
                    note.rows.push(row.to_owned());
                }
            }
            None => self.0.push(Note { text, rows: vec![row.to_owned()], count: 1 }),
        }
    }
}

/// Rows that were left out for one reason.
#[derive(Clone, Debug, PartialEq)]
pub struct LeftOut {
    /// Why: what was needed.
    pub why: String,
    /// Column.
    pub column: Option<String>,
    /// The first few rows, with what was found.
    pub first: Vec<(String, String)>,
    /// How many rows.
    pub count: usize,
}

impl LeftOut {
    /// One more row for a reason.
    pub(super) fn add(all: &mut Vec<LeftOut>, why: &str, column: Option<&str>, row: &str, found: &str) {
        let at = all.iter().position(|l| l.why == why && l.column.as_deref() == column).unwrap_or_else(|| {
            all.push(LeftOut { why: why.to_owned(), column: column.map(str::to_owned), first: Vec::new(), count: 0 });
            all.len() - 1
        });
        let left = &mut all[at];
        left.count += 1;
        if left.first.len() < ROWS_NAMED {
            left.first.push((row.to_owned(), found.to_owned()));
        }
    }
}

impl fmt::Display for LeftOut {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let rows: Vec<String> = self.first.iter().map(|(row, found)| format!("{row}: {found}")).collect();
        let column = self.column.as_ref().map_or_else(String::new, |c| format!(" in column `{c}`"));
        let more = self.count.saturating_sub(self.first.len());
        let more = if more > 0 { format!("; and {more} more") } else { String::new() };
        let s = if self.count == 1 { "" } else { "s" };
        write!(f, "{} row{s} left out: needed {}{column} ({}{more})", self.count, self.why, rows.join("; "))
    }
}
