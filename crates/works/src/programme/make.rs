//! A programme made, and told from its numbers.

use super::ask::{Ask, Fault};
use super::better::better;
use super::board::Board;
use super::bound::bound;
use super::exact::exact;
use super::grid::Grid;
use super::impossible::{Impossible, Reason, ready};
use super::layout::{Held, Layout, Placed, by_start, fill, latest, no_later, objective, ready_at};
use super::record::{Planned, Schedule};
use super::smith::Kinds;
use super::window::open;

/// How far a search goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limit {
    /// Days looked at by the search for larger ones, in millions: some hundred of them a second.
    pub million_days: u64,
    /// Days looked at for a proof, in millions.
    pub proof_million_days: u64,
    /// Up to so many tasks the best programme is sought by branch and bound.
    pub exact_tasks: usize,
    /// Seed of the moves of the search for larger ones.
    pub seed: u64,
}

impl Default for Limit {
    fn default() -> Self {
        Limit { million_days: 20, proof_million_days: 100, exact_tasks: 14, seed: 1 }
    }
}

/// Makes the programme of a question.
///
/// # Errors
/// Everything wrong with the question as it is written ([`Ask::check`]). Tasks that cannot be done are told in the programme.
pub fn schedule(ask: &Ask, limit: Limit) -> Result<Schedule, Vec<Fault>> {
    ask.check()?;
    let (grid, impossible) = ready(ask);
    let stop_at = 1_000_000 * limit.million_days;
    let mut board = Board::new(&grid);
    let mut least = bound(&grid, ask);
    let few = grid.jobs.len() <= limit.exact_tasks;
    let mut layout = better(&mut board, least, limit.seed, if few { stop_at / 20 } else { stop_at });
    let mut proven = objective(&grid, &layout) <= least;
    if few && !proven {
        let stop_at = board.steps + 1_000_000 * limit.proof_million_days;
        proven = exact(&mut board, &Kinds::of(&grid, ask), &mut layout, stop_at);
    }
    let worth = objective(&grid, &layout);
    last_seasons(ask, &mut board, &mut layout, &[]);
    debug_assert_eq!(worth, objective(&grid, &layout), "what is left to its last season changes nothing that counts");
    if proven {
        least = worth;
    }
    let mut schedule = told(ask, &mut board, &layout, &[], impossible);
    (schedule.bound, schedule.proven) = (least.min(worth), proven);
    Ok(schedule)
}

/// A layout as a programme; of its bound nothing is known. Overruns (`held`) stay where they are.
pub(super) fn told(ask: &Ask, board: &mut Board, layout: &Layout, held: &[Held], mut impossible: Vec<Impossible>) -> Schedule {
    let grid = board.grid;
    for (j, job) in grid.jobs.iter().enumerate().filter(|(j, _)| layout[*j].is_none()) {
        let waits = job.before.iter().find(|(p, _)| layout[*p].is_none());
        let reason = match waits {
            Some((p, _)) => Reason::Waits { task: ask.tasks[grid.jobs[*p].task].id.clone() },
            None => unplaced(ask, grid, layout, j),
        };
        impossible.push(Impossible { task: ask.tasks[grid.jobs[j].task].id.clone(), reason });
    }
    let place = |told: &Impossible| ask.tasks.iter().position(|task| task.id == told.task);
    impossible.sort_by_cached_key(place);
    let late = latest(board, layout, held);
    let slack = slack(board, layout, held);
    let mut planned = Vec::new();
    for j in by_start(layout) {
        let (Some(placed), Some(at_latest)) = (layout[j], late[j]) else { continue };
        let (job, spot) = (&grid.jobs[j], placed.spot);
        let task = &ask.tasks[job.task];
        let way = &job.ways[placed.way];
        let own = || grid.patterns[way.pattern].worked(spot.start, job.days);
        let worked = held.iter().find(|held| held.job == j).map_or_else(own, |held| held.days.as_slice());
        planned.push(Planned {
            task: task.id.clone(),
            first: grid.date(spot.start),
            last: grid.last_day(spot.end, job.days),
            worked: worked.iter().map(|&day| grid.date(day as usize)).collect(),
            crews: way.crews.iter().map(|&c| ask.crews[c].id.clone()).collect(),
            late_days: task.latest.map_or(0, |latest| (grid.last_day(spot.end, job.days) - latest.date).num_days().max(0) as u64),
            slack_days: slack[j] as u64,
            latest_first: grid.date(at_latest.spot.start),
        });
    }
    let worth = objective(grid, layout);
    let finish = planned.iter().map(|planned| planned.last).max();
    Schedule { planned, impossible, finish, objective: worth, bound: worth, proven: false }
}

/// Why a job whose forerunners are placed is not.
fn unplaced(ask: &Ask, grid: &Grid, layout: &[Option<Placed>], j: usize) -> Reason {
    let job = &grid.jobs[j];
    let hard = ask.tasks[job.task].latest.filter(|latest| latest.hard).map(|latest| latest.date);
    let from = ready_at(grid, layout, j).unwrap_or(grid.days);
    if grid.alone(&job.ways, job.days, from, job.limit).is_some() {
        return Reason::Crowded { latest: hard.map_or(ask.last, |latest| latest.min(ask.last)) };
    }
    match hard {
        Some(latest) => {
            Reason::TooLate { done: grid.alone(&job.ways, job.days, from, grid.days).map(|spot| grid.last_day(spot.end, job.days)), latest }
        }
        None => Reason::BeyondHorizon { last: ask.last },
    }
}

/// Puts what is left to its last season there, on the first spot of it that nothing else has to move for; what waits for others first.
/// Overruns (`held`) stay where they are.
pub(super) fn last_seasons(ask: &Ask, board: &mut Board, layout: &mut Layout, held: &[Held]) {
    let grid = board.grid;
    fill(board, layout, held);
    for j in by_start(layout).into_iter().rev() {
        let task = &ask.tasks[grid.jobs[j].task];
        let Some(mut placed) = layout[j].filter(|_| task.last_season && held.iter().all(|held| held.job != j)) else { continue };
        let end = alone_by(grid, layout, j);
        board.take(j, placed.way, placed.spot.start);
        let mut last = placed.spot.start;
        while let Some(spot) = board.first(j, placed.way, last + 1, end) {
            if (last..spot.start).any(|day| !open(&task.windows, grid.date(day))) {
                placed.spot = spot;
            }
            last = spot.start;
        }
        board.put(j, placed.way, placed.spot.start);
        layout[j] = Some(placed);
    }
}

/// The morning by which a placed job must have ended so that nothing that waits for it moves, no deadline is missed by more and the whole
/// ends no later.
fn alone_by(grid: &Grid, layout: &[Option<Placed>], j: usize) -> usize {
    let next = grid.jobs[j].after.iter().filter_map(|(next, lag)| Some(grid.before(layout[*next]?.spot.start, *lag).unwrap_or(0)));
    next.fold(no_later(grid, layout, j), usize::min)
}

/// How many days each job can begin later while all others stay where they are.
fn slack(board: &mut Board, layout: &[Option<Placed>], held: &[Held]) -> Vec<usize> {
    let grid = board.grid;
    fill(board, layout, held);
    let mut slack = vec![0; layout.len()];
    for (j, placed) in layout.iter().copied().enumerate() {
        let Some(placed) = placed.filter(|_| held.iter().all(|held| held.job != j)) else { continue };
        let job = &grid.jobs[j];
        let end = alone_by(grid, layout, j);
        board.take(j, placed.way, placed.spot.start);
        // Day by day of those it may begin on: whenever it comes to lie on others, they would have to make room.
        let pattern = &grid.patterns[job.ways[placed.way].pattern];
        let mut start = placed.spot.start;
        while let Some(spot) = pattern.first(start + 1, job.days, &grid.begin).filter(|spot| spot.end <= end) {
            if board.first(j, placed.way, spot.start, spot.end) != Some(spot) {
                break;
            }
            start = spot.start;
        }
        slack[j] = start - placed.spot.start;
        board.put(j, placed.way, placed.spot.start);
    }
    slack
}
