//! Why a command cannot run: one or more faults, each in plain words.

use crate::talk;
use std::fmt::Display;
use std::path::Path;

/// Faults to tell before ending with code 2.
#[derive(Debug)]
pub struct Fail {
    lines: Vec<String>,
    /// Faults that are counted but not listed.
    more: usize,
    ending: String,
}

impl Fail {
    /// One fault.
    pub fn one(fault: impl Display) -> Self {
        Self::all([fault])
    }

    /// Several faults.
    pub fn all<T: Display>(faults: impl IntoIterator<Item = T>) -> Self {
        Self { lines: faults.into_iter().map(|f| f.to_string()).collect(), more: 0, ending: String::new() }
    }

    /// A fault of reading or writing a path.
    pub fn file(path: &Path, doing: &str, error: &std::io::Error) -> Self {
        Self::one(format!("{}: {doing} failed: {error}", path.display()))
    }

    /// The faults of a file.
    pub fn file_faults(faults: &holding::import::Faults) -> Self {
        Self { more: faults.total - faults.listed.len(), ..Self::all(&faults.listed) }
    }

    /// With more faults.
    pub fn and<T: Display>(mut self, faults: impl IntoIterator<Item = T>) -> Self {
        self.lines.extend(faults.into_iter().map(|f| f.to_string()));
        self
    }

    /// With a closing line on how things stand now.
    pub fn ending(mut self, ending: &str) -> Self {
        self.ending = ending.to_string();
        self
    }

    /// Every fault that is listed, and how many are not, a line each.
    pub fn lines(&self) -> Vec<String> {
        let more = (self.more > 0).then(|| format!("... and {} more", self.more));
        self.lines.iter().cloned().chain(more).collect()
    }

    /// Tell the faults on the error stream.
    pub fn tell(&self) {
        let many = self.lines.len() + self.more > 1;
        if many {
            talk::complain(&format!("{} things are wrong:", self.lines.len() + self.more));
        }
        for line in &self.lines {
            talk::complain(&if many { format!("- {line}") } else { format!("greyhen: {line}") });
        }
        if self.more > 0 {
            talk::complain(&format!("... and {} more", self.more));
        }
        if !self.ending.is_empty() {
            talk::complain(&self.ending);
        }
    }
}

macro_rules! from {
    ($($kind:ty),*) => { $(impl From<$kind> for Fail { fn from(e: $kind) -> Self { Fail::one(e) } })* };
}
from!(holding::plan::PlanError, habitat::AssessError, guidance::Unknown, handover::Fault);

macro_rules! from_all {
    ($($kind:ty),*) => { $(impl From<Vec<$kind>> for Fail { fn from(e: Vec<$kind>) -> Self { Fail::all(e) } })* };
}
from_all!(holding::plan::PlanFault, guidance::Fault, ground::heights::HeightsError, birds::dawns::Fault);
