//! What designers weigh by: the needs of the birds met over leks, seasons and the years ahead, nearer years more.
//!
//! `value = sum over leks, seasons and years of weight(year) * min(1, supply / need)`, at the middle of every figure. A weight
//! is the sum of the discount factors of the years a told year stands for, so that one unit is one season of one lek met for one year
//! (of today's worth).

use crate::rules::Context;
use crate::solve::choose::Term;
use guidance::Unknown;
use habitat::ahead::trial::BySeason;

/// The years a design looks at, and what meeting a need in each is worth.
#[derive(Clone, Debug, PartialEq)]
pub struct Horizon {
    /// Years from the plan's day, rising.
    pub years: Vec<u32>,
    /// Discounted years each stands for.
    pub weights: Vec<f64>,
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
        Ok(Horizon { years: TOLD.to_vec(), weights })
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

/// Changes of supply as a choice takes them: term and usable hectares, those worth nothing left out.
pub fn deltas(effect: &BySeason) -> Vec<(usize, f64)> {
    effect.iter().flatten().flatten().copied().enumerate().filter(|(_, d)| d.abs() > 1e-9).collect()
}
