//! The rate at which a list of flows is worth nothing now.
//!
//! With v = 1 / (1 + rate) the worth is a polynomial in v. Its roots are separated by the roots of its derivative, and those by the
//! next derivative's, down to a straight line: so every crossing is bracketed, none is stepped over, and each is halved down to the last bit.

use super::pence::Pence;
use serde::{Deserialize, Serialize};

/// The lowest rate looked at: nine tenths lost a year.
pub const RATE_MIN: f64 = -0.9;
/// The highest rate looked at: ten times gained a year.
pub const RATE_MAX: f64 = 10.0;

/// What was found.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum InternalRate {
    /// No rate between [`RATE_MIN`] and [`RATE_MAX`] at which the worth changes sign.
    None,
    /// One rate, a fraction a year.
    One(f64),
    /// More than one, rising: money that goes out, comes in and goes out again has no single return, and none of them should be quoted alone.
    Several(Vec<f64>),
}

/// The internal rate of return of yearly flows. When the first of them falls makes no difference.
pub fn internal_rate(flows: &[Pence]) -> InternalRate {
    let first = flows.iter().position(|flow| flow.0 != 0).unwrap_or(flows.len());
    let largest = flows.iter().map(|flow| flow.0.unsigned_abs()).max().unwrap_or(0).max(1) as f64;
    let worth: Vec<f64> = flows[first..].iter().map(|flow| flow.0 as f64 / largest).collect();
    let mut rates: Vec<f64> = crossings(&worth).into_iter().map(|v| 1.0 / v - 1.0).collect();
    rates.sort_by(f64::total_cmp);
    match rates.as_slice() {
        [] => InternalRate::None,
        [rate] => InternalRate::One(*rate),
        _ => InternalRate::Several(rates),
    }
}

fn value(coefficients: &[f64], v: f64) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, c| sum * v + c)
}

/// Where a polynomial (lowest power first) changes sign between the ends, rising.
fn crossings(coefficients: &[f64]) -> Vec<f64> {
    let (low, high) = (1.0 / (1.0 + RATE_MAX), 1.0 / (1.0 + RATE_MIN));
    if coefficients.len() < 2 {
        return vec![];
    }
    // The derivative, scaled so that long lists stay within what a number can hold.
    let scale = (coefficients.len() - 1) as f64;
    let slope: Vec<f64> = coefficients.iter().enumerate().skip(1).map(|(k, c)| c * k as f64 / scale).collect();
    let ends = crossings(&slope).into_iter().chain([high]);
    let mut found: Vec<f64> = Vec::new();
    // The last place where the value was not nought.
    let mut last = (low, value(coefficients, low));
    for end in ends {
        let here = value(coefficients, end);
        if here == 0.0 {
            continue;
        }
        if last.1 != 0.0 && last.1.signum() != here.signum() {
            found.push(halved(coefficients, last, end));
        }
        last = (end, here);
    }
    found
}

/// The crossing between two places of unlike sign.
fn halved(coefficients: &[f64], (mut low, at_low): (f64, f64), mut high: f64) -> f64 {
    loop {
        let middle = low + (high - low) / 2.0;
        if middle <= low || middle >= high {
            return middle;
        }
        let here = value(coefficients, middle);
        if here == 0.0 {
            return middle;
        }
        if here.signum() == at_low.signum() { low = middle } else { high = middle }
    }
}
