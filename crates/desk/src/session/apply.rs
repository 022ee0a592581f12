//! One edit on the plan as it stands in the middle of a step.

use super::{drafts, options, survey, visits};
use crate::api::ask::Ask;
use crate::api::edit::{Edit, Problem, ProblemFault};
use crate::snapshot::{SEED, Snapshot};
use guidance::Guidance;
use habitat::Assessed;
use holding::plan::Step;
use holding::{Holding, Measure};
use std::collections::HashMap;
use std::sync::Arc;

/// Longest name.
const NAME_MAX: usize = 1000;
/// Longest free text.
const TEXT_MAX: usize = 20_000;

/// A request under way.
pub(super) struct Work<'a> {
    /// The plan as the edits before this one left it.
    pub holding: Holding,
    /// The figures.
    pub guidance: &'a Guidance,
    /// Measures put forward by jobs.
    pub offers: &'a HashMap<u64, (Ask, Vec<Measure>)>,
    /// Ids of what was added or changed.
    pub ids: Vec<String>,
    /// What was put right.
    pub notes: Vec<String>,
    now: &'a Snapshot,
    /// Whether an edit of this request changed the survey.
    surveyed: bool,
}

impl<'a> Work<'a> {
    pub(super) fn new(now: &'a Snapshot, offers: &'a HashMap<u64, (Ask, Vec<Measure>)>) -> Work<'a> {
        Work { holding: (*now.holding).clone(), guidance: &now.guidance, offers, ids: Vec::new(), notes: Vec::new(), now, surveyed: false }
    }

    /// Do an edit.
    pub(super) fn apply(&mut self, edit: &Edit, step: &mut Step) -> Result<(), Problem> {
        self.surveyed |= matches!(edit, Edit::PutVisit(_) | Edit::DropVisit { .. } | Edit::SetFeature { .. } | Edit::DropFeature { .. });
        match edit {
            Edit::PutMeasure(draft) => drafts::put(self, step, draft),
            Edit::DropMeasures { ids } => drafts::drop_all(self, step, ids),
            Edit::Lay { job } => drafts::lay(self, step, *job),
            Edit::AddOption { name, copy_of } => options::add(self, step, name, *copy_of),
            Edit::NameOption { number, name } => options::name(self, step, *number, name),
            Edit::DropOption { number } => options::drop_one(self, step, *number),
            Edit::PutVisit(draft) => visits::put(self, step, draft),
            Edit::DropVisit { id } => visits::drop_one(self, step, id),
            Edit::SetFeature { layer, id, set, geometry } => survey::set(self, step, layer, id, set, geometry.as_ref()),
            Edit::DropFeature { layer, id } => survey::drop_one(self, step, layer, id),
        }
    }

    /// The ground measures are judged against.
    pub(super) fn ground(&self) -> Result<Arc<Assessed>, Problem> {
        if !self.surveyed {
            return self.now.base();
        }
        // No figure of it is told: one draw is enough.
        let settings = habitat::Settings { draws: 1, seed: SEED, cell_m: None };
        let assessed = habitat::assess(&self.holding, self.guidance, settings);
        assessed.map(Arc::new).map_err(|error| Problem::refused("The year cannot be worked out yet", [error.to_string()]))
    }
}

/// A fault.
pub(super) fn fault(at: &str, needed: impl Into<String>, found: impl Into<String>, hint: impl Into<String>) -> ProblemFault {
    ProblemFault { at: at.into(), needed: needed.into(), found: found.into(), hint: hint.into() }
}

/// All faults as one refusal; nothing where there are none.
pub(super) fn all_well(faults: Vec<ProblemFault>) -> Result<(), Problem> {
    if faults.is_empty() { Ok(()) } else { Err(Problem { faults, ..Problem::new("refused", "Nothing was changed") }) }
}

/// Whether a name can be taken: what is typed is kept to the letter, whatever it holds.
pub(super) fn name_fault(at: &str, text: &str) -> Option<ProblemFault> {
    text_fault_over(at, text, NAME_MAX)
}

/// Whether free text can be taken.
pub(super) fn text_fault(at: &str, text: &str) -> Option<ProblemFault> {
    text_fault_over(at, text, TEXT_MAX)
}

fn text_fault_over(at: &str, text: &str, most: usize) -> Option<ProblemFault> {
    let letters = text.chars().count();
    if letters > most {
        return Some(fault(at, format!("{most} letters at most"), format!("{letters} letters"), "shorten it"));
    }
    text.contains('\0').then(|| fault(at, "text", "a character that no text has", "type it anew"))
}

/// Every text in a JSON value.
pub(super) fn texts_in(at: &str, value: &serde_json::Value) -> Vec<ProblemFault> {
    match value {
        serde_json::Value::String(text) => text_fault(at, text).into_iter().collect(),
        serde_json::Value::Array(all) => all.iter().flat_map(|one| texts_in(at, one)).collect(),
        serde_json::Value::Object(all) => all.iter().flat_map(|(name, one)| name_fault(at, name).into_iter().chain(texts_in(at, one))).collect(),
        _ => vec![],
    }
}
