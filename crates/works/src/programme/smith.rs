//! Smith's rule: the least sum of weighted last days of tasks of one kind of work, if it could be cut up at will among its crews.
//!
//! The last of a task's d days is at least (d - 1) / 2 after their mean, and the weighted means are least when each day's crews are given
//! to the tasks that may have begun by the weight for their work, the greatest first. Windows of the tasks are left out of it.

use super::ask::Ask;
use super::grid::Grid;

/// The kinds of work of a question.
pub(super) struct Kinds {
    /// Crews that can do each.
    pub able: Vec<Vec<usize>>,
    /// The first need of each job that takes anybody up: its kind, and units times days.
    pub of_job: Vec<Option<(usize, u64)>>,
}

impl Kinds {
    pub fn of(grid: &Grid, ask: &Ask) -> Kinds {
        let mut names: Vec<&str> = ask.tasks.iter().flat_map(|task| &task.needs).map(|need| need.kind.as_str()).collect();
        names.sort();
        names.dedup();
        let able = names.iter().map(|kind| (0..ask.crews.len()).filter(|&c| ask.crews[c].kinds.contains(*kind)).collect());
        let of_job = grid.jobs.iter().map(|job| {
            let need = ask.tasks[job.task].needs.iter().find(|need| need.units > 0 && job.days > 0)?;
            Some((names.binary_search(&need.kind.as_str()).ok()?, u64::from(need.units) * job.days as u64))
        });
        Kinds { of_job: of_job.collect(), able: able.collect() }
    }
}

/// The work of one task.
#[derive(Clone, Copy, Debug)]
pub(super) struct Work {
    /// First day on which it may begin.
    pub from: usize,
    /// Weight.
    pub weight: u64,
    /// Working days.
    pub days: usize,
    /// Units times days.
    pub total: u64,
}

/// The least sum of weighted last days, and the least last day of all, the first day being 1. `units` tells what crews have left on a
/// day. Where days up to `until` do not suffice both are what they come to by then.
pub(super) fn together(mut coming: Vec<Work>, until: usize, units: impl Fn(usize) -> u64) -> (u64, usize) {
    coming.sort_by_key(|work| std::cmp::Reverse(work.from));
    // Half of (d - 1), and one for counting days from 1, is half of (d + 1).
    let mut sum: f64 = coming.iter().map(|work| work.weight as f64 * (work.days as f64 + 1.0) / 2.0).sum();
    let mut last = 0;
    // Tasks that may have begun, with what is left of them.
    let mut open: Vec<(Work, u64)> = Vec::new();
    let mut day = coming.last().map_or(until, |work| work.from);
    while day < until && !(coming.is_empty() && open.is_empty()) {
        let before = open.len();
        while let Some(next) = coming.pop_if(|work| work.from <= day) {
            open.push((next, next.total));
        }
        if open.len() > before {
            open.sort_by(|(a, _), (b, _)| (b.weight * a.total).cmp(&(a.weight * b.total)));
        }
        let mut units = units(day);
        for (work, left) in &mut open {
            let done = units.min(*left);
            (units, *left) = (units - done, *left - done);
            sum += work.weight as f64 * day as f64 * done as f64 / work.total as f64;
            last = if done > 0 { day + 1 } else { last };
            if units == 0 {
                break;
            }
        }
        open.retain(|(_, left)| *left > 0);
        day += 1;
    }
    // Rounded down, past what adding up may have put on.
    ((sum - 1e-9 * sum).floor().max(0.0) as u64, last)
}
