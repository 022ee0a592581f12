//! Good choices without proof: lazy greedy filling, exchange until nothing gains, then kicks from the best.

use super::ready::{Fate, Ready};
use super::state::State;
use std::cmp::Ordering;
use std::collections::BinaryHeap;

/// Gains below this share of all value at stake are round-off.
const GAIN: f64 = 1e-11;

/// A heap entry, greatest key first, then the lower number.
#[derive(PartialEq)]
struct Key(f64, usize, u32);

impl Eq for Key {}
impl PartialOrd for Key {
    fn partial_cmp(&self, other: &Key) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for Key {
    fn cmp(&self, other: &Key) -> Ordering {
        self.0.total_cmp(&other.0).then(other.1.cmp(&self.1))
    }
}

/// Seeded numbers (Steele, Lea and Flood 2014, SplitMix64).
pub(super) struct Dice(pub u64);

impl Dice {
    pub fn below(&mut self, n: usize) -> usize {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) % n.max(1) as u64) as usize
    }
}

/// Least gain that counts.
pub(super) fn least_gain(r: &Ready) -> f64 {
    GAIN * (1.0 + r.weight.iter().sum::<f64>() + r.worth.iter().map(|w| w.abs()).sum::<f64>())
}

/// Adds candidates, greatest gain per `price` first, until none gains. Keys in the heap are never below the true score:
/// value is concave in supply above nought, so adding can raise a gain only where supply fell, where it was below nought,
/// or for a candidate that takes supply; exactly those are scored anew.
pub(super) fn fill(s: &mut State, price: &dyn Fn(usize) -> f64, barred: &dyn Fn(usize) -> bool) -> Vec<usize> {
    lazily(s, usize::MAX, price, barred).into_iter().map(|(c, _)| c).collect()
}

impl State<'_> {
    /// At most `n` candidates, greatest gain per price first, each with its gain at that point.
    pub fn buy(&mut self, n: usize, price: &dyn Fn(usize) -> f64) -> Vec<(usize, f64)> {
        lazily(self, n, price, &|_| false)
    }
}

fn lazily(s: &mut State, n: usize, price: &dyn Fn(usize) -> f64, barred: &dyn Fn(usize) -> bool) -> Vec<(usize, f64)> {
    let (r, least) = (s.ready, least_gain(s.ready));
    let mut stamp = vec![0u32; r.n];
    let mut heap = BinaryHeap::with_capacity(r.n);
    for c in 0..r.n {
        if s.can(c) && !barred(c) {
            heap.push(Key(s.gain(c) / price(c), c, 0));
        }
    }
    let mut added = Vec::new();
    while let Some(Key(_, c, at)) = heap.pop() {
        if at != stamp[c] || !s.can(c) {
            continue;
        }
        let gain = s.gain(c);
        let score = gain / price(c);
        while heap.peek().is_some_and(|top| top.2 != stamp[top.1]) {
            heap.pop();
        }
        if heap.peek().is_some_and(|top| top.0 > score) {
            heap.push(Key(score, c, at));
            continue;
        }
        if gain <= least {
            // The key was never below the score, so this one is done; others with a larger price may still gain.
            continue;
        }
        let before: Vec<f64> = r.shares[c].iter().map(|(t, _)| s.share[*t]).collect();
        s.add(c);
        added.push((c, gain));
        if added.len() >= n {
            break;
        }
        for ((t, e), old) in r.shares[c].iter().zip(before) {
            let below = old < 0.0 || old + e < 0.0;
            for (x, share) in &r.givers[*t] {
                let may_rise = below || (*e > 0.0 && *share < 0.0) || (*e < 0.0 && *share > 0.0);
                if may_rise && s.can(*x) && !barred(*x) {
                    stamp[*x] += 1;
                    let score = s.gain(*x) / price(*x);
                    heap.push(Key(score, *x, stamp[*x]));
                }
            }
        }
    }
    added
}

/// Tries to bring `c` in against at most two chosen ones; keeps it where that gains.
fn swap_in(s: &mut State, c: usize, least: f64) -> bool {
    let r = s.ready;
    if s.chosen[c] || r.fate[c] != Fate::Free || s.excluded[c] > 2 {
        return false;
    }
    let rivals: Vec<usize> = if s.excluded[c] == 0 { vec![] } else { r.excludes[c].iter().copied().filter(|x| s.chosen[*x]).collect() };
    let start = s.value;
    rivals.iter().for_each(|x| s.drop(*x));
    if s.fits(c) {
        if s.value + s.gain(c) > start + least {
            s.add(c);
            return true;
        }
    } else if rivals.len() < 2 {
        // Room is short: one more must go, the one that leaves the most.
        let short: Vec<usize> = r.uses[c].iter().filter(|(l, u)| s.used[*l] + u > 1.0).map(|(l, _)| *l).collect();
        let mut best: Option<(f64, usize)> = None;
        for x in s.list() {
            if !r.uses[x].iter().any(|(l, _)| short.contains(l)) {
                continue;
            }
            s.drop(x);
            if s.fits(c) {
                let got = s.value + s.gain(c);
                if got > start + least && best.is_none_or(|(b, _)| got > b) {
                    best = Some((got, x));
                }
            }
            s.add(x);
        }
        if let Some((_, x)) = best {
            s.drop(x);
            s.add(c);
            return true;
        }
    }
    rivals.iter().for_each(|x| s.add(*x));
    false
}

/// Exchange until nothing gains: drop, fill, one or two out for one in, one out and refill.
pub(super) fn improve(s: &mut State, stop: &dyn Fn() -> bool) {
    let least = least_gain(s.ready);
    let one = |_: usize| 1.0;
    loop {
        let start = s.value;
        for c in s.list() {
            if s.loss(c) > least {
                s.drop(c);
            }
        }
        fill(s, &one, &|_| false);
        for c in 0..s.ready.n {
            if c % 64 == 0 && stop() {
                return;
            }
            swap_in(s, c, least);
        }
        if s.value > start + least {
            continue;
        }
        for out in s.list() {
            if stop() {
                return;
            }
            let before = s.value;
            s.drop(out);
            let added = fill(s, &one, &|c| c == out);
            if s.value <= before + least {
                added.iter().rev().for_each(|c| s.drop(*c));
                s.add(out);
                s.value = before;
            }
        }
        if s.value <= start + least {
            return;
        }
    }
}

/// Forces one candidate in, whatever it costs, and fills up again.
fn kick(s: &mut State, dice: &mut Dice) {
    let r = s.ready;
    let free: Vec<usize> = (0..r.n).filter(|c| r.fate[*c] == Fate::Free && !s.chosen[*c]).collect();
    if free.is_empty() {
        return;
    }
    let c = free[dice.below(free.len())];
    for x in r.excludes[c].iter().filter(|x| s.chosen[**x]).copied().collect::<Vec<_>>() {
        s.drop(x);
    }
    while !s.fits(c) {
        let list = s.list();
        if list.is_empty() {
            return;
        }
        let out = list[dice.below(list.len())];
        s.drop(out);
    }
    s.add(c);
}

/// Kicks from the best choice so far until `work` entries have been looked at, or many in a row bring nothing.
pub(super) fn kicks<'a>(mut best: State<'a>, seed: u64, work: u64, stop: &dyn Fn() -> bool) -> State<'a> {
    let mut dice = Dice(seed);
    let end = best.work + work;
    let mut now = best.clone();
    let (mut idle, patience) = (0, 20 + 4 * best.ready.groups.len());
    while now.work < end && idle < patience && !stop() {
        idle += 1;
        kick(&mut now, &mut dice);
        improve(&mut now, stop);
        let spent = now.work;
        if now.value > best.value + least_gain(best.ready) {
            best = now.fresh();
            idle = 0;
        }
        now = best.clone();
        now.work = spent + 1;
    }
    best
}

/// The first choice: fillings by gain, by gain per use of all limits and of each, the best two exchanged.
pub(super) fn first<'a>(ready: &'a Ready, seed: u64, work: u64, stop: &dyn Fn() -> bool) -> State<'a> {
    let use_of = |c: usize, l: Option<usize>| -> f64 { 1e-6 + ready.uses[c].iter().filter(|(k, _)| l.is_none_or(|l| l == *k)).map(|(_, u)| u).sum::<f64>() };
    // With very many limits (one a year, one a parcel) the sum stands for all.
    let mut ways: Vec<Option<usize>> = vec![None];
    if ready.limits <= 8 {
        ways.extend((0..ready.limits).map(Some));
    }
    let mut starts: Vec<State> = Vec::new();
    let mut by_gain = State::new(ready);
    fill(&mut by_gain, &|_| 1.0, &|_| false);
    starts.push(by_gain);
    for way in ways.into_iter().filter(|_| ready.limits > 0) {
        let mut s = State::new(ready);
        fill(&mut s, &|c| use_of(c, way), &|_| false);
        starts.push(s);
    }
    starts.sort_by(|a, b| b.value.total_cmp(&a.value));
    let mut best: Option<State> = None;
    for mut s in starts.into_iter().take(2) {
        improve(&mut s, stop);
        if best.as_ref().is_none_or(|b| s.value > b.value) {
            best = Some(s.fresh());
        }
    }
    kicks(best.unwrap_or_else(|| State::new(ready)), seed, work, stop)
}
