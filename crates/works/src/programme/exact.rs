//! Branch and bound over orders and crews: the best programme of a few tasks, proven.
//!
//! **Why orders suffice.** Take a best programme and move tasks, one at a time, to earlier spots with the same crews while the others stay;
//! nothing it is judged by gets worse, because an earlier start never means a later end: a task is worked on the next so many of a fixed
//! set of days, and closed seasons and days off only say which starts are allowed. This ends, for starts are whole days. Now put the
//! tasks on an empty board in the order of their starts, each on its earliest spot with its crews. Suppose one finds a spot before
//! its own. The tasks not yet on the board begin no earlier than its own start, and the days of the earlier spot from then on are among
//! the days it had: so it could have been moved in the whole programme as well, which was ended. Hence the order gives that very programme,
//! and a search of all orders with all ways of sharing out to crews contains an optimum, closed seasons or not.
//!
//! **What is cut off.** Starts that do not rise along the order (the same programme comes from another order). Tasks that begin after
//! another could have ended. What cannot be better by the
//! earliest ends of what is ahead, nor by Smith's rule for each kind of work on the days its crews have left. Of crews that are alike and unused, all but the first. Tasks that
//! need nobody are not branched on where they begin first. What has the same tasks behind it and leaves the same open to those ahead as
//! something looked at before that was no worse. A task that finds no spot later in the order is left out on that branch, with all
//! that waits for it.

use super::board::Board;
use super::grid::{Grid, Way};
use super::layout::{Layout, Objective, Placed, judged, objective};
use super::smith::{Kinds, Work, together};
use std::collections::HashMap;

/// The search.
struct Search<'b, 'g> {
    board: &'b mut Board<'g>,
    kinds: &'b Kinds,
    best: Layout,
    worth: Objective,
    /// Crews that cannot be told apart from an earlier one: that one.
    like: Vec<usize>,
    /// Jobs of each crew on the board.
    used: Vec<usize>,
    /// Steps of the board at which to stop.
    stop_at: u64,
    stopped: bool,
    /// What was looked at: by what is open to the tasks ahead, what the tasks behind came to.
    seen: HashMap<Vec<u32>, Vec<Objective>>,
}

/// The most states remembered.
const SEEN_MAX: usize = 400_000;

/// Betters a programme until it is the best there is, or `stop_at` steps are made. Returns whether it is proven the best.
pub(super) fn exact(board: &mut Board, kinds: &Kinds, best: &mut Layout, stop_at: u64) -> bool {
    let grid = board.grid;
    board.clear();
    let alike = |a: usize, b: usize| grid.capacity[a] == grid.capacity[b] && grid.there[a] == grid.there[b] && serves_alike(grid, a, b);
    let like = (0..grid.capacity.len()).map(|c| (0..c).find(|&d| alike(d, c)).unwrap_or(c)).collect();
    let worth = objective(grid, best);
    let mut search =
        Search { board, kinds, best: best.clone(), worth, like, used: vec![0; grid.capacity.len()], stop_at, stopped: false, seen: HashMap::new() };
    let mut layout: Layout = vec![None; grid.jobs.len()];
    search.branch(&mut layout, &vec![false; grid.jobs.len()], (0, 0));
    let proven = !search.stopped;
    *best = search.best;
    proven
}

/// Whether two crews come up for the same needs of all jobs.
fn serves_alike(grid: &Grid, a: usize, b: usize) -> bool {
    let swapped = |crews: &[usize]| -> Vec<usize> {
        crews
            .iter()
            .map(|&c| {
                if c == a {
                    b
                } else if c == b {
                    a
                } else {
                    c
                }
            })
            .collect()
    };
    grid.jobs.iter().all(|job| job.ways.iter().all(|way| job.ways.iter().any(|other| other.crews == swapped(&way.crews))))
}

impl Search<'_, '_> {
    /// Goes on from jobs placed; `closed` are those placed or left out, `last` the start and number of the last placed.
    fn branch(&mut self, layout: &mut Layout, closed: &[bool], last: (usize, usize)) {
        if self.board.steps >= self.stop_at {
            self.stopped = true;
            return;
        }
        self.board.steps += 1;
        let grid = self.board.grid;
        let mut closed = closed.to_vec();
        // The earliest ends of what is open, busy crews counted; what finds no spot any more is left out.
        let mut ends: Vec<Option<usize>> = layout.iter().map(|placed| placed.map(|p| p.spot.end)).collect();
        let mut spots: Vec<(usize, Placed)> = Vec::new();
        let mut ahead: Vec<Vec<Work>> = vec![vec![]; self.kinds.able.len()];
        let mut alone = vec![0; ahead.len()];
        for j in 0..grid.jobs.len() {
            if closed[j] {
                continue;
            }
            let job = &grid.jobs[j];
            let after_last = last.0 + usize::from(j < last.1);
            let from = job.before.iter().try_fold(job.earliest.max(after_last), |from, (p, lag)| Some(from.max(grid.after(ends[*p]?, *lag))));
            let here = spots.len();
            if let Some(from) = from {
                for (way, shared) in job.ways.iter().enumerate() {
                    if self.worth_trying(shared)
                        && let Some(spot) = self.board.first(j, way, from, job.limit)
                    {
                        spots.push((j, Placed { spot, way }));
                    }
                }
            }
            ends[j] = spots[here..].iter().map(|(_, placed)| placed.spot.end).min();
            match (ends[j], self.kinds.of_job[j]) {
                (None, _) => closed[j] = true,
                (Some(end), Some((kind, total))) => {
                    let from = spots[here..].iter().map(|(_, placed)| placed.spot.start).min().unwrap_or(0);
                    ahead[kind].push(Work { from, weight: job.day_weight, days: job.days, total });
                    alone[kind] += job.day_weight * end as u64;
                }
                (Some(_), None) => {}
            }
            if !job.before.iter().all(|(p, _)| closed[*p]) {
                spots.truncate(here);
            }
        }
        let mut bound = judged(grid, ends.iter().copied());
        if bound >= self.worth {
            return;
        }
        for ((works, alone), able) in ahead.into_iter().zip(alone).zip(&self.kinds.able) {
            let left = |day| grid.units(able, day, |c| self.board.left(c, day));
            let (weighted, last) = together(works, grid.days, left);
            bound.weighted_days += weighted.saturating_sub(alone);
            bound.finish_days = bound.finish_days.max(last as u64);
        }
        if bound >= self.worth {
            return;
        }
        if spots.is_empty() {
            self.best = layout.clone();
            self.worth = objective(grid, layout);
            return;
        }
        if self.seen_as_good(layout, last, judged(grid, layout.iter().map(|placed| Some(placed.map_or(0, |p| p.spot.end))))) {
            return;
        }
        let first_end = spots.iter().map(|(_, placed)| placed.spot.end).min().unwrap_or(0);
        spots.retain(|(_, placed)| placed.spot.start <= first_end);
        spots.sort_by_key(|(j, placed)| (placed.spot.start, *j, placed.spot.end, placed.way));
        if let Some((j, placed)) = spots.first().copied()
            && grid.jobs[j].ways[placed.way].loads.is_empty()
        {
            spots.truncate(1);
        }
        for (j, placed) in spots {
            self.put(j, placed, 1);
            layout[j] = Some(placed);
            closed[j] = true;
            self.branch(layout, &closed, (placed.spot.start, j));
            closed[j] = false;
            layout[j] = None;
            self.put(j, placed, -1);
        }
    }

    /// Whether this state was looked at before with tasks behind it that came to no more in any respect; else it is remembered.
    fn seen_as_good(&mut self, layout: &Layout, last: (usize, usize), behind: Objective) -> bool {
        let grid = self.board.grid;
        let mut state = vec![last.0 as u32, last.1 as u32];
        for (j, placed) in layout.iter().enumerate() {
            match placed {
                // Still going on.
                Some(placed) if placed.spot.end > last.0 => state.extend([3, placed.spot.start as u32, placed.way as u32]),
                Some(_) => state.push(2),
                None => {
                    let job = &grid.jobs[j];
                    let waits = job.before.iter().filter_map(|(p, lag)| Some(grid.after(layout[*p]?.spot.end, *lag))).max();
                    state.extend([1, waits.filter(|from| *from > last.0).unwrap_or(0) as u32]);
                }
            }
        }
        let full = self.seen.len() >= SEEN_MAX;
        let known = self.seen.get(&state).map_or(&[][..], Vec::as_slice);
        let no_worse = |a: &Objective| {
            a.late_weighted_days <= behind.late_weighted_days && a.finish_days <= behind.finish_days && a.weighted_days <= behind.weighted_days
        };
        if known.iter().any(no_worse) {
            return true;
        }
        if !full {
            self.seen.entry(state).or_default().push(behind);
        }
        false
    }

    /// Whether a way is not the same as one with an earlier crew that is like it and as unused.
    fn worth_trying(&self, way: &Way) -> bool {
        let stands_in =
            |c: usize| self.used[c] == 0 && (self.like[c]..c).any(|d| self.like[d] == self.like[c] && self.used[d] == 0 && !way.crews.contains(&d));
        !way.crews.iter().any(|&c| stands_in(c))
    }

    fn put(&mut self, job: usize, placed: Placed, by: isize) {
        if by > 0 {
            self.board.put(job, placed.way, placed.spot.start);
        } else {
            self.board.take(job, placed.way, placed.spot.start);
        }
        for (crew, _) in &self.board.grid.jobs[job].ways[placed.way].loads {
            self.used[*crew] = self.used[*crew].wrapping_add_signed(by);
        }
    }
}
