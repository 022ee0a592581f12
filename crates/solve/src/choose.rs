//! Choosing which candidate measures to carry out: the birds' needs met over leks, seasons and years, less harm, within
//! money, ground and every other limit, with a bound on what any other choice could reach.

use super::pack::{self, Answer, Limit, Options, Pack, PackError, Ready, State, Status, Want};
use serde::Serialize;

/// A candidate measure at one place.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Candidate {
    /// Ground it takes.
    pub area_ha: f64,
    /// What it costs.
    pub cost_gbp: f64,
    /// Harm it does, in the unit of the terms' weights.
    pub harm: f64,
    /// Changes of supply: term and amount in the unit of the term's need, of either sign.
    pub deltas: Vec<(usize, f64)>,
}

/// One lek, season and year: what it has without any candidate, what it needs, and what meeting the need is worth.
pub type Term = Want;

/// The question.
#[derive(Clone, Debug, Default)]
pub struct Choice {
    /// Candidates.
    pub candidates: Vec<Candidate>,
    /// Terms.
    pub terms: Vec<Term>,
    /// The most money; `None` for no limit.
    pub budget_gbp: Option<f64>,
    /// The most ground; `None` for no limit.
    pub area_ha: Option<f64>,
    /// Further limits over a named use of the candidates, such as planted ground of one parcel.
    pub limits: Vec<Limit>,
    /// Sets of candidates of which at most one may be chosen; pairs are sets of two.
    pub exclusive: Vec<Vec<usize>>,
    /// Candidates that must be chosen.
    pub forced_in: Vec<usize>,
    /// Candidates that must not be chosen.
    pub forced_out: Vec<usize>,
}

/// What was chosen, how good it is and how good any choice could be.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Chosen {
    /// Chosen candidates, in order.
    pub chosen: Vec<usize>,
    /// Value of the choice.
    pub objective: f64,
    /// Value of choosing only what must be chosen.
    pub before: f64,
    /// No choice has a higher value.
    pub upper_bound: f64,
    /// `(upper_bound - objective) / |upper_bound|`.
    pub gap: f64,
    /// The same for what the choice adds: `(upper_bound - objective) / (upper_bound - before)`.
    pub gap_of_gain: f64,
    /// How the search ended.
    pub status: Status,
    /// Money.
    pub cost_gbp: f64,
    /// Ground.
    pub area_ha: f64,
    /// Parts of the search looked at.
    pub nodes: usize,
}

/// One step of buying in the order of gain per pound.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Step {
    /// The candidate bought.
    pub candidate: usize,
    /// What it adds at this point.
    pub gain: f64,
    /// What it costs.
    pub cost_gbp: f64,
    /// Value after it.
    pub objective: f64,
    /// Money spent so far, what was there before included.
    pub spent_gbp: f64,
}

impl Step {
    /// Gain per thousand pounds; `None` where it costs nothing.
    pub fn gain_per_1000_gbp(&self) -> Option<f64> {
        (self.cost_gbp > 0.0).then(|| 1000.0 * self.gain / self.cost_gbp)
    }
}

impl Choice {
    /// The best choice, or the best found with its bound.
    ///
    /// # Errors
    /// [`PackError`]: a faulty question (every fault), or forced candidates that cannot be chosen together.
    pub fn solve(&self, options: &Options, stop: &dyn Fn() -> bool) -> Result<Chosen, PackError> {
        let pack = self.pose()?;
        let ready = Ready::new(&pack)?;
        let answer = pack::search(&ready, options, &[], stop);
        Ok(self.read(&pack, answer))
    }

    /// The best choice for each of several budgets (pounds, any order), in their order. Each search starts from the
    /// choice of the next smaller budget, and no bound is above that of a larger budget.
    ///
    /// # Errors
    /// [`PackError`], as for [`Choice::solve`].
    pub fn frontier(&self, budgets_gbp: &[f64], options: &Options, stop: &dyn Fn() -> bool) -> Result<Vec<Chosen>, PackError> {
        let mut order: Vec<usize> = (0..budgets_gbp.len()).collect();
        order.sort_by(|a, b| budgets_gbp[*a].total_cmp(&budgets_gbp[*b]));
        let mut out: Vec<Option<Chosen>> = vec![None; budgets_gbp.len()];
        let mut start: Vec<usize> = Vec::new();
        for i in &order {
            let with = Choice { budget_gbp: Some(budgets_gbp[*i]), ..self.clone() };
            let pack = with.pose()?;
            let answer = pack::search(&Ready::new(&pack)?, options, &start, stop);
            start.clone_from(&answer.chosen);
            out[*i] = Some(with.read(&pack, answer));
        }
        let mut least = f64::INFINITY;
        for i in order.iter().rev() {
            if let Some(c) = &mut out[*i] {
                least = least.min(c.upper_bound);
                c.bound_by(least, options.gap);
            }
        }
        Ok(out.into_iter().flatten().collect())
    }

    /// What to buy next on top of `have`, at most `n` steps, greatest gain per pound first (what costs nothing before all).
    /// Limits, exclusions and the budget are kept; the steps end where nothing more gains or fits.
    ///
    /// # Errors
    /// [`PackError`]: a faulty question, or a `have` that breaks a rule.
    pub fn next(&self, have: &[usize], n: usize) -> Result<Vec<Step>, PackError> {
        let with = Choice { forced_in: self.forced_in.iter().chain(have).copied().collect(), ..self.clone() };
        let pack = with.pose()?;
        let ready = Ready::new(&pack)?;
        let mut state = State::new(&ready);
        let mut spent: f64 = ready.forced().iter().map(|c| self.candidates[*c].cost_gbp).sum();
        let free = self.candidates.iter().map(|c| c.cost_gbp).filter(|c| *c > 0.0).fold(f64::INFINITY, f64::min).min(1.0) * 1e-9;
        let mut steps = Vec::new();
        for (candidate, gain) in state.buy(n, &|c| self.candidates[c].cost_gbp.max(free)) {
            let cost_gbp = self.candidates[candidate].cost_gbp;
            spent += cost_gbp;
            let objective = steps.last().map_or(State::new(&ready).value, |s: &Step| s.objective) + gain;
            steps.push(Step { candidate, gain, cost_gbp, objective, spent_gbp: spent });
        }
        Ok(steps)
    }

    /// Value of a choice, straight from the definition.
    pub fn value(&self, chosen: &[usize]) -> f64 {
        self.pose().map_or(f64::NAN, |p| p.value(chosen))
    }

    /// Every rule a choice breaks, in words; empty where it may be chosen.
    ///
    /// # Errors
    /// [`PackError::Faulty`] for a faulty question.
    pub fn broken(&self, chosen: &[usize]) -> Result<Vec<String>, PackError> {
        Ok(self.pose()?.broken(chosen))
    }

    fn pose(&self) -> Result<Pack, PackError> {
        let mut faults = Vec::new();
        for (i, c) in self.candidates.iter().enumerate() {
            for (what, v) in [("area_ha", c.area_ha), ("cost_gbp", c.cost_gbp)] {
                if !(v.is_finite() && v >= 0.0) {
                    faults.push(format!("candidate {i} has {what} {v}: needed nought or more"));
                }
            }
        }
        if !faults.is_empty() {
            return Err(PackError::Faulty(faults));
        }
        let mut limits = self.limits.clone();
        let all = |f: fn(&Candidate) -> f64| self.candidates.iter().map(f).enumerate().collect::<Vec<_>>();
        if let Some(most) = self.budget_gbp {
            limits.push(Limit { name: "budget, pounds".into(), most, uses: all(|c| c.cost_gbp) });
        }
        if let Some(most) = self.area_ha {
            limits.push(Limit { name: "area, hectares".into(), most, uses: all(|c| c.area_ha) });
        }
        Ok(Pack {
            worth: self.candidates.iter().map(|c| -c.harm).collect(),
            deltas: self.candidates.iter().map(|c| c.deltas.clone()).collect(),
            wants: self.terms.clone(),
            limits,
            cliques: self.exclusive.clone(),
            forced_in: self.forced_in.clone(),
            forced_out: self.forced_out.clone(),
        })
    }

    fn read(&self, pack: &Pack, answer: Answer) -> Chosen {
        let objective = pack.value(&answer.chosen);
        let mut forced = pack.forced_in.clone();
        forced.sort_unstable();
        forced.dedup();
        let sum = |f: fn(&Candidate) -> f64| answer.chosen.iter().map(|c| f(&self.candidates[*c])).fold(0.0, |sum, v| sum + v);
        let mut chosen = Chosen {
            objective,
            before: pack.value(&forced),
            upper_bound: answer.upper_bound,
            gap: 0.0,
            gap_of_gain: 0.0,
            status: answer.status,
            cost_gbp: sum(|c| c.cost_gbp),
            area_ha: sum(|c| c.area_ha),
            nodes: answer.nodes,
            chosen: answer.chosen,
        };
        chosen.bound_by(answer.upper_bound, f64::NAN);
        chosen
    }
}

impl Chosen {
    /// Takes a bound and what follows from it.
    fn bound_by(&mut self, bound: f64, asked: f64) {
        self.upper_bound = bound.max(self.objective);
        self.gap = pack::gap_of(self.objective, self.upper_bound);
        self.gap_of_gain = pack::gap_of(self.objective - self.before, self.upper_bound - self.before).min(1.0);
        if self.gap == 0.0 {
            self.status = Status::Proven;
        } else if self.gap.max(self.gap_of_gain) <= asked && self.status != Status::Proven {
            self.status = Status::Within;
        }
    }
}
