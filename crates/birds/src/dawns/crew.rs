//! Who starts where and who is there on which morning.

use super::ask::Ask;
use chrono::NaiveDate;
use std::collections::BTreeSet;

/// Observers who start from one base are one for another: all minutes from it are alike.
#[derive(Clone, Debug)]
pub(super) struct Crew {
    /// Observers by base.
    pub(super) of_base: Vec<Vec<usize>>,
}

impl Crew {
    pub(super) fn of(ask: &Ask) -> Self {
        let mut of_base: Vec<Vec<usize>> = Vec::new();
        for observer in 0..ask.observers.len() {
            let like = |base: &&mut Vec<usize>| ask.minutes.from_base[base[0]] == ask.minutes.from_base[observer];
            match of_base.iter_mut().find(like) {
                Some(base) => base.push(observer),
                None => of_base.push(vec![observer]),
            }
        }
        Self { of_base }
    }

    /// One observer of each base.
    pub(super) fn first(&self) -> Vec<usize> {
        self.of_base.iter().map(|base| base[0]).collect()
    }

    /// The observers of a base who are there on a day.
    pub(super) fn there(&self, ask: &Ask, base: usize, day: NaiveDate) -> Vec<usize> {
        self.of_base[base].iter().copied().filter(|o| !ask.observers[*o].away.contains(&day)).collect()
    }

    /// How many are there: by day, by base.
    pub(super) fn counts(&self, ask: &Ask, days: &[NaiveDate]) -> Vec<Vec<usize>> {
        days.iter().map(|day| (0..self.of_base.len()).map(|base| self.there(ask, base, *day).len()).collect()).collect()
    }
}

/// What each base can send out on `n` mornings picked from `there` (by day, by base): the picks that no other pick betters.
pub(super) fn most(there: &[Vec<usize>], n: usize) -> Vec<Vec<usize>> {
    let bases = there.first().map_or(0, Vec::len);
    let mut by_number: Vec<BTreeSet<Vec<usize>>> = vec![BTreeSet::new(); n + 1];
    by_number[0].insert(vec![0; bases]);
    for day in there {
        for k in (0..n).rev() {
            let more: Vec<Vec<usize>> = by_number[k].iter().map(|sum| sum.iter().zip(day).map(|(a, b)| a + b).collect()).collect();
            by_number[k + 1].extend(more);
            let sums = &by_number[k + 1];
            let bettered = |sum: &Vec<usize>| sums.iter().any(|other| other != sum && other.iter().zip(sum).all(|(a, b)| a >= b));
            let out: Vec<Vec<usize>> = sums.iter().filter(|sum| bettered(sum)).cloned().collect();
            out.iter().for_each(|sum| {
                by_number[k + 1].remove(sum);
            });
        }
    }
    by_number.pop().unwrap_or_default().into_iter().collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn mornings_are_picked_for_all_that_they_can_give() {
        let there = [vec![1, 0], vec![1, 0], vec![0, 2], vec![1, 1]];
        assert_eq!(most(&there, 0), [[0, 0]]);
        assert_eq!(most(&there, 1), [[0, 2], [1, 1]]);
        assert_eq!(most(&there, 2), [[1, 3], [2, 1]]);
        assert_eq!(most(&there, 4), [[3, 3]]);
        assert!(most(&there, 5).is_empty());
    }
}
