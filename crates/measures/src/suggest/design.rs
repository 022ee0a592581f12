//! What designers weigh by: the needs of the birds met over leks, seasons and the years ahead, nearer years more.
//!
//! `value = sum over leks, seasons and years of weight(year) * min(1, supply / need)`, at the middle of every figure. A weight
//! is the sum of the discount factors of the years a told year stands for, so that one unit is one season of one lek met for one year
//! (of today's worth).

use crate::option;
use crate::rules::Context;
use solve::choose::Term;
use guidance::Unknown;
use habitat::Season;
use habitat::ahead::Programme;
use habitat::ahead::trial::BySeason;
use habitat::ledger::Supply;
use holding::{Holding, Measure, PlanOption};

/// The years a design looks at, and what meeting a need in each is worth.
#[derive(Clone, Debug, PartialEq)]
pub struct Horizon {
    /// Years from the plan's day, rising.
    pub years: Vec<u32>,
    /// Discounted years each stands for.
    pub weights: Vec<f64>,
    /// Share a year's worth keeps a year later.
    keeps: f64,
}

/// Years designers work the ledger out for; the years between go to the nearest.
const TOLD: [u32; 7] = [2, 5, 8, 12, 17, 23, 30];

impl Horizon {
    /// Thirty years, discounted at `design.discount` (the Treasury's rate for years up to thirty).
    ///
    /// # Errors
    /// A figure the tables lack.
    pub fn read(c: &Context) -> Result<Horizon, Unknown> {
        let rate = c.number("design.discount")? / 100.0;
        let mut weights = vec![0.0; TOLD.len()];
        for year in 1..=TOLD[TOLD.len() - 1] {
            let nearest = (0..TOLD.len()).min_by_key(|i| TOLD[*i].abs_diff(year)).unwrap_or(0);
            weights[nearest] += (1.0 + rate).powi(-(year as i32));
        }
        Ok(Horizon { years: TOLD.to_vec(), weights, keeps: 1.0 / (1.0 + rate) })
    }

    /// Discounted years of a run of so many years from now.
    pub fn discounted(&self, years: f64) -> f64 {
        (1..=years.max(0.0).round() as i32).map(|t| self.keeps.powi(t)).sum()
    }

    /// The terms of a choice: year, lek and season in that order.
    pub fn terms(&self, now: &BySeason, need: &[[f64; 7]]) -> Vec<Term> {
        let mut out = Vec::new();
        for (leks, weight) in now.iter().zip(&self.weights) {
            for (supply, need) in leks.iter().zip(need) {
                out.extend(supply.iter().zip(need).map(|(base, need)| Term { base: *base, need: need.max(1e-9), weight: *weight }));
            }
        }
        out
    }
}

/// What a change of supply adds to the value by itself.
pub fn gain(terms: &[Term], effect: &BySeason) -> f64 {
    let met = |t: &Term, supply: f64| t.weight * (supply / t.need).clamp(0.0, 1.0);
    terms.iter().zip(effect.iter().flatten().flatten()).map(|(t, d)| met(t, t.base + d) - met(t, t.base)).sum()
}

/// Value met under a forecast over the horizon's years, draw by draw. `supply` by year of the horizon, lek, season and draw; `need` by lek.
pub fn met_by_draw(horizon: &Horizon, supply: &[Vec<Supply>], need: &[Supply]) -> Vec<f64> {
    let draws = need.first().map_or(0, |n| n[0].len());
    let mut out = vec![0.0; draws];
    for (leks, weight) in supply.iter().zip(&horizon.weights) {
        for (supply, need) in leks.iter().zip(need) {
            for (supply, need) in supply.iter().zip(need) {
                for ((met, s), n) in out.iter_mut().zip(supply).zip(need) {
                    *met += weight * (s / n.max(1e-9)).min(1.0);
                }
            }
        }
    }
    out
}

/// Changes of supply as a choice takes them: term and usable hectares, those worth nothing left out.
pub fn deltas(effect: &BySeason) -> Vec<(usize, f64)> {
    effect.iter().flatten().flatten().copied().enumerate().filter(|(_, d)| d.abs() > 1e-9).collect()
}

/// What a change of supply by year, lek and season helps most and harms most, in words.
pub fn changes(c: &Context, effect: &BySeason) -> String {
    let mut best: Option<(f64, usize, usize)> = None;
    let mut worst: Option<(f64, usize, usize)> = None;
    for (lek, _) in c.leks().iter().enumerate() {
        for s in 0..7 {
            let change = effect.iter().map(|year| year[lek][s]).fold(0.0f64, |m, v| if v.abs() > m.abs() { v } else { m });
            if change > best.map_or(0.005, |b| b.0) {
                best = Some((change, lek, s));
            }
            if change < worst.map_or(-0.005, |b| b.0) {
                worst = Some((change, lek, s));
            }
        }
    }
    let of = |(change, lek, s): (f64, usize, usize)| {
        format!("{} at {} by up to {:.1} usable ha", Season::ALL[s].name(), c.lek_name(lek), change.abs())
    };
    match (best, worst) {
        (Some(b), Some(w)) => format!("adds to {}; takes from {}", of(b), of(w)),
        (Some(b), None) => format!("adds to {}", of(b)),
        (None, Some(w)) => format!("adds nothing that shows; takes from {}", of(w)),
        (None, None) => "changes nothing that shows".to_string(),
    }
}

/// The option's holding and programme of some measures, whatever options the plan has.
///
/// # Errors
/// A figure the tables lack.
pub fn together(c: &Context, measures: &[&Measure]) -> Result<(Holding, Programme), Unknown> {
    let number = c.holding.options.iter().map(|o| o.number).max().unwrap_or(0) + 1;
    let mut holding = c.holding.clone();
    holding.options.push(PlanOption { number, ..PlanOption::default() });
    holding.measures.extend(measures.iter().map(|m| Measure { option: number, ..(*m).clone() }));
    let context = Context { holding: &holding, ..*c };
    Ok((option::holding_with(&context, number)?, option::programme(&context, number)?))
}
