//! The tasks of an option on days, what cannot be done, and what comes of one being late.

use super::job::{Job, Stage};
use super::{Hands, Jobs, Settings};
use crate::programme::{
    self, Ask, Calendar, Deadline, Fault, Impossible, Late, Limit, Moved, Need, Planned, Reason, Schedule, Stretch, Task, Window,
};
use chrono::NaiveDate;
use measures::rules::on_measures::when;

/// A task that is not in the programme.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refused {
    /// The task, by identity.
    pub job: String,
    /// Why, in words.
    pub why: String,
}

/// What comes of one task being late.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Slipped {
    /// The late task.
    pub job: String,
    /// Calendar days late.
    pub days: u32,
    /// Every task that moves, the late one first.
    pub moved: Vec<Moved>,
    /// Tasks that cannot be done any more, with the reason.
    pub lost: Vec<(String, String)>,
}

/// A task with its days.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Done<'p> {
    /// The task.
    pub job: &'p Job,
    /// Its days.
    pub planned: &'p Planned,
}

/// An option on days.
#[derive(Clone, Debug)]
pub struct Programmed {
    /// The tasks.
    pub jobs: Jobs,
    /// The question they made.
    pub ask: Ask,
    /// The answer.
    pub schedule: Schedule,
    /// What cannot be done, with the reason.
    pub refused: Vec<Refused>,
    /// What follows works of the programme after its last day: beating up, upkeep and checks, by identity.
    pub beyond: Vec<String>,
}

fn days(windows: &[when::Window]) -> Vec<Window> {
    windows.iter().map(|w| Window::new(w.first, w.last)).collect()
}

/// The tasks of an option put on days.
///
/// # Errors
/// What is wrong with the question, all at once.
pub fn programme(jobs: Jobs, settings: Settings, hands: &Hands, limit: Limit) -> Result<Programmed, Vec<Fault>> {
    let mut refused: Vec<Refused> = Vec::new();
    // No season at all, and all that waits for it.
    for job in jobs.jobs.iter().filter(|j| !j.season.all_year() && j.season.left.is_empty()) {
        let why: Vec<&str> = job.season.bounds.iter().map(|b| b.words.as_str()).collect();
        refused.push(Refused { job: job.id.clone(), why: format!("no day of the year is left to it: {}", why.join("; ")) });
    }
    loop {
        let gone = |id: &str| refused.iter().any(|r| r.job == id);
        let waits = |j: &&Job| !gone(&j.id) && j.after.iter().any(|w| gone(&w.job));
        let Some(job) = jobs.jobs.iter().find(waits) else { break };
        let of = job.after.iter().find(|w| gone(&w.job)).map_or(String::new(), |w| w.job.clone());
        refused.push(Refused { job: job.id.clone(), why: format!("it waits for {of}, which cannot be done") });
    }
    let tasks: Vec<Task> = jobs.jobs.iter().filter(|j| refused.iter().all(|r| r.job != j.id)).map(|job| task(job, settings)).collect();
    let ask = Ask { first: settings.first, last: settings.last, calendar: Calendar::default(), crews: hands.crews.clone(), tasks };
    let schedule = programme::schedule(&ask, limit)?;
    let beyond: Vec<String> = schedule.impossible.iter().filter(|i| follows(&jobs, i, &schedule)).map(|i| i.task.clone()).collect();
    let cannot = schedule.impossible.iter().filter(|i| !beyond.contains(&i.task));
    refused.extend(cannot.map(|i| Refused { job: i.task.clone(), why: why(&jobs, &i.task, &i.reason) }));
    let place = |id: &str| jobs.jobs.iter().position(|j| j.id == id);
    refused.sort_by_key(|r| place(&r.job));
    Ok(Programmed { jobs, ask, schedule, refused, beyond })
}

/// Why a task cannot be done; of one that belongs to a year, that no day of it is left.
fn why(jobs: &Jobs, id: &str, reason: &Reason) -> String {
    match jobs.jobs.iter().find(|j| j.id == id) {
        Some(job) if job.hard && matches!(reason, Reason::TooLate { .. }) => {
            format!("what it waits for and its season leave it no day in {}", job.year)
        }
        _ => reason.to_string(),
    }
}

/// Whether a task that is not in a programme only comes after its end, what it follows being in it or coming after its end too.
fn follows(jobs: &Jobs, impossible: &Impossible, schedule: &Schedule) -> bool {
    let late = |id: &str| jobs.jobs.iter().any(|j| j.id == id && j.stage >= Stage::BeatUp);
    let mut at = impossible;
    while let Reason::Waits { task } = &at.reason {
        let Some(next) = schedule.impossible.iter().find(|i| i.task == *task).filter(|_| late(&at.task)) else { return false };
        at = next;
    }
    late(&at.task) && matches!(at.reason, Reason::BeyondHorizon { .. })
}

/// A task of the programme.
fn task(job: &Job, settings: Settings) -> Task {
    let mut task = Task::new(&job.id, job.days.as_ref().map_or(0, |d| d.usual));
    task.after = job.after.iter().map(|w| programme::After { task: w.job.clone(), lag: w.lag }).collect();
    task.windows = if job.season.all_year() { vec![] } else { days(&job.season.left) };
    // Work on the hill goes on from one season to the next; what takes a day or two does not stop halfway.
    task.stretch = Stretch::Broken;
    task.earliest = Some(job.earliest.max(settings.first));
    task.latest = job.by.map(|date| Deadline { date, hard: job.hard });
    // Ground made ready a year too soon grows over before it is planted.
    task.last_season = job.stage == Stage::Ground;
    task.needs = vec![Need { kind: job.hands.into(), units: job.people }];
    task
}

impl Programmed {
    /// Tasks with their days, by their first day.
    pub fn on_days(&self) -> impl Iterator<Item = Done<'_>> {
        self.schedule.planned.iter().filter_map(|planned| Some(Done { job: self.job(&planned.task)?, planned }))
    }

    /// A task.
    pub fn job(&self, id: &str) -> Option<&Job> {
        self.jobs.jobs.iter().find(|j| j.id == id)
    }

    /// What comes of each survey, letter, order or work being so many days late, heaviest first: those that move or lose others than
    /// checks.
    ///
    /// # Errors
    /// What is wrong with the question, all at once.
    pub fn slips(&self, late_days: u32) -> Result<Vec<Slipped>, Vec<Fault>> {
        let mut out = Vec::new();
        for done in self.on_days().filter(|d| (Stage::Survey..=Stage::Work).contains(&d.job.stage)) {
            let slip = programme::slip(&self.ask, &self.schedule, &done.job.id, Late::Days(late_days))?;
            let (mut own, mut others): (Vec<Moved>, Vec<Moved>) = slip.moved.into_iter().partition(|m| m.task == done.job.id);
            // That checks come after what they check, and upkeep a few days later, goes without saying.
            others.retain(|m| self.job(&m.task).is_some_and(|j| j.stage < Stage::Keep || (j.stage == Stage::Keep && m.other_season)));
            if others.is_empty() && slip.lost.is_empty() {
                continue;
            }
            own.extend(others);
            let lost = slip.lost.into_iter().map(|(task, reason)| (task.clone(), why(&self.jobs, &task, &reason))).collect();
            out.push(Slipped { job: done.job.id.clone(), days: late_days, moved: own, lost });
        }
        let weight = |s: &Slipped| {
            (s.lost.len(), s.moved.iter().filter(|m| m.other_season).count(), s.moved.iter().map(|m| m.ends_later_days).max().unwrap_or(0))
        };
        out.sort_by_key(|s| std::cmp::Reverse(weight(s)));
        Ok(out)
    }
}

/// Whether a task's work falls on days on which ground is searched for nests first.
pub fn in_nesting(planned: &Planned, nesting: when::Window) -> Option<NaiveDate> {
    use chrono::Datelike;
    // One whose days are not known stands on the first day it may be done.
    let days = if planned.worked.is_empty() { std::slice::from_ref(&planned.first) } else { &planned.worked[..] };
    days.iter().find(|d| nesting.holds((d.month(), d.day()))).copied()
}
