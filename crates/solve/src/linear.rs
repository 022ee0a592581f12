//! A linear program: named amounts with bounds, named rows, one thing to make as large or as small as can be.
//!
//! The simplex solver gives the plan (a corner, so that amounts are whole noughts where they can be), the interior
//! point solver gives the prices of the rows and, where nothing fits, the rows that cannot be met together. The two
//! are independent: where their values differ by more than [`AGREE`], the answer is refused.

use clarabel::algebra::CscMatrix;
use clarabel::solver::{DefaultSettings, DefaultSolver, IPSolver, NonnegativeConeT, SolverStatus, ZeroConeT};
use serde::Serialize;

/// The two solvers must agree to this share of the value (of one unit where the value is below one).
pub const AGREE: f64 = 1e-6;
/// Prices below this share of the largest worth are noise of the interior point solver and are shown as nought.
const NOISE: f64 = 1e-7;
/// Parts below this share of the largest of a proof of impossibility are left out of the words.
const PART: f64 = 1e-4;
/// A proof of more parts than this is not thinned to the least set.
const FILTER: usize = 400;

/// Whether the worth is to be as large or as small as can be.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Sense {
    /// As large as can be.
    Maximise,
    /// As small as can be.
    Minimise,
}

/// How a row's sum stands to its limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Relation {
    /// At most the limit.
    AtMost,
    /// Exactly the limit.
    Equal,
    /// At least the limit.
    AtLeast,
}

impl Relation {
    /// The words between sum and limit.
    pub fn word(self) -> &'static str {
        match self {
            Relation::AtMost => "at most",
            Relation::Equal => "exactly",
            Relation::AtLeast => "at least",
        }
    }
}

/// One amount to find.
#[derive(Clone, Debug)]
pub struct Variable {
    /// Its name in messages.
    pub name: String,
    /// Least amount; minus infinity for none.
    pub lower: f64,
    /// Greatest amount; infinity for none.
    pub upper: f64,
    /// Worth of one unit.
    pub worth: f64,
}

/// One linear row.
#[derive(Clone, Debug)]
pub struct Row {
    /// Its name in messages and beside its price.
    pub name: String,
    /// Variables (by the number [`Program::variable`] gave) and their factors; a variable named twice counts twice.
    pub terms: Vec<(usize, f64)>,
    /// How the sum stands to the limit.
    pub relation: Relation,
    /// The limit.
    pub limit: f64,
}

/// A linear program.
#[derive(Clone, Debug)]
pub struct Program {
    /// Larger or smaller.
    pub sense: Sense,
    /// The amounts.
    pub variables: Vec<Variable>,
    /// The rows.
    pub rows: Vec<Row>,
}

/// An optimal answer.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Optimum {
    /// Worth of the plan.
    pub value: f64,
    /// Amount of each variable.
    pub amounts: Vec<f64>,
    /// Price of each row: change of the value for one unit more of its limit. Where several prices are right (a
    /// degenerate corner) this is one of them, inside their range.
    pub row_prices: Vec<f64>,
    /// Price of each variable's upper bound: change of the value for one unit more room; nought where it does not bind.
    pub upper_prices: Vec<f64>,
    /// Price of each variable's lower bound: change of the value for one unit more of it.
    pub lower_prices: Vec<f64>,
}

/// Why there is no optimum.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum LinearError {
    /// The program is not a program; every fault.
    #[error("the linear program is faulty: {}", .0.join("; "))]
    Faulty(Vec<String>),
    /// No amounts meet all rows and bounds.
    #[error("these cannot all be met: {}; relax one of them", .conflict.join("; "))]
    Impossible {
        /// Rows and bounds that together cannot be met, in words; all of them are part of the proof.
        conflict: Vec<String>,
    },
    /// The worth has no end.
    #[error("the worth has no limit: {} can change for ever; give a bound or a row that holds it", .along.join(", "))]
    Unbounded {
        /// Variables that run away.
        along: Vec<String>,
    },
    /// Neither solver settled it, or they do not agree.
    #[error("the linear program could not be settled: {0}")]
    Unsettled(String),
}

impl Program {
    /// An empty program.
    pub fn new(sense: Sense) -> Program {
        Program { sense, variables: Vec::new(), rows: Vec::new() }
    }

    /// Adds an amount; returns its number.
    pub fn variable(&mut self, name: impl Into<String>, lower: f64, upper: f64, worth: f64) -> usize {
        self.variables.push(Variable { name: name.into(), lower, upper, worth });
        self.variables.len() - 1
    }

    /// Adds a row; returns its number.
    pub fn row(&mut self, name: impl Into<String>, terms: Vec<(usize, f64)>, relation: Relation, limit: f64) -> usize {
        self.rows.push(Row { name: name.into(), terms, relation, limit });
        self.rows.len() - 1
    }

    /// Worth, amounts and prices at the optimum.
    ///
    /// # Errors
    /// [`LinearError`]: faulty input (all faults at once), rows that cannot be met together, a worth without limit, or
    /// no settled answer.
    pub fn solve(&self) -> Result<Optimum, LinearError> {
        self.check()?;
        if self.variables.is_empty() {
            return self.empty();
        }
        let priced = self.prices()?;
        let (value, amounts) = self.corner()?.unwrap_or((priced.value, priced.amounts));
        let apart = (value - priced.value).abs();
        if apart > AGREE * value.abs().max(1.0) {
            return Err(LinearError::Unsettled(format!("one solver finds {value:.9}, the other {:.9}", priced.value)));
        }
        Ok(Optimum { value, amounts, ..priced.rest })
    }

    /// Value, amounts and prices by the interior point alone: quicker on large programs, unchecked by a second solver.
    pub(super) fn interior(&self) -> Result<Optimum, LinearError> {
        self.check()?;
        let got = self.prices()?;
        Ok(Optimum { value: got.value, amounts: got.amounts, ..got.rest })
    }

    fn check(&self) -> Result<(), LinearError> {
        let mut faults = Vec::new();
        for v in &self.variables {
            if v.lower.is_nan() || v.upper.is_nan() || !v.worth.is_finite() || v.lower == f64::INFINITY || v.upper == f64::NEG_INFINITY {
                faults.push(format!("'{}' has bounds {} to {} and worth {}: needed numbers", v.name, v.lower, v.upper, v.worth));
            }
        }
        for r in &self.rows {
            if !r.limit.is_finite() || r.terms.iter().any(|(_, a)| !a.is_finite()) {
                faults.push(format!("row '{}' has a limit or factor that is not a number", r.name));
            }
            if let Some((v, _)) = r.terms.iter().find(|(v, _)| *v >= self.variables.len()) {
                faults.push(format!("row '{}' names variable {v}; there are {}", r.name, self.variables.len()));
            }
        }
        if !faults.is_empty() {
            return Err(LinearError::Faulty(faults));
        }
        let crossed: Vec<String> = self.variables.iter().filter(|v| v.lower > v.upper).flat_map(|v| [lower_words(v), upper_words(v)]).collect();
        if crossed.is_empty() { Ok(()) } else { Err(LinearError::Impossible { conflict: crossed }) }
    }

    /// Without variables a row is met or it is not.
    fn empty(&self) -> Result<Optimum, LinearError> {
        let broken: Vec<String> = (self.rows.iter())
            .filter(|r| match r.relation {
                Relation::AtMost => r.limit < 0.0,
                Relation::Equal => r.limit != 0.0,
                Relation::AtLeast => r.limit > 0.0,
            })
            .map(row_words)
            .collect();
        if !broken.is_empty() {
            return Err(LinearError::Impossible { conflict: broken });
        }
        Ok(Optimum { value: 0.0, amounts: vec![], row_prices: vec![0.0; self.rows.len()], upper_prices: vec![], lower_prices: vec![] })
    }

    /// The simplex corner; `None` where that solver gives up (the interior point then stands alone).
    fn corner(&self) -> Result<Option<(f64, Vec<f64>)>, LinearError> {
        use microlp::{ComparisonOp, Error, OptimizationDirection, Problem};
        let mut problem = Problem::new(match self.sense {
            Sense::Maximise => OptimizationDirection::Maximize,
            Sense::Minimise => OptimizationDirection::Minimize,
        });
        let vars: Vec<_> = self.variables.iter().map(|v| problem.add_var(v.worth, (v.lower, v.upper))).collect();
        for r in &self.rows {
            let op = match r.relation {
                Relation::AtMost => ComparisonOp::Le,
                Relation::Equal => ComparisonOp::Eq,
                Relation::AtLeast => ComparisonOp::Ge,
            };
            let terms: Vec<_> = merged(&r.terms).into_iter().map(|(v, a)| (vars[v], a)).collect();
            problem.add_constraint(terms.as_slice(), op, r.limit);
        }
        match problem.solve() {
            Ok(outcome) => Ok(outcome.into_solution().ok().map(|s| {
                let amounts: Vec<f64> = vars.iter().map(|v| s.var_value(*v)).collect();
                (self.variables.iter().zip(&amounts).map(|(v, x)| v.worth * x).sum(), amounts)
            })),
            Err(Error::Infeasible | Error::Unbounded) => Err(LinearError::Unsettled("one solver finds an answer, the other finds none".into())),
            Err(_) => Ok(None),
        }
    }

    /// The interior point: value, amounts and prices, or the proof that there is none.
    fn prices(&self) -> Result<Priced, LinearError> {
        let n = self.variables.len();
        let sign = if self.sense == Sense::Maximise { 1.0 } else { -1.0 };
        // Rows of the solver: equalities first, then everything as "at most".
        let mut lines: Vec<Line> = Vec::new();
        for (i, r) in self.rows.iter().enumerate().filter(|(_, r)| r.relation == Relation::Equal) {
            lines.push(Line { part: Part::Row(i), terms: merged(&r.terms), limit: r.limit, turn: 1.0 });
        }
        let equal = lines.len();
        for (i, r) in self.rows.iter().enumerate().filter(|(_, r)| r.relation != Relation::Equal) {
            let turn = if r.relation == Relation::AtLeast { -1.0 } else { 1.0 };
            let terms = merged(&r.terms).into_iter().map(|(v, a)| (v, turn * a)).collect();
            lines.push(Line { part: Part::Row(i), terms, limit: turn * r.limit, turn });
        }
        for (j, v) in self.variables.iter().enumerate() {
            if v.upper.is_finite() {
                lines.push(Line { part: Part::Upper(j), terms: vec![(j, 1.0)], limit: v.upper, turn: 1.0 });
            }
            if v.lower.is_finite() {
                lines.push(Line { part: Part::Lower(j), terms: vec![(j, -1.0)], limit: -v.lower, turn: -1.0 });
            }
        }
        let (mut at, mut col, mut val) = (Vec::new(), Vec::new(), Vec::new());
        for (i, line) in lines.iter().enumerate() {
            for (v, a) in &line.terms {
                at.push(i);
                col.push(*v);
                val.push(*a);
            }
        }
        let matrix = CscMatrix::new_from_triplets(lines.len(), n, at, col, val);
        let limits: Vec<f64> = lines.iter().map(|l| l.limit).collect();
        let worth: Vec<f64> = self.variables.iter().map(|v| -sign * v.worth).collect();
        let cones = [ZeroConeT(equal), NonnegativeConeT(lines.len() - equal)];
        let settings = DefaultSettings::<f64> { verbose: false, ..DefaultSettings::default() };
        let mut solver = DefaultSolver::new(&CscMatrix::zeros((n, n)), &worth, &matrix, &limits, &cones, settings)
            .map_err(|e| LinearError::Unsettled(e.to_string()))?;
        solver.solve();
        let got = &solver.solution;
        match got.status {
            SolverStatus::Solved | SolverStatus::AlmostSolved => {}
            SolverStatus::PrimalInfeasible | SolverStatus::AlmostPrimalInfeasible => {
                let most = got.z.iter().fold(0.0_f64, |m, z| m.max(z.abs()));
                let part = (lines.iter().zip(&got.z)).filter(|(_, z)| z.abs() > PART * most).map(|(l, _)| l.part).collect();
                let conflict = self.least_conflict(part).into_iter().map(|l| self.words(l)).collect();
                return Err(LinearError::Impossible { conflict });
            }
            SolverStatus::DualInfeasible | SolverStatus::AlmostDualInfeasible => {
                let most = got.x.iter().fold(0.0_f64, |m, x| m.max(x.abs()));
                let along = self.variables.iter().zip(&got.x).filter(|(_, x)| x.abs() > PART * most).map(|(v, _)| v.name.clone()).collect();
                return Err(LinearError::Unbounded { along });
            }
            other => return Err(LinearError::Unsettled(format!("the solver stopped with '{other:?}'"))),
        }
        let noise = NOISE * self.variables.iter().fold(0.0_f64, |m, v| m.max(v.worth.abs()));
        let mut rest = Optimum { value: 0.0, amounts: vec![], row_prices: vec![0.0; self.rows.len()], upper_prices: vec![0.0; n], lower_prices: vec![0.0; n] };
        for (line, z) in lines.iter().zip(&got.z) {
            let price = if z.abs() <= noise { 0.0 } else { sign * line.turn * z };
            match line.part {
                Part::Row(i) => rest.row_prices[i] = price,
                Part::Upper(j) => rest.upper_prices[j] = price,
                Part::Lower(j) => rest.lower_prices[j] = price,
            }
        }
        Ok(Priced { value: -sign * got.obj_val, amounts: got.x.clone(), rest })
    }

    /// Of rows and bounds that cannot be met together, a set of which every one is needed for that. That amounts are not
    /// below nought goes without saying.
    fn least_conflict(&self, mut parts: Vec<Part>) -> Vec<Part> {
        parts.retain(|p| !matches!(p, Part::Lower(j) if self.variables[*j].lower == 0.0));
        if parts.len() > FILTER {
            return parts;
        }
        let mut i = 0;
        while i < parts.len() {
            let mut fewer = parts.clone();
            fewer.remove(i);
            if self.cannot(&fewer) { parts = fewer } else { i += 1 }
        }
        parts
    }

    /// Whether these rows and bounds alone already cannot be met.
    fn cannot(&self, parts: &[Part]) -> bool {
        use microlp::{ComparisonOp, Error, OptimizationDirection, Problem};
        let mut bounds: Vec<(f64, f64)> = (self.variables.iter()).map(|v| (if v.lower == 0.0 { 0.0 } else { f64::NEG_INFINITY }, f64::INFINITY)).collect();
        for part in parts {
            match part {
                Part::Upper(j) => bounds[*j].1 = self.variables[*j].upper,
                Part::Lower(j) => bounds[*j].0 = self.variables[*j].lower,
                Part::Row(_) => {}
            }
        }
        let mut problem = Problem::new(OptimizationDirection::Minimize);
        let vars: Vec<_> = bounds.iter().map(|b| problem.add_var(0.0, *b)).collect();
        for part in parts {
            let Part::Row(i) = part else { continue };
            let op = match self.rows[*i].relation {
                Relation::AtMost => ComparisonOp::Le,
                Relation::Equal => ComparisonOp::Eq,
                Relation::AtLeast => ComparisonOp::Ge,
            };
            let terms: Vec<_> = merged(&self.rows[*i].terms).into_iter().map(|(v, a)| (vars[v], a)).collect();
            problem.add_constraint(terms.as_slice(), op, self.rows[*i].limit);
        }
        matches!(problem.solve(), Err(Error::Infeasible))
    }

    fn words(&self, part: Part) -> String {
        match part {
            Part::Row(i) => row_words(&self.rows[i]),
            Part::Upper(j) => upper_words(&self.variables[j]),
            Part::Lower(j) => lower_words(&self.variables[j]),
        }
    }
}

/// What a line of the solver stands for.
#[derive(Clone, Copy)]
enum Part {
    Row(usize),
    Upper(usize),
    Lower(usize),
}

struct Line {
    part: Part,
    terms: Vec<(usize, f64)>,
    limit: f64,
    /// Minus one where the row was turned round to read "at most".
    turn: f64,
}

struct Priced {
    value: f64,
    amounts: Vec<f64>,
    rest: Optimum,
}

fn row_words(r: &Row) -> String {
    format!("'{}' {} {}", r.name, r.relation.word(), r.limit)
}

fn upper_words(v: &Variable) -> String {
    format!("'{}' at most {}", v.name, v.upper)
}

fn lower_words(v: &Variable) -> String {
    format!("'{}' at least {}", v.name, v.lower)
}

/// Each variable once, in order; noughts left out.
fn merged(terms: &[(usize, f64)]) -> Vec<(usize, f64)> {
    let mut sorted = terms.to_vec();
    sorted.sort_by_key(|(v, _)| *v);
    let mut out: Vec<(usize, f64)> = Vec::with_capacity(sorted.len());
    for (v, a) in sorted {
        match out.last_mut() {
            Some((last, sum)) if *last == v => *sum += a,
            _ => out.push((v, a)),
        }
    }
    out.retain(|(_, a)| *a != 0.0);
    out
}
