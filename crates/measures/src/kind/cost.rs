//! Cost lines: an amount times a rate of the guidance, low, usual and high.
//!
//! The rate is the country's own where the tables have one, else the market's. Yearly costs are times their years.
//! Nothing is discounted and grants are not taken off.

use super::Cost;
use crate::rules::Context;
use guidance::{Country, Spread, Unknown};

/// The rate that holds for the plan: the country's own, else the market's.
pub fn rate(context: &Context, by_country: &[(Country, &'static str)], market: &'static str) -> &'static str {
    let country = context.holding.about.country;
    by_country.iter().find(|(c, _)| *c == country).map_or(market, |(_, key)| key)
}

/// A figure of the guidance low, usual and high, in the unit of its row; all alike where it is taken as fixed.
///
/// # Errors
/// A figure the tables lack.
pub fn spread(context: &Context, key: &str) -> Result<[f64; 3], Unknown> {
    let usual = context.number(key)?;
    let row = context.guidance.row(key, context.holding.about.country)?;
    let (low, high) = match (row.spread, row.low, row.high) {
        (Spread::Range | Spread::Uniform | Spread::Ci95, Some(low), Some(high)) => (low, high),
        (Spread::Sd | Spread::Se, _, Some(by)) => (usual - by, usual + by),
        (Spread::Cv, _, Some(by)) => (usual * (1.0 - by), usual * (1.0 + by)),
        _ => (usual, usual),
    };
    Ok([low.max(0.0), usual, high])
}

/// One line of a cost.
///
/// # Errors
/// A rate the tables lack.
pub fn line(context: &Context, what: impl Into<String>, amount: f64, unit: &'static str, key: &'static str) -> Result<Cost, Unknown> {
    line_of(context, what, [amount; 3], unit, key)
}

/// One line of a cost whose amount is itself low, usual and high.
///
/// # Errors
/// A rate the tables lack.
pub fn line_of(context: &Context, what: impl Into<String>, amount: [f64; 3], unit: &'static str, key: &'static str) -> Result<Cost, Unknown> {
    let rate = spread(context, key)?;
    let gbp = std::array::from_fn(|i| amount[i] * rate[i]);
    Ok(Cost { what: what.into(), amount: amount[1], unit, rate: key.to_string(), gbp })
}

/// Low, usual and high of all lines together.
pub fn total(lines: &[Cost]) -> [f64; 3] {
    lines.iter().fold([0.0; 3], |sum, line| std::array::from_fn(|i| sum[i] + line.gbp[i]))
}
