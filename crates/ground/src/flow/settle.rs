//! Adding up along a network without loops, each cell once all its senders are done, in parallel.
//!
//! The grid is cut into bands of rows. Each band is settled on its own; a cell waiting for water from another band stays
//! open. What is left afterwards are the cells below a band edge, mostly single streams, settled one by one.
//! The answer does not depend on the cut: each cell is worked out once, from its senders in a fixed order.

use rayon::prelude::*;

/// Rows of one band.
const BAND_ROWS: usize = 256;

/// A network: who sends to whom, and how a cell is worked out from its senders.
pub(super) trait Network: Sync {
    /// What is added up.
    type Value: Copy + Send + Sync + Default;

    /// Number of neighbours that send to the cell.
    fn n_senders(&self, col: usize, row: usize) -> u8;

    /// Calls `to` with each cell that receives from this one.
    fn receivers(&self, col: usize, row: usize, to: impl FnMut(usize, usize));

    /// The value of a cell, `at` giving the values of its senders; the same order of adding every time.
    fn value(&self, col: usize, row: usize, at: impl Fn(usize, usize) -> Self::Value) -> Self::Value;
}

/// A cell settled in one band whose water crosses into another.
type Crossing = (usize, usize);

/// Values of all cells.
pub(super) fn settle<N: Network>(network: &N, cols: usize, rows: usize) -> Vec<N::Value> {
    let mut values = vec![N::Value::default(); cols * rows];
    if cols == 0 {
        return values;
    }
    let mut waiting: Vec<u8> = vec![0; cols * rows];
    let crossings: Vec<Vec<Crossing>> = values
        .par_chunks_mut(cols * BAND_ROWS)
        .zip(waiting.par_chunks_mut(cols * BAND_ROWS))
        .enumerate()
        .map(|(band, (values, waiting))| {
            let first_row = band * BAND_ROWS;
            let mut part = Part { network, cols, first_row, values, waiting, crossings: Vec::new() };
            part.run();
            part.crossings
        })
        .collect();
    let mut whole = Part { network, cols, first_row: 0, values: &mut values, waiting: &mut waiting, crossings: Vec::new() };
    for (col, row) in crossings.into_iter().flatten() {
        whole.cross(col, row);
    }
    values
}

struct Part<'a, N: Network> {
    network: &'a N,
    cols: usize,
    first_row: usize,
    values: &'a mut [N::Value],
    /// Senders not yet settled.
    waiting: &'a mut [u8],
    crossings: Vec<Crossing>,
}

impl<N: Network> Part<'_, N> {
    fn rows(&self) -> usize {
        self.waiting.len() / self.cols
    }

    fn index(&self, col: usize, row: usize) -> usize {
        (row - self.first_row) * self.cols + col
    }

    fn holds(&self, row: usize) -> bool {
        row >= self.first_row && row - self.first_row < self.rows()
    }

    fn run(&mut self) {
        let last_row = self.first_row + self.rows();
        let mut springs = Vec::new();
        for row in self.first_row..last_row {
            for col in 0..self.cols {
                let k = self.index(col, row);
                self.waiting[k] = self.network.n_senders(col, row);
            }
        }
        for row in self.first_row..last_row {
            for col in 0..self.cols {
                // 255 marks the settled, which the walk down from another spring may reach before this loop does.
                if self.waiting[self.index(col, row)] == 0 {
                    springs.push((col, row));
                    self.walk(&mut springs);
                }
            }
        }
    }

    /// Settles the cells of the stack and all that become ready below them.
    fn walk(&mut self, ready: &mut Vec<(usize, usize)>) {
        while let Some((col, row)) = ready.pop() {
            let k = self.index(col, row);
            let (cols, first_row) = (self.cols, self.first_row);
            let values = &*self.values;
            let value = self.network.value(col, row, |c, r| values[(r - first_row) * cols + c]);
            self.values[k] = value;
            self.waiting[k] = u8::MAX;
            let mut crosses = false;
            let network = self.network;
            network.receivers(col, row, |c, r| {
                if self.holds(r) {
                    let k = self.index(c, r);
                    self.waiting[k] -= 1;
                    if self.waiting[k] == 0 {
                        ready.push((c, r));
                    }
                } else {
                    crosses = true;
                }
            });
            if crosses {
                self.crossings.push((col, row));
            }
        }
    }

    /// Hands the water of a settled cell over the band edge. Called on the whole grid.
    fn cross(&mut self, col: usize, row: usize) {
        let mut ready = Vec::new();
        let network = self.network;
        let band = row / BAND_ROWS;
        network.receivers(col, row, |c, r| {
            // The receivers inside the band were told when the cell was settled.
            if r / BAND_ROWS != band {
                let k = self.index(c, r);
                self.waiting[k] -= 1;
                if self.waiting[k] == 0 {
                    ready.push((c, r));
                }
            }
        });
        self.walk(&mut ready);
    }
}
