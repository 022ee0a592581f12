//! Tasks that cannot be done, each with its reason.

use super::ask::{Ask, Stretch, Task};
use super::grid::{Grid, Job};
use super::order::{self, Order};
use super::window::open;
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fmt;

/// A task that is not in the programme.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Impossible {
    /// The task.
    pub task: String,
    /// Why.
    pub reason: Reason,
}

/// Why a task cannot be done.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "why")]
pub enum Reason {
    /// It waits for itself, by way of others.
    Circle {
        /// The tasks that wait for each other.
        tasks: Vec<String>,
    },
    /// Nobody can do this kind of work, or no crew that can is large enough.
    NoCrew {
        /// The kind of work.
        kind: String,
        /// Units needed of one crew.
        units: u32,
        /// Units of the largest crew that can; 0 where there is none.
        largest: u32,
    },
    /// It needs so many units of several kinds that no crews have all of them at once.
    CrewTooSmall,
    /// No season is long enough.
    WindowTooShort {
        /// Working days it takes.
        needed: u32,
        /// Working days of its longest open season.
        longest: u32,
    },
    /// Its seasons are long enough, but its crews are not there for long enough in any.
    CrewNeverThere,
    /// It would be done too late.
    TooLate {
        /// The day on which it would be done at the earliest, were no crew busy; `None` where not within the programme.
        done: Option<NaiveDate>,
        /// The last day on which it must be done.
        latest: NaiveDate,
    },
    /// The programme ends before it can be done.
    BeyondHorizon {
        /// The last day of the programme.
        last: NaiveDate,
    },
    /// It could be done by itself, but other tasks take up its crews.
    Crowded {
        /// The last day on which it must be done.
        latest: NaiveDate,
    },
    /// A task it waits for cannot be done.
    Waits {
        /// That task.
        task: String,
    },
}

impl fmt::Display for Reason {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Reason::Circle { tasks } if tasks.len() == 1 => write!(f, "it waits for itself"),
            Reason::Circle { tasks } => write!(f, "tasks wait for each other in a circle: {}", tasks.join(", ")),
            Reason::NoCrew { kind, units, largest: 0 } => write!(f, "no crew can do {kind} ({units} needed)"),
            Reason::NoCrew { kind, units, largest } => write!(f, "no crew is large enough for {kind}: {units} needed, {largest} in the largest"),
            Reason::CrewTooSmall => write!(f, "no crews are large enough for all it needs at once"),
            Reason::WindowTooShort { needed, longest } => {
                write!(f, "its season is too short: it takes {needed} working days, the longest season has {longest}")
            }
            Reason::CrewNeverThere => write!(f, "its crew is not there for long enough in any of its seasons"),
            Reason::TooLate { done: Some(done), latest } => write!(f, "it would be done on {done} at the earliest and must be done by {latest}"),
            Reason::TooLate { done: None, latest } => write!(f, "it cannot be done by {latest}"),
            Reason::BeyondHorizon { last } => write!(f, "it cannot be done before the programme ends on {last}"),
            Reason::Crowded { latest } => write!(f, "other tasks take up its crew until it is too late for {latest}"),
            Reason::Waits { task } => write!(f, "it waits for {task}, which cannot be done"),
        }
    }
}

/// A question made ready, and the tasks that cannot be done whatever the order, as they stand in the question.
pub(super) fn ready(ask: &Ask) -> (Grid, Vec<Impossible>) {
    let index: BTreeMap<&str, usize> = ask.tasks.iter().enumerate().map(|(i, task)| (task.id.as_str(), i)).collect();
    let before: Vec<Vec<usize>> =
        ask.tasks.iter().map(|task| task.after.iter().filter_map(|a| index.get(a.task.as_str()).copied()).collect()).collect();
    let Order { order, circles } = order::order(&before);
    let mut reasons: Vec<Option<Reason>> = vec![None; ask.tasks.len()];
    for circle in &circles {
        for &i in circle {
            reasons[i] = Some(Reason::Circle { tasks: circle.iter().map(|&k| ask.tasks[k].id.clone()).collect() });
        }
    }
    let mut grid = Grid::new(ask);
    let mut job_of: Vec<Option<usize>> = vec![None; ask.tasks.len()];
    for &i in &order {
        match job(&mut grid, ask, i, &before[i], &job_of) {
            Ok(job) => {
                job_of[i] = Some(grid.jobs.len());
                grid.jobs.push(job);
            }
            Err(reason) => reasons[i] = Some(reason),
        }
    }
    // What waits for a circle is in no order.
    for i in 0..ask.tasks.len() {
        if reasons[i].is_none() && job_of[i].is_none() {
            let waits = before[i].iter().find(|&&p| job_of[p].is_none());
            reasons[i] = waits.map(|&p| Reason::Waits { task: ask.tasks[p].id.clone() });
        }
    }
    for j in 0..grid.jobs.len() {
        for (p, lag) in grid.jobs[j].before.clone() {
            grid.jobs[p].after.push((j, lag));
        }
    }
    let told = ask.tasks.iter().zip(reasons).filter_map(|(task, reason)| Some(Impossible { task: task.id.clone(), reason: reason? }));
    (grid, told.collect())
}

/// One task made ready, or why it cannot be done.
fn job(grid: &mut Grid, ask: &Ask, i: usize, before: &[usize], job_of: &[Option<usize>]) -> Result<Job, Reason> {
    let task = &ask.tasks[i];
    for need in &task.needs {
        let able = ask.crews.iter().filter(|crew| crew.kinds.contains(&need.kind));
        let largest = able.map(|crew| crew.capacity).max();
        if largest.is_none_or(|largest| largest < need.units) {
            return Err(Reason::NoCrew { kind: need.kind.clone(), units: need.units, largest: largest.unwrap_or(0) });
        }
    }
    let ways = grid.ways(ask, task);
    if ways.is_empty() {
        return Err(Reason::CrewTooSmall);
    }
    let days = task.days as usize;
    let earliest = task.earliest.map_or(0, |date| grid.morning(date));
    let end_of_all = if days > 0 { grid.days } else { grid.days - 1 };
    let hard = task.latest.filter(|latest| latest.hard).map(|latest| latest.date);
    let late = |spot: Option<usize>| match hard {
        Some(latest) => Reason::TooLate { done: spot.map(|end| grid.last_day(end, days)), latest },
        None => Reason::BeyondHorizon { last: ask.last },
    };
    if grid.alone(&ways, days, earliest, end_of_all).is_none() {
        let longest = longest_season(ask, task);
        if longest == 0 || (task.stretch == Stretch::Whole && longest < task.days) {
            return Err(Reason::WindowTooShort { needed: task.days, longest });
        }
        let everyone = Task { needs: vec![], ..task.clone() };
        let pattern = grid.pattern(&everyone, &[]);
        return match grid.patterns[pattern].first(earliest, days, &grid.begin) {
            Some(_) => Err(Reason::CrewNeverThere),
            None => Err(Reason::BeyondHorizon { last: ask.last }),
        };
    }
    let mut from = earliest;
    let mut waits = Vec::new();
    for (p, after) in before.iter().zip(&task.after) {
        let Some(job) = job_of[*p] else { return Err(Reason::Waits { task: ask.tasks[*p].id.clone() }) };
        from = from.max(grid.after(grid.jobs[job].head.end, after.lag));
        waits.push((job, after.lag));
    }
    let head = grid.alone(&ways, days, from, end_of_all);
    let limit = match hard {
        Some(date) => grid.end_of(date, days).ok_or_else(|| late(head.map(|h| h.end)))?.min(end_of_all),
        None => end_of_all,
    };
    let Some(head) = head.filter(|head| head.end <= limit) else { return Err(late(head.map(|h| h.end))) };
    let wanted = task.latest.filter(|latest| !latest.hard).map(|latest| (grid.day(latest.date) + i64::from(days > 0)).max(0) as usize);
    let weight = u64::from(task.weight);
    let day_weight = if task.last_season { 0 } else { weight };
    Ok(Job { task: i, days, before: waits, after: vec![], earliest, limit, wanted, weight, day_weight, ways, head })
}

/// The working days of the longest open season of a task within four years, from the first on which it may begin; of all its open days
/// where it may pause.
fn longest_season(ask: &Ask, task: &Task) -> u32 {
    let days = ((ask.last - ask.first).num_days() + 1).max(4 * 366) as usize;
    let (mut longest, mut here) = (0, 0);
    for date in ask.first.iter_days().take(days) {
        match open(&task.windows, date) {
            true if here > 0 || ask.calendar.begin.has(date) => here += u32::from(ask.calendar.works(date)),
            true => {}
            false if task.stretch == Stretch::Whole => here = 0,
            false => {}
        }
        longest = longest.max(here);
    }
    longest
}
