//! What happens when a task is late.
//!
//! The order and the crews of the programme are kept. No task begins earlier than it was planned: people have been told. Tasks are put
//! down one by one by their planned starts, each on the first spot from its planned start on that is left by what it waits for, its
//! windows and the tasks before it; so what begins before the late task stays, and what begins after makes room. A task whose own crew
//! can do it in no spot any more is given to another that can.
//!
//! What is left to its last season goes after what waits for it where that falls into another season: it would be done a year too soon.
//!
//! Work that overruns ([`Late::DoneBy`]) keeps its crews busy on every day they could work until it is done, even past its window: that is
//! told, not mended.

use super::ask::{Ask, Fault};
use super::board::Board;
use super::grid::Grid;
use super::impossible::{Reason, ready};
use super::layout::{Held, Layout, Placed, by_start, ready_at, soonest};
use super::make::{last_seasons, told};
use super::pattern::Spot;
use super::record::{Planned, Schedule};
use super::window::open;
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fmt;

/// How late a task is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Late {
    /// It begins so many calendar days later than planned, or on the first day after that on which it may.
    Days(u32),
    /// It begins on this day, or on the first day after it on which it may.
    Begins(NaiveDate),
    /// It begins as planned and takes until this day.
    DoneBy(NaiveDate),
}

/// A task that moves.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Moved {
    /// The task.
    pub task: String,
    /// First and last day as planned.
    pub planned: (NaiveDate, NaiveDate),
    /// First and last day now.
    pub now: (NaiveDate, NaiveDate),
    /// Calendar days it begins later.
    pub begins_later_days: i64,
    /// Calendar days it ends later.
    pub ends_later_days: i64,
    /// Whether days shut to it lie between its last day as planned and now: it falls into another season.
    pub other_season: bool,
    /// Whether other crews do it now.
    pub other_crews: bool,
}

impl fmt::Display for Moved {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let days = |n: i64| if n == 1 { "1 day".to_string() } else { format!("{n} days") };
        write!(f, "{}: {} to {}, planned {} to {}", self.task, self.now.0, self.now.1, self.planned.0, self.planned.1)?;
        match (self.begins_later_days, self.ends_later_days) {
            (0, 0) => {}
            (begins, ends) if begins == ends => write!(f, ", {} later", days(begins))?,
            (begins, ends) => write!(f, ", begins {} and ends {} later", days(begins), days(ends))?,
        }
        match (self.other_season, self.other_crews) {
            (true, true) => f.write_str(", in another season and by another crew"),
            (true, false) => f.write_str(", in another season"),
            (false, true) => f.write_str(", by another crew"),
            (false, false) => Ok(()),
        }
    }
}

/// What comes of it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Slip {
    /// The late task.
    pub task: String,
    /// Every task that moves, the late one among them, by its first day now.
    pub moved: Vec<Moved>,
    /// Tasks that were in the programme and are not any more, with the reason.
    pub lost: Vec<(String, Reason)>,
    /// Calendar days the whole ends later; below nought where what ended last is lost.
    pub finish_later_days: i64,
    /// Days worked outside of its windows by a task that overruns.
    pub outside_window: Vec<NaiveDate>,
    /// The programme now; of its bound nothing is known.
    pub now: Schedule,
}

/// What comes of one task being late.
///
/// # Errors
/// A question that cannot be read, a task that is not in the programme, a programme of another question, or a day that is not late.
pub fn slip(ask: &Ask, plan: &Schedule, task: &str, late: Late) -> Result<Slip, Vec<Fault>> {
    ask.check()?;
    let (mut grid, impossible) = ready(ask);
    let (before, mut overruns) = layout_of(ask, &grid, plan)?;
    let fault = |needed: &str, found: String, hint| vec![Fault { place: format!("late task `{task}`"), needed: needed.into(), found, hint }];
    let Some(j) = (0..grid.jobs.len()).find(|&j| ask.tasks[grid.jobs[j].task].id == task && before[j].is_some()) else {
        return Err(fault("a task of the programme", "none of that name".into(), "see the list of tasks"));
    };
    let Some(old) = before[j] else { return Err(vec![]) };
    let (first, last) = (grid.date(old.spot.start), grid.last_day(old.spot.end, grid.jobs[j].days));
    overruns.retain(|at| *at != j);
    let mut before = before;
    match late {
        Late::Days(days) => grid.jobs[j].earliest = grid.jobs[j].earliest.max(old.spot.start + days as usize),
        Late::Begins(date) if date >= first => grid.jobs[j].earliest = grid.jobs[j].earliest.max(grid.morning(date)),
        Late::Begins(date) => {
            return Err(fault(
                "a day not before it was planned",
                format!("{date}, planned for {first}"),
                "make the programme anew for work done early",
            ));
        }
        Late::DoneBy(date) if date >= last && date <= ask.last => {
            let end = grid.morning(date) + usize::from(grid.jobs[j].days > 0);
            before[j] = Some(Placed { spot: Spot { start: old.spot.start, end }, way: old.way });
            overruns.push(j);
        }
        Late::DoneBy(date) => {
            return Err(fault(
                "a day from its planned end to the end of the programme",
                format!("{date}, planned until {last}"),
                "make the programme anew for work done early",
            ));
        }
    }
    let mut board = Board::new(&grid);
    let (mut now, held) = again(&mut board, &before, &overruns);
    last_seasons(ask, &mut board, &mut now, &held);
    let schedule = told(ask, &mut board, &now, &held, impossible);
    let windows = &ask.tasks[grid.jobs[j].task].windows;
    let worked = schedule.planned(task).map_or(vec![], |planned| planned.worked.clone());
    let outside = worked.into_iter().filter(|day| !open(windows, *day)).collect();
    Ok(compared(ask, &grid, plan, schedule, task, outside))
}

/// The days on which an overrunning task keeps its crews: those it was planned for, and all after on which its crews are there.
fn held(grid: &Grid, job: usize, placed: Placed) -> Held {
    let way = &grid.jobs[job].ways[placed.way];
    let planned = grid.patterns[way.pattern].worked(placed.spot.start, grid.jobs[job].days);
    let from = planned.last().map_or(placed.spot.end, |last| *last as usize + 1);
    let there = |day: &usize| grid.worked[*day] && way.crews.iter().all(|&c| grid.there[c][*day]);
    Held { job, days: planned.iter().copied().chain((from..placed.spot.end).filter(there).map(|day| day as u32)).collect() }
}

/// All jobs put down again in their order, none before its planned start. Overruns come first; one that would begin before what it waits
/// for is done is none: it is put down like the others.
fn again(board: &mut Board, before: &[Option<Placed>], overruns: &[usize]) -> (Layout, Vec<Held>) {
    let grid = board.grid;
    let mut overruns = overruns.to_vec();
    loop {
        board.clear();
        let mut now: Layout = vec![None; before.len()];
        let mut all_held = Vec::new();
        for &j in &overruns {
            let Some(old) = before[j] else { continue };
            let held = held(grid, j, old);
            board.hold(&grid.jobs[j].ways[old.way], &held.days);
            all_held.push(held);
            now[j] = Some(old);
        }
        for j in by_start(before) {
            let Some(old) = before[j].filter(|_| now[j].is_none()) else { continue };
            let Some(from) = ready_at(grid, &now, j).map(|from| from.max(old.spot.start)) else { continue };
            let own = board.first(j, old.way, from, grid.jobs[j].limit).map(|spot| Placed { spot, way: old.way });
            now[j] = own.or_else(|| soonest(board, j, from));
            if let Some(placed) = now[j] {
                board.put(j, placed.way, placed.spot.start);
            }
        }
        let begun = |j: &usize| ready_at(grid, &now, *j).zip(before[*j]).is_some_and(|(from, old)| from <= old.spot.start);
        let kept: Vec<usize> = overruns.iter().copied().filter(begun).collect();
        if kept.len() == overruns.len() {
            return (now, all_held);
        }
        overruns = kept;
    }
}

/// The numbers of a programme, from its dates and crews, and which of its jobs overrun.
fn layout_of(ask: &Ask, grid: &Grid, plan: &Schedule) -> Result<(Layout, Vec<usize>), Vec<Fault>> {
    let by_task: BTreeMap<&str, &Planned> = plan.planned.iter().map(|planned| (planned.task.as_str(), planned)).collect();
    let mut layout: Layout = vec![None; grid.jobs.len()];
    let (mut overruns, mut faults) = (Vec::new(), Vec::new());
    for (j, job) in grid.jobs.iter().enumerate() {
        let Some(planned) = by_task.get(ask.tasks[job.task].id.as_str()) else { continue };
        let crews: Vec<&str> = planned.crews.iter().map(String::as_str).collect();
        let same = |way: &super::grid::Way| way.crews.iter().map(|&c| ask.crews[c].id.as_str()).eq(crews.iter().copied());
        let placed = job.ways.iter().position(same).and_then(|way| {
            let start = usize::try_from(grid.day(planned.first)).ok()?;
            let end = grid.end_of(planned.last, job.days).filter(|end| *end <= grid.days)?;
            let spot = grid.patterns[job.ways[way].pattern].first(start, job.days, &grid.begin);
            let spot = spot.filter(|spot| spot.start == start && spot.end <= end)?;
            // An overrun of an earlier slip ends later than its days say.
            if spot.end < end {
                overruns.push(j);
            }
            Some(Placed { spot: Spot { end, ..spot }, way })
        });
        match placed {
            Some(placed) => layout[j] = Some(placed),
            None => faults.push(Fault {
                place: format!("task `{}` of the programme", planned.task),
                needed: "days and crews that the question allows".into(),
                found: format!("{} to {}, {}", planned.first, planned.last, crews.join(", ")),
                hint: "make the programme anew from this question",
            }),
        }
    }
    let known = |planned: &&Planned| !grid.jobs.iter().any(|job| ask.tasks[job.task].id == planned.task);
    for planned in plan.planned.iter().filter(known) {
        faults.push(Fault {
            place: format!("task `{}` of the programme", planned.task),
            needed: "a task of the question that can be done".into(),
            found: "none of that name".into(),
            hint: "make the programme anew from this question",
        });
    }
    if faults.is_empty() { Ok((layout, overruns)) } else { Err(faults) }
}

fn compared(ask: &Ask, grid: &Grid, plan: &Schedule, now: Schedule, task: &str, outside_window: Vec<NaiveDate>) -> Slip {
    let old: BTreeMap<&str, &Planned> = plan.planned.iter().map(|planned| (planned.task.as_str(), planned)).collect();
    let mut moved = Vec::new();
    for new in &now.planned {
        let Some(old) = old.get(new.task.as_str()) else { continue };
        if (old.first, old.last, &old.crews) == (new.first, new.last, &new.crews) {
            continue;
        }
        let of = ask.tasks.iter().find(|task| task.id == new.task);
        moved.push(Moved {
            task: new.task.clone(),
            planned: (old.first, old.last),
            now: (new.first, new.last),
            begins_later_days: (new.first - old.first).num_days(),
            ends_later_days: (new.last - old.last).num_days(),
            other_season: of.is_some_and(|of| grid.shut_between(of, old.last, new.last)),
            other_crews: old.crews != new.crews,
        });
    }
    let gone = |planned: &&Planned| now.planned(&planned.task).is_none();
    let reason = |task: &str| now.impossible.iter().find(|told| told.task == task).map(|told| told.reason.clone());
    let lost = plan.planned.iter().filter(gone).filter_map(|planned| Some((planned.task.clone(), reason(&planned.task)?))).collect();
    let finish_later_days = match (plan.finish, now.finish) {
        (Some(then), Some(finish)) => (finish - then).num_days(),
        _ => 0,
    };
    Slip { task: task.into(), moved, lost, finish_later_days, outside_window, now }
}
