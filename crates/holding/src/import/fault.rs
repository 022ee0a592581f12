//! What is wrong with a source: every fault of a file at once, each with its place and a hint.

use super::guess::Mapping;
use super::proposed::ProposedLek;
use std::fmt;

/// Faults listed one by one; the rest are only counted.
pub const LISTED_MAX: usize = 50;

/// One fault of a source.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ImportFault {
    /// The file's name.
    pub file: String,
    /// Layer or sheet, where the file has several.
    pub layer: Option<String>,
    /// Row, line or feature, as the file counts them: `line 7`, `feature 3`.
    pub row: Option<String>,
    /// Easting and northing in the plan's coordinate system, metres, where known.
    pub place: Option<(f64, f64)>,
    /// Column.
    pub column: Option<String>,
    /// What was needed.
    pub needed: String,
    /// What was found.
    pub found: String,
    /// What to do about it.
    pub hint: String,
}

impl ImportFault {
    /// A fault by what was needed and what was found.
    pub fn new(needed: impl Into<String>, found: impl Into<String>) -> Self {
        Self { needed: needed.into(), found: found.into(), ..Self::default() }
    }

    /// With a hint.
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = hint.into();
        self
    }

    /// With a column.
    pub fn column(mut self, column: impl Into<String>) -> Self {
        self.column = Some(column.into());
        self
    }

    /// With a row.
    pub fn row(mut self, row: impl Into<String>) -> Self {
        self.row = Some(row.into());
        self
    }

    /// With a place on the plan, metres.
    pub fn place(mut self, place: Option<(f64, f64)>) -> Self {
        self.place = place;
        self
    }
}

impl fmt::Display for ImportFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.file)?;
        if let Some(layer) = &self.layer {
            write!(f, ", layer `{layer}`")?;
        }
        if let Some(row) = &self.row {
            write!(f, ", {row}")?;
        }
        if let Some((east, north)) = self.place {
            write!(f, " (E {east:.0}, N {north:.0})")?;
        }
        if let Some(column) = &self.column {
            write!(f, ", column `{column}`")?;
        }
        write!(f, ": needed {}, found {}", self.needed, self.found)?;
        if !self.hint.is_empty() {
            write!(f, "\n  hint: {}", self.hint)?;
        }
        Ok(())
    }
}

/// All faults of a source: the first [`LISTED_MAX`] in full, and how many there are in all.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Faults {
    /// The faults listed, in the order of the file.
    pub listed: Vec<ImportFault>,
    /// How many there are.
    pub total: usize,
    /// How the columns were understood, as far as the reading came.
    pub mapping: Option<Box<Mapping>>,
    /// Visits: the leks that would have to be made for the birds of the file.
    pub proposed: Vec<ProposedLek>,
}

impl Faults {
    /// Nothing wrong yet.
    pub fn new() -> Self {
        Self::default()
    }

    /// Add a fault.
    pub fn push(&mut self, fault: ImportFault) {
        self.total += 1;
        if self.listed.len() < LISTED_MAX {
            self.listed.push(fault);
        }
    }

    /// Add all of another list.
    pub(super) fn extend(&mut self, more: Faults) {
        self.total += more.total;
        self.mapping = self.mapping.take().or(more.mapping);
        self.proposed.extend(more.proposed);
        let room = LISTED_MAX.saturating_sub(self.listed.len());
        self.listed.extend(more.listed.into_iter().take(room));
    }

    /// Take out the faults that came after the first `before`; all of them are listed where rows are left out.
    pub(super) fn since(&mut self, before: usize) -> Vec<ImportFault> {
        self.total = before;
        self.listed.split_off(before.min(self.listed.len()))
    }

    /// True when nothing is wrong.
    pub fn is_empty(&self) -> bool {
        self.total == 0
    }

    /// Say in which file and layer the faults are, where they do not say so themselves.
    pub(super) fn located(mut self, file: &str, layer: Option<&str>) -> Self {
        for fault in &mut self.listed {
            if fault.file.is_empty() {
                fault.file = file.to_owned();
            }
            if fault.layer.is_none() {
                fault.layer = layer.map(str::to_owned);
            }
        }
        self
    }
}

impl From<ImportFault> for Faults {
    fn from(fault: ImportFault) -> Self {
        Self { listed: vec![fault], total: 1, ..Self::default() }
    }
}

impl fmt::Display for Faults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (number, fault) in self.listed.iter().enumerate() {
            if number > 0 {
                writeln!(f)?;
            }
            write!(f, "{fault}")?;
        }
        if self.total > self.listed.len() {
            write!(f, "\nand {} more", self.total - self.listed.len())?;
        }
        Ok(())
    }
}

impl std::error::Error for Faults {}
