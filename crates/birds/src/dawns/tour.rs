//! What one observer can do in one morning: leks in an order, each watched wholly within its hours.
//!
//! At the first lek watching begins when hours open. From a lek the observer walks back, drives and walks to the next (or walks
//! across, where that is shorter and both are reached from one stop), settles, and watches. Every order is tried and followed for
//! each morning of the window by itself, as sunrise moves differently at leks apart.

use super::ask::Ask;
use super::light::{Hours, Minute};
use super::rules::Rules;
use std::collections::BTreeMap;

/// The most orders that are followed; beyond it some are left untried, and a plan is no longer proven.
const ORDERS_MAX: usize = 300_000;

/// Leks as bits.
pub(super) type Set = u64;
/// Mornings of a window as bits.
pub(super) type Days = u128;

/// An order of leks for one base: what it takes in travelling, and the mornings for which it is the least order of its leks.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Tour {
    pub(super) travel_min: u32,
    pub(super) days: Days,
    pub(super) order: Vec<usize>,
}

/// The way from one lek to the next.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Leg {
    pub(super) back_min: u32,
    pub(super) drive_min: u32,
    pub(super) walk_min: u32,
    /// On foot all the way: the vehicle stays.
    pub(super) across: bool,
}

impl Leg {
    pub(super) fn total_min(&self) -> u32 {
        self.back_min + self.drive_min + self.walk_min
    }
}

/// The way from a lek to another.
pub(super) fn leg(ask: &Ask, from: usize, to: usize) -> Leg {
    let (a, b) = (&ask.leks[from], &ask.leks[to]);
    let round = Leg { back_min: a.walk_min, drive_min: ask.minutes.between_stops[a.stop][b.stop], walk_min: b.walk_min, across: false };
    match ask.minutes.across[from][to] {
        Some(walk_min) if a.stop == b.stop && walk_min < round.total_min() => Leg { back_min: 0, drive_min: 0, walk_min, across: true },
        _ => round,
    }
}

/// The way from base to a lek, or back: driving and walking.
pub(super) fn way_out_min(ask: &Ask, observer: usize, lek: usize) -> u32 {
    ask.minutes.from_base[observer][ask.leks[lek].stop] + ask.leks[lek].walk_min
}

/// Whether a lek may be the first of an observer's morning.
pub(super) fn may_begin(ask: &Ask, rules: &Rules, observer: usize, lek: usize) -> bool {
    ask.leks[lek].walk_min <= rules.walk_longest_min && way_out_min(ask, observer, lek) <= rules.way_out_longest_min
}

/// When watching begins at the next lek after watching ended at the last; `None` where hours close too soon.
pub(super) fn begin_next(ask: &Ask, rules: &Rules, hours: Hours, ended: Minute, from: usize, to: usize) -> Option<Minute> {
    let begin = (ended + i64::from(leg(ask, from, to).total_min()) + rules.settle_min).max(hours.open);
    (begin + rules.watch_min <= hours.close).then_some(begin)
}

/// Every tour of a window: by base (an observer who starts from it stands for all) and set of leks, the tours in order of travelling.
pub(super) struct Tours {
    pub(super) of_base: Vec<BTreeMap<Set, Vec<Tour>>>,
    /// Every order was followed.
    pub(super) all: bool,
}

impl Tours {
    /// The least travelling of a tour of these leks from a base on a morning.
    pub(super) fn travel_on(&self, base: usize, set: Set, day: usize) -> Option<u32> {
        self.of_base[base].get(&set)?.iter().find(|tour| tour.days >> day & 1 == 1).map(|tour| tour.travel_min)
    }

    /// Every lek that is in a tour.
    pub(super) fn reached(&self) -> Set {
        self.of_base.iter().flat_map(BTreeMap::keys).fold(0, |all, set| all | set)
    }
}

struct Walker<'a> {
    ask: &'a Ask,
    rules: &'a Rules,
    hours: &'a [Vec<Option<Hours>>],
    /// Orders by set, with their travelling between the leks and mornings.
    orders: BTreeMap<Set, Vec<(u32, Vec<usize>, Days)>>,
    left: usize,
}

impl Walker<'_> {
    /// Follows every order that begins with `order`; `ended` is when watching ended on each morning.
    fn follow(&mut self, order: &mut Vec<usize>, set: Set, between_min: u32, ended: &[Option<Minute>]) {
        let Some(left) = self.left.checked_sub(1) else { return };
        self.left = left;
        let days = ended.iter().enumerate().filter(|(_, end)| end.is_some()).fold(0, |days, (d, _)| days | 1 << d);
        self.orders.entry(set).or_default().push((between_min, order.clone(), days));
        let Some(&last) = order.last() else { return };
        for next in (0..self.ask.leks.len()).filter(|next| set & 1 << next == 0) {
            let step = |(d, end): (usize, &Option<Minute>)| {
                begin_next(self.ask, self.rules, self.hours[d][next]?, (*end)?, last, next).map(|begin| begin + self.rules.watch_min)
            };
            let ended: Vec<_> = ended.iter().enumerate().map(step).collect();
            if ended.iter().any(Option::is_some) {
                order.push(next);
                self.follow(order, set | 1 << next, between_min + leg(self.ask, last, next).total_min(), &ended);
                order.pop();
            }
        }
    }
}

/// Every tour. `hours` is by morning of the window and lek; `bases` names one observer of each base.
pub(super) fn tours(ask: &Ask, rules: &Rules, hours: &[Vec<Option<Hours>>], bases: &[usize]) -> Tours {
    let mut walker = Walker { ask, rules, hours, orders: BTreeMap::new(), left: ORDERS_MAX };
    for first in (0..ask.leks.len()).filter(|lek| bases.iter().any(|o| may_begin(ask, rules, *o, *lek))) {
        let end = |h: &Option<Hours>| h.map(|h| h.open + rules.watch_min).filter(|end| h.is_some_and(|h| *end <= h.close));
        let ended: Vec<_> = hours.iter().map(|leks| end(&leks[first])).collect();
        if ended.iter().any(Option::is_some) {
            walker.follow(&mut vec![first], 1 << first, 0, &ended);
        }
    }
    let of_base = bases.iter().map(|o| walker.orders.iter().filter_map(|(set, orders)| Some((*set, least(ask, rules, *o, orders)?))).collect()).collect();
    Tours { of_base, all: walker.left > 0 }
}

/// Of the orders of one set those that are least on some morning, for one base; `None` where there are none.
fn least(ask: &Ask, rules: &Rules, observer: usize, orders: &[(u32, Vec<usize>, Days)]) -> Option<Vec<Tour>> {
    let mut tours: Vec<Tour> = orders
        .iter()
        .filter_map(|(between_min, order, days)| {
            let (first, last) = (*order.first()?, *order.last()?);
            let ends_min = way_out_min(ask, observer, first) + way_out_min(ask, observer, last);
            may_begin(ask, rules, observer, first).then(|| Tour { travel_min: between_min + ends_min, days: *days, order: order.clone() })
        })
        .collect();
    tours.sort_by(|a, b| a.travel_min.cmp(&b.travel_min).then_with(|| a.order.cmp(&b.order)));
    let mut had: Days = 0;
    tours.retain_mut(|tour| {
        tour.days &= !had;
        had |= tour.days;
        tour.days != 0
    });
    (!tours.is_empty()).then_some(tours)
}
