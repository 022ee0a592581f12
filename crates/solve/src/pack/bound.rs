//! How good any choice could be: the value with the rows of supply, cliques and limits priced instead of kept
//! (Lagrangian relaxation; Held and Karp 1971, step of Polyak 1969). Every set of prices gives a true bound, so a
//! search stopped early still tells the truth; better prices give a tighter one.

use super::ready::{Fate, Ready};

/// Prices, all nought or more: per live want at most its weight, per clique, per limit.
#[derive(Clone, Debug)]
pub(super) struct Prices {
    pub supply: Vec<f64>,
    pub clique: Vec<f64>,
    pub limit: Vec<f64>,
}

impl Prices {
    pub fn nought(r: &Ready) -> Prices {
        Prices { supply: vec![0.0; r.weight.len()], clique: vec![0.0; r.cliques.len()], limit: vec![0.0; r.limits] }
    }
}

/// A part of the search: fates, and what follows from the candidates that are in.
pub(super) struct Part<'a> {
    pub ready: &'a Ready,
    pub fate: Vec<Fate>,
    /// Own worth of those in, with the constant.
    worth_in: f64,
    free: Vec<usize>,
    /// Left of each limit.
    left: Vec<f64>,
    /// By live want.
    roof: Vec<Roof>,
    /// Cliques with free members of more than one group.
    live_cliques: Vec<usize>,
}

/// A concave function above `min(1, max(0, share))` on the shares still possible: `min(top, rise + slope * share)`.
#[derive(Clone, Copy)]
pub(super) struct Roof {
    pub top: f64,
    pub slope: f64,
    pub rise: f64,
    /// Share of those in.
    pub share_in: f64,
}

/// What the prices show.
pub(super) struct Shown {
    pub bound: f64,
    /// Reduced worth of each candidate at the best prices.
    pub reduced: Vec<f64>,
    /// How often each free candidate was in the relaxed choice, later rounds counting more.
    pub often: Vec<f64>,
}

impl<'a> Part<'a> {
    /// `None` where those that are in break a limit.
    pub fn new(ready: &'a Ready, fate: Vec<Fate>) -> Option<Part<'a>> {
        let mut p = Part { ready, fate, worth_in: ready.constant, free: vec![], left: vec![1.0; ready.limits], roof: vec![], live_cliques: vec![] };
        let mut share_in = ready.start.clone();
        for c in 0..ready.n {
            match p.fate[c] {
                Fate::Free => p.free.push(c),
                Fate::In if ready.fate[c] == Fate::Free => {
                    p.worth_in += ready.worth[c];
                    ready.shares[c].iter().for_each(|(t, e)| share_in[*t] += e);
                    ready.uses[c].iter().for_each(|(l, u)| p.left[*l] -= u);
                }
                _ => {}
            }
        }
        if p.left.iter().any(|l| *l < -super::LIMIT_SLACK) {
            return None;
        }
        // Those that no longer fit are out.
        let (left, fate) = (&p.left, &mut p.fate);
        p.free.retain(|c| {
            let fits = ready.uses[*c].iter().all(|(l, u)| *u <= left[*l] + super::LIMIT_SLACK);
            if !fits {
                fate[*c] = Fate::Out;
            }
            fits
        });
        p.left.iter_mut().for_each(|l| *l = l.max(0.0));
        // Of each group at most one comes in, so least and most supply count one of each.
        let wants = ready.weight.len();
        let (mut least, mut most) = (share_in.clone(), share_in.clone());
        let (mut low, mut high) = (vec![0.0_f64; wants], vec![0.0_f64; wants]);
        for group in &ready.groups {
            let touch = || group.iter().filter(|c| p.fate[**c] == Fate::Free).flat_map(|c| &ready.shares[*c]);
            for (t, e) in touch() {
                low[*t] = low[*t].min(*e);
                high[*t] = high[*t].max(*e);
            }
            for (t, _) in touch() {
                least[*t] += std::mem::take(&mut low[*t]);
                most[*t] += std::mem::take(&mut high[*t]);
            }
        }
        p.roof = (0..wants).map(|t| Roof::over(least[t], most[t], share_in[t])).collect();
        let first_group = |k: usize| {
            let mut groups = ready.cliques[k].iter().filter(|c| p.fate[**c] == Fate::Free).map(|c| ready.group_of[*c]);
            let first = groups.next();
            first.is_some_and(|f| groups.any(|g| g != f))
        };
        p.live_cliques = (0..ready.cliques.len()).filter(|k| first_group(*k)).collect();
        Some(p)
    }

    pub fn settled(&self) -> bool {
        self.free.is_empty()
    }

    /// Reduced worths at these prices, into `reduced`, and the value of the relaxation; `pick` gets each group's choice.
    fn at(&self, y: &Prices, reduced: &mut [f64], pick: &mut Vec<usize>) -> f64 {
        let r = self.ready;
        let mut total = self.worth_in;
        for (t, roof) in self.roof.iter().enumerate() {
            total += (r.weight[t] - y.supply[t]) * roof.top + y.supply[t] * (roof.rise + roof.slope * roof.share_in);
        }
        total += self.left.iter().zip(&y.limit).map(|(l, p)| l * p).sum::<f64>();
        total += self.live_cliques.iter().map(|k| y.clique[*k]).sum::<f64>();
        for c in &self.free {
            reduced[*c] = r.worth[*c] + r.shares[*c].iter().map(|(t, e)| y.supply[*t] * self.roof[*t].slope * e).sum::<f64>()
                - r.uses[*c].iter().map(|(l, u)| y.limit[*l] * u).sum::<f64>();
        }
        for k in &self.live_cliques {
            let price = y.clique[*k];
            if price > 0.0 {
                r.cliques[*k].iter().for_each(|c| reduced[*c] -= price);
            }
        }
        pick.clear();
        let mut best: Vec<(f64, usize)> = vec![(0.0, usize::MAX); r.groups.len()];
        for c in &self.free {
            let slot = &mut best[r.group_of[*c]];
            if reduced[*c] > slot.0 {
                *slot = (reduced[*c], *c);
            }
        }
        for (v, c) in best {
            if c != usize::MAX {
                total += v;
                pick.push(c);
            }
        }
        total
    }

    /// Improves the prices for so many rounds and returns the best bound; stops once it is at or below `enough`.
    pub fn bound(&self, y: &mut Prices, rounds: usize, enough: f64, stop: &dyn Fn() -> bool) -> Shown {
        let r = self.ready;
        let mut reduced = vec![0.0; r.n];
        let mut pick = Vec::new();
        let mut often = vec![0.0; r.n];
        let (mut best, mut best_y) = (f64::INFINITY, y.clone());
        let (mut step, mut stale) = (1.0_f64, 0usize);
        let mut is_in = vec![false; r.n];
        for round in 0..=rounds {
            let total = self.at(y, &mut reduced, &mut pick);
            if total < best - 1e-12 * best.abs() {
                if total < best - 1e-5 * (best - enough).abs() {
                    stale = 0;
                }
                best = total;
                best_y.clone_from(y);
            } else {
                stale += 1;
            }
            let keep = if round == 0 { 0.0 } else { 0.93 };
            self.free.iter().for_each(|c| often[*c] *= keep);
            pick.iter().for_each(|c| often[*c] += 1.0 - keep);
            if best <= enough || round == rounds || (round % 16 == 15 && stop()) {
                break;
            }
            if stale >= 12 {
                step *= 0.6;
                stale = 0;
                y.clone_from(&best_y);
                if step < 1e-4 {
                    break;
                }
                continue;
            }
            // Slack of each priced row in the relaxed choice.
            pick.iter().for_each(|c| is_in[*c] = true);
            let mut share: Vec<f64> = self.roof.iter().map(|r| r.share_in).collect();
            let mut left = self.left.clone();
            for c in &pick {
                r.shares[*c].iter().for_each(|(t, e)| share[*t] += e);
                r.uses[*c].iter().for_each(|(l, u)| left[*l] -= u);
            }
            let slack_t: Vec<f64> = self.roof.iter().zip(&share).map(|(r, s)| r.rise + r.slope * s - r.top).collect();
            let slack_k: Vec<f64> = self.live_cliques.iter().map(|k| 1.0 - r.cliques[*k].iter().filter(|c| is_in[**c]).count() as f64).collect();
            pick.iter().for_each(|c| is_in[*c] = false);
            // A price at its end cannot move further; such rows do not count in the length.
            let counts = |slack: f64, price: f64, top: f64| (slack > 0.0 && price <= 0.0) || (slack < 0.0 && price >= top);
            let mut length = 0.0;
            length += (slack_t.iter().enumerate()).filter(|(t, g)| !counts(**g, y.supply[*t], r.weight[*t])).map(|(t, g)| g * g * r.weight[t] * r.weight[t]).sum::<f64>();
            length += slack_k.iter().zip(&self.live_cliques).filter(|(g, k)| !counts(**g, y.clique[**k], f64::INFINITY)).map(|(g, _)| g * g).sum::<f64>();
            length += left.iter().zip(&y.limit).filter(|(g, p)| !counts(**g, **p, f64::INFINITY)).map(|(g, _)| g * g).sum::<f64>();
            if length <= 0.0 {
                break;
            }
            let move_by = step * (total - enough).max(1e-9 * total.abs()) / length;
            for (t, g) in slack_t.iter().enumerate() {
                // Prices of supply are scaled by the weight, so that light wants move little.
                let w = r.weight[t];
                y.supply[t] = (y.supply[t] - move_by * g * w * w).clamp(0.0, w);
            }
            for (g, k) in slack_k.iter().zip(&self.live_cliques) {
                y.clique[*k] = (y.clique[*k] - move_by * g).max(0.0);
            }
            for (p, g) in y.limit.iter_mut().zip(&left) {
                *p = (*p - move_by * g).max(0.0);
            }
        }
        y.clone_from(&best_y);
        let bound = self.at(y, &mut reduced, &mut pick);
        Shown { bound: bound.max(f64::NEG_INFINITY), reduced, often }
    }

    /// Candidates whose other fate could not beat `best`: to be put out, and to be put in.
    pub fn forced(&self, shown: &Shown, best: f64) -> (Vec<usize>, Vec<usize>) {
        let r = self.ready;
        let mut top: Vec<(f64, f64, usize)> = vec![(0.0, 0.0, usize::MAX); r.groups.len()];
        for c in &self.free {
            let slot = &mut top[r.group_of[*c]];
            let v = shown.reduced[*c];
            if v > slot.0 {
                *slot = (v, slot.0, *c);
            } else if v > slot.1 {
                slot.1 = v;
            }
        }
        let out = self.free.iter().copied().filter(|c| shown.bound - top[r.group_of[*c]].0 + shown.reduced[*c] <= best).collect();
        let into = top.iter().filter(|(v, second, c)| *c != usize::MAX && shown.bound - v + second <= best).map(|(_, _, c)| *c).collect();
        (out, into)
    }

    pub fn free(&self) -> &[usize] {
        &self.free
    }

    pub fn roof(&self) -> &[Roof] {
        &self.roof
    }

    pub fn left(&self) -> &[f64] {
        &self.left
    }

    pub fn live_cliques(&self) -> &[usize] {
        &self.live_cliques
    }
}

impl Roof {
    fn over(least: f64, most: f64, share_in: f64) -> Roof {
        if most <= 0.0 {
            return Roof { top: 0.0, slope: 0.0, rise: 0.0, share_in };
        }
        if least >= 1.0 {
            return Roof { top: 1.0, slope: 0.0, rise: 1.0, share_in };
        }
        let (top, foot) = (most.min(1.0), least.min(0.0));
        let slope = top / (top - foot);
        Roof { top, slope, rise: -slope * foot, share_in }
    }
}
