//! Plain enumeration: every task on every day with every crew, or left out, day by day, without the code of the programme.

use chrono::{Datelike, Months, NaiveDate};
use std::collections::BTreeMap;
use works::programme::*;

/// Whether a day lies in a window, by the dates it runs between in the years about.
fn in_window(window: &Window, day: NaiveDate) -> bool {
    (day.year() - 1..=day.year()).any(|year| {
        let over = (window.first.month, window.first.day) > (window.last.month, window.last.day);
        // 29 February in a year without one: the window begins on 1 March or ends on the 28th.
        let first =
            NaiveDate::from_ymd_opt(year, window.first.month, window.first.day).unwrap_or_else(|| NaiveDate::from_ymd_opt(year, 3, 1).unwrap());
        let end = year + i32::from(over);
        let last = NaiveDate::from_ymd_opt(end, window.last.month, window.last.day).unwrap_or_else(|| NaiveDate::from_ymd_opt(end, 2, 28).unwrap());
        first <= day && day <= last
    })
}

/// Whether a task is open on a day.
pub fn is_open(task: &Task, day: NaiveDate) -> bool {
    task.windows.is_empty() || task.windows.iter().any(|w| in_window(w, day))
}

fn is_there(crew: &Crew, day: NaiveDate) -> bool {
    (crew.there.is_empty() || crew.there.iter().any(|w| in_window(w, day))) && crew.away.iter().all(|off| day < off.first || day > off.last)
}

/// The days worked of a task begun on a day by some crews, or nothing where it may not be begun there.
pub fn worked(ask: &Ask, task: &Task, crews: &[&Crew], start: NaiveDate) -> Option<Vec<NaiveDate>> {
    let all_there = |day| crews.iter().all(|crew| is_there(crew, day));
    let works = |day: NaiveDate| ask.calendar.worked.0[day.weekday() as usize] && !ask.calendar.holidays.contains(&day);
    if !(works(start) && is_open(task, start) && all_there(start) && ask.calendar.begin.0[start.weekday() as usize]) {
        return None;
    }
    let mut days = Vec::new();
    let mut day = start;
    while days.len() < task.days as usize {
        if day > ask.last {
            return None;
        }
        let fit = is_open(task, day) && all_there(day);
        match task.stretch {
            Stretch::Whole if !is_open(task, day) || (works(day) && !fit) => return None,
            Stretch::Broken if !fit => {}
            _ if works(day) => days.push(day),
            _ => {}
        }
        day = day.succ_opt()?;
    }
    Some(days)
}

/// The morning after the end of a task begun on a day.
pub fn morning_after(worked: &[NaiveDate], start: NaiveDate) -> NaiveDate {
    worked.last().map_or(start, |last| last.succ_opt().unwrap())
}

/// The first day on which what waits may begin.
pub fn free_after(end: NaiveDate, lag: Lag) -> NaiveDate {
    match lag {
        Lag::Days(days) => end + chrono::Days::new(u64::from(days)),
        Lag::Months(months) => end + Months::new(months),
    }
}

/// Every choice of crews for the needs of a task, as indexes.
fn choices(ask: &Ask, task: &Task) -> Vec<Vec<usize>> {
    let mut all = vec![vec![]];
    for need in &task.needs {
        let able: Vec<usize> = (0..ask.crews.len()).filter(|&c| ask.crews[c].kinds.contains(&need.kind)).collect();
        all = all.into_iter().flat_map(|chosen: Vec<usize>| able.iter().map(move |&c| [chosen.clone(), vec![c]].concat())).collect();
    }
    all
}

struct Walk<'a> {
    ask: &'a Ask,
    order: Vec<&'a Task>,
    /// Spots of each task of the order: first day, days worked, crews with units.
    spots: Vec<Vec<Spot>>,
    /// From each task on: those without a spot, their weight, the latest and the weighted days of the first spots of the others.
    ahead: Vec<(usize, u64, u64, u64)>,
    best: Option<Objective>,
}

struct Spot {
    start: NaiveDate,
    worked: Vec<NaiveDate>,
    loads: Vec<(usize, u32)>,
}

impl Walk<'_> {
    fn walk(&mut self, at: usize, ends: &mut BTreeMap<String, Option<NaiveDate>>, used: &mut BTreeMap<(usize, NaiveDate), u32>, sum: Objective) {
        // All of it only grows: by each task ahead at least as if it were alone, or by one more left out.
        let (left_out, left_out_weight, finish, weighted) = self.ahead[at];
        let least = Objective {
            left_out: sum.left_out + left_out,
            left_out_weight: sum.left_out_weight + left_out_weight,
            finish_days: sum.finish_days.max(finish),
            weighted_days: sum.weighted_days + weighted,
            ..sum
        };
        if self.best.is_some_and(|best| least >= best) {
            return;
        }
        let Some(task) = self.order.get(at).copied() else {
            self.best = Some(sum);
            return;
        };
        let from = task.after.iter().try_fold(self.ask.first.max(task.earliest.unwrap_or(self.ask.first)), |from, after| {
            Some(from.max(free_after(ends[&after.task]?, after.lag)))
        });
        let spots = std::mem::take(&mut self.spots[at]);
        for spot in &spots {
            if from.is_none_or(|from| spot.start < from) {
                continue;
            }
            let days = || spot.worked.iter().flat_map(|day| spot.loads.iter().map(move |(crew, units)| ((*crew, *day), *units)));
            days().for_each(|(key, units)| *used.entry(key).or_default() += units);
            if days().all(|(key, _)| used[&key] <= self.ask.crews[key.0].capacity) {
                let end = morning_after(&spot.worked, spot.start);
                let last = spot.worked.last().copied().unwrap_or(spot.start);
                let late = task.latest.filter(|latest| !latest.hard).map_or(0, |latest| (last - latest.date).num_days().max(0) as u64);
                let finish = (last - self.ask.first).num_days() as u64 + 1;
                let weight = u64::from(task.weight);
                let then = Objective {
                    left_out: sum.left_out,
                    left_out_weight: sum.left_out_weight,
                    late_weighted_days: sum.late_weighted_days + weight * late,
                    finish_days: sum.finish_days.max(finish),
                    weighted_days: sum.weighted_days + weight * finish,
                };
                ends.insert(task.id.clone(), Some(end));
                self.walk(at + 1, ends, used, then);
            }
            days().for_each(|(key, units)| *used.get_mut(&key).unwrap() -= units);
        }
        self.spots[at] = spots;
        ends.insert(task.id.clone(), None);
        self.walk(at + 1, ends, used, Objective { left_out: sum.left_out + 1, left_out_weight: sum.left_out_weight + u64::from(task.weight), ..sum });
    }
}

/// What the best programme comes to; every task that is not in it counts as left out.
pub fn best(ask: &Ask) -> Objective {
    let mut order: Vec<&Task> = Vec::new();
    while order.len() < ask.tasks.len() {
        let placed = |id: &str| order.iter().any(|task| task.id == id);
        let next = ask.tasks.iter().find(|task| !placed(&task.id) && task.after.iter().all(|after| placed(&after.task))).unwrap();
        order.push(next);
    }
    let spots = order.iter().map(|task| {
        let mut spots = Vec::new();
        for start in ask.first.iter_days().take_while(|day| *day <= ask.last) {
            for chosen in choices(ask, task) {
                let crews: Vec<&Crew> = chosen.iter().map(|&c| &ask.crews[c]).collect();
                let Some(worked) = worked(ask, task, &crews, start) else { continue };
                let last = worked.last().copied().unwrap_or(start);
                let loads: Vec<(usize, u32)> = chosen.iter().copied().zip(task.needs.iter().map(|need| need.units)).collect();
                // A mark in time takes up nobody, but its crew is large enough.
                let large =
                    |&(c, _): &(usize, u32)| loads.iter().filter(|(d, _)| *d == c).map(|(_, units)| units).sum::<u32>() <= ask.crews[c].capacity;
                if loads.iter().all(large) && task.latest.is_none_or(|latest| !latest.hard || last <= latest.date) {
                    spots.push(Spot { start, worked, loads });
                }
            }
        }
        spots.sort_by_key(|spot| morning_after(&spot.worked, spot.start));
        spots
    });
    let spots: Vec<Vec<Spot>> = spots.collect();
    let mut ahead = vec![(0, 0, 0, 0)];
    for (task, spots) in order.iter().zip(&spots).rev() {
        let (left_out, left_out_weight, finish, weighted) = ahead[ahead.len() - 1];
        let weight = u64::from(task.weight);
        ahead.push(match spots.iter().map(|spot| (spot.worked.last().copied().unwrap_or(spot.start) - ask.first).num_days() as u64 + 1).min() {
            Some(first) => (left_out, left_out_weight, finish.max(first), weighted + weight * first),
            None => (left_out + 1, left_out_weight + weight, finish, weighted),
        });
    }
    ahead.reverse();
    let mut walk = Walk { ask, spots, ahead, order, best: None };
    walk.walk(
        0,
        &mut BTreeMap::new(),
        &mut BTreeMap::new(),
        Objective { left_out: 0, left_out_weight: 0, late_weighted_days: 0, finish_days: 0, weighted_days: 0 },
    );
    walk.best.unwrap()
}
