//! Filling pits, so that water from every cell can reach the rim.
//!
//! Flood from the rim inwards, always from the lowest place reached so far: a cell lower than the water that reaches it is
//! raised to it. Slopes that rise from a flooded cell are climbed at once, without waiting in the queue. Variant: cells
//! beside a missing cell are outlets like the rim; filled pits come out level (no gradient is put on them).
//! Heights are only ever raised, and to a height that occurs in the grid.
//!
//! Sources: Barnes, Lehman & Mulla 2014, Computers & Geosciences 62:117-127; Zhou, Sun & Fu 2016, Computers & Geosciences
//! 90:87-96 (climbing); Ahuja et al. 1990, Journal of the ACM 37:213-223 (the queue); all from memory.

use crate::Grid;

/// Heights [m] with all pits filled; `NaN` stays missing.
pub fn fill(heights: &Grid<f32>) -> Grid<f32> {
    let (cols, rows) = (heights.frame.cols, heights.frame.rows);
    if cols == 0 || rows == 0 {
        return heights.clone();
    }
    let mut flood = Flood::new(heights);
    flood.seed();
    flood.run();
    let cells = flood.level.chunks_exact(flood.width).skip(1).take(rows).flat_map(|row| &row[1..=cols]).copied().collect();
    Grid { frame: heights.frame, cells }
}

struct Flood {
    /// Columns with a border cell on both sides.
    width: usize,
    /// Heights with a border all round, raised as the flood goes on.
    level: Vec<f32>,
    /// Reached, missing, or border.
    done: Vec<bool>,
    queue: RadixQueue,
    /// Cells reached from lower ground, whose higher neighbours can be climbed at once.
    climbing: Vec<u32>,
    /// Cells under water at the present level.
    drowned: Vec<u32>,
}

impl Flood {
    fn new(heights: &Grid<f32>) -> Self {
        let (cols, rows) = (heights.frame.cols, heights.frame.rows);
        let width = cols + 2;
        let mut level = vec![f32::NAN; width * (rows + 2)];
        for (row, from) in heights.cells.chunks_exact(cols).enumerate() {
            let start = (row + 1) * width + 1;
            level[start..start + cols].copy_from_slice(from);
        }
        let done = level.iter().map(|h| h.is_nan()).collect();
        Self { width, level, done, queue: RadixQueue::default(), climbing: Vec::new(), drowned: Vec::new() }
    }

    fn neighbours(&self, cell: usize) -> [usize; 8] {
        let w = self.width;
        [cell - w - 1, cell - w, cell - w + 1, cell - 1, cell + 1, cell + w - 1, cell + w, cell + w + 1]
    }

    /// Queues the outlets: cells beside the border or a missing cell.
    fn seed(&mut self) {
        let inner = self.width + 1..self.level.len() - self.width - 1;
        let outlets: Vec<usize> =
            inner.filter(|&k| !self.done[k] && self.neighbours(k).iter().any(|&n| self.level[n].is_nan())).collect();
        for cell in outlets {
            self.done[cell] = true;
            self.queue.push(key(self.level[cell]), cell as u32);
        }
    }

    fn run(&mut self) {
        while let Some(cell) = self.queue.pop() {
            let water = self.level[cell as usize];
            self.spread(cell, water);
            while let Some(cell) = self.drowned.pop() {
                self.spread(cell, water);
            }
            while let Some(cell) = self.climbing.pop() {
                self.climb(cell);
            }
        }
    }

    /// Reaches all neighbours of a cell from water at one level.
    fn spread(&mut self, cell: u32, water: f32) {
        for n in self.neighbours(cell as usize) {
            if self.done[n] {
                continue;
            }
            self.done[n] = true;
            if self.level[n] > water {
                self.climbing.push(n as u32);
            } else {
                self.level[n] = water;
                self.drowned.push(n as u32);
            }
        }
    }

    /// Reaches the higher neighbours of a dry cell; if any is lower, the cell waits its turn in the queue.
    fn climb(&mut self, cell: u32) {
        let here = self.level[cell as usize];
        let mut waits = false;
        for n in self.neighbours(cell as usize) {
            if self.done[n] {
                continue;
            }
            if self.level[n] > here {
                self.done[n] = true;
                self.climbing.push(n as u32);
            } else {
                waits = true;
            }
        }
        if waits {
            self.queue.push(key(here), cell);
        }
    }
}

/// Whole numbers in the same order as heights.
fn key(height: f32) -> u32 {
    let bits = (height + 0.0).to_bits();
    if bits >> 31 == 1 { !bits } else { bits | 1 << 31 }
}

/// A queue that hands out the least key, for keys never less than the last one handed out.
///
/// Keys wait in buckets by the highest bit in which they differ from the last one handed out.
struct RadixQueue {
    last: u32,
    buckets: [Vec<(u32, u32)>; 33],
}

impl Default for RadixQueue {
    fn default() -> Self {
        Self { last: 0, buckets: std::array::from_fn(|_| Vec::new()) }
    }
}

impl RadixQueue {
    fn push(&mut self, key: u32, cell: u32) {
        let bucket = 32 - (key ^ self.last).leading_zeros();
        self.buckets[bucket as usize].push((key, cell));
    }

    fn pop(&mut self) -> Option<u32> {
        if self.buckets[0].is_empty() {
            let first = self.buckets.iter().position(|b| !b.is_empty())?;
            let waiting = std::mem::take(&mut self.buckets[first]);
            self.last = waiting.iter().map(|&(key, _)| key).min()?;
            for (key, cell) in waiting {
                self.push(key, cell);
            }
        }
        self.buckets[0].pop().map(|(_, cell)| cell)
    }
}
