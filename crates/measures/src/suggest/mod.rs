//! What to do first: measures the program puts forward, best first, with figures and reasons.

pub mod design;
pub mod fence;
mod free;
pub mod grazing;
pub mod heather;
pub mod spend;
pub mod water;
pub mod wood;

use crate::kind::Quantity;
use crate::rules::Context;
use guidance::Unknown;
use holding::Measure;

/// A measure put forward.
#[derive(Clone, Debug, PartialEq)]
pub struct Suggested {
    /// The measure, as it would stand in an option; its option number is 0.
    pub measure: Measure,
    /// Why, in words.
    pub why: String,
    /// Cost low, usual and high, pounds.
    pub gbp: [f64; 3],
    /// Figures it is ranked by, and its quantities.
    pub figures: Vec<Quantity>,
}

/// The months from the first of a window, once nesting is over, to the last before leks are to be quiet, as a fact tells them: `Nov-Feb`.
fn months_from(c: &Context, first: &str) -> Result<String, Unknown> {
    let month = |key| c.guidance.month_day(key, c.holding.about.country).map(|(month, _)| month as usize);
    let (nesting, fledged) = (month("window.forestry_nesting.first")?, month("window.forestry_nesting.last")?);
    let from = Some(month(first)?).filter(|m| !(nesting..=fledged).contains(m)).unwrap_or(fledged + 1);
    let quiet = month("window.lek_quiet.first")?;
    let name = |m: usize| grazing::words::MONTHS[(m + 11) % 12];
    Ok(format!("{}-{}", name(from), name(quiet + 11)))
}

/// A feature nothing is put forward for, and why.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct LeftOut {
    /// The feature's id.
    pub id: String,
    /// Why, in words.
    pub why: String,
}
