//! Adding up along a network without loops, each cell once all its senders are done, in parallel.
//!
//! The grid is cut into bands of rows. Each band is settled on its own, from its springs downwards: a settled cell pours
//! what it has gathered into its receivers, and goes on to those that wait for nothing more. Water that crosses a band edge
//! is kept until all bands are done, then poured in and followed, mostly down single streams.
//! The bands and the order within them depend on the grid alone, so that the same grid gives the same sums to the last bit.

use std::ops::AddAssign;

use rayon::prelude::*;

/// Rows of one band.
const BAND_ROWS: usize = 256;

/// Stands for the senders still awaited once a cell below a spring is settled; springs keep their 0.
const SETTLED: u8 = u8::MAX;

/// A network: how much of its water a cell sends to which of its eight neighbours.
pub(super) trait Network: Sync {
    /// What is added up.
    type Value: Copy + Send + Sync + Default + AddAssign;

    /// What each cell has of its own.
    const OWN: Self::Value;

    /// Steps (columns east, rows south) to the eight neighbours in the order of their numbers, round the cell.
    const RING: [(isize, isize); 8];

    /// Calls `to` with the number of each receiver and what it gets of the `total` of a cell. Numbers whose bit is not set
    /// in the cell's receivers are passed over.
    fn pour(&self, cell: usize, total: Self::Value, to: impl FnMut(usize, Self::Value));
}

/// Values of all cells; cells in a loop and below it are left at the default.
///
/// `receivers` — for each cell the neighbours it sends to, bit by bit; bits that point off the grid are cleared.
pub(super) fn settle<N: Network>(network: &N, mut receivers: Vec<u8>, cols: usize) -> Vec<N::Value> {
    let n_cells = receivers.len();
    let mut values = vec![N::Value::default(); n_cells];
    if n_cells == 0 {
        return values;
    }
    cut_at_rim(&mut receivers, cols, N::RING);
    let mut waiting: Vec<u8> = vec![0; n_cells];
    let steps = N::RING.map(|(dc, dr)| dr * cols as isize + dc);
    let bands: Vec<(usize, Vec<Crossing<N::Value>>)> = values
        .par_chunks_mut(cols * BAND_ROWS)
        .zip(waiting.par_chunks_mut(cols * BAND_ROWS))
        .enumerate()
        .map(|(band, (values, waiting))| {
            values.fill(N::OWN);
            let first_row = band * BAND_ROWS;
            for (row, waiting) in waiting.chunks_exact_mut(cols).enumerate() {
                count_senders(&receivers, cols, N::RING, first_row + row, waiting);
            }
            let start = first_row * cols;
            let mut part = Part { network, receivers: &receivers, steps, start, values, waiting, n_settled: 0, crossings: Vec::new() };
            part.run();
            (part.n_settled, part.crossings)
        })
        .collect();
    let n_settled = bands.iter().map(|(n, _)| n).sum();
    let mut whole = Part {
        network,
        receivers: &receivers,
        steps,
        start: 0,
        values: &mut values,
        waiting: &mut waiting,
        n_settled,
        crossings: Vec::new(),
    };
    let mut ready = Vec::new();
    for crossing in bands.into_iter().flat_map(|(_, crossings)| crossings) {
        whole.receive(crossing.to, crossing.amount, &mut ready);
        whole.walk(&mut ready);
    }
    if whole.n_settled < n_cells {
        for (value, &waiting) in values.iter_mut().zip(&waiting) {
            if waiting != 0 && waiting != SETTLED {
                *value = N::Value::default();
            }
        }
    }
    values
}

/// Clears the bits that point off the grid.
fn cut_at_rim(receivers: &mut [u8], cols: usize, ring: [(isize, isize); 8]) {
    let without = |off: fn((isize, isize)) -> bool| (0..8).filter(|&k| !off(ring[k])).fold(0_u8, |bits, k| bits | 1 << k);
    let (north, south) = (without(|(_, dr)| dr < 0), without(|(_, dr)| dr > 0));
    let (west, east) = (without(|(dc, _)| dc < 0), without(|(dc, _)| dc > 0));
    let last_row = receivers.len() - cols;
    receivers[..cols].iter_mut().for_each(|bits| *bits &= north);
    receivers[last_row..].iter_mut().for_each(|bits| *bits &= south);
    receivers.iter_mut().step_by(cols).for_each(|bits| *bits &= west);
    receivers[cols - 1..].iter_mut().step_by(cols).for_each(|bits| *bits &= east);
}

/// Adds to each cell of a row the number of neighbours that send to it.
fn count_senders(receivers: &[u8], cols: usize, ring: [(isize, isize); 8], row: usize, counts: &mut [u8]) {
    for (k, (dc, dr)) in ring.into_iter().enumerate() {
        let start = row.wrapping_add_signed(dr).wrapping_mul(cols);
        let Some(senders) = receivers.get(start..start.wrapping_add(cols)) else { continue };
        // The neighbour with number k sends here when the bit opposite to k is set.
        let opposite = (k + 4) % 8;
        let (from, to) = (dc.max(0) as usize, (-dc).max(0) as usize);
        for (count, sender) in counts[to..].iter_mut().zip(&senders[from..]) {
            *count += sender >> opposite & 1;
        }
    }
}

/// Water of a cell settled in one band that goes to another.
struct Crossing<V> {
    to: usize,
    amount: V,
}

/// A run of cells, numbered over the whole grid.
struct Part<'a, N: Network> {
    network: &'a N,
    /// Of the whole grid.
    receivers: &'a [u8],
    steps: [isize; 8],
    /// Number of the first cell.
    start: usize,
    values: &'a mut [N::Value],
    /// Senders not yet settled.
    waiting: &'a mut [u8],
    n_settled: usize,
    crossings: Vec<Crossing<N::Value>>,
}

impl<N: Network> Part<'_, N> {
    fn run(&mut self) {
        let mut ready = Vec::new();
        for k in 0..self.waiting.len() {
            if self.waiting[k] == 0 {
                ready.push(self.start + k);
                self.walk(&mut ready);
            }
        }
    }

    /// Settles the cells of the stack and all that become ready below them.
    #[inline(always)]
    fn walk(&mut self, ready: &mut Vec<usize>) {
        let network = self.network;
        while let Some(cell) = ready.pop() {
            self.n_settled += 1;
            let receivers = self.receivers[cell];
            network.pour(cell, self.values[cell - self.start], |k, amount| {
                if receivers >> k & 1 == 1 {
                    self.receive(cell.wrapping_add_signed(self.steps[k]), amount, ready);
                }
            });
        }
    }

    #[inline(always)]
    fn receive(&mut self, cell: usize, amount: N::Value, ready: &mut Vec<usize>) {
        let k = cell.wrapping_sub(self.start);
        let Some(waiting) = self.waiting.get_mut(k) else {
            self.crossings.push(Crossing { to: cell, amount });
            return;
        };
        self.values[k] += amount;
        *waiting -= 1;
        if *waiting == 0 {
            *waiting = SETTLED;
            ready.push(cell);
        }
    }
}
