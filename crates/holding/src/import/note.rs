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
    pub(super) fn file(&mut self, text: impl Into<String>) {
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
