//! Branch and bound, the part with the highest bound first (Land and Doig 1960), from the choice of [`super::climb`].

use super::bound::{Part, Prices, Shown};
use super::climb::{fill, first, improve, least_gain};
use super::ready::{Fate, Ready};
use super::relax;
use super::state::State;
use serde::Serialize;
use std::cmp::Ordering;
use std::collections::BinaryHeap;
use std::rc::Rc;

/// How long to search.
#[derive(Clone, Debug, PartialEq)]
pub struct Options {
    /// The search ends once no choice can be better by more than this share, both of the bound and of what the bound adds
    /// to the choice of only what is forced; nought asks for proof.
    pub gap: f64,
    /// Parts of the search looked at, at most.
    pub nodes: usize,
    /// Entries of supply looked at in kicks from the best choice, at most; a measure of work that needs no clock.
    pub kicks: u64,
    /// Seed of the kicks.
    pub seed: u64,
}

impl Default for Options {
    /// A gap of three per cent, for planning.
    fn default() -> Options {
        Options { gap: 0.03, nodes: 20_000, kicks: 60_000_000, seed: 1 }
    }
}

/// How a search ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Status {
    /// No choice is better.
    Proven,
    /// No choice is better by more than the gap asked for.
    Within,
    /// The caller's `stop` ended it; the bound holds all the same.
    Stopped,
    /// The node limit ended it; the bound holds all the same.
    NodeLimit,
}

impl Status {
    /// The words for people.
    pub fn word(self) -> &'static str {
        match self {
            Status::Proven => "the best there is",
            Status::Within => "within the gap asked for",
            Status::Stopped => "stopped before the gap asked for was reached",
            Status::NodeLimit => "ended at the search limit before the gap asked for was reached",
        }
    }
}

/// What a search found.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Answer {
    /// Chosen candidates, in order.
    pub chosen: Vec<usize>,
    /// Value of the choice.
    pub value: f64,
    /// No choice has a higher value.
    pub upper_bound: f64,
    /// `(upper_bound - value) / |upper_bound|`; nought where both are equal.
    pub gap: f64,
    /// How the search ended.
    pub status: Status,
    /// Parts looked at.
    pub nodes: usize,
}

/// `(bound - value)` as a share of the bound.
pub(crate) fn gap_of(value: f64, bound: f64) -> f64 {
    let apart = (bound - value).max(0.0);
    if !apart.is_finite() {
        return f64::INFINITY;
    }
    if apart <= 1e-12 * bound.abs().max(1e-9) { 0.0 } else { apart / bound.abs().max(1e-12) }
}

/// Share of the value below which a bound above it counts as equal.
const EQUAL: f64 = 1e-9;
/// Rounds of price improvement at the root and in a part of the search.
const ROOT_ROUNDS: usize = 3_000;
/// The same where the prices start from the linear relaxation.
const POLISH_ROUNDS: usize = 300;
const PART_ROUNDS: usize = 40;
/// Prices kept for open parts, at most (eight bytes each).
const KEPT: usize = 30_000_000;

/// A part still open: what was decided on the way to it.
struct Open {
    bound: f64,
    number: usize,
    path: Rc<Path>,
    prices: Rc<Prices>,
}

enum Path {
    Root,
    Step { before: Rc<Path>, out: Vec<usize>, into: Vec<usize> },
}

impl PartialEq for Open {
    fn eq(&self, other: &Open) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}
impl Eq for Open {}
impl PartialOrd for Open {
    fn partial_cmp(&self, other: &Open) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for Open {
    fn cmp(&self, other: &Open) -> Ordering {
        // Highest bound first; of equals the youngest, which is the deepest.
        self.bound.total_cmp(&other.bound).then(self.number.cmp(&other.number))
    }
}

/// Sets fates and what follows from them; `false` where they contradict each other.
fn put(ready: &Ready, fate: &mut [Fate], out: &[usize], into: &[usize]) -> bool {
    for c in out {
        if fate[*c] == Fate::In {
            return false;
        }
        fate[*c] = Fate::Out;
    }
    for c in into {
        if fate[*c] == Fate::Out {
            return false;
        }
        fate[*c] = Fate::In;
        for x in &ready.excludes[*c] {
            if fate[*x] == Fate::In {
                return false;
            }
            fate[*x] = Fate::Out;
        }
    }
    true
}

fn fates(ready: &Ready, path: &Rc<Path>) -> Option<Vec<Fate>> {
    let mut fate = ready.fate.clone();
    let mut at = path;
    while let Path::Step { before, out, into } = at.as_ref() {
        if !put(ready, &mut fate, out, into) {
            return None;
        }
        at = before;
    }
    Some(fate)
}

/// The free candidate to decide next: half in and half out, and much at stake.
fn undecided(part: &Part, shown: &Shown, stake: &[f64]) -> Option<usize> {
    let most = part.free().iter().map(|c| stake[*c]).fold(1e-300, f64::max);
    let score = |c: usize| {
        let o = shown.often[c].clamp(0.0, 1.0);
        o.min(1.0 - o) * (0.2 + stake[c] / most) + 1e-6 * stake[c] / most
    };
    part.free().iter().copied().max_by(|a, b| score(*a).total_cmp(&score(*b)).then(b.cmp(a)))
}

/// A choice near the relaxed one, for this part of the search.
fn round<'a>(ready: &'a Ready, part: &Part, often: &[f64], stop: &dyn Fn() -> bool) -> State<'a> {
    let mut s = State::new(ready);
    let inside: Vec<usize> = (0..ready.n).filter(|c| part.fate[*c] == Fate::In && ready.fate[*c] == Fate::Free).collect();
    inside.iter().filter(|c| s.can(**c)).copied().collect::<Vec<_>>().into_iter().for_each(|c| s.add(c));
    fill(&mut s, &|c| 1.0 / (0.02 + often[c].clamp(0.0, 1.0)), &|_| false);
    improve(&mut s, stop);
    s
}

/// The search. `start` is a choice known to keep all rules, `prices` those of a like question, where there are any.
pub(crate) fn search(ready: &Ready, options: &Options, start: &[usize], stop: &dyn Fn() -> bool) -> Answer {
    let scale = least_gain(ready);
    let mut best = first(ready, options.seed, options.kicks, stop);
    let mut known = State::new(ready);
    for c in start {
        if known.can(*c) {
            known.add(*c);
        }
    }
    improve(&mut known, stop);
    if known.value > best.value {
        best = known.fresh();
    }
    let stake: Vec<f64> = (0..ready.n).map(|c| ready.worth[c].abs() + ready.shares[c].iter().map(|(t, e)| ready.weight[*t] * e.abs()).sum::<f64>()).collect();
    // Values on a grid: a bound between two steps comes down to the lower one.
    let tidy = |bound: f64| match ready.grain {
        Some(g) => ready.constant + (((bound - ready.constant) / g + 1e-6).floor() * g),
        None => bound,
    };
    let enough = |best: f64| best + (EQUAL * best.abs()).max(scale) + ready.grain.map_or(0.0, |g| g * (1.0 - 2e-6));
    let before = State::new(ready).value;
    let mut heap: BinaryHeap<Open> = BinaryHeap::new();
    heap.push(Open { bound: f64::INFINITY, number: 0, path: Rc::new(Path::Root), prices: Rc::new(Prices::nought(ready)) });
    let (mut nodes, mut number) = (0, 0);
    let mut status = Status::Proven;
    let (mut kept, mut at_root) = (0, None);
    let mut bound = best.value;
    while let Some(open) = heap.pop() {
        bound = open.bound;
        if bound <= enough(best.value) {
            bound = best.value;
            break;
        }
        bound = tidy(bound);
        if gap_of(best.value, bound).max(gap_of(best.value - before, bound - before)) <= options.gap {
            status = Status::Within;
            break;
        }
        let root = nodes == 0;
        if !root && (nodes >= options.nodes || stop()) {
            status = if nodes >= options.nodes { Status::NodeLimit } else { Status::Stopped };
            break;
        }
        nodes += 1;
        bound = best.value;
        let Some(part) = fates(ready, &open.path).and_then(|f| Part::new(ready, f)) else { continue };
        let mut y = (*open.prices).clone();
        let mut amount = None;
        let mut rounds = PART_ROUNDS;
        if root {
            rounds = ROOT_ROUNDS;
            if let Some((relaxed, a)) = relax::prices(&part) {
                (y, amount, rounds) = (relaxed, Some(a), POLISH_ROUNDS);
            }
        }
        let mut shown = part.bound(&mut y, rounds, enough(best.value), stop);
        if let Some(a) = amount {
            shown.often = a;
        }
        shown.bound = shown.bound.min(open.bound);
        if part.settled() || nodes % 16 == 1 {
            let s = round(ready, &part, &shown.often, stop);
            if s.value > best.value {
                best = s.fresh();
            }
        }
        if part.settled() || shown.bound <= enough(best.value) {
            continue;
        }
        let (out, into) = part.forced(&shown, enough(best.value));
        let mut fate = part.fate.clone();
        let base = Rc::new(Path::Step { before: open.path.clone(), out, into });
        let Path::Step { out, into, .. } = base.as_ref() else { continue };
        if !put(ready, &mut fate, out, into) {
            continue;
        }
        let fixed = !out.is_empty() || !into.is_empty();
        let Some(left) = Part::new(ready, fate) else { continue };
        kept += y.supply.len() + y.clique.len() + y.limit.len();
        let prices = match &at_root {
            // Any prices give a true bound: the root's serve where there is no room for each part's own.
            Some(root) if kept > KEPT => Rc::clone(root),
            _ => Rc::new(y),
        };
        at_root.get_or_insert_with(|| prices.clone());
        let mut push = |path: Rc<Path>| {
            number += 1;
            heap.push(Open { bound: shown.bound, number, path, prices: prices.clone() });
        };
        match undecided(&left, &shown, &stake) {
            None => push(base),
            // Much was fixed: look at the same part again before deciding.
            Some(_) if fixed && left.free().len() * 2 < part.free().len() => push(base),
            Some(c) => {
                push(Rc::new(Path::Step { before: base.clone(), out: vec![c], into: vec![] }));
                push(Rc::new(Path::Step { before: base.clone(), out: vec![], into: vec![c] }));
            }
        }
    }
    let best = best.fresh();
    let mut chosen = ready.forced();
    chosen.extend(best.list());
    chosen.sort_unstable();
    let upper_bound = bound.max(best.value);
    Answer { chosen, value: best.value, upper_bound, gap: gap_of(best.value, upper_bound), status, nodes }
}
