//! A programme as numbers: where every job lies, what it is worth, and how it is made from an order.

use super::board::Board;
use super::grid::Grid;
use super::pattern::Spot;
use serde::{Deserialize, Serialize};

/// What a programme is judged by: fewer of the first that differs is better.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Objective {
    /// Tasks left out that could be done by themselves.
    pub left_out: usize,
    /// Their weights, added up.
    pub left_out_weight: u64,
    /// Calendar days after soft deadlines, each times the weight of its task, added up.
    pub late_weighted_days: u64,
    /// Calendar days from the first day of the programme to the last day of the last task, both counted.
    pub finish_days: u64,
    /// Calendar days from the first day to the last of each task, both counted, times its weight, added up; those left to
    /// their last season not counted.
    pub weighted_days: u64,
}

/// Where a job lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Placed {
    pub spot: Spot,
    pub way: usize,
}

/// A job that overruns: the days on which it keeps its crews.
pub(super) struct Held {
    pub job: usize,
    pub days: Vec<u32>,
}

/// Where all jobs lie; nothing where one is left out.
pub(super) type Layout = Vec<Option<Placed>>;

/// Puts a whole layout on an empty board.
pub(super) fn fill(board: &mut Board, layout: &[Option<Placed>], held: &[Held]) {
    board.clear();
    for (j, placed) in layout.iter().enumerate() {
        let Some(placed) = placed else { continue };
        match held.iter().find(|held| held.job == j) {
            Some(held) => board.hold(&board.grid.jobs[j].ways[placed.way], &held.days),
            None => board.put(j, placed.way, placed.spot.start),
        }
    }
}

impl Objective {
    /// Of nothing.
    pub(super) const NOTHING: Objective = Objective { left_out: 0, left_out_weight: 0, late_weighted_days: 0, finish_days: 0, weighted_days: 0 };
}

/// What jobs come to that end on given mornings, or are left out.
pub(super) fn judged(grid: &Grid, ends: impl Iterator<Item = Option<usize>>) -> Objective {
    let mut sum = Objective::NOTHING;
    for (job, end) in grid.jobs.iter().zip(ends) {
        match end {
            Some(end) => {
                let done = (end + job.mark()) as u64;
                sum.late_weighted_days += job.weight * job.wanted.map_or(0, |wanted| end.saturating_sub(wanted) as u64);
                sum.finish_days = sum.finish_days.max(done);
                sum.weighted_days += job.day_weight * done;
            }
            None => {
                sum.left_out += 1;
                sum.left_out_weight += job.weight;
            }
        }
    }
    sum
}

/// What a layout comes to.
pub(super) fn objective(grid: &Grid, layout: &[Option<Placed>]) -> Objective {
    judged(grid, layout.iter().map(|placed| placed.map(|placed| placed.spot.end)))
}

/// The morning by which a placed job must have ended so that no deadline is missed by more and the whole ends no later.
pub(super) fn no_later(grid: &Grid, layout: &[Option<Placed>], j: usize) -> usize {
    let job = &grid.jobs[j];
    let own = layout[j].map_or(0, |placed| placed.spot.end);
    let finish = objective(grid, layout).finish_days as usize - job.mark();
    finish.min(job.limit).min(job.wanted.map_or(usize::MAX, |wanted| wanted.max(own)))
}

/// The first morning on which a job may begin, by what it waits for; nothing where any of that is left out.
pub(super) fn ready_at(grid: &Grid, layout: &[Option<Placed>], job: usize) -> Option<usize> {
    let job = &grid.jobs[job];
    job.before.iter().try_fold(job.earliest, |from, (p, lag)| Some(from.max(grid.after(layout[*p]?.spot.end, *lag))))
}

/// The jobs by start, each after those it waits for.
pub(super) fn by_start(layout: &[Option<Placed>]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..layout.len()).collect();
    order.sort_by_key(|&j| (layout[j].map_or(usize::MAX, |placed| placed.spot.start), j));
    order
}

/// Serial schedule generation: job by job, the first of the list whose forerunners are placed is put on its earliest spot, by the way
/// that ends first.
pub(super) fn serial(board: &mut Board, list: &[usize]) -> Layout {
    let grid = board.grid;
    board.clear();
    let mut place = vec![0; list.len()];
    for (at, &job) in list.iter().enumerate() {
        place[job] = at;
    }
    let mut layout: Layout = vec![None; grid.jobs.len()];
    let mut waits: Vec<usize> = grid.jobs.iter().map(|job| job.before.len()).collect();
    let open = list.iter().filter(|&&job| waits[job] == 0).map(|&job| std::cmp::Reverse(place[job]));
    let mut open: std::collections::BinaryHeap<_> = open.collect();
    while let Some(std::cmp::Reverse(at)) = open.pop() {
        let job = list[at];
        layout[job] = ready_at(grid, &layout, job).and_then(|from| soonest(board, job, from));
        if let Some(placed) = layout[job] {
            board.put(job, placed.way, placed.spot.start);
        }
        for (next, _) in &grid.jobs[job].after {
            waits[*next] -= 1;
            if waits[*next] == 0 {
                open.push(std::cmp::Reverse(place[*next]));
            }
        }
    }
    layout
}

/// The spot of a job that ends first, from a morning on.
pub(super) fn soonest(board: &mut Board, job: usize, from: usize) -> Option<Placed> {
    let mut limit = board.grid.jobs[job].limit;
    let mut best: Option<Placed> = None;
    for way in 0..board.grid.jobs[job].ways.len() {
        if let Some(spot) = board.first(job, way, from, limit)
            && best.is_none_or(|best| spot.end < best.spot.end)
        {
            best = Some(Placed { spot, way });
            limit = spot.end;
        }
    }
    best
}

/// The same jobs as late as they can be without putting off the end of the last, any deadline, or each other's order; crews are kept. Overruns
/// (`held`) stay where they are.
///
/// Those that end last are moved first. Each finds a spot, if only its own: a day of it that one moved before now takes up was taken up
/// by that one all along.
pub(super) fn latest(board: &mut Board, layout: &[Option<Placed>], held: &[Held]) -> Layout {
    let grid = board.grid;
    let only_held: Layout = layout.iter().enumerate().map(|(j, placed)| placed.filter(|_| held.iter().any(|held| held.job == j))).collect();
    fill(board, &only_held, held);
    let mut order: Vec<usize> = (0..layout.len()).filter(|&j| layout[j].is_some()).collect();
    order.sort_by_key(|&j| std::cmp::Reverse((layout[j].map(|placed| placed.spot.end), j)));
    let mut moved = only_held;
    for j in order {
        if moved[j].is_some() {
            continue;
        }
        let Some(placed) = layout[j] else { continue };
        let job = &grid.jobs[j];
        let mut end = no_later(grid, layout, j);
        for (next, lag) in &job.after {
            if let Some(next) = moved[*next] {
                end = end.min(grid.before(next.spot.start, *lag).unwrap_or(0));
            }
        }
        let spot = board.last(j, placed.way, placed.spot.start, end).unwrap_or(placed.spot);
        board.put(j, placed.way, spot.start);
        moved[j] = Some(Placed { spot, way: placed.way });
    }
    moved
}
