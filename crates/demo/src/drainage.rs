//! Where water runs on a height model: hollows filled to their outlet, one receiver a cell, area drained.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

/// The drainage of a grid whose outer cells are outlets.
pub struct Drainage {
    /// The cell each cell drains to; an outlet drains to itself.
    pub receiver: Vec<usize>,
    /// Cells ordered so that every receiver comes before what drains to it.
    pub upstream_order: Vec<usize>,
    /// Number of cells draining through each cell, itself included.
    pub drained: Vec<f64>,
}

struct Waiting {
    height: f64,
    cell: usize,
}

impl PartialEq for Waiting {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}
impl Eq for Waiting {}
impl PartialOrd for Waiting {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for Waiting {
    fn cmp(&self, other: &Self) -> Ordering {
        other.height.total_cmp(&self.height).then(other.cell.cmp(&self.cell))
    }
}

/// The up to eight neighbours of a cell, with the distance to each in cells.
pub fn neighbours(cell: usize, cols: usize, rows: usize) -> impl Iterator<Item = (usize, f64)> {
    let (c, r) = ((cell % cols) as i64, (cell / cols) as i64);
    [(1, 0), (0, 1), (-1, 0), (0, -1), (1, 1), (-1, 1), (-1, -1), (1, -1)].into_iter().filter_map(move |(dc, dr): (i64, i64)| {
        let (nc, nr) = (c + dc, r + dr);
        let inside = nc >= 0 && nr >= 0 && nc < cols as i64 && nr < rows as i64;
        let far = if dc != 0 && dr != 0 { std::f64::consts::SQRT_2 } else { 1.0 };
        inside.then(|| (nr as usize * cols + nc as usize, far))
    })
}

/// Fill hollows with a slight fall towards their outlet, then send each cell to its steepest neighbour.
pub fn drain(heights: &[f64], cols: usize, rows: usize) -> Drainage {
    const FALL_M: f64 = 1e-5;
    let mut filled = vec![f64::INFINITY; heights.len()];
    let mut heap = BinaryHeap::new();
    for cell in 0..heights.len() {
        let (c, r) = (cell % cols, cell / cols);
        if c == 0 || r == 0 || c + 1 == cols || r + 1 == rows {
            filled[cell] = heights[cell];
            heap.push(Waiting { height: heights[cell], cell });
        }
    }
    let mut done = vec![false; heights.len()];
    let mut upstream_order = Vec::with_capacity(heights.len());
    let mut receiver: Vec<usize> = (0..heights.len()).collect();
    while let Some(Waiting { cell, .. }) = heap.pop() {
        if done[cell] {
            continue;
        }
        done[cell] = true;
        upstream_order.push(cell);
        let edge = { let (c, r) = (cell % cols, cell / cols); c == 0 || r == 0 || c + 1 == cols || r + 1 == rows };
        let mut steepest = 0.0;
        for (near, far) in neighbours(cell, cols, rows) {
            if done[near] {
                let fall = (filled[cell] - filled[near]) / far;
                if !edge && near != cell && fall > steepest {
                    steepest = fall;
                    receiver[cell] = near;
                }
            } else {
                let level = heights[near].max(filled[cell] + FALL_M * far);
                if level < filled[near] {
                    filled[near] = level;
                    heap.push(Waiting { height: level, cell: near });
                }
            }
        }
    }
    let mut drained = vec![1.0; heights.len()];
    for &cell in upstream_order.iter().rev() {
        if receiver[cell] != cell {
            drained[receiver[cell]] += drained[cell];
        }
    }
    Drainage { receiver, upstream_order, drained }
}
