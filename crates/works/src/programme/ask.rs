//! The question: tasks, crews, days, and what may be wrong with it.

use super::calendar::{Calendar, Crew};
use super::window::Window;
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;

/// The longest horizon, days: sixty years.
pub const HORIZON_MAX_DAYS: i64 = 60 * 366;
/// The most ways of sharing one task out to crews.
pub const WAYS_MAX: usize = 64;

/// How a task is worked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Stretch {
    /// In one go: on every working day from the first to the last. All days from the first to the last, worked or not, lie in its
    /// windows, and its crews are there on every working day.
    Whole,
    /// On open working days on which its crews are there, with pauses where they are not: over a closed season, or days off. Not with
    /// pauses for other tasks; in its pauses crews are free for them.
    Broken,
}

/// How long after a task the next may begin.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Lag {
    /// Calendar days between its last day and the first of the next: 0 for the next morning.
    Days(u32),
    /// Calendar months, counted from the morning after its last day: last day 3 March and two months, 4 May. As consents are counted.
    Months(u32),
}

/// What a task waits for.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct After {
    /// The task that must be done.
    pub task: String,
    /// How long after it.
    pub lag: Lag,
}

/// Units of one crew that a task takes up on every day it is worked.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Need {
    /// The kind of work: any one crew that can do it.
    pub kind: String,
    /// Units, all of the same crew from first to last.
    pub units: u32,
}

/// When a task must be done.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Deadline {
    /// Its last day, at the latest.
    pub date: NaiveDate,
    /// Whether it is not done at all rather than later.
    pub hard: bool,
}

/// A task.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Task {
    /// Identity.
    pub id: String,
    /// Working days it takes; nought for a mark in time, which falls on an open working day and takes up nobody.
    pub days: u32,
    /// What it waits for.
    pub after: Vec<After>,
    /// Seasons in which it may be done; none for all the year.
    pub windows: Vec<Window>,
    /// How it is worked.
    pub stretch: Stretch,
    /// First day it may begin.
    pub earliest: Option<NaiveDate>,
    /// When it must be done.
    pub latest: Option<Deadline>,
    /// Crews it takes up.
    pub needs: Vec<Need>,
    /// What a day's wait for its end counts beside other tasks.
    pub weight: u32,
    /// Whether it is left to the last of its seasons in which nothing else has to move for it: what is done too long before that which
    /// waits for it has to be done again. No day's wait for its end counts. Its crew stays the one it could be done by first; what may be
    /// done all the year has no last season.
    #[serde(default)]
    pub last_season: bool,
}

impl Task {
    /// A task of so many working days, in one go, that waits for nothing and needs nobody, of weight 1.
    pub fn new(id: &str, days: u32) -> Task {
        Task { id: id.into(), days, after: vec![], windows: vec![], stretch: Stretch::Whole, earliest: None, latest: None, needs: vec![], weight: 1, last_season: false }
    }
}

/// A programme to make.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Ask {
    /// First day of the programme.
    pub first: NaiveDate,
    /// Last day on which anything is done.
    pub last: NaiveDate,
    /// Working days.
    pub calendar: Calendar,
    /// Crews and equipment.
    pub crews: Vec<Crew>,
    /// Tasks.
    pub tasks: Vec<Task>,
}

/// One thing wrong with a question.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{place}: needed {needed}, found {found}\n  hint: {hint}")]
pub struct Fault {
    /// Where.
    pub place: String,
    /// What is needed.
    pub needed: String,
    /// What stands there.
    pub found: String,
    /// What to do.
    pub hint: &'static str,
}

impl Ask {
    /// Everything wrong with the question as it is written. What can be read but not done is told by the schedule, task by task.
    ///
    /// # Errors
    /// All faults at once.
    pub fn check(&self) -> Result<(), Vec<Fault>> {
        let mut faults = Vec::new();
        let mut fault = |place: String, needed: &str, found: String, hint| faults.push(Fault { place, needed: needed.into(), found, hint });
        let days = (self.last - self.first).num_days() + 1;
        if !(1..=HORIZON_MAX_DAYS).contains(&days) {
            fault(
                "first and last day".into(),
                "1 day to 60 years",
                format!("{} to {}, {days} days", self.first, self.last),
                "give a last day after the first",
            );
        }
        let mut ids = BTreeSet::new();
        for crew in &self.crews {
            let place = || format!("crew `{}`", crew.id);
            if !ids.insert(&crew.id) {
                fault(place(), "an identity of its own", "one that another crew has".into(), "give each crew once, with all its kinds of work");
            }
            for window in crew.there.iter().filter(|w| !(w.first.exists() && w.last.exists())) {
                fault(place(), "days of the year", window.to_string(), "month and day, such as 11-01 to 03-31");
            }
            for off in crew.away.iter().filter(|off| off.first > off.last) {
                fault(place(), "days off that end after they begin", format!("{} to {}", off.first, off.last), "turn the two round");
            }
        }
        let known: BTreeSet<&String> = self.tasks.iter().map(|task| &task.id).collect();
        let mut ids = BTreeSet::new();
        for task in &self.tasks {
            let place = || format!("task `{}`", task.id);
            if !ids.insert(&task.id) {
                fault(place(), "an identity of its own", "one that another task has".into(), "give each task once");
            }
            for window in task.windows.iter().filter(|w| !(w.first.exists() && w.last.exists())) {
                fault(place(), "days of the year", window.to_string(), "month and day, such as 11-01 to 03-31");
            }
            for after in task.after.iter().filter(|after| !known.contains(&after.task)) {
                fault(place(), "a task that is given", format!("after `{}`", after.task), "give that task too, or take it out");
            }
            let lag = |after: &&After| match after.lag {
                Lag::Days(days) => i64::from(days) > HORIZON_MAX_DAYS,
                Lag::Months(months) => months > 720,
            };
            for after in task.after.iter().filter(lag) {
                fault(place(), "a wait of at most 60 years", format!("{:?} after `{}`", after.lag, after.task), "check the unit of the wait");
            }
            if i64::from(task.days) > HORIZON_MAX_DAYS {
                fault(place(), "at most 60 years of working days", task.days.to_string(), "check the unit of the work");
            }
            let able = |need: &Need| self.crews.iter().filter(|crew| crew.kinds.contains(&need.kind)).count().max(1);
            let ways = task.needs.iter().fold(1_usize, |ways, need| ways.saturating_mul(able(need)));
            if ways > WAYS_MAX {
                fault(place(), "at most 64 ways of sharing it out to crews", ways.to_string(), "name kinds of work that fewer crews can do");
            }
        }
        if faults.is_empty() { Ok(()) } else { Err(faults) }
    }
}
