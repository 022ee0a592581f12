//! What no programme can be better than.

use super::ask::{Ask, Lag};
use super::grid::{Grid, Job};
use super::layout::{Objective, judged};
use super::smith::{Kinds, Work, together};
use super::window::Window;
use std::collections::BTreeMap;

/// A lower bound of the objective.
///
/// - Lateness: every task on the earliest end it could have if no crew were busy (`head`).
/// - Weighted days: the same; or, for the tasks of one kind of work together, if that is more, what Smith's rule gives (`smith.rs`).
/// - Finish: the latest of those; for each task, its head and the shortest that can follow it (`tail`); for each kind of work, for its tasks
///   of each season as for all together, and each day, the first morning by which the crews that can do it have had as many open days as
///   the tasks take that cannot begin before that day, and the shortest of their tails.
///
/// Where such days do not suffice within the programme as many tasks must be left out as take up what is too much, those of most work
/// first, and nothing is said of the rest.
pub(super) fn bound(grid: &Grid, ask: &Ask) -> Objective {
    let mut bound = judged(grid, grid.jobs.iter().map(|job| Some(job.head.end)));
    let tails = tails(grid);
    for (job, tail) in grid.jobs.iter().zip(&tails) {
        bound.finish_days = bound.finish_days.max((job.head.end + tail) as u64);
    }
    let mut left_out = 0;
    let mut by_kind: BTreeMap<&str, BTreeMap<usize, u64>> = BTreeMap::new();
    for (j, job) in grid.jobs.iter().enumerate() {
        for need in &ask.tasks[job.task].needs {
            *by_kind.entry(&need.kind).or_default().entry(j).or_default() += u64::from(need.units) * job.days as u64;
        }
    }
    for (kind, work) in by_kind {
        let able: Vec<usize> = (0..ask.crews.len()).filter(|&c| ask.crews[c].kinds.contains(kind)).collect();
        let units: Vec<u64> = (0..grid.days).map(|day| grid.units(&able, day, |c| u64::from(grid.capacity[c]))).collect();
        let mut by_season: BTreeMap<&[Window], BTreeMap<usize, u64>> = BTreeMap::new();
        for (&j, &own) in &work {
            by_season.entry(&ask.tasks[grid.jobs[j].task].windows).or_default().insert(j, own);
        }
        for work in by_season.values().chain([&work]) {
            let (finish, too_many) = done_by(grid, &units, work, &tails);
            bound.finish_days = bound.finish_days.max(finish as u64);
            left_out = left_out.max(too_many);
        }
    }
    let kinds = Kinds::of(grid, ask);
    for (kind, able) in kinds.able.iter().enumerate() {
        let (mut alone, mut works) = (0, Vec::new());
        for (job, of) in grid.jobs.iter().zip(&kinds.of_job) {
            if let Some((_, total)) = of.filter(|(of, _)| *of == kind) {
                alone += job.day_weight * job.head.end as u64;
                works.push(Work { from: job.head.start, weight: job.day_weight, days: job.days, total });
            }
        }
        let units = |day| grid.units(able, day, |c| u64::from(grid.capacity[c]));
        bound.weighted_days += together(works, grid.days, units).0.saturating_sub(alone);
    }
    if left_out > 0 { Objective { left_out, ..Objective::NOTHING } } else { bound }
}

/// The fewest calendar days from the end of each job to the last day of all that waits for it, that day counted.
fn tails(grid: &Grid) -> Vec<usize> {
    let mut spans: BTreeMap<(usize, usize), usize> = BTreeMap::new();
    let mut span = |job: &Job| {
        let of = job
            .ways
            .iter()
            .map(|way| *spans.entry((way.pattern, job.days)).or_insert_with(|| grid.patterns[way.pattern].least_span(job.days).unwrap_or(job.days)));
        of.min().unwrap_or(job.days)
    };
    let mut tails = vec![0; grid.jobs.len()];
    for j in (0..grid.jobs.len()).rev() {
        let follows = |(next, lag): &(usize, Lag)| {
            let wait = match lag {
                Lag::Days(days) => *days as usize,
                // No month is shorter.
                Lag::Months(months) => 28 * *months as usize,
            };
            wait + span(&grid.jobs[*next]) + tails[*next]
        };
        tails[j] = grid.jobs[j].after.iter().map(follows).max().unwrap_or(0).max(grid.jobs[j].mark());
    }
    tails
}

/// The first morning by which all the work can be done, and what follows it; and how many tasks cannot be, if those of most work are
/// left out.
fn done_by(grid: &Grid, units: &[u64], work: &BTreeMap<usize, u64>, tails: &[usize]) -> (usize, usize) {
    let mut jobs: Vec<usize> = work.keys().copied().collect();
    jobs.sort_by_key(|&j| (std::cmp::Reverse(grid.jobs[j].head.start), j));
    let mut open = vec![false; grid.days];
    let mut seen = std::collections::BTreeSet::new();
    let (mut left, mut tail, mut finish, mut left_out) = (0, usize::MAX, 0, 0);
    for (at, &j) in jobs.iter().enumerate() {
        for way in grid.jobs[j].ways.iter().filter(|way| seen.insert(way.pattern)) {
            (0..grid.days).for_each(|day| open[day] |= grid.patterns[way.pattern].workable(day));
        }
        left += work[&j];
        tail = tail.min(tails[j]);
        let from = grid.jobs[j].head.start;
        if left == 0 || jobs.get(at + 1).is_some_and(|&next| grid.jobs[next].head.start == from) {
            continue;
        }
        let mut done = 0;
        let last = (from..grid.days).find(|&day| {
            done += if open[day] { units[day] } else { 0 };
            done >= left
        });
        match last {
            Some(last) => finish = finish.max(last + 1 + tail),
            None => {
                let mut most: Vec<u64> = jobs[..=at].iter().map(|j| work[j]).collect();
                most.sort_by_key(|work| std::cmp::Reverse(*work));
                let mut gone = 0;
                let needed = most.iter().take_while(|work| {
                    let more = gone < left - done;
                    gone += **work;
                    more
                });
                left_out = left_out.max(needed.count());
            }
        }
    }
    (finish, left_out)
}
