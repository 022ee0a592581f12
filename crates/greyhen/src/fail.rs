//! Why a command cannot run: one or more faults, each in plain words.

use crate::talk;
use std::fmt::Display;
use std::path::Path;

/// Faults to tell before ending with code 2.
#[derive(Debug)]
pub struct Fail {
    lines: Vec<String>,
}

impl Fail {
    /// One fault.
    pub fn one(fault: impl Display) -> Self {
        Self { lines: vec![fault.to_string()] }
    }

    /// Several faults.
    pub fn all<T: Display>(faults: impl IntoIterator<Item = T>) -> Self {
        Self { lines: faults.into_iter().map(|f| f.to_string()).collect() }
    }

    /// A fault of reading or writing a path.
    pub fn file(path: &Path, doing: &str, error: &std::io::Error) -> Self {
        Self::one(format!("{}: {doing} failed: {error}", path.display()))
    }

    /// Tell the faults on the error stream.
    pub fn tell(&self) {
        let many = self.lines.len() > 1;
        if many {
            talk::complain(&format!("{} things are wrong:", self.lines.len()));
        }
        for line in &self.lines {
            talk::complain(&if many { format!("- {line}") } else { format!("greyhen: {line}") });
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
from_all!(holding::plan::PlanFault, guidance::Fault, ground::heights::HeightsError);

impl From<holding::import::Faults> for Fail {
    fn from(faults: holding::import::Faults) -> Self {
        let more = faults.total - faults.listed.len();
        let mut fail = Fail::all(&faults.listed);
        if more > 0 {
            fail.lines.push(format!("... and {more} more"));
        }
        fail.lines.push("nothing was imported; the plan is as it was".to_string());
        fail
    }
}
