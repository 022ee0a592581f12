//! Puts the tours of both windows on mornings: nobody twice on one morning, no more mornings than allowed, and the visits to each
//! lek far enough apart.
//!
//! A search with a limit: what it finds is right, and where it finds nothing there may yet be something. Early mornings are tried
//! first, and for the second window those that are late enough for every lek, so that mornings are left for bad weather.

use super::ask::DAYS_MAX;
use super::tour::{Days, Set, Tours};
use chrono::NaiveDate;
use std::collections::BTreeSet;

/// One window as it is planned.
pub(super) struct Window {
    pub(super) days: Vec<NaiveDate>,
    /// How many can go out, by morning and base.
    pub(super) there: Vec<Vec<usize>>,
    pub(super) tours: Tours,
}

/// A tour on a morning of its window.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Placed {
    pub(super) day: usize,
    pub(super) base: usize,
    pub(super) set: Set,
}

/// Placings of the first window tried; sets of mornings tried for each in a window, and steps of the search for each of them.
const TRIES: usize = 40;
const PICKS: usize = 24;
const STEPS: usize = 2_000;
/// Dead ends kept in mind; beyond it the picking is given up.
const DEAD_MAX: usize = 50_000;

/// The mornings on which a tour takes least.
fn least_days(tours: &Tours, base: usize, set: Set) -> Days {
    let orders = tours.of_base[base].get(&set).map(Vec::as_slice).unwrap_or_default();
    let least = orders.first().map(|tour| tour.travel_min);
    orders.iter().filter(|tour| Some(tour.travel_min) == least).fold(0, |days, tour| days | tour.days)
}

/// The tours of each window on mornings of it, at most `most` of them.
pub(super) fn place(windows: &[Window; 2], tours: [&[(usize, Set)]; 2], most: [usize; 2], apart_days: i64) -> Option<[Vec<Placed>; 2]> {
    let wide = |w: usize| tours[w].iter().map(|&(base, set)| (base, set, least_days(&windows[w].tours, base, set))).collect::<Vec<_>>();
    let [first, second] = [wide(0), wide(1)];
    let late = |day: Option<NaiveDate>| {
        let clear = |d: &NaiveDate| day.is_none_or(|day| (*d - day).num_days() >= apart_days);
        windows[1].days.iter().enumerate().filter(|(_, d)| clear(d)).fold(0, |days: Days, (i, _)| days | 1 << i)
    };
    let (mut found, mut tries) = (None, TRIES);
    windows[0].spread(&first, most[0], &mut |placed| {
        tries -= 1;
        let day = |at: &Placed| windows[0].days[at.day];
        let clear = late(placed.iter().map(day).max());
        let own = |set: Set| late(placed.iter().filter(|at| at.set & set != 0).map(day).max());
        let of_all = second.iter().map(|&(base, set, days)| (base, set, days & clear)).collect::<Vec<_>>();
        let of_each = second.iter().map(|&(base, set, days)| (base, set, days & own(set))).collect();
        let placed_too = [of_all, of_each].iter().any(|tours| {
            windows[1].spread(tours, most[1], &mut |other| {
                found = Some([placed.to_vec(), other.to_vec()]);
                true
            })
        });
        placed_too || tries == 0
    });
    found
}

/// A tour's base, leks and mornings.
type Wide = (usize, Set, Days);

impl Window {
    /// Tries placings in turn until `good` says that one will do.
    fn spread(&self, tours: &[Wide], most: usize, good: &mut dyn FnMut(&[Placed]) -> bool) -> bool {
        let mut tours = tours.to_vec();
        tours.sort_by_key(|(base, set, days)| (days.count_ones(), *base, *set));
        let open = tours.iter().fold(0, |all, (_, _, days)| all | days);
        let mut need = Need { outings: vec![0; self.tours.of_base.len()], one_of: tours.iter().map(|(_, _, days)| *days).collect() };
        tours.iter().for_each(|(base, ..)| need.outings[*base] += 1);
        let mut picks = Picks { there: &self.there, open, dead: BTreeSet::new(), left: PICKS };
        // The mornings that end soonest first.
        (0..=self.days.len()).any(|end| {
            picks.dead.clear();
            picks.run(end, most, need.clone(), 0, &mut |picked| {
                let mut search = Search { days: self.days.len(), steps: STEPS };
                let within: Vec<Wide> = tours.iter().map(|&(base, set, days)| (base, set, days & picked)).collect();
                search.next(&within, &mut self.there.clone(), &mut vec![], good)
            })
        })
    }
}

/// What mornings are still picked for.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Need {
    /// Outings of each base.
    outings: Vec<usize>,
    /// Sets of mornings of each of which one is wanted.
    one_of: BTreeSet<Days>,
}

impl Need {
    fn less(&self, day: usize, there: &[usize]) -> Self {
        Self {
            outings: self.outings.iter().zip(there).map(|(need, there)| need.saturating_sub(*there)).collect(),
            one_of: self.one_of.iter().copied().filter(|days| days >> day & 1 == 0).collect(),
        }
    }
}

/// Sets of mornings that send out enough from each base and hold one of each tour's.
struct Picks<'a> {
    there: &'a [Vec<usize>],
    open: Days,
    /// Days, mornings and needs left that no set meets.
    dead: BTreeSet<(usize, usize, Need)>,
    left: usize,
}

impl Picks<'_> {
    /// Sets among the first `end` days whose latest is the last of them, until `good` says that one will do or too many were tried.
    fn run(&mut self, end: usize, most: usize, need: Need, picked: Days, good: &mut dyn FnMut(Days) -> bool) -> bool {
        if need.one_of.is_empty() && need.outings.iter().all(|n| *n == 0) {
            self.left = self.left.saturating_sub(1);
            return good(picked);
        }
        let ahead = if end < DAYS_MAX { (1 << end) - 1 } else { Days::MAX };
        if end == 0 || most == 0 || self.left == 0 || need.one_of.iter().any(|days| days & ahead == 0) || self.dead.len() > DEAD_MAX {
            return false;
        }
        let key = (end, most, need);
        if self.dead.contains(&key) {
            return false;
        }
        let (tried, day) = (self.left, end - 1);
        if self.open >> day & 1 == 1 && self.run(day, most - 1, key.2.less(day, &self.there[day]), picked | 1 << day, good) {
            return true;
        }
        if picked != 0 && self.run(day, most, key.2.clone(), picked, good) {
            return true;
        }
        if self.left == tried {
            self.dead.insert(key);
        }
        false
    }
}

/// Puts tours on the mornings picked.
struct Search {
    days: usize,
    steps: usize,
}

impl Search {
    fn next(&mut self, tours: &[Wide], left: &mut [Vec<usize>], placed: &mut Vec<Placed>, good: &mut dyn FnMut(&[Placed]) -> bool) -> bool {
        let Some((&(base, set, days), rest)) = tours.split_first() else { return good(placed) };
        for day in (0..self.days).filter(|d| days >> d & 1 == 1) {
            if left[day][base] == 0 {
                continue;
            }
            let Some(steps) = self.steps.checked_sub(1) else { return false };
            self.steps = steps;
            left[day][base] -= 1;
            placed.push(Placed { day, base, set });
            let done = self.next(rest, left, placed, good);
            placed.pop();
            left[day][base] += 1;
            if done {
                return true;
            }
        }
        false
    }
}
