//! Questions drawn from a seed.

use chrono::{Datelike, Days as Add, NaiveDate};
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;
use std::collections::BTreeSet;
use works::programme::*;

/// A date of a text.
pub fn date(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

fn month_day(date: NaiveDate) -> (u32, u32) {
    (date.month(), date.day())
}

/// A few tasks on a few weeks, with everything a programme knows of. Some are drawn over a new year or the end of February.
pub fn small(seed: u64) -> Ask {
    let mut rng = Pcg64::seed_from_u64(seed);
    let first = date(["2026-01-05", "2026-12-20", "2027-02-15", "2028-02-15"][rng.random_range(0..4)]);
    let days: u64 = rng.random_range(18..34);
    let day = |n: u64| first.checked_add_days(Add::new(n)).unwrap();
    let kinds = ["cut", "dig"];
    let mut calendar = Calendar::default();
    if rng.random_range(0..2) == 0 {
        calendar.worked = Weekdays::ALL;
    }
    if rng.random_range(0..5) == 0 {
        calendar.begin = Weekdays([true, false, true, false, true, false, false]);
    }
    if rng.random_range(0..2) == 0 {
        calendar.holidays = BTreeSet::from([day(rng.random_range(0..days))]);
    }
    let mut crews = Vec::new();
    for c in 0..rng.random_range(1..=3) {
        let mut crew = Crew { id: format!("crew{c}"), kinds: BTreeSet::new(), capacity: rng.random_range(1..=2), there: vec![], away: vec![] };
        crew.kinds.insert(kinds[rng.random_range(0..2)].into());
        if rng.random_range(0..2) == 0 {
            crew.kinds.insert(kinds[rng.random_range(0..2)].into());
        }
        if rng.random_range(0..3) == 0 {
            let off = rng.random_range(0..days - 3);
            crew.away.push(Days { first: day(off), last: day(off + rng.random_range(0..4)) });
        }
        if rng.random_range(0..6) == 0 {
            crew.there.push(Window::new(month_day(day(rng.random_range(0..5))), month_day(day(days - rng.random_range(2..9)))));
        }
        crews.push(crew);
    }
    let mut tasks: Vec<Task> = Vec::new();
    for t in 0..rng.random_range(3..=5) {
        let mut task = Task::new(&format!("task{t}"), rng.random_range(0..=5));
        task.weight = rng.random_range(0..4);
        if rng.random_range(0..3) == 0 {
            task.stretch = Stretch::Broken;
        }
        for _ in 0..[0, 1, 1, 2][rng.random_range(0..4)] {
            let from = rng.random_range(0..days - 5);
            task.windows.push(Window::new(month_day(day(from)), month_day(day(from + rng.random_range(3..14)))));
        }
        for before in 0..t {
            if rng.random_range(0..4) == 0 {
                let lag = if rng.random_range(0..12) == 0 { Lag::Months(1) } else { Lag::Days(rng.random_range(0..4)) };
                task.after.push(After { task: format!("task{before}"), lag });
            }
        }
        if rng.random_range(0..5) == 0 {
            task.earliest = Some(day(rng.random_range(0..days / 2)));
        }
        if rng.random_range(0..3) == 0 {
            task.latest = Some(Deadline { date: day(rng.random_range(3..days)), hard: rng.random_range(0..2) == 0 });
        }
        for _ in 0..[0, 1, 1, 1, 2][rng.random_range(0..5)] {
            task.needs.push(Need { kind: kinds[rng.random_range(0..2)].into(), units: rng.random_range(1..=2) });
        }
        tasks.push(task);
    }
    // Now and then more than crews can do by a day that stands fast.
    if rng.random_range(0..4) == 0 {
        for task in &mut tasks {
            task.latest = Some(Deadline { date: day(rng.random_range(5..14)), hard: true });
            task.needs = vec![Need { kind: kinds[0].into(), units: 1 }];
            task.windows = vec![];
        }
        crews.truncate(1);
        crews[0] = Crew { kinds: BTreeSet::from([kinds[0].into()]), capacity: 1, ..crews[0].clone() };
    }
    // What waits may stand before what it waits for.
    if rng.random_range(0..2) == 0 {
        tasks.reverse();
    }
    Ask { first, last: day(days - 1), calendar, crews, tasks }
}

/// Five tasks that two or three crews share, some of them alike, on a few weeks: what the search cuts off is put to the proof.
pub fn shared(seed: u64) -> Ask {
    let mut rng = Pcg64::seed_from_u64(seed);
    let mut ask = small(seed);
    ask.first = date("2027-03-01");
    let day = |n: u64| date("2027-03-01").checked_add_days(Add::new(n)).unwrap();
    ask.last = day(16);
    ask.calendar = Calendar { worked: Weekdays([true, true, true, true, true, true, false]), ..Calendar::default() };
    let alike = Crew { id: "A".into(), kinds: BTreeSet::from(["cut".into()]), capacity: 1, there: vec![], away: vec![] };
    let mut other = Crew { id: "C".into(), kinds: BTreeSet::from(["cut".into(), "dig".into()]), ..alike.clone() };
    let off = rng.random_range(0..12);
    other.away.push(Days { first: day(off), last: day(off + 1) });
    ask.crews = vec![alike.clone(), Crew { id: "B".into(), ..alike }, other];
    if rng.random_range(0..2) == 0 {
        ask.crews.remove(rng.random_range(0..2));
    }
    ask.tasks = (0..5).map(|t| Task::new(&format!("task{t}"), rng.random_range(1..=4))).collect();
    for t in 0..5 {
        let task = &mut ask.tasks[t];
        task.weight = rng.random_range(1..6);
        task.stretch = [Stretch::Whole, Stretch::Broken][rng.random_range(0..2)];
        task.needs = vec![Need { kind: ["cut", "cut", "dig"][rng.random_range(0..3)].into(), units: 1 }];
        if t > 0 && rng.random_range(0..2) == 0 {
            task.after = vec![After { task: format!("task{}", rng.random_range(0..t)), lag: Lag::Days(rng.random_range(0..8)) }];
        }
        if rng.random_range(0..4) == 0 {
            let from = rng.random_range(0..9);
            task.windows = vec![Window::new(month_day(day(from)), month_day(day(from + rng.random_range(4..9))))];
        }
        if rng.random_range(0..4) == 0 {
            task.latest = Some(Deadline { date: day(rng.random_range(4..12)), hard: rng.random_range(0..3) == 0 });
        }
    }
    ask
}

/// Many tasks over years: works of an upland estate, with closed seasons, crews of several kinds and what waits for what.
pub fn large(seed: u64, tasks: usize, crews: usize, years: i32) -> Ask {
    let mut rng = Pcg64::seed_from_u64(seed);
    let first = date("2027-01-01");
    let kinds = ["fence", "plant", "dam", "cut"];
    let seasons: [&[Window]; 5] = [
        &[],
        &[Window::new((8, 1), (3, 31))],
        &[Window::new((11, 1), (4, 30))],
        &[Window::new((9, 1), (3, 15))],
        &[Window::new((10, 1), (12, 20)), Window::new((1, 5), (4, 15))],
    ];
    let crews = (0..crews).map(|c| Crew {
        id: format!("crew{c}"),
        kinds: BTreeSet::from([kinds[c % 4].into(), kinds[(c / 2 + 1) % 4].into()]),
        capacity: 1 + (c % 3) as u32,
        there: vec![],
        away: (0..years).map(|y| Days { first: date(&format!("{}-12-24", 2027 + y)), last: date(&format!("{}-01-04", 2028 + y)) }).collect(),
    });
    let mut made: Vec<Task> = Vec::new();
    for t in 0..tasks {
        let mut task = Task::new(&format!("task{t:03}"), rng.random_range(2..=25));
        task.windows = seasons[rng.random_range(0..5)].to_vec();
        task.weight = rng.random_range(1..5);
        if rng.random_range(0..4) == 0 {
            task.stretch = Stretch::Broken;
        }
        if t > 0 && rng.random_range(0..3) == 0 {
            let before = rng.random_range(t.saturating_sub(40)..t);
            task.after.push(After { task: format!("task{before:03}"), lag: if rng.random_range(0..6) == 0 { Lag::Months(3) } else { Lag::Days(0) } });
        }
        if rng.random_range(0..8) == 0 {
            task.earliest = Some(first.checked_add_days(Add::new(rng.random_range(0..365 * years as u64 / 2))).unwrap());
        }
        task.needs.push(Need { kind: kinds[rng.random_range(0..4)].into(), units: 1 });
        made.push(task);
    }
    Ask { first, last: date(&format!("{}-12-31", 2026 + years)), calendar: Calendar::default(), crews: crews.collect(), tasks: made }
}
