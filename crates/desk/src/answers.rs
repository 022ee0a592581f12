//! What is asked of the rooms below: the same questions, and the same documents, as on the command line.

use crate::api::ask::Ask;
use guidance::Guidance;
use habitat::Assessed;
use holding::{Holding, Measure};
use std::sync::Arc;

/// What a question is asked of: one version of the plan, with its year worked out as surveyed.
#[derive(Clone)]
pub struct Start {
    /// The plan.
    pub holding: Arc<Holding>,
    /// The figures.
    pub guidance: Arc<Guidance>,
    /// The year as surveyed.
    pub base: Arc<Assessed>,
}

/// What comes of a question.
#[derive(Debug, Default)]
pub struct Answer {
    /// The document the command line prints with `--json`, leks shown: the page is the adviser's own.
    pub document: serde_json::Value,
    /// Measures put forward, ready to be laid in the option asked for; the plan is not touched by a question.
    pub measures: Vec<Measure>,
    /// Files made, by name, such as `plan.pdf`.
    pub files: Vec<(String, Vec<u8>)>,
}

/// Why there is no answer: every fault at once, in words for a person.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Trouble(pub Vec<String>);

/// How long work tells how far it is, and learns that nobody waits for it any more.
pub trait Progress: Send + Sync {
    /// What is being done now, in a few words.
    fn now(&self, words: &str);
    /// Whether the work should stop; what was asked is then thrown away.
    fn stopped(&self) -> bool;
}

/// Answers questions of a plan.
pub trait Answers: Send + Sync + 'static {
    /// Answer a question; takes as long as it takes.
    ///
    /// # Errors
    /// Everything that is in the way.
    fn answer(&self, ask: &Ask, start: &Start, progress: &dyn Progress) -> Result<Answer, Trouble>;
}
