//! What can be wrong with a table, and what is asked for in vain.

use std::fmt;

use serde::Serialize;

use crate::country::Country;

/// One thing wrong with a table, with its place and what to do about it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, thiserror::Error)]
pub struct Fault {
    /// Name of the table.
    pub file: String,
    /// Line of the table, counted from 1; 0 when the fault is of the whole file.
    pub row: usize,
    /// Column; empty when the fault is of the whole row.
    pub column: String,
    /// What is needed.
    pub needed: String,
    /// What stands there.
    pub found: String,
    /// What to do.
    pub hint: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.file)?;
        if self.row > 0 {
            write!(f, " line {}", self.row)?;
        }
        if !self.column.is_empty() {
            write!(f, ", column `{}`", self.column)?;
        }
        write!(f, ": needed {}, found {}", self.needed, self.found)?;
        if !self.hint.is_empty() {
            write!(f, "\n  hint: {}", self.hint)?;
        }
        Ok(())
    }
}

/// Why a key could not be served.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Why {
    /// No row has that key.
    NoKey,
    /// Rows have it, but neither for the country asked for nor for Great Britain.
    NoCountry,
    /// The key is held, but is not a number.
    NotNumber,
    /// The key is held, but is not a text.
    NotText,
    /// The key is held, but is not a date of the year.
    NotDate,
    /// The key is a curve, and one value was asked for.
    IsCurve,
    /// The key is one value, and a curve was asked for.
    NotCurve,
}

/// A key that could not be served, with the nearest keys there are.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, thiserror::Error)]
pub struct Unknown {
    /// What was asked for.
    pub key: String,
    /// Where it was to hold.
    pub country: Country,
    /// Why it could not be served.
    pub why: Why,
    /// Keys near to it, nearest first.
    pub near: Vec<String>,
}

impl fmt::Display for Unknown {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let key = &self.key;
        match self.why {
            Why::NoKey => write!(f, "unknown guidance key `{key}`")?,
            Why::NoCountry => write!(f, "guidance key `{key}` is held neither for {} nor for GB", self.country)?,
            Why::NotNumber => write!(f, "guidance key `{key}` is not a number")?,
            Why::NotText => write!(f, "guidance key `{key}` is not a text")?,
            Why::NotDate => write!(f, "guidance key `{key}` is not a date of the year")?,
            Why::IsCurve => write!(f, "guidance key `{key}` is a curve: one value was asked for")?,
            Why::NotCurve => write!(f, "guidance key `{key}` is one value: a curve was asked for")?,
        }
        if !self.near.is_empty() {
            write!(f, "\n  hint: near to it: `{}`", self.near.join("`, `"))?;
        }
        Ok(())
    }
}

/// The keys nearest to `asked`, nearest first, at most five, each nearer than half of `asked` is long.
pub(crate) fn near<'a>(asked: &str, keys: impl Iterator<Item = &'a str>) -> Vec<String> {
    let limit = asked.chars().count() / 2;
    let mut scored: Vec<(usize, &str)> = keys.map(|key| (edits(asked, key), key)).filter(|(distance, _)| *distance <= limit).collect();
    scored.sort_unstable();
    scored.dedup();
    scored.into_iter().take(5).map(|(_, key)| key.to_owned()).collect()
}

/// Letters to change, add or leave out to make `a` into `b` (Levenshtein 1966).
fn edits(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut above: Vec<usize> = (0..=b.len()).collect();
    for (i, letter) in a.chars().enumerate() {
        let mut corner = i;
        let mut left = i + 1;
        above[0] = left;
        for (j, other) in b.iter().enumerate() {
            let changed = corner + usize::from(letter != *other);
            corner = above[j + 1];
            left = changed.min(corner + 1).min(left + 1);
            above[j + 1] = left;
        }
    }
    above[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn distance_between_words_is_the_textbook_one() {
        for (a, b, distance) in [("kitten", "sitting", 3), ("", "abc", 3), ("abc", "", 3), ("flaw", "lawn", 2), ("same", "same", 0)] {
            assert_eq!(edits(a, b), distance, "{a} to {b}");
        }
    }
}
