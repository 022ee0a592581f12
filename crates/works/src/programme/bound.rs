//! What no programme can be better than.

use super::ask::{Ask, Lag};
use super::grid::{Grid, Job};
use super::layout::{Objective, judged};
use std::collections::BTreeMap;

/// A lower bound of the objective.
///
/// - Lateness: every task on the earliest end it could have if no crew were busy (`head`).
/// - Weighted days: the same; or, for the tasks of one kind of work together, if that is more, what follows from the days of its crews:
///   the last of a task's d days is at least (d - 1) / 2 after their mean, and the weighted means are least when each day's
///   crews are given to the tasks that may have begun by the weight for their work (Smith's rule, with work cut up at will).
/// - Finish: the latest of those; for each task, its head and the shortest that can follow it (`tail`); for each kind of work and each
///   day, the first morning by which the crews that can do it have had as many open days as the tasks take that cannot begin before
///   that day, and the shortest of their tails.
///
/// Where such days do not suffice within the programme a task must be left out, and nothing is said of the rest.
pub(super) fn bound(grid: &Grid, ask: &Ask) -> Objective {
    let mut bound = judged(grid, grid.jobs.iter().map(|job| Some(job.head.end)));
    let tails = tails(grid);
    for (job, tail) in grid.jobs.iter().zip(&tails) {
        bound.finish_days = bound.finish_days.max((job.head.end + tail) as u64);
    }
    let mut spoken_for = vec![false; grid.jobs.len()];
    let mut by_kind: BTreeMap<&str, BTreeMap<usize, u64>> = BTreeMap::new();
    for (j, job) in grid.jobs.iter().enumerate() {
        for need in &ask.tasks[job.task].needs {
            *by_kind.entry(&need.kind).or_default().entry(j).or_default() += u64::from(need.units) * job.days as u64;
        }
    }
    for (kind, work) in by_kind {
        let able: Vec<usize> = (0..ask.crews.len()).filter(|&c| ask.crews[c].kinds.contains(kind)).collect();
        let units = |day: usize| able.iter().filter(|&&c| grid.worked[day] && grid.there[c][day]).map(|&c| u64::from(grid.capacity[c])).sum();
        let units: Vec<u64> = (0..grid.days).map(units).collect();
        match done_by(grid, &units, &work, &tails) {
            Some(finish) => bound.finish_days = bound.finish_days.max(finish as u64),
            None => return Objective { left_out: 1, ..Objective::NOTHING },
        }
        // Each task counts with one of its kinds.
        let own: Vec<(usize, u64)> = work.into_iter().filter(|(j, work)| *work > 0 && !std::mem::replace(&mut spoken_for[*j], true)).collect();
        let alone: u64 = own.iter().map(|(j, _)| grid.jobs[*j].weight * grid.jobs[*j].head.end as u64).sum();
        bound.weighted_days += together(grid, &units, &own).saturating_sub(alone);
    }
    bound
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

/// The first morning by which all the work can be done, and what follows it; nothing where it cannot.
fn done_by(grid: &Grid, units: &[u64], work: &BTreeMap<usize, u64>, tails: &[usize]) -> Option<usize> {
    let mut jobs: Vec<usize> = work.keys().copied().collect();
    jobs.sort_by_key(|&j| (std::cmp::Reverse(grid.jobs[j].head.start), j));
    let mut open = vec![false; grid.days];
    let mut seen = std::collections::BTreeSet::new();
    let (mut left, mut tail, mut finish) = (0, usize::MAX, 0);
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
        })?;
        finish = finish.max(last + 1 + tail);
    }
    Some(finish)
}

/// Work of one task in [`together`].
#[derive(Clone, Copy)]
struct Portion {
    job: usize,
    weight: u64,
    total: u64,
    left: u64,
}

/// The least sum of weighted last days (the first day is 1) of tasks of one kind of work, cut up at will among its crews.
fn together(grid: &Grid, units: &[u64], work: &[(usize, u64)]) -> u64 {
    let portion = |&(job, total): &(usize, u64)| Portion { job, weight: grid.jobs[job].weight, total, left: total };
    let mut coming: Vec<Portion> = work.iter().map(portion).collect();
    coming.sort_by_key(|portion| std::cmp::Reverse(grid.jobs[portion.job].head.start));
    // Half of (d - 1), and one for counting days from 1, is half of (d + 1).
    let mut sum: f64 = coming.iter().map(|p| p.weight as f64 * (grid.jobs[p.job].days as f64 + 1.0) / 2.0).sum();
    // The tasks that may have begun, by weight for their work, the greatest first.
    let mut open: Vec<Portion> = Vec::new();
    for (day, units) in units.iter().enumerate() {
        let before = open.len();
        while let Some(next) = coming.pop_if(|portion| grid.jobs[portion.job].head.start <= day) {
            open.push(next);
        }
        if open.len() > before {
            open.sort_by(|a, b| (b.weight * a.total).cmp(&(a.weight * b.total)).then(a.job.cmp(&b.job)));
        }
        let mut units = *units;
        for portion in &mut open {
            let done = units.min(portion.left);
            (units, portion.left) = (units - done, portion.left - done);
            sum += portion.weight as f64 * day as f64 * done as f64 / portion.total as f64;
            if units == 0 {
                break;
            }
        }
        open.retain(|portion| portion.left > 0);
    }
    // Rounded down, past what adding up may have put on.
    (sum - 1e-9 * sum).floor().max(0.0) as u64
}
