//! The days on which a task with given windows and crews can be worked, counted through once so that spots are found quickly.

use super::ask::Stretch;

/// Days are numbered from the first day of the programme.
pub(super) struct Pattern {
    /// How many workable days come before each day, and before the end.
    rank: Vec<u32>,
    /// The workable days.
    day_of: Vec<u32>,
    /// The first day from each on that breaks a task done in one go; the number of days where there is none.
    broken_at: Vec<u32>,
}

/// Where a task lies: from the morning of `start` to the morning of `end`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Spot {
    pub start: usize,
    pub end: usize,
}

impl Pattern {
    /// From what holds on each day: worked by the calendar, open to the task, all its crews there.
    pub fn new(stretch: Stretch, worked: &[bool], open: &[bool], there: impl Fn(usize) -> bool) -> Pattern {
        let days = worked.len();
        let (mut rank, mut day_of, mut broken_at) = (Vec::with_capacity(days + 1), Vec::new(), vec![days as u32; days + 1]);
        for day in 0..days {
            rank.push(day_of.len() as u32);
            if worked[day] && (stretch == Stretch::Whole || (open[day] && there(day))) {
                day_of.push(day as u32);
            }
        }
        rank.push(day_of.len() as u32);
        if stretch == Stretch::Whole {
            for day in (0..days).rev() {
                let breaks = !open[day] || (worked[day] && !there(day));
                broken_at[day] = if breaks { day as u32 } else { broken_at[day + 1] };
            }
        }
        Pattern { rank, day_of, broken_at }
    }

    /// Whether work can be done on a day.
    pub fn workable(&self, day: usize) -> bool {
        self.rank[day + 1] > self.rank[day] && self.broken_at[day] as usize > day
    }

    /// The days worked of a task that begins on workable day `start`.
    pub fn worked(&self, start: usize, days: usize) -> &[u32] {
        let rank = self.rank[start] as usize;
        &self.day_of[rank..(rank + days).min(self.day_of.len())]
    }

    /// The first spot that begins on `from` or later, whatever else is going on. `begin` says on which days a task may begin.
    pub fn first(&self, from: usize, days: usize, begin: &[bool]) -> Option<Spot> {
        let mut from = from;
        while from < begin.len() {
            let rank = self.rank[from] as usize;
            let start = *self.day_of.get(rank)? as usize;
            if !begin[start] {
                from = start + 1;
                continue;
            }
            let last = if days == 0 { start } else { *self.day_of.get(rank + days - 1)? as usize };
            let broken = self.broken_at[start] as usize;
            if last < broken {
                return Some(Spot { start, end: if days == 0 { start } else { last + 1 } });
            }
            from = broken + 1;
        }
        None
    }

    /// The last spot that ends on morning `end` or before, whatever else is going on.
    pub fn last(&self, end: usize, days: usize, begin: &[bool]) -> Option<Spot> {
        // A mark in time may fall on the day of `end` itself.
        let before = if days == 0 { (end + 1).min(begin.len()) } else { end.min(begin.len()) };
        let mut rank = (self.rank[before] as usize).checked_sub(days.max(1))?;
        loop {
            let start = self.day_of[rank] as usize;
            let last = if days == 0 { start } else { self.day_of[rank + days - 1] as usize };
            if begin[start] && last < self.broken_at[start] as usize {
                return Some(Spot { start, end: if days == 0 { start } else { last + 1 } });
            }
            rank = rank.checked_sub(1)?;
        }
    }

    /// The fewest calendar days any spot takes up; nothing where there is none.
    pub fn least_span(&self, days: usize) -> Option<usize> {
        if days == 0 {
            return Some(0);
        }
        self.day_of.windows(days).map(|worked| (worked[days - 1] - worked[0]) as usize + 1).min()
    }
}
