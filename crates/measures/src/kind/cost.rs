//! Cost lines: an amount times a rate of the guidance, low, usual and high.
//!
//! The rate is the country's own where the tables have one, else the market's. Yearly costs are times their years.
//! Nothing is discounted and grants are not taken off.

use super::{Cost, Due};
use crate::rules::Context;
use guidance::{Country, Row, Spread, Unknown, Value};

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
    Ok(spread_of(context.guidance.row(key, context.holding.about.country)?).unwrap_or([usual; 3]))
}

/// A row low, usual and high, in its unit; all alike where it is taken as fixed, none of them below nought. `None` where it is no number.
pub fn spread_of(row: &Row) -> Option<[f64; 3]> {
    let Value::Number(usual) = row.value else { return None };
    let (low, high) = match (row.spread, row.low, row.high) {
        (Spread::Range | Spread::Uniform | Spread::Ci95, Some(low), Some(high)) => (low, high),
        (Spread::Sd | Spread::Se, _, Some(by)) => (usual - by, usual + by),
        (Spread::Cv, _, Some(by)) => (usual * (1.0 - by), usual * (1.0 + by)),
        _ => (usual, usual),
    };
    Some([low.max(0.0), usual, high])
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
    Ok(Cost { what: what.into(), amount: amount[1], unit, rate: key.to_string(), gbp, due: once(amount) })
}

/// One line of a cost that comes every year for so many years from the measure's first.
///
/// # Errors
/// A rate the tables lack.
pub fn line_yearly(context: &Context, what: impl Into<String>, each: [f64; 3], years: f64, unit: &'static str, key: &'static str) -> Result<Cost, Unknown> {
    Ok(Cost { due: yearly(each, years), ..line_of(context, what, each.map(|amount| amount * years), unit, key)? })
}

/// An amount in the measure's first year.
pub fn once(amount: [f64; 3]) -> Vec<Due> {
    vec![Due { after_yr: 0, amount }]
}

/// An amount every year for so many years; a part of a year at the end counts as its part.
pub fn yearly(each: [f64; 3], years: f64) -> Vec<Due> {
    let in_year = |after_yr: u32| (years - f64::from(after_yr)).min(1.0);
    (0..).take_while(|after_yr| in_year(*after_yr) > 0.0).map(|after_yr| Due { after_yr, amount: each.map(|amount| amount * in_year(after_yr)) }).collect()
}

/// Low, usual and high of all lines together.
pub fn total(lines: &[Cost]) -> [f64; 3] {
    lines.iter().fold([0.0; 3], |sum, line| std::array::from_fn(|i| sum[i] + line.gbp[i]))
}
