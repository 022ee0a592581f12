//! Both windows at once, morning by morning, where the quick way ([`super::count`], then [`super::mornings`]) does not meet its own
//! bound: few mornings, people away on different days, visits that would come too close.
//!
//! A column is a tour of a base on a morning. Each visit is made once or missed; a base sends out no more than are there, and only
//! on a morning that is opened; no lek is visited on or after a day of the first window and within the days apart of it in the second.
//! A morning is left out where so many others do all that it can, earlier in the first window or later in the second, that no best
//! plan needs it.

use super::choose::{Answer, Choice, Means, Tag};
use super::count::Levels;
use super::mornings::{Placed, Window};
use super::tour::Set;
use std::collections::BTreeMap;

/// The most columns; beyond it only small sets of leks are looked at, and the answer is no longer proven.
const COLUMNS_MAX: usize = 30_000;

/// What came of it.
pub(super) struct Whole {
    pub(super) placed: [Vec<Placed>; 2],
    /// No plan is below.
    pub(super) bound: Levels,
}

struct Column {
    window: usize,
    placed: Placed,
    travel_min: i64,
}

struct Model {
    choice: Choice,
    columns: Vec<Column>,
    /// Columns that open a morning.
    opens: Vec<usize>,
    /// Columns that miss a visit.
    misses: Vec<usize>,
    all: bool,
}

const MISSED: usize = 0;
const MORNINGS: usize = 1;
const OUTINGS: usize = 2;

/// The mornings of a window that a best plan of at most `most` mornings may need, and those of a known plan.
fn needed_days(window: &Window, which: usize, most: usize, known: &[Placed]) -> Vec<usize> {
    let sets: Vec<(usize, Set)> = window.tours.of_base.iter().enumerate().flat_map(|(b, sets)| sets.keys().map(move |set| (b, *set))).collect();
    let takes: Vec<Vec<u32>> = (0..window.days.len())
        .map(|day| sets.iter().map(|&(base, set)| window.tours.travel_on(base, set, day).unwrap_or(u32::MAX)).collect())
        .collect();
    let no_worse = |a: usize, b: usize| {
        window.there[a].iter().zip(&window.there[b]).all(|(a, b)| a >= b) && takes[a].iter().zip(&takes[b]).all(|(a, b)| a <= b)
    };
    let before = |a: usize, b: usize| if which == 0 { a < b } else { a > b };
    let days = 0..window.days.len();
    let needed = |day: usize| days.clone().filter(|&other| before(other, day) && no_worse(other, day)).count() < most;
    days.clone().filter(|&day| needed(day) || known.iter().any(|at| at.day == day)).collect()
}

impl Model {
    fn of(windows: &[Window; 2], days: &[Vec<usize>; 2], keep: &dyn Fn(usize, usize, Set) -> bool, leks: usize, apart_days: i64) -> Self {
        let mut model = Self { choice: Choice::default(), columns: vec![], opens: vec![], misses: vec![], all: true };
        let program = &mut model.choice.program;
        let [n_days, n_visits] = [days[0].len() + days[1].len(), 2 * leks];
        for most in [n_visits, n_days, n_visits] {
            program.row(most as f64, false);
        }
        let reached = [0, 1].map(|w: usize| windows[w].tours.reached());
        let mut visit_row = BTreeMap::new();
        for window in [0, 1] {
            for lek in (0..leks).filter(|lek| reached[window] >> lek & 1 == 1) {
                visit_row.insert((window, lek), program.row(1.0, true));
            }
        }
        // Visits of the first window from a day on and those of the second less than the days apart after that day: at most one.
        let mut close: Vec<(usize, usize, usize, usize)> = Vec::new();
        for &day in &days[0] {
            let near = days[1].iter().filter(|d| (windows[1].days[**d] - windows[0].days[day]).num_days() < apart_days).max();
            for lek in (0..leks).filter(|lek| (reached[0] & reached[1]) >> lek & 1 == 1) {
                if let Some(near) = near {
                    close.push((lek, day, *near, program.row(1.0, false)));
                }
            }
        }
        let mut place = 0;
        for window in [0, 1] {
            for &day in &days[window] {
                let either = model.choice.program.row(1.0, true);
                let there = &windows[window].there[day];
                let rows: Vec<usize> = there.iter().map(|_| model.choice.program.row(0.0, false)).collect();
                let entries: Vec<_> = rows.iter().zip(there).map(|(row, n)| (*row, -(*n as f64))).chain([(either, 1.0), (MORNINGS, 1.0)]).collect();
                let open = model.choice.tags.len();
                model.choice.push(Tag::OneOf(open + 1), &entries);
                model.choice.push(Tag::OneOf(open), &[(either, 1.0)]);
                model.opens.push(open);
                model.columns.extend([0, 1].map(|_| Column { window, placed: Placed { day, base: 0, set: 0 }, travel_min: 0 }));
                for (base, sets) in windows[window].tours.of_base.iter().enumerate() {
                    for &set in sets.keys().filter(|_| there[base] > 0) {
                        let Some(travel_min) = windows[window].tours.travel_on(base, set, day) else { continue };
                        if !keep(window, base, set) {
                            model.all = false;
                            continue;
                        }
                        let within = (0..leks).filter(|lek| set >> lek & 1 == 1);
                        let visits = within.clone().filter_map(|lek| visit_row.get(&(window, lek)));
                        let near = close.iter().filter(|(lek, from, to, _)| set >> lek & 1 == 1 && if window == 0 { day >= *from } else { day <= *to });
                        let entries: Vec<_> = visits.copied().chain(near.map(|c| c.3)).chain([OUTINGS, rows[base]]).map(|row| (row, 1.0)).collect();
                        model.choice.push(Tag::Visits(within.fold(0, |bits, lek| bits | 1 << (64 * window + lek)), place + base), &entries);
                        model.columns.push(Column { window, placed: Placed { day, base, set }, travel_min: travel_min.into() });
                    }
                }
                place += there.len();
            }
        }
        for ((window, lek), row) in visit_row {
            model.misses.push(model.choice.push(Tag::Visits(1 << (64 * window + lek), usize::MAX), &[(MISSED, 1.0), (row, 1.0)]));
        }
        model
    }

    /// The columns of a plan that is already there, where all of them are kept.
    fn columns_of(&self, placed: &[Vec<Placed>; 2]) -> Option<Vec<usize>> {
        let mut chosen = Vec::new();
        let mut made = 0;
        for (window, placed) in placed.iter().enumerate() {
            for at in placed {
                let column = self.columns.iter().position(|c| c.window == window && c.placed == *at)?;
                let Tag::Visits(visits, _) = self.choice.tags[column] else { return None };
                made |= visits;
                chosen.push(column);
            }
        }
        for &open in &self.opens {
            let (window, day) = (self.columns[open].window, self.columns[open].placed.day);
            chosen.push(if placed[window].iter().any(|at| at.day == day) { open } else { open + 1 });
        }
        let missed = |column: &&usize| matches!(self.choice.tags[**column], Tag::Visits(visit, _) if visit & made == 0);
        chosen.extend(self.misses.iter().filter(missed));
        Some(chosen)
    }
}

/// The best plan of both windows. `known`: a plan to better; `most`: the most mornings of each window in a best plan; `likely`: tours
/// to keep if not all can be.
pub(super) fn whole(
    windows: &[Window; 2],
    known: &[Vec<Placed>; 2],
    most: [usize; 2],
    likely: [&[(usize, Set)]; 2],
    leks: usize,
    apart_days: i64,
    means: &mut Means,
) -> Whole {
    let days = [0, 1].map(|w| needed_days(&windows[w], w, most[w], &known[w]));
    let columns: usize = [0, 1].into_iter().map(|w| days[w].len() * windows[w].tours.of_base.iter().map(BTreeMap::len).sum::<usize>()).sum();
    let wanted = |window: usize, tour| likely[window].contains(&tour) || known[window].iter().any(|at| (at.base, at.set) == tour);
    let kept = |window: usize, base: usize, set: Set| columns <= COLUMNS_MAX || set.count_ones() < 2 || wanted(window, (base, set));
    let model = Model::of(windows, &days, &kept, leks, apart_days);
    let count = model.choice.tags.len();
    let cost = |of: &[usize]| {
        let mut cost = vec![0; count];
        of.iter().for_each(|c| cost[*c] = 1);
        cost
    };
    let tours: Vec<usize> = (0..model.columns.len()).filter(|c| model.columns[*c].placed.set != 0).collect();
    let travel = (0..count).map(|c| model.columns.get(c).map_or(0, |column| column.travel_min)).collect();
    let levels = [(cost(&model.misses), Some(MISSED)), (cost(&model.opens), Some(MORNINGS)), (cost(&tours), Some(OUTINGS)), (travel, None)];
    let mut choice = model.choice.clone();
    let nothing = || model.opens.iter().map(|open| open + 1).chain(model.misses.iter().copied()).collect();
    let mut best: Vec<usize> = model.columns_of(known).unwrap_or_else(nothing);
    let mut bound = [0; 4];
    let mut proven = model.all;
    for (level, (cost, row)) in levels.into_iter().enumerate() {
        let total = best.iter().map(|c| cost[*c]).sum();
        let answer: Answer = choice.search(&cost, Some((best, total)), means);
        bound[level] = if proven { answer.bound } else { 0 };
        proven &= answer.is_proven();
        let Some((chosen, total)) = answer.best else { return Whole { placed: [vec![], vec![]], bound } };
        best = chosen;
        if let Some(row) = row {
            choice.program.needed[row] = total as f64;
        }
    }
    let mut placed = [vec![], vec![]];
    for column in best.into_iter().filter_map(|c| model.columns.get(c)).filter(|column| column.placed.set != 0) {
        placed[column.window].push(column.placed);
    }
    Whole { placed, bound }
}
