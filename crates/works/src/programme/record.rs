//! A programme, told.

use super::impossible::Impossible;
use super::layout::Objective;
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

/// A task of a programme.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Planned {
    /// The task.
    pub task: String,
    /// First day.
    pub first: NaiveDate,
    /// Last day; of a mark in time the same day.
    pub last: NaiveDate,
    /// The days it is worked.
    pub worked: Vec<NaiveDate>,
    /// The crew of each of its needs, by identity.
    pub crews: Vec<String>,
    /// Calendar days after its deadline; after a hard one only where it overruns in a slip.
    pub late_days: u64,
    /// Calendar days it can begin later without any other task moving, any deadline being missed by more, or the whole ending later.
    pub slack_days: u64,
    /// The latest it could begin without the whole ending later or a deadline being missed by more, if all after it were put off as well
    /// and kept their crews.
    pub latest_first: NaiveDate,
}

/// A programme.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Schedule {
    /// Tasks by their first day; at one first day each after those it waits for.
    pub planned: Vec<Planned>,
    /// Tasks that are not in it, each with its reason, as they stand in the question.
    pub impossible: Vec<Impossible>,
    /// The last day of the last task.
    pub finish: Option<NaiveDate>,
    /// What it is judged by.
    pub objective: Objective,
    /// What no programme of these tasks can be better than.
    pub bound: Objective,
    /// Whether it is proven that no programme is better.
    pub proven: bool,
}

impl Schedule {
    /// A task of the programme.
    pub fn planned(&self, task: &str) -> Option<&Planned> {
        self.planned.iter().find(|planned| planned.task == task)
    }

    /// Calendar days by which the whole might end earlier: nought where it cannot. `None` where tasks are left out.
    pub fn gap_days(&self) -> Option<u64> {
        let gap = if self.proven { 0 } else { self.objective.finish_days.saturating_sub(self.bound.finish_days) };
        (self.objective.left_out == 0).then_some(gap)
    }
}
