//! Choosing from candidates of which some exclude each other, under limits, for supply that stops counting once the need
//! is met. The common ground of choosing measures and of the heather rotation.
//!
//! `maximise sum over terms weight * min(1, max(0, (base + sum of the chosen deltas) / need)) + sum of the chosen worths`
//! with at most one chosen of each clique and the sum of uses within each limit.

mod bound;
mod branch;
mod climb;
mod ready;
mod relax;
mod state;

pub use branch::{Answer, Options, Status};
pub use ready::PackError;
pub(super) use branch::{gap_of, search};
pub(super) use ready::Ready;
pub(super) use state::State;

/// Something wanted: its value grows with supply until the need is met.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Want {
    /// Supply without any candidate, in the unit of the need.
    pub base: f64,
    /// Supply at which nothing more is gained; above nought.
    pub need: f64,
    /// Value when the need is met; nought or more.
    pub weight: f64,
}

/// A sum that the chosen candidates may not exceed.
#[derive(Clone, Debug, PartialEq)]
pub struct Limit {
    /// Its name in messages.
    pub name: String,
    /// The most, nought or more; infinity for no end.
    pub most: f64,
    /// Use by candidate, nought or more; those not named use nothing.
    pub uses: Vec<(usize, f64)>,
}

/// The question.
#[derive(Clone, Debug, Default)]
pub struct Pack {
    /// Value of each candidate in itself (minus its harm).
    pub worth: Vec<f64>,
    /// By candidate: changes of supply, as wants and amounts in the unit of the need, of either sign.
    pub deltas: Vec<Vec<(usize, f64)>>,
    /// What is wanted.
    pub wants: Vec<Want>,
    /// Limits.
    pub limits: Vec<Limit>,
    /// Sets of candidates of which at most one may be chosen; pairs are cliques of two.
    pub cliques: Vec<Vec<usize>>,
    /// Candidates that must be chosen.
    pub forced_in: Vec<usize>,
    /// Candidates that must not be chosen.
    pub forced_out: Vec<usize>,
}

impl Pack {
    /// Value of a choice, straight from the definition.
    pub fn value(&self, chosen: &[usize]) -> f64 {
        let mut supply: Vec<f64> = self.wants.iter().map(|w| w.base).collect();
        for c in chosen {
            for (t, d) in &self.deltas[*c] {
                supply[*t] += d;
            }
        }
        let met: f64 = self.wants.iter().zip(&supply).map(|(w, s)| w.weight * (s / w.need).clamp(0.0, 1.0)).sum();
        met + chosen.iter().map(|c| self.worth[*c]).sum::<f64>()
    }

    /// Every rule a choice breaks, in words; empty where it may be chosen.
    pub fn broken(&self, chosen: &[usize]) -> Vec<String> {
        let mut is_in = vec![false; self.worth.len()];
        let mut out = Vec::new();
        for c in chosen {
            if std::mem::replace(&mut is_in[*c], true) {
                out.push(format!("candidate {c} is chosen twice"));
            }
        }
        for (k, clique) in self.cliques.iter().enumerate() {
            let mut inside: Vec<usize> = clique.iter().copied().filter(|c| is_in[*c]).collect();
            inside.sort_unstable();
            inside.dedup();
            if inside.len() > 1 {
                out.push(format!("candidates {inside:?} exclude each other (clique {k})"));
            }
        }
        for l in &self.limits {
            let used: f64 = l.uses.iter().filter(|(c, _)| is_in[*c]).map(|(_, u)| u).sum();
            if used > l.most + LIMIT_SLACK * l.most.abs().max(1.0) {
                out.push(format!("'{}' used {used}: at most {}", l.name, l.most));
            }
        }
        out.extend(self.forced_in.iter().filter(|c| !is_in[**c]).map(|c| format!("candidate {c} must be chosen")));
        out.extend(self.forced_out.iter().filter(|c| is_in[**c]).map(|c| format!("candidate {c} must not be chosen")));
        out
    }
}

/// Round-off allowed on a limit, as a share of it.
pub(super) const LIMIT_SLACK: f64 = 1e-9;
