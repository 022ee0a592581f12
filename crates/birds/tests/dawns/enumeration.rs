//! The least effort of a small spring by trying everything: every order of every set of leks for each observer and morning, and
//! every sharing out of visits to mornings, keeping of alike part-plans the best. Nothing of the planner is used.

use birds::dawns::{Ask, Effort, Rules};
use birds::sun;
use chrono::NaiveDate;
use std::collections::{BTreeMap, HashMap};

/// Mornings, outings, minutes.
type Cost = (i64, i64, i64);

pub fn least(ask: &Ask, rules: &Rules) -> Effort {
    let n = ask.leks.len();
    let day = |(m, d): (u32, u32)| NaiveDate::from_ymd_opt(ask.year, m, d).unwrap();
    let dates = rules.windows.map(|[first, last]| ask.mornings.iter().copied().filter(|d| (day(first)..=day(last)).contains(d)).collect::<Vec<_>>());
    let trips = dates.clone().map(|dates| dates.iter().map(|d| (0..ask.observers.len()).map(|o| trips(ask, rules, *d, o)).collect::<Vec<_>>()).collect::<Vec<_>>());

    // First window: for each lek the morning it is visited on (0: none), with the least cost.
    let mut firsts: HashMap<Vec<usize>, Cost> = HashMap::from([(vec![0; n], (0, 0, 0))]);
    for (at, of_day) in trips[0].iter().enumerate() {
        let mut went: HashMap<(Vec<usize>, bool), Cost> = firsts.into_iter().map(|(state, cost)| ((state, false), cost)).collect();
        for of_observer in of_day {
            for ((state, gone), cost) in went.clone() {
                for (set, travel) in of_observer.iter().filter(|(set, _)| (0..n).all(|lek| *set >> lek & 1 == 0 || state[lek] == 0)) {
                    let next = (0..n).map(|lek| if set >> lek & 1 == 1 { at + 1 } else { state[lek] }).collect();
                    keep(&mut went, (next, true), (cost.0 + i64::from(!gone), cost.1 + 1, cost.2 + travel));
                }
            }
        }
        firsts = HashMap::new();
        for ((state, _), cost) in went {
            keep(&mut firsts, state, cost);
        }
    }

    // Second window, for the leks each of its mornings leaves free.
    let mut seen: HashMap<Vec<u64>, Vec<(i64, Cost)>> = HashMap::new();
    let mut best = Effort { missed: i64::MAX, ..Effort::default() };
    for (state, first) in firsts {
        let free = |d: &NaiveDate| (0..n).filter(|lek| state[*lek] == 0 || (*d - dates[0][state[*lek] - 1]).num_days() >= rules.apart_days).fold(0, |set, lek| set | 1 << lek);
        let frees: Vec<u64> = dates[1].iter().map(free).collect();
        let missed = state.iter().filter(|at| **at == 0).count() as i64;
        for (also, second) in seen.entry(frees.clone()).or_insert_with(|| second_window(n, &trips[1], &frees)) {
            let whole = Effort { missed: missed + *also, mornings: first.0 + second.0, outings: first.1 + second.1, travel_min: Some(first.2 + second.2) };
            best = best.min(whole);
        }
    }
    best
}

fn second_window(n: usize, trips: &[Vec<BTreeMap<u64, i64>>], frees: &[u64]) -> Vec<(i64, Cost)> {
    let mut done: HashMap<u64, Cost> = HashMap::from([(0, (0, 0, 0))]);
    for (of_day, free) in trips.iter().zip(frees) {
        let mut went: HashMap<(u64, bool), Cost> = done.into_iter().map(|(state, cost)| ((state, false), cost)).collect();
        for of_observer in of_day {
            for ((state, gone), cost) in went.clone() {
                for (set, travel) in of_observer.iter().filter(|(set, _)| *set & state == 0 && *set & !free == 0) {
                    keep(&mut went, (state | set, true), (cost.0 + i64::from(!gone), cost.1 + 1, cost.2 + travel));
                }
            }
        }
        done = HashMap::new();
        for ((state, _), cost) in went {
            keep(&mut done, state, cost);
        }
    }
    done.into_iter().map(|(state, cost)| (n as i64 - i64::from(state.count_ones()), cost)).collect()
}

fn keep<K: std::hash::Hash + Eq>(map: &mut HashMap<K, Cost>, key: K, cost: Cost) {
    map.entry(key).and_modify(|old| *old = cost.min(*old)).or_insert(cost);
}

/// Every set of leks an observer can do on a morning, with the least minutes of travelling.
fn trips(ask: &Ask, rules: &Rules, date: NaiveDate, observer: usize) -> BTreeMap<u64, i64> {
    let mut trips = BTreeMap::new();
    if ask.observers[observer].away.contains(&date) {
        return trips;
    }
    let hours: Vec<Option<(f64, f64)>> = ask.leks.iter().map(|lek| hours(rules, date, lek.lon_lat_deg)).collect();
    let mut orders: Vec<Vec<usize>> = vec![vec![]];
    while let Some(order) = orders.pop() {
        for lek in (0..ask.leks.len()).filter(|lek| !order.contains(lek)) {
            let longer: Vec<usize> = order.iter().copied().chain([lek]).collect();
            if let Some(travel) = travel_if_kept(ask, rules, &hours, observer, &longer) {
                let set = longer.iter().fold(0, |set, lek| set | 1 << lek);
                trips.entry(set).and_modify(|old: &mut i64| *old = travel.min(*old)).or_insert(travel);
                orders.push(longer);
            }
        }
    }
    trips
}

/// When hours open and close, whole minutes inwards.
fn hours(rules: &Rules, date: NaiveDate, (lon, lat): (f64, f64)) -> Option<(f64, f64)> {
    let minute = 60.0;
    let sunrise = sun::times(date, lon, lat).sunrise?.timestamp() as f64;
    let (open, close) = (sunrise - minute * rules.before_min as f64, sunrise + minute * rules.after_min as f64);
    Some(((open / minute).ceil(), (close / minute).floor()))
}

/// Minutes of travelling of one morning's order, if each visit can be kept; an order that cannot be kept cannot be made longer.
fn travel_if_kept(ask: &Ask, rules: &Rules, hours: &[Option<(f64, f64)>], observer: usize, order: &[usize]) -> Option<i64> {
    let (first, last) = (&ask.leks[order[0]], &ask.leks[order[order.len() - 1]]);
    let out = ask.minutes.from_base[observer][first.stop] + first.walk_min;
    let back = ask.minutes.from_base[observer][last.stop] + last.walk_min;
    if first.walk_min > rules.walk_longest_min || out > rules.way_out_longest_min {
        return None;
    }
    let (mut travel, mut ready) = (i64::from(out + back), f64::NEG_INFINITY);
    for (i, &lek) in order.iter().enumerate() {
        let (open, close) = hours[lek]?;
        if i > 0 {
            let (a, b) = (&ask.leks[order[i - 1]], &ask.leks[lek]);
            let round = a.walk_min + ask.minutes.between_stops[a.stop][b.stop] + b.walk_min;
            let way = ask.minutes.across[order[i - 1]][lek].filter(|_| a.stop == b.stop).map_or(round, |across| across.min(round));
            travel += i64::from(way);
            ready += f64::from(way) + rules.settle_min as f64;
        }
        let end = ready.max(open) + rules.watch_min as f64;
        if end > close {
            return None;
        }
        ready = end;
    }
    Some(travel)
}
