//! Worth now, and yearly equivalents.

use super::pence::Pence;
use super::rates::{FirstFlow, Rates};

/// What a list of yearly flows is worth now, pounds, unrounded.
pub fn present_value(flows: &[Pence], rates: &Rates, first: FirstFlow) -> f64 {
    flows.iter().enumerate().map(|(i, flow)| flow.gbp() * rates.factor(first.years(i))).sum()
}

/// What a pound at the end of each of `years` years is worth now (P/A).
pub fn annuity(rates: &Rates, years: u32) -> f64 {
    (1..=years).map(|year| rates.factor(f64::from(year))).sum()
}

/// What a pound at the beginning of each of `years` years is worth now: the first of them undiscounted.
pub fn annuity_due(rates: &Rates, years: u32) -> f64 {
    (0..years).map(|year| rates.factor(f64::from(year))).sum()
}

/// What must be paid at the end of each of `years` years for an amount now, pounds (A/P times the amount). `None` for no years.
pub fn annual_payment(now_gbp: f64, rates: &Rates, years: u32) -> Option<f64> {
    (years > 0).then(|| now_gbp / annuity(rates, years))
}

/// The same amount at the end of each of `years` years that is worth as much now as the list of flows: how works of different
/// lengths are compared. Pounds a year; `None` for no years.
pub fn equal_annual(flows: &[Pence], rates: &Rates, first: FirstFlow, years: u32) -> Option<f64> {
    annual_payment(present_value(flows, rates, first), rates, years)
}

/// What an amount spent now and every `every_years` years for ever after is worth now, pounds.
///
/// `None` for no years, or where the rate of the far years is not above nought, so that the sum has no end.
pub fn perpetuity_from_now(each_gbp: f64, rates: &Rates, every_years: u32) -> Option<f64> {
    let (settled, rate) = rates.last();
    if every_years == 0 || rate <= 0.0 {
        return None;
    }
    let every = f64::from(every_years);
    let before = (settled / every).ceil();
    let early: f64 = (0..before as u64).map(|k| rates.factor(k as f64 * every)).sum();
    let late = rates.factor(before * every) / (1.0 - (1.0 + rate).powf(-every));
    Some(each_gbp * (early + late))
}

/// As [`perpetuity_from_now`], but spent for the first time in `every_years` years.
pub fn perpetuity_from_next(each_gbp: f64, rates: &Rates, every_years: u32) -> Option<f64> {
    perpetuity_from_now(each_gbp, rates, every_years).map(|from_now| from_now - each_gbp)
}
