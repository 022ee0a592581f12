//! A finding: one rule broken at one place, with what to do about it.

use crate::secrecy::{Secret, coarsen};
use geo_types::Geometry;
use guidance::Grade;
use serde::Serialize;

/// How much a finding weighs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Severity {
    /// Law, code or certain harm.
    Must,
    /// Good practice well supported.
    Should,
    /// Worth thinking about.
    Consider,
}

impl Severity {
    /// The word shown to people and stored in JSON.
    pub fn word(self) -> &'static str {
        match self {
            Severity::Must => "must",
            Severity::Should => "should",
            Severity::Consider => "consider",
        }
    }
}

/// One thing found wrong.
#[derive(Clone, Debug)]
pub struct Finding {
    /// The rule's key, such as `fence_near_lek`.
    pub rule: &'static str,
    /// Id of the measure it speaks of; `None` for a finding on what is there.
    pub measure: Option<String>,
    /// What is wrong, in a few words, naming the feature and the lek.
    pub what: String,
    /// How much it weighs.
    pub severity: Severity,
    /// Where, in words (feature, lek, grid reference is added on output).
    pub place: String,
    /// Identity of the lek whose place the geometry gives away; `None` where it gives none away.
    pub lek: Option<String>,
    /// Where, in the plan's plane.
    pub geometry: Geometry<f64>,
    /// The value here, with its unit.
    pub value: String,
    /// What is needed, with its unit.
    pub needed: String,
    /// Why it matters to the birds.
    pub why: String,
    /// What to do.
    pub hint: String,
    /// Guidance keys behind the limit.
    pub source: Vec<String>,
    /// The lowest grade among those figures.
    pub grade: Grade,
    /// Words in it that narrow down where a lek lies, and what stands for them where leks are not shown.
    pub secret: Vec<Secret>,
    /// Edition of the guidance or code.
    pub edition: String,
}

impl Finding {
    /// The finding in words that do not narrow down where a lek lies: measured distances as bands, features that hold a lek
    /// without their names, grid references cut to the kilometre. The geometry stays: who gives it out answers for it.
    pub fn withheld(&self) -> Finding {
        let coarse = |text: &str| coarsen(&self.secret.iter().fold(text.to_string(), |t, s| s.hide(&t)));
        Finding {
            what: coarse(&self.what),
            place: coarse(&self.place),
            value: coarse(&self.value),
            needed: coarse(&self.needed),
            hint: coarse(&self.hint),
            secret: Vec::new(),
            ..self.clone()
        }
    }
}
