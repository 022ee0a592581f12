//! Counts of leks by year, one figure a lek and year: what trends are drawn from.

use crate::counts::YearTable;
use serde::Serialize;

/// One lek's figure for one year.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Count {
    /// Index of the lek in [`Table::leks`].
    pub lek: usize,
    /// Year.
    pub year: i32,
    /// Cocks.
    pub cocks: u32,
}

/// Leks and their counts.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Table {
    /// Names.
    pub leks: Vec<String>,
    /// Counts, by lek, then by year; at most one of each.
    pub counts: Vec<Count>,
}

impl Table {
    /// A table; of two figures for one lek and year the higher stands.
    pub fn new(leks: Vec<String>, mut counts: Vec<Count>) -> Self {
        counts.sort_unstable_by_key(|c| (c.lek, c.year, std::cmp::Reverse(c.cocks)));
        counts.dedup_by_key(|c| (c.lek, c.year));
        Self { leks, counts }
    }

    /// The yearly maxima of leks.
    pub fn of_years(years: &YearTable) -> Self {
        let counts = (0..years.leks.len()).flat_map(|lek| years.all_years().zip(years.row(lek)).filter_map(move |(year, cocks)| Some(Count { lek, year, cocks: (*cocks)? })));
        Self::new(years.leks.clone(), counts.collect())
    }

    /// The counts of some years only.
    pub fn within(&self, from: i32, to: i32) -> Self {
        Self { leks: self.leks.clone(), counts: self.counts.iter().filter(|c| (from..=to).contains(&c.year)).copied().collect() }
    }

    /// What stands of the table for a trend: see [`Sorted`].
    pub fn sort_out(&self) -> Sorted {
        let mut cocks = vec![0_u64; self.leks.len()];
        let mut counted = vec![0_usize; self.leks.len()];
        for c in &self.counts {
            cocks[c.lek] += u64::from(c.cocks);
            counted[c.lek] += 1;
        }
        let names = |keep: &dyn Fn(usize) -> bool| (0..self.leks.len()).filter(|&l| keep(l)).map(|l| self.leks[l].clone()).collect::<Vec<_>>();
        let empty = names(&|l| counted[l] > 0 && cocks[l] == 0);
        let never = names(&|l| counted[l] == 0);
        let held: Vec<Count> = self.counts.iter().filter(|c| cocks[c.lek] > 0).copied().collect();
        let (used, unlinked) = largest_linked(&held, self.leks.len());
        let once = {
            let mut n = vec![0_usize; self.leks.len()];
            used.iter().for_each(|c| n[c.lek] += 1);
            n.iter().filter(|&&n| n == 1).count()
        };
        Sorted { used, empty, never, once, unlinked: unlinked.into_iter().map(|l| self.leks[l].clone()).collect() }
    }
}

/// Years with a count, in order.
pub fn years_of(counts: &[Count]) -> Vec<i32> {
    let mut years = Vec::new();
    let mut last = 0;
    for c in counts {
        last = place(&years, c.year, last).unwrap_or_else(|at| {
            years.insert(at, c.year);
            at
        });
    }
    years
}

/// Where a year stands among years in order, looked for first after the last one found, as a lek's counts follow each other.
///
/// Errors: where it would stand.
pub(super) fn place(years: &[i32], year: i32, last: usize) -> Result<usize, usize> {
    if years.get(last + 1) == Some(&year) { Ok(last + 1) } else { years.binary_search(&year) }
}

/// A table sorted out for a trend.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sorted {
    /// Counts that a trend is drawn from: of leks that ever held a cock, linked with each other through shared years.
    pub used: Vec<Count>,
    /// Leks counted but never with a cock: they say nothing of how numbers changed, and count as none in totals.
    pub empty: Vec<String>,
    /// Leks never counted.
    pub never: Vec<String>,
    /// Leks used that were counted in one year only: they say nothing of change either.
    pub once: usize,
    /// Leks left out as no year links them with the others.
    pub unlinked: Vec<String>,
}

/// The largest set of counts whose leks and years hang together, and the leks outside it.
fn largest_linked(counts: &[Count], leks: usize) -> (Vec<Count>, Vec<usize>) {
    let years = years_of(counts);
    let mut parent: Vec<usize> = (0..leks + years.len()).collect();
    fn root(parent: &mut [usize], mut at: usize) -> usize {
        while parent[at] != at {
            parent[at] = parent[parent[at]];
            at = parent[at];
        }
        at
    }
    // Zeros link too: a year of zeros is known to be a year of zeros.
    let mut last = 0;
    for c in counts {
        last = place(&years, c.year, last).unwrap_or_else(|at| at);
        let (a, b) = (root(&mut parent, c.lek), root(&mut parent, leks + last));
        parent[a] = b;
    }
    let roots: Vec<usize> = (0..leks).map(|lek| root(&mut parent, lek)).collect();
    let mut sizes = vec![0_usize; parent.len()];
    counts.iter().for_each(|c| sizes[roots[c.lek]] += 1);
    let Some(main) = (0..sizes.len()).filter(|r| sizes[*r] > 0).max_by_key(|&r| (sizes[r], std::cmp::Reverse(r))) else { return (Vec::new(), Vec::new()) };
    let used = counts.iter().filter(|c| roots[c.lek] == main).copied().collect();
    let mut outside: Vec<usize> = counts.iter().filter(|c| roots[c.lek] != main).map(|c| c.lek).collect();
    outside.dedup();
    (used, outside)
}
