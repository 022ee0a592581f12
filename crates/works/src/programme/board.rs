//! Who is taken up on which day, and the spots that are left.

use super::grid::{Grid, Way};
use super::pattern::Spot;

/// The days of all crews.
#[derive(Clone)]
pub(super) struct Board<'g> {
    /// The question.
    pub grid: &'g Grid,
    /// Units left, by crew, then day.
    free: Vec<u32>,
    /// Days looked at so far: what a search costs.
    pub steps: u64,
}

impl<'g> Board<'g> {
    /// A board with nothing on it.
    pub fn new(grid: &'g Grid) -> Board<'g> {
        Board { grid, free: grid.capacity.iter().flat_map(|units| std::iter::repeat_n(*units, grid.days)).collect(), steps: 0 }
    }

    /// Takes everything off.
    pub fn clear(&mut self) {
        for (crew, units) in self.grid.capacity.iter().enumerate() {
            self.free[crew * self.grid.days..][..self.grid.days].fill(*units);
        }
    }

    fn fits(&self, way: &Way, day: u32) -> bool {
        way.loads.iter().all(|(crew, units)| self.free[crew * self.grid.days + day as usize] >= *units)
    }

    /// The first spot for a job that begins on `from` or later and has ended by `limit`.
    pub fn first(&mut self, job: usize, way: usize, from: usize, limit: usize) -> Option<Spot> {
        let (grid, job) = (self.grid, &self.grid.jobs[job]);
        let way = &job.ways[way];
        let pattern = &grid.patterns[way.pattern];
        let mut from = from;
        loop {
            self.steps += 1;
            let spot = pattern.first(from, job.days, &grid.begin).filter(|spot| spot.end <= limit)?;
            if way.loads.is_empty() || job.days == 0 {
                return Some(spot);
            }
            let worked = pattern.worked(spot.start, job.days);
            // Every spot that begins between here and the last day that is taken would lie over that day too.
            match worked.iter().rposition(|&day| !self.fits(way, day)) {
                Some(at) => {
                    self.steps += (worked.len() - at) as u64;
                    from = worked[at] as usize + 1;
                }
                None => {
                    self.steps += worked.len() as u64;
                    return Some(spot);
                }
            }
        }
    }

    /// The last spot for a job that begins on `from` or later and has ended by `end`.
    pub fn last(&mut self, job: usize, way: usize, from: usize, end: usize) -> Option<Spot> {
        let (grid, job) = (self.grid, &self.grid.jobs[job]);
        let way = &job.ways[way];
        let pattern = &grid.patterns[way.pattern];
        let mut end = end;
        loop {
            self.steps += 1;
            let spot = pattern.last(end, job.days, &grid.begin).filter(|spot| spot.start >= from)?;
            if way.loads.is_empty() || job.days == 0 {
                return Some(spot);
            }
            let worked = pattern.worked(spot.start, job.days);
            match worked.iter().position(|&day| !self.fits(way, day)) {
                Some(at) => {
                    self.steps += at as u64 + 1;
                    end = worked[at] as usize;
                }
                None => {
                    self.steps += worked.len() as u64;
                    return Some(spot);
                }
            }
        }
    }

    /// Units a crew has left on a day, whether it is there or not.
    pub fn left(&self, crew: usize, day: usize) -> u64 {
        u64::from(self.free[crew * self.grid.days + day])
    }

    /// Puts a job on the board.
    pub fn put(&mut self, job: usize, way: usize, start: usize) {
        let grid = self.grid;
        let way = &grid.jobs[job].ways[way];
        self.change(way, grid.patterns[way.pattern].worked(start, grid.jobs[job].days), |free, units| free.saturating_sub(units));
    }

    /// Takes a job off the board.
    pub fn take(&mut self, job: usize, way: usize, start: usize) {
        let grid = self.grid;
        let way = &grid.jobs[job].ways[way];
        self.change(way, grid.patterns[way.pattern].worked(start, grid.jobs[job].days), |free, units| free + units);
    }

    /// Takes crews up on given days, as far as they have anyone left.
    pub fn hold(&mut self, way: &Way, days: &[u32]) {
        self.change(way, days, |free, units| free.saturating_sub(units));
    }

    fn change(&mut self, way: &Way, days: &[u32], new: impl Fn(u32, u32) -> u32) {
        for (crew, units) in &way.loads {
            let row = &mut self.free[crew * self.grid.days..][..self.grid.days];
            for &day in days {
                row[day as usize] = new(row[day as usize], *units);
            }
        }
        self.steps += days.len() as u64;
    }
}
