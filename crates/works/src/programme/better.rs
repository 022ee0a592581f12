//! Good programmes of many tasks: several orders, each drawn together, and the best bettered by seeded moves.

use super::board::Board;
use super::grid::Grid;
use super::layout::{Layout, Objective, by_start, latest, objective, serial};
use rand::RngExt;
use rand::SeedableRng;
use rand_pcg::Pcg64;

/// Times a programme is pushed late and drawn early again.
const DRAWN_TOGETHER: usize = 5;

/// The best programme found within `stop_at` steps of the board; never looks further once `bound` is met.
pub(super) fn better(board: &mut Board, bound: Objective, seed: u64, stop_at: u64) -> Layout {
    let grid = board.grid;
    let mut best: Option<(Objective, Layout)> = None;
    for list in lists(grid, bound.finish_days as usize) {
        let mut layout = serial(board, &list);
        let mut worth = objective(grid, &layout);
        for _ in 0..DRAWN_TOGETHER {
            let late = latest(board, &layout, &[]);
            let again = serial(board, &by_start(&late));
            let then = objective(grid, &again);
            if then >= worth {
                break;
            }
            (worth, layout) = (then, again);
        }
        if best.as_ref().is_none_or(|(known, _)| worth < *known) {
            best = Some((worth, layout));
        }
        if worth <= bound || board.steps >= stop_at {
            break;
        }
    }
    let Some((mut worth, mut layout)) = best else { return vec![] };
    let mut order = by_start(&layout);
    let mut rng = Pcg64::seed_from_u64(seed);
    while order.len() > 1 && worth > bound && board.steps < stop_at {
        let mut tried = order.clone();
        let [from, to] = [0; 2].map(|_| rng.random_range(0..tried.len()));
        if rng.random_range(0..2) == 0 {
            tried.swap(from, to);
        } else {
            let job = tried.remove(from);
            tried.insert(to, job);
        }
        let made = serial(board, &tried);
        let then = objective(grid, &made);
        if then <= worth {
            (worth, layout, order) = (then, made, tried);
        }
    }
    layout
}

/// Orders to begin with: by earliest start, by latest start, by slack, by what follows, by deadline, by weight for the work, by work.
fn lists(grid: &Grid, finish: usize) -> Vec<Vec<usize>> {
    let n = grid.jobs.len();
    let mut start = vec![0; n];
    for j in (0..n).rev() {
        let job = &grid.jobs[j];
        let wanted = job.limit.min(job.wanted.unwrap_or(usize::MAX)).min(finish);
        let end = job.after.iter().fold(wanted, |end, (next, lag)| end.min(grid.before(start[*next], *lag).unwrap_or(0)));
        let last = job.ways.iter().filter_map(|way| grid.patterns[way.pattern].last(end, job.days, &grid.begin));
        start[j] = last.map(|spot| spot.start).max().unwrap_or(end.saturating_sub(job.days));
    }
    let work = |j: usize| {
        grid.jobs[j].days as i64 * grid.jobs[j].ways.iter().flat_map(|way| &way.loads).map(|(_, units)| i64::from(*units)).max().unwrap_or(0)
    };
    let by = |key: &dyn Fn(usize) -> i64| {
        let mut list: Vec<usize> = (0..n).collect();
        list.sort_by_key(|&j| (key(j), j));
        list
    };
    vec![
        by(&|j| start[j] as i64),
        by(&|j| grid.jobs[j].head.start as i64),
        by(&|j| start[j] as i64 - grid.jobs[j].head.start as i64),
        by(&|j| grid.jobs[j].limit.min(grid.jobs[j].wanted.unwrap_or(usize::MAX)) as i64),
        by(&|j| -(1000 * grid.jobs[j].day_weight as i64 / work(j).max(1))),
        by(&|j| -work(j)),
    ]
}
