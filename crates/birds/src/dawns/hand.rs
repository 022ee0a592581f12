//! A plan as one would make it by hand: the first window from its first morning, the second from its last backwards, each observer the
//! most leks still to do, by the shortest way. Something to better.

use super::mornings::{Placed, Window};
use super::tour::Set;
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// The plan of both windows.
pub(super) fn by_hand(windows: &[Window; 2], apart_days: i64) -> [Vec<Placed>; 2] {
    let first = fill(&windows[0], 0..windows[0].days.len(), &|_, _| true);
    let mut visited: BTreeMap<u32, NaiveDate> = BTreeMap::new();
    for at in &first {
        visited.extend((0..Set::BITS).filter(|lek| at.set >> lek & 1 == 1).map(|lek| (lek, windows[0].days[at.day])));
    }
    let clear = |day: usize, lek: u32| visited.get(&lek).is_none_or(|before| (windows[1].days[day] - *before).num_days() >= apart_days);
    let second = fill(&windows[1], (0..windows[1].days.len()).rev(), &clear);
    [first, second]
}

fn fill(window: &Window, days: impl Iterator<Item = usize>, clear: &dyn Fn(usize, u32) -> bool) -> Vec<Placed> {
    let mut placed = Vec::new();
    let mut done: Set = 0;
    for day in days {
        let free: Set = (0..Set::BITS).filter(|lek| done >> lek & 1 == 0 && clear(day, *lek)).fold(0, |set, lek| set | 1 << lek);
        for (base, there) in window.there[day].iter().enumerate() {
            for _ in 0..*there {
                let travel = |set: &Set| window.tours.travel_on(base, *set, day);
                let fits = window.tours.of_base[base].keys().copied().filter(|set| set & !(free & !done) == 0);
                let best = fits.filter_map(|set| Some((set.count_ones(), std::cmp::Reverse(travel(&set)?), set))).max();
                if let Some((_, _, set)) = best {
                    done |= set;
                    placed.push(Placed { day, base, set });
                }
            }
        }
    }
    placed
}
