//! The linear relaxation of a choice of columns, with a bound that holds however far the arithmetic went.
//!
//! Least cost of columns at amounts 0 to 1 under rows that are met exactly or not exceeded. Method: revised simplex with an explicit
//! inverse, largest price first, Bland's rule once it stands still; a row that must be met begins with a dear make-shift column.
//! Variant: upper limits of 1 are not looked after (rows must imply them). The bound is the Lagrangian one for the prices found:
//! `sum(price * needed) + sum(min(0, reduced cost))`, which is valid for any prices that are not above nought on rows that may
//! stay short; rounding therefore cannot make it claim too much beyond the last digits of the sums.
//!
//! Source: Chvatal 1983, Linear Programming, ch. 7 (revised simplex), ch. 3 (Bland); from memory.

const TINY: f64 = 1e-9;

/// Rows and columns.
#[derive(Clone, Debug, Default)]
pub(super) struct Program {
    /// What each row needs, nought or more.
    pub(super) needed: Vec<f64>,
    /// Whether the row must be met exactly; others must not be exceeded.
    pub(super) exact: Vec<bool>,
    begins: Vec<usize>,
    entries: Vec<(usize, f64)>,
}

/// What came of it.
#[derive(Clone, Debug)]
pub(super) struct Relaxed {
    /// Columns above nought with their amounts.
    pub(super) amounts: Vec<(usize, f64)>,
    /// No choice costs less.
    pub(super) bound: f64,
    /// Nothing costs less than these amounts.
    pub(super) done: bool,
    /// What to begin a like program from.
    pub(super) basis: Vec<usize>,
}

impl Program {
    pub(super) fn row(&mut self, needed: f64, exact: bool) -> usize {
        self.needed.push(needed);
        self.exact.push(exact);
        self.needed.len() - 1
    }

    pub(super) fn column(&mut self, entries: &[(usize, f64)]) -> usize {
        self.begins.push(self.entries.len());
        self.entries.extend_from_slice(entries);
        self.begins.len() - 1
    }

    pub(super) fn columns(&self) -> usize {
        self.begins.len()
    }

    pub(super) fn of(&self, column: usize) -> &[(usize, f64)] {
        let end = self.begins.get(column + 1).copied().unwrap_or(self.entries.len());
        &self.entries[self.begins[column]..end]
    }

    /// The relaxation without the columns that are `shut`. `dear` is the cost of leaving one row unmet. What it takes in single
    /// sums is taken off `work`; at nought it ends.
    pub(super) fn relax(&self, cost: &[f64], shut: &[bool], begin: &[usize], dear: f64, work: &mut u64) -> Relaxed {
        let mut state = State::new(self, cost, shut, dear, begin);
        let done = state.run(*work);
        *work = work.saturating_sub(state.sums);
        state.read(done)
    }
}

struct State<'a> {
    program: &'a Program,
    cost: &'a [f64],
    shut: &'a [bool],
    dear: f64,
    /// Column of each place; from the number of columns on, a row's own.
    basis: Vec<usize>,
    within: Vec<bool>,
    inverse: Vec<Vec<f64>>,
    amounts: Vec<f64>,
    /// Single sums made.
    sums: u64,
}

impl<'a> State<'a> {
    fn new(program: &'a Program, cost: &'a [f64], shut: &'a [bool], dear: f64, begin: &[usize]) -> Self {
        let (rows, columns) = (program.needed.len(), program.columns());
        let mut state =
            Self { program, cost, shut, dear, basis: begin.to_vec(), within: vec![], inverse: vec![], amounts: vec![], sums: 0 };
        if begin.len() != rows || !state.refresh() || state.amounts.iter().any(|x| *x < -1e-6) {
            state.basis = (columns..columns + rows).collect();
            state.refresh();
        }
        state.within = vec![false; columns + rows];
        for &b in &state.basis {
            state.within[b] = true;
        }
        state
    }

    /// The inverse and the amounts, from the basis; `false` where its columns depend on each other.
    fn refresh(&mut self) -> bool {
        let n = self.basis.len();
        let columns = self.program.columns();
        let mut wide = vec![vec![0.0; 2 * n]; n];
        for (place, &b) in self.basis.iter().enumerate() {
            if b < columns {
                for &(row, amount) in self.program.of(b) {
                    wide[row][place] += amount;
                }
            } else {
                wide[b - columns][place] = 1.0;
            }
            wide[place][n + place] = 1.0;
        }
        for at in 0..n {
            let Some(pivot) = (at..n).max_by(|a, b| wide[*a][at].abs().total_cmp(&wide[*b][at].abs())) else { return false };
            if wide[pivot][at].abs() < 1e-8 {
                return false;
            }
            wide.swap(at, pivot);
            let by = wide[at][at];
            wide[at][at..].iter_mut().for_each(|x| *x /= by);
            let line = wide[at].clone();
            for (row, other) in wide.iter_mut().enumerate() {
                let times = other[at];
                if row != at && times != 0.0 {
                    self.sums += 2 * n as u64;
                    other[at..].iter_mut().zip(&line[at..]).for_each(|(x, y)| *x -= times * y);
                }
            }
        }
        self.inverse = wide.into_iter().map(|row| row[n..].to_vec()).collect();
        self.amounts = self.inverse.iter().map(|row| row.iter().zip(&self.program.needed).map(|(a, b)| a * b).sum()).collect();
        true
    }

    fn cost_of(&self, column: usize) -> f64 {
        let columns = self.program.columns();
        match column {
            c if c < columns => if self.shut[c] { self.dear } else { self.cost[c] },
            c if self.program.exact[c - columns] => self.dear,
            _ => 0.0,
        }
    }

    fn prices(&self) -> Vec<f64> {
        let mut prices = vec![0.0; self.basis.len()];
        for (line, &b) in self.inverse.iter().zip(&self.basis) {
            let cost = self.cost_of(b);
            if cost != 0.0 {
                prices.iter_mut().zip(line).for_each(|(p, x)| *p += cost * x);
            }
        }
        prices
    }

    fn reduced(&self, column: usize, prices: &[f64]) -> f64 {
        self.cost[column] - self.program.of(column).iter().map(|(row, amount)| prices[*row] * amount).sum::<f64>()
    }

    /// The column that comes in: the best priced, or the first that is priced well at all.
    fn incoming(&self, prices: &[f64], first: bool) -> Option<usize> {
        let columns = self.program.columns();
        let open = (0..columns).filter(|c| !self.shut[*c] && !self.within[*c]).map(|c| (c, self.reduced(c, prices)));
        let slack = (0..self.basis.len()).filter(|r| !self.program.exact[*r] && !self.within[columns + r]).map(|r| (columns + r, -prices[r]));
        let scale = 1.0 + prices.iter().fold(0.0, |most: f64, p| most.max(p.abs())) * 1e-6;
        let mut good = open.chain(slack).filter(|(_, price)| *price < -TINY * scale);
        if first { good.next().map(|(c, _)| c) } else { good.min_by(|a, b| a.1.total_cmp(&b.1)).map(|(c, _)| c) }
    }

    /// How the amounts of the basis fall as a column comes in.
    fn falls(&self, column: usize) -> Vec<f64> {
        let columns = self.program.columns();
        match column {
            c if c < columns => {
                let entries = self.program.of(c);
                self.inverse.iter().map(|line| entries.iter().map(|(row, amount)| line[*row] * amount).sum()).collect()
            }
            c => self.inverse.iter().map(|line| line[c - columns]).collect(),
        }
    }

    /// Whether it came to the end.
    fn run(&mut self, work: u64) -> bool {
        let rows = self.basis.len();
        let step = (rows * rows + self.program.entries.len()) as u64;
        let (mut still, mut steps) = (0, 0);
        while self.sums < work {
            self.sums += step;
            let prices = self.prices();
            let Some(column) = self.incoming(&prices, still > rows + 20) else { return true };
            let falls = self.falls(column);
            let ratio = |i: &usize| self.amounts[*i].max(0.0) / falls[*i];
            let firm = |i: &usize| falls[*i] > 1e-7;
            let Some(least) = (0..rows).filter(firm).map(|i| ratio(&i)).min_by(f64::total_cmp) else { return false };
            let tied = (0..rows).filter(firm).filter(|i| ratio(i) <= least + TINY);
            let out = if still > rows + 20 {
                tied.min_by_key(|i| self.basis[*i])
            } else {
                tied.max_by(|a, b| falls[*a].total_cmp(&falls[*b]))
            };
            let Some(out) = out else { return false };
            still = if least > TINY { 0 } else { still + 1 };
            self.within[self.basis[out]] = false;
            self.within[column] = true;
            self.basis[out] = column;
            self.pivot(out, &falls, least);
            steps += 1;
            if steps % 100 == 0 && !self.refresh() {
                return false;
            }
        }
        false
    }

    fn pivot(&mut self, out: usize, falls: &[f64], amount: f64) {
        let by = falls[out];
        let line: Vec<f64> = self.inverse[out].iter().map(|x| x / by).collect();
        for (i, row) in self.inverse.iter_mut().enumerate() {
            if i != out && falls[i] != 0.0 {
                self.sums += line.len() as u64;
                row.iter_mut().zip(&line).for_each(|(x, y)| *x -= falls[i] * y);
                self.amounts[i] -= falls[i] * amount;
            }
        }
        self.inverse[out] = line;
        self.amounts[out] = amount;
    }

    fn read(self, done: bool) -> Relaxed {
        let columns = self.program.columns();
        let mut prices = self.prices();
        for (price, _) in prices.iter_mut().zip(&self.program.exact).filter(|(_, exact)| !**exact) {
            *price = price.min(0.0);
        }
        let met: f64 = prices.iter().zip(&self.program.needed).map(|(p, n)| p * n).sum();
        let short: f64 = (0..columns).filter(|c| !self.shut[*c]).map(|c| self.reduced(c, &prices).min(0.0)).sum();
        let open = |c: usize| c < columns && !self.shut[c];
        let placed = self.basis.iter().copied().zip(self.amounts.iter().copied());
        let mut amounts: Vec<(usize, f64)> = placed.filter(|(c, x)| open(*c) && *x > 1e-7).collect();
        amounts.sort_unstable_by_key(|(c, _)| *c);
        Relaxed { amounts, bound: met + short, done, basis: self.basis }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Dantzig's product mix as taught from Hillier & Lieberman, ch. 3 (from memory): most of 3x + 5y with x <= 4, 2y <= 12,
    /// 3x + 2y <= 18 is 36 at x = 2, y = 6. Here as least cost; the amounts go beyond 1, so only they are looked at.
    #[test]
    fn a_printed_program_comes_out() {
        let mut program = Program::default();
        let rows = [4.0, 12.0, 18.0].map(|needed| program.row(needed, false));
        program.column(&[(rows[0], 1.0), (rows[2], 3.0)]);
        program.column(&[(rows[1], 2.0), (rows[2], 2.0)]);
        let relaxed = program.relax(&[-3.0, -5.0], &[false; 2], &[], 1e3, &mut 1_000_000);
        let amount = |column: usize| relaxed.amounts.iter().find(|(c, _)| *c == column).map(|(_, x)| *x).unwrap();
        assert!(relaxed.done && (amount(0) - 2.0).abs() < 1e-9 && (amount(1) - 6.0).abs() < 1e-9, "{relaxed:?}");
        assert!((relaxed.bound + 36.0).abs() < 1e-9, "{relaxed:?}");
    }

    #[test]
    fn a_bound_holds_when_the_work_ends_early() {
        let mut program = Program::default();
        let rows: Vec<usize> = (0..6).map(|_| program.row(1.0, true)).collect();
        for i in 0..6 {
            program.column(&[(rows[i], 1.0)]);
            program.column(&[(rows[i], 1.0), (rows[(i + 1) % 6], 1.0)]);
        }
        let cost: Vec<f64> = (0..12).map(|c| 3.0 + f64::from(c % 5)).collect();
        let full = program.relax(&cost, &[false; 12], &[], 1e4, &mut 1_000_000);
        for work in (0..3_000).step_by(50) {
            let early = program.relax(&cost, &[false; 12], &full.basis, 1e4, &mut work.clone());
            let cold = program.relax(&cost, &[false; 12], &[], 1e4, &mut work.clone());
            assert!(early.bound <= full.bound + 1e-9 && cold.bound <= full.bound + 1e-9);
        }
    }
}
