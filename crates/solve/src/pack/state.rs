//! A choice being changed: supply, what is left of the limits and who is excluded, kept up to date.

use super::LIMIT_SLACK;
use super::ready::{Fate, Ready};

/// A choice that keeps all rules.
#[derive(Clone)]
pub(crate) struct State<'a> {
    pub ready: &'a Ready,
    pub chosen: Vec<bool>,
    /// Share of each live want.
    pub share: Vec<f64>,
    /// Used share of each limit.
    pub used: Vec<f64>,
    /// How many chosen candidates exclude each candidate.
    pub excluded: Vec<usize>,
    /// Value, kept by adding up gains.
    pub value: f64,
    /// Supply entries looked at, as a measure of work that needs no clock.
    pub work: u64,
}

fn met(share: f64) -> f64 {
    share.clamp(0.0, 1.0)
}

impl<'a> State<'a> {
    /// Only what is forced.
    pub fn new(ready: &'a Ready) -> State<'a> {
        let value = ready.constant + ready.weight.iter().zip(&ready.start).map(|(w, s)| w * met(*s)).sum::<f64>();
        State {
            ready,
            chosen: vec![false; ready.n],
            share: ready.start.clone(),
            used: vec![0.0; ready.limits],
            excluded: vec![0; ready.n],
            value,
            work: 0,
        }
    }

    /// Change of the value if this candidate were added.
    pub fn gain(&mut self, c: usize) -> f64 {
        let r = self.ready;
        self.work += 1 + r.shares[c].len() as u64;
        r.worth[c] + r.shares[c].iter().map(|(t, e)| r.weight[*t] * (met(self.share[*t] + e) - met(self.share[*t]))).sum::<f64>()
    }

    /// Change of the value if this candidate were dropped.
    pub fn loss(&mut self, c: usize) -> f64 {
        let r = self.ready;
        self.work += 1 + r.shares[c].len() as u64;
        -r.worth[c] + r.shares[c].iter().map(|(t, e)| r.weight[*t] * (met(self.share[*t] - e) - met(self.share[*t]))).sum::<f64>()
    }

    /// Whether its uses fit what is left.
    pub fn fits(&self, c: usize) -> bool {
        self.ready.uses[c].iter().all(|(l, u)| self.used[*l] + u <= 1.0 + LIMIT_SLACK)
    }

    /// Whether it can be added now.
    pub fn can(&self, c: usize) -> bool {
        !self.chosen[c] && self.excluded[c] == 0 && self.ready.fate[c] == Fate::Free && self.fits(c)
    }

    pub fn add(&mut self, c: usize) {
        self.value += self.gain(c);
        self.turn(c, 1.0);
    }

    pub fn drop(&mut self, c: usize) {
        self.value += self.loss(c);
        self.turn(c, -1.0);
    }

    fn turn(&mut self, c: usize, by: f64) {
        let r = self.ready;
        self.chosen[c] = by > 0.0;
        r.shares[c].iter().for_each(|(t, e)| self.share[*t] += by * e);
        r.uses[c].iter().for_each(|(l, u)| self.used[*l] += by * u);
        for x in &r.excludes[c] {
            if by > 0.0 { self.excluded[*x] += 1 } else { self.excluded[*x] -= 1 }
        }
        self.work += r.excludes[c].len() as u64;
    }

    /// The same choice with sums taken afresh, so that round-off does not pile up.
    pub fn fresh(&self) -> State<'a> {
        let mut s = State::new(self.ready);
        s.work = self.work;
        (0..self.chosen.len()).filter(|c| self.chosen[*c]).for_each(|c| s.add(c));
        s
    }

    /// Chosen free candidates.
    pub fn list(&self) -> Vec<usize> {
        (0..self.chosen.len()).filter(|c| self.chosen[*c]).collect()
    }
}
