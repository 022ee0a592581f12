//! Choosing whole columns at the least cost, with a bound.
//!
//! Branch and bound on the relaxation of [`super::linear`]: depth first, the likelier half first. Where the relaxation splits a
//! visit, the halves are: this visit at this place or not, these two visits in one tour or not (Ryan & Foster 1981, from memory),
//! this morning opened or not. Costs are whole numbers, so bounds are rounded up.

use super::linear::{Program, Relaxed};
use std::collections::BTreeMap;

/// Amounts nearer to a whole number than this are whole.
const WHOLE: f64 = 1e-6;

/// What a column is, for branching.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Tag {
    /// Makes visits (as bits) at a place, such as a base or a base's morning.
    Visits(u128, usize),
    /// One of two columns of which exactly one is taken, with the other.
    OneOf(usize),
}

/// A choice of columns.
#[derive(Clone, Debug, Default)]
pub(super) struct Choice {
    pub(super) program: Program,
    pub(super) tags: Vec<Tag>,
}

/// What a search may use.
pub(super) struct Means<'a> {
    /// Single sums still allowed.
    pub(super) work: u64,
    pub(super) stop: &'a dyn Fn() -> bool,
}

/// The best choice found and a bound.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Answer {
    /// Columns and their cost.
    pub(super) best: Option<(Vec<usize>, i64)>,
    /// No choice costs less; `i64::MAX` where there is none.
    pub(super) bound: i64,
}

impl Answer {
    pub(super) fn is_proven(&self) -> bool {
        self.bound >= self.best.as_ref().map_or(i64::MAX, |(_, cost)| *cost)
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Half {
    Shut(usize),
    At { visit: u32, place: usize, yes: bool },
    Together { one: u32, other: u32, yes: bool },
}

impl Half {
    fn shuts(&self, column: usize, tag: Tag) -> bool {
        let (Tag::Visits(visits, at), has) = (tag, |visit: u32| matches!(tag, Tag::Visits(visits, _) if visits >> visit & 1 == 1)) else {
            return matches!(self, Half::Shut(shut) if *shut == column);
        };
        match *self {
            Half::Shut(shut) => shut == column,
            Half::At { visit, place, yes } => visits >> visit & 1 == 1 && (at == place) != yes,
            Half::Together { one, other, yes: true } => has(one) != has(other),
            Half::Together { one, other, yes: false } => has(one) && has(other),
        }
    }
}

struct Node {
    halves: Vec<Half>,
    basis: Vec<usize>,
    bound: i64,
}

impl Choice {
    pub(super) fn push(&mut self, tag: Tag, entries: &[(usize, f64)]) -> usize {
        self.tags.push(tag);
        self.program.column(entries)
    }

    /// The least costly choice. `known`: one to be bettered, columns and cost.
    pub(super) fn search(&self, cost: &[i64], known: Option<(Vec<usize>, i64)>, means: &mut Means) -> Answer {
        let costs: Vec<f64> = cost.iter().map(|c| *c as f64).collect();
        // Each column of a choice meets a row that must be met, so none costs more than this; leaving any part of a row unmet does.
        let most = costs.iter().copied().fold(0.0, f64::max) * self.program.needed.len() as f64;
        let dear = 1e3 * (1.0 + most);
        let mut best = known;
        // The least bound of the parts that came to nothing certain.
        let mut loose = i64::MAX;
        let mut open = vec![Node { halves: vec![], basis: vec![], bound: 0 }];
        while let Some(node) = open.pop() {
            let cut = best.as_ref().map_or(i64::MAX, |(_, cost)| *cost);
            if node.bound >= cut {
                continue;
            }
            if means.work == 0 || (means.stop)() {
                open.push(node);
                break;
            }
            let shut: Vec<bool> = self.tags.iter().enumerate().map(|(c, tag)| node.halves.iter().any(|h| h.shuts(c, *tag))).collect();
            let relaxed = self.program.relax(&costs, &shut, &node.basis, dear, &mut means.work);
            let bound = up(relaxed.bound).max(node.bound);
            if bound >= cut || relaxed.bound > most + 0.5 {
                continue;
            }
            match self.split(&relaxed) {
                // A split that was parted before is no more than a row unmet in the last digits.
                Some(halves) if halves.iter().any(|half| node.halves.contains(half)) => loose = loose.min(bound),
                Some(halves) => {
                    let node = |half| Node { halves: node.halves.iter().copied().chain([half]).collect(), basis: relaxed.basis.clone(), bound };
                    open.extend(halves.map(node));
                }
                None => {
                    if !relaxed.done {
                        loose = loose.min(bound);
                    }
                    let chosen: Vec<usize> = relaxed.amounts.iter().filter(|(_, x)| *x > 0.5).map(|(c, _)| *c).collect();
                    let total = chosen.iter().map(|c| cost[*c]).sum();
                    if total < cut && self.holds(&chosen) {
                        best = Some((chosen, total));
                    }
                }
            }
        }
        let cut = best.as_ref().map_or(i64::MAX, |(_, cost)| *cost);
        Answer { bound: open.iter().map(|node| node.bound).min().unwrap_or(cut).min(cut).min(loose), best }
    }

    /// Whether a choice keeps every row.
    fn holds(&self, chosen: &[usize]) -> bool {
        let mut met = vec![0.0; self.program.needed.len()];
        for &(row, amount) in chosen.iter().flat_map(|c| self.program.of(*c)) {
            met[row] += amount;
        }
        met.iter().zip(&self.program.needed).zip(&self.program.exact).all(|((met, needed), exact)| met == needed || (!exact && met < needed))
    }

    /// Two halves that part what the relaxation splits, the likelier last; `None` where it splits nothing.
    fn split(&self, relaxed: &Relaxed) -> Option<[Half; 2]> {
        let mut at: BTreeMap<(u32, usize), f64> = BTreeMap::new();
        let mut together: BTreeMap<(u32, u32), f64> = BTreeMap::new();
        for &(column, x) in &relaxed.amounts {
            match self.tags[column] {
                Tag::OneOf(other) if (WHOLE..=1.0 - WHOLE).contains(&x) => {
                    let halves = [Half::Shut(other), Half::Shut(column)];
                    return Some(if x > 0.5 { [halves[1], halves[0]] } else { halves });
                }
                Tag::OneOf(_) => {}
                Tag::Visits(visits, place) => {
                    let visits: Vec<u32> = (0..u128::BITS).filter(|v| visits >> v & 1 == 1).collect();
                    for (i, &one) in visits.iter().enumerate() {
                        *at.entry((one, place)).or_default() += x;
                        for &other in &visits[i + 1..] {
                            *together.entry((one, other)).or_default() += x;
                        }
                    }
                }
            }
        }
        let pairs = together.into_iter().map(|((one, other), x)| (x, [false, true].map(|yes| Half::Together { one, other, yes })));
        let places = at.into_iter().map(|((visit, place), x)| (x, [false, true].map(|yes| Half::At { visit, place, yes })));
        let split = |(x, _): &(f64, _)| (WHOLE..=1.0 - WHOLE).contains(x);
        let (x, halves) = pairs.chain(places).filter(split).min_by(|a, b| (a.0 - 0.5).abs().total_cmp(&(b.0 - 0.5).abs()))?;
        Some(if x < 0.5 { [halves[1], halves[0]] } else { halves })
    }
}

/// A bound rounded up to a whole number, but for the last digits.
fn up(bound: f64) -> i64 {
    (bound - WHOLE - 1e-9 * bound.abs()).ceil() as i64
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::{RngExt, SeedableRng};

    /// Sets of up to three of five visits at two places of which each may send out so many: against every choice of columns.
    #[test]
    fn seeded_choices_are_those_of_plain_enumeration() {
        let mut possible = 0;
        for seed in 0..150 {
            let mut rng = rand_pcg::Pcg64Mcg::seed_from_u64(seed);
            let mut choice = Choice::default();
            let places = [0, 1].map(|_| choice.program.row(f64::from(rng.random_range(0..=2)), false));
            let visits: Vec<usize> = (0..5).map(|_| choice.program.row(1.0, true)).collect();
            let mut cost = Vec::new();
            for _ in 0..13 {
                let place = rng.random_range(0..2);
                let set: u128 = (0..rng.random_range(1..=3)).fold(0, |set, _| set | 1 << rng.random_range(0..5));
                let rows = (0..5).filter(|v| set >> v & 1 == 1).map(|v| visits[v]).chain([places[place]]);
                choice.push(Tag::Visits(set, place), &rows.map(|row| (row, 1.0)).collect::<Vec<_>>());
                cost.push(rng.random_range(1..50));
            }
            let subsets = (0..1 << 13).map(|bits: u32| (0..13).filter(|c| bits >> c & 1 == 1).collect::<Vec<usize>>());
            let least = subsets.filter(|chosen| choice.holds(chosen)).map(|chosen| chosen.iter().map(|c| cost[*c]).sum::<i64>()).min();
            let answer = choice.search(&cost, None, &mut Means { work: u64::MAX, stop: &|| false });
            assert_eq!(answer.best.as_ref().map(|(_, cost)| *cost), least, "seed {seed}");
            assert_eq!(answer.bound, least.unwrap_or(i64::MAX), "seed {seed}");
            possible += usize::from(least.is_some());
        }
        assert!((40..150).contains(&possible), "{possible}");
    }

    /// Three pairs of three visits, one each: half of each pair costs 3 x 10 / 2, and whole choices cost a pair and a single.
    #[test]
    fn a_split_relaxation_is_parted() {
        let mut choice = Choice::default();
        (0..3).for_each(|_| {
            choice.program.row(1.0, true);
        });
        let mut cost = Vec::new();
        for (one, other) in [(0, 1), (1, 2), (0, 2)] {
            choice.push(Tag::Visits(1 << one | 1 << other, 0), &[(one, 1.0), (other, 1.0)]);
            cost.push(10);
        }
        for one in 0..3 {
            choice.push(Tag::Visits(1 << one, 0), &[(one, 1.0)]);
            cost.push(9);
        }
        let relaxed = choice.program.relax(&cost.iter().map(|c| *c as f64).collect::<Vec<_>>(), &[false; 6], &[], 1e4, &mut u64::MAX.clone());
        assert!((relaxed.bound - 15.0).abs() < 1e-9 && relaxed.done, "{relaxed:?}");
        let answer = choice.search(&cost, None, &mut Means { work: u64::MAX, stop: &|| false });
        assert_eq!((answer.best.as_ref().map(|b| b.1), answer.bound), (Some(19), 19));
    }
}
