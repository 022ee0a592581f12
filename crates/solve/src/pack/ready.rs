//! The question made ready for the search: faults found, forced parts taken out, supply in shares of the need, wants that
//! never reach their need folded into the worths, conflicts as few and large cliques.

use super::{LIMIT_SLACK, Pack};
use std::collections::HashMap;

/// Why there is nothing to search.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum PackError {
    /// The question is faulty; every fault.
    #[error("the question is faulty: {}", .0.join("; "))]
    Faulty(Vec<String>),
    /// What must be chosen cannot be chosen together.
    #[error("what must be chosen cannot be: {}; let go of one of them or raise the limit", .0.join("; "))]
    Impossible(Vec<String>),
}

/// What is settled about a candidate.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Fate {
    Free,
    In,
    Out,
}

/// A question ready for the search. Candidates keep their numbers; supply is in shares of the need; limits are one.
pub(crate) struct Ready {
    pub n: usize,
    /// Value of the forced choice's worths and of the wants that are settled.
    pub constant: f64,
    pub worth: Vec<f64>,
    /// By candidate: live want, share.
    pub shares: Vec<Vec<(usize, f64)>>,
    /// By live want: candidate, share.
    pub givers: Vec<Vec<(usize, f64)>>,
    /// By live want: weight, and share without the free candidates.
    pub weight: Vec<f64>,
    pub start: Vec<f64>,
    /// By candidate: limit, use as a share of what is left of it.
    pub uses: Vec<Vec<(usize, f64)>>,
    pub limits: usize,
    /// Candidates each excludes, sorted.
    pub excludes: Vec<Vec<usize>>,
    /// Maximal cliques that cover every conflict between free candidates.
    pub cliques: Vec<Vec<usize>>,
    /// By candidate: its cliques.
    pub in_cliques: Vec<Vec<usize>>,
    /// The free candidates parted into cliques; by candidate its group.
    pub groups: Vec<Vec<usize>>,
    pub group_of: Vec<usize>,
    pub fate: Vec<Fate>,
    /// Where all values are multiples of a step: that step.
    pub grain: Option<f64>,
}

/// Steps tried for [`Ready::grain`].
const GRAINS: [f64; 5] = [1.0, 0.5, 0.1, 0.05, 0.01];

fn check(pack: &Pack) -> Result<(), PackError> {
    let n = pack.worth.len();
    let mut faults = Vec::new();
    if pack.deltas.len() != n {
        faults.push(format!("{} candidates have changes of supply: needed {n}", pack.deltas.len()));
    }
    for (t, w) in pack.wants.iter().enumerate() {
        if !(w.need.is_finite() && w.need > 0.0 && w.weight.is_finite() && w.weight >= 0.0 && w.base.is_finite()) {
            faults.push(format!("want {t} has base {}, need {}, weight {}: needed numbers, a need above nought and no weight below", w.base, w.need, w.weight));
        }
    }
    for (c, w) in pack.worth.iter().enumerate().filter(|(_, w)| !w.is_finite()) {
        faults.push(format!("candidate {c} has worth {w}: needed a number"));
    }
    for (c, d) in pack.deltas.iter().enumerate() {
        if let Some((t, v)) = d.iter().find(|(t, v)| *t >= pack.wants.len() || !v.is_finite()) {
            faults.push(format!("candidate {c} changes want {t} by {v}: needed one of {} wants and a number", pack.wants.len()));
        }
    }
    for l in &pack.limits {
        if l.most.is_nan() || l.most < 0.0 {
            faults.push(format!("limit '{}' is {}: needed nought or more", l.name, l.most));
        }
        if let Some((c, u)) = l.uses.iter().find(|(c, u)| *c >= n || !u.is_finite() || *u < 0.0) {
            faults.push(format!("limit '{}': candidate {c} uses {u}: needed one of {n} candidates and nought or more", l.name));
        }
    }
    let named = pack.cliques.iter().flatten().chain(&pack.forced_in).chain(&pack.forced_out);
    if let Some(c) = named.into_iter().find(|c| **c >= n) {
        faults.push(format!("candidate {c} is named; there are {n}"));
    }
    if faults.is_empty() { Ok(()) } else { Err(PackError::Faulty(faults)) }
}

impl Ready {
    pub fn new(pack: &Pack) -> Result<Ready, PackError> {
        check(pack)?;
        let n = pack.worth.len();
        let mut forced = pack.forced_in.clone();
        forced.sort_unstable();
        forced.dedup();
        let clash = pack.broken(&forced);
        if !clash.is_empty() {
            return Err(PackError::Impossible(clash));
        }
        let mut fate = vec![Fate::Free; n];
        pack.forced_out.iter().for_each(|c| fate[*c] = Fate::Out);
        for clique in pack.cliques.iter().filter(|k| k.iter().any(|c| forced.binary_search(c).is_ok())) {
            clique.iter().for_each(|c| fate[*c] = Fate::Out);
        }
        forced.iter().for_each(|c| fate[*c] = Fate::In);
        // Limits: what is left of each is one.
        let mut uses = vec![Vec::new(); n];
        let mut rows: Vec<Vec<(usize, f64)>> = Vec::new();
        for l in pack.limits.iter().filter(|l| l.most.is_finite()) {
            let mut by = vec![0.0; n];
            l.uses.iter().for_each(|(c, u)| by[*c] += u);
            let left = l.most - forced.iter().map(|c| by[*c]).sum::<f64>();
            let slack = LIMIT_SLACK * l.most.max(1.0);
            for c in 0..n {
                if fate[c] == Fate::Free && by[c] > left + slack {
                    fate[c] = Fate::Out;
                }
            }
            let free: Vec<(usize, f64)> = (0..n).filter(|c| fate[*c] == Fate::Free && by[*c] > 0.0).map(|c| (c, by[c] / left.max(by[c]))).collect();
            // A limit that all free candidates together keep is none.
            if free.iter().map(|(_, u)| u).sum::<f64>() > 1.0 + LIMIT_SLACK {
                rows.push(free);
            }
        }
        let mut worth = pack.worth.clone();
        let mut ready = Ready {
            n,
            constant: forced.iter().map(|c| worth[*c]).sum(),
            worth: Vec::new(),
            shares: vec![Vec::new(); n],
            givers: Vec::new(),
            weight: Vec::new(),
            start: Vec::new(),
            uses: Vec::new(),
            limits: rows.len(),
            excludes: Vec::new(),
            cliques: Vec::new(),
            in_cliques: Vec::new(),
            groups: Vec::new(),
            group_of: vec![usize::MAX; n],
            fate,
            grain: None,
        };
        ready.take_wants(pack, &mut worth);
        ready.worth = worth;
        // A candidate that gives nothing and is worth nothing is never needed.
        for c in 0..n {
            if ready.fate[c] == Fate::Free && ready.worth[c] <= 0.0 && ready.shares[c].iter().all(|(_, s)| *s <= 0.0) {
                ready.fate[c] = Fate::Out;
            }
        }
        let free = |c: &usize| ready.fate[*c] == Fate::Free;
        for (l, row) in rows.iter().enumerate() {
            row.iter().filter(|(c, _)| free(c)).for_each(|(c, u)| uses[*c].push((l, *u)));
        }
        ready.uses = uses;
        // Two that each take more than half of a limit exclude each other.
        let halves = rows.iter().map(|row| row.iter().filter(|(_, u)| *u > 0.5 + LIMIT_SLACK).map(|(c, _)| *c).collect::<Vec<_>>());
        let cliques: Vec<Vec<usize>> = (pack.cliques.iter().cloned().chain(halves))
            .map(|mut k| {
                k.retain(|c| ready.fate[*c] == Fate::Free);
                k.sort_unstable();
                k.dedup();
                k
            })
            .filter(|k| k.len() > 1)
            .collect();
        ready.join_cliques(cliques);
        ready.part();
        if ready.weight.is_empty() {
            let whole = |g: f64| (0..n).filter(|c| ready.fate[*c] == Fate::Free).all(|c| ((ready.worth[c] / g) - (ready.worth[c] / g).round()).abs() < 1e-9);
            ready.grain = GRAINS.into_iter().find(|g| whole(*g));
        }
        Ok(ready)
    }

    /// Settled and straight wants go into the constant and the worths; equal wants become one.
    fn take_wants(&mut self, pack: &Pack, worth: &mut [f64]) {
        let mut givers: Vec<Vec<(usize, f64)>> = vec![Vec::new(); pack.wants.len()];
        let mut start: Vec<f64> = pack.wants.iter().map(|w| w.base / w.need).collect();
        for (c, deltas) in pack.deltas.iter().enumerate() {
            for (t, d) in deltas {
                let share = d / pack.wants[*t].need;
                match self.fate[c] {
                    Fate::In => start[*t] += share,
                    Fate::Out => {}
                    Fate::Free => match givers[*t].last_mut() {
                        Some((last, s)) if *last == c => *s += share,
                        _ => givers[*t].push((c, share)),
                    },
                }
            }
        }
        let mut seen: HashMap<Vec<u64>, usize> = HashMap::new();
        for (t, want) in pack.wants.iter().enumerate() {
            let least = start[t] + givers[t].iter().map(|(_, s)| s.min(0.0)).sum::<f64>();
            let most = start[t] + givers[t].iter().map(|(_, s)| s.max(0.0)).sum::<f64>();
            if least >= 1.0 || most <= 0.0 || givers[t].iter().all(|(_, s)| *s == 0.0) {
                self.constant += want.weight * start[t].clamp(0.0, 1.0);
            } else if least >= 0.0 && most <= 1.0 {
                self.constant += want.weight * start[t];
                givers[t].iter().for_each(|(c, s)| worth[*c] += want.weight * s);
            } else if want.weight > 0.0 {
                let key: Vec<u64> = std::iter::once(start[t].to_bits()).chain(givers[t].iter().flat_map(|(c, s)| [*c as u64, s.to_bits()])).collect();
                let live = *seen.entry(key).or_insert_with(|| {
                    self.weight.push(0.0);
                    self.start.push(start[t]);
                    self.givers.push(std::mem::take(&mut givers[t]));
                    self.weight.len() - 1
                });
                self.weight[live] += want.weight;
            }
        }
        for (t, row) in self.givers.iter().enumerate() {
            row.iter().for_each(|(c, s)| self.shares[*c].push((t, *s)));
        }
    }

    /// Grows the given cliques to maximal ones and keeps those that cover a conflict not yet covered.
    fn join_cliques(&mut self, mut given: Vec<Vec<usize>>) {
        let mut excludes: Vec<Vec<usize>> = vec![Vec::new(); self.n];
        for k in &given {
            for (i, a) in k.iter().enumerate() {
                for b in &k[i + 1..] {
                    excludes[*a].push(*b);
                    excludes[*b].push(*a);
                }
            }
        }
        excludes.iter_mut().for_each(|e| {
            e.sort_unstable();
            e.dedup();
        });
        given.sort_by(|a, b| b.len().cmp(&a.len()).then(a.cmp(b)));
        given.dedup();
        let mut covered: Vec<Vec<bool>> = excludes.iter().map(|e| vec![false; e.len()]).collect();
        let place = |a: usize, b: usize| excludes[a].binary_search(&b);
        for k in given {
            let known = k.iter().enumerate().all(|(i, a)| k[i + 1..].iter().all(|b| place(*a, *b).is_ok_and(|p| covered[*a][p])));
            if known {
                continue;
            }
            let mut grown = k.clone();
            let mut more: Vec<usize> = excludes[k[0]].clone();
            k.iter().for_each(|a| more.retain(|b| place(*a, *b).is_ok()));
            while !more.is_empty() {
                // The one that leaves the most others to join.
                let best = more.iter().map(|b| (more.iter().filter(|x| place(*b, **x).is_ok()).count(), *b)).max_by(|x, y| x.0.cmp(&y.0).then(y.1.cmp(&x.1)));
                let Some((_, b)) = best else { break };
                grown.push(b);
                more.retain(|x| place(b, *x).is_ok());
            }
            grown.sort_unstable();
            for a in &grown {
                for b in &grown {
                    if let Ok(p) = place(*a, *b) {
                        covered[*a][p] = true;
                    }
                }
            }
            self.cliques.push(grown);
        }
        self.in_cliques = vec![Vec::new(); self.n];
        for (k, clique) in self.cliques.iter().enumerate() {
            clique.iter().for_each(|c| self.in_cliques[*c].push(k));
        }
        self.excludes = excludes;
    }

    /// Parts the free candidates into groups of which at most one can be chosen.
    fn part(&mut self) {
        let mut order: Vec<usize> = (0..self.cliques.len()).collect();
        order.sort_by_key(|k| std::cmp::Reverse(self.cliques[*k].len()));
        let singles: Vec<Vec<usize>> = (0..self.n).map(|c| vec![c]).collect();
        for clique in order.iter().map(|k| &self.cliques[*k]).chain(&singles) {
            let group: Vec<usize> = clique.iter().copied().filter(|c| self.fate[*c] == Fate::Free && self.group_of[*c] == usize::MAX).collect();
            if !group.is_empty() {
                group.iter().for_each(|c| self.group_of[*c] = self.groups.len());
                self.groups.push(group);
            }
        }
    }

    /// Candidates fixed in at the start.
    pub fn forced(&self) -> Vec<usize> {
        (0..self.n).filter(|c| self.fate[*c] == Fate::In).collect()
    }
}
