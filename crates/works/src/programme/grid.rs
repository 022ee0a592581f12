//! A question made ready: tasks that can be done at all, numbered so that each comes after what it waits for, on numbered days.

use super::ask::{Ask, Lag, Stretch, Task};
use super::pattern::{Pattern, Spot};
use super::window::{Window, open};
use chrono::{Days, Months, NaiveDate};
use std::collections::BTreeMap;

/// One way of sharing a task out to crews.
pub(super) struct Way {
    /// The crew of each need.
    pub crews: Vec<usize>,
    /// Units taken up of each crew, each crew once.
    pub loads: Vec<(usize, u32)>,
    /// Index of its pattern of days.
    pub pattern: usize,
}

/// A task made ready.
pub(super) struct Job {
    /// Index of the task in the question.
    pub task: usize,
    /// Working days.
    pub days: usize,
    /// Jobs it waits for, and how long.
    pub before: Vec<(usize, Lag)>,
    /// Jobs that wait for it, and how long.
    pub after: Vec<(usize, Lag)>,
    /// First day on which it may begin.
    pub earliest: usize,
    /// The morning by which it must have ended.
    pub limit: usize,
    /// The morning by which it should have ended.
    pub wanted: Option<usize>,
    /// Weight.
    pub weight: u64,
    /// What a day's wait for its end counts: its weight, or nothing where it is left to its last season.
    pub day_weight: u64,
    /// Ways of sharing it out.
    pub ways: Vec<Way>,
    /// Where it would lie if no crew were busy: its earliest start and end.
    pub head: Spot,
}

impl Job {
    /// One for a mark in time, which lies on a day and takes none.
    pub fn mark(&self) -> usize {
        usize::from(self.days == 0)
    }
}

/// A question made ready.
pub(super) struct Grid {
    /// First day.
    pub first: NaiveDate,
    /// Number of days.
    pub days: usize,
    /// Days on which a task may begin.
    pub begin: Vec<bool>,
    /// Days that are worked.
    pub worked: Vec<bool>,
    /// Whether each crew is there, by day.
    pub there: Vec<Vec<bool>>,
    /// Units of each crew.
    pub capacity: Vec<u32>,
    /// Patterns of days.
    pub patterns: Vec<Pattern>,
    /// Jobs, each after those it waits for.
    pub jobs: Vec<Job>,
    known: BTreeMap<(Vec<Window>, Stretch, Vec<usize>), usize>,
}

impl Grid {
    /// The days and crews of a question, without jobs.
    pub fn new(ask: &Ask) -> Grid {
        let days = ((ask.last - ask.first).num_days() + 1).max(0) as usize;
        let dates: Vec<NaiveDate> = ask.first.iter_days().take(days).collect();
        Grid {
            first: ask.first,
            days,
            begin: dates.iter().map(|d| ask.calendar.begin.has(*d)).collect(),
            worked: dates.iter().map(|d| ask.calendar.works(*d)).collect(),
            there: ask.crews.iter().map(|crew| dates.iter().map(|d| crew.there(*d)).collect()).collect(),
            capacity: ask.crews.iter().map(|crew| crew.capacity).collect(),
            patterns: vec![],
            jobs: vec![],
            known: BTreeMap::new(),
        }
    }

    /// The date of a numbered day.
    pub fn date(&self, day: usize) -> NaiveDate {
        self.first.checked_add_days(Days::new(day as u64)).unwrap_or(NaiveDate::MAX)
    }

    /// The number of a date, which may be before the first day.
    pub fn day(&self, date: NaiveDate) -> i64 {
        (date - self.first).num_days()
    }

    /// The first morning at or after that of a date.
    pub fn morning(&self, date: NaiveDate) -> usize {
        self.day(date).max(0) as usize
    }

    /// The first morning on which what waits for an end may begin.
    pub fn after(&self, end: usize, lag: Lag) -> usize {
        match lag {
            Lag::Days(days) => end + days as usize,
            Lag::Months(months) => self.morning(self.date(end).checked_add_months(Months::new(months)).unwrap_or(NaiveDate::MAX)),
        }
    }

    /// The last end after which a start is late enough; nothing where there is none.
    pub fn before(&self, start: usize, lag: Lag) -> Option<usize> {
        match lag {
            Lag::Days(days) => start.checked_sub(days as usize),
            Lag::Months(months) => {
                // Months are of unlike length, so the day before the months may be up to three days off.
                let near = self.day(self.date(start).checked_sub_months(Months::new(months))?) + 4;
                (0..=near.max(-1)).rev().map(|end| end as usize).find(|&end| self.after(end, lag) <= start)
            }
        }
    }

    /// The pattern of a task worked by some crews.
    pub fn pattern(&mut self, task: &Task, crews: &[usize]) -> usize {
        let mut windows = task.windows.clone();
        windows.sort();
        let mut away: Vec<usize> = crews.iter().copied().filter(|&c| self.there[c].contains(&false)).collect();
        away.sort();
        away.dedup();
        let key = (windows, task.stretch, away);
        if let Some(&known) = self.known.get(&key) {
            return known;
        }
        let open: Vec<bool> = self.first.iter_days().take(self.days).map(|date| open(&key.0, date)).collect();
        self.patterns.push(Pattern::new(task.stretch, &self.worked, &open, |day| key.2.iter().all(|&c| self.there[c][day])));
        self.known.insert(key, self.patterns.len() - 1);
        self.patterns.len() - 1
    }

    /// The ways of sharing a task out to crews that can do it and are large enough.
    pub fn ways(&mut self, ask: &Ask, task: &Task) -> Vec<Way> {
        let mut shared: Vec<Vec<usize>> = vec![vec![]];
        for need in &task.needs {
            let able = |crew: &usize| ask.crews[*crew].kinds.contains(&need.kind) && ask.crews[*crew].capacity >= need.units;
            let able: Vec<usize> = (0..ask.crews.len()).filter(able).collect();
            shared = shared.iter().flat_map(|crews| able.iter().map(move |crew| crews.iter().copied().chain([*crew]).collect())).collect();
        }
        let mut ways = Vec::new();
        for crews in shared {
            let mut loads: BTreeMap<usize, u32> = BTreeMap::new();
            for (crew, need) in crews.iter().zip(&task.needs) {
                let load = loads.entry(*crew).or_default();
                *load = load.saturating_add(need.units);
            }
            if loads.iter().all(|(crew, units)| ask.crews[*crew].capacity >= *units) {
                let pattern = self.pattern(task, &crews);
                ways.push(Way { crews, loads: loads.into_iter().filter(|(_, units)| *units > 0).collect(), pattern });
            }
        }
        ways
    }

    /// The earliest a job can begin and the earliest it can end, over all ways, from a morning, if no crew is busy.
    pub fn alone(&self, ways: &[Way], days: usize, from: usize, limit: usize) -> Option<Spot> {
        let spots = ways.iter().filter_map(|way| self.patterns[way.pattern].first(from, days, &self.begin)).filter(|spot| spot.end <= limit);
        spots.reduce(|a, b| Spot { start: a.start.min(b.start), end: a.end.min(b.end) })
    }

    /// The morning that stands for a last day: a task has ended on the next morning, a mark in time lies on the day itself.
    pub fn end_of(&self, date: NaiveDate, days: usize) -> Option<usize> {
        usize::try_from(self.day(date) + i64::from(days > 0)).ok()
    }

    /// The last day of a job that ends on a morning.
    pub fn last_day(&self, end: usize, days: usize) -> NaiveDate {
        self.date(if days > 0 { end - 1 } else { end })
    }

    /// Units that some crews have on a day, those that are there: `of` tells what each has.
    pub fn units(&self, crews: &[usize], day: usize, of: impl Fn(usize) -> u64) -> u64 {
        crews.iter().filter(|&&c| self.worked[day] && self.there[c][day]).map(|&c| of(c)).sum()
    }

    /// Whether any day between two days (the first left out) is shut to a task: whether they lie in two of its seasons.
    pub fn shut_between(&self, task: &Task, from: NaiveDate, to: NaiveDate) -> bool {
        from.iter_days().skip(1).take_while(|date| *date <= to).any(|date| !open(&task.windows, date))
    }
}
