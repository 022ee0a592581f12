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

/// A feature nothing is put forward for, and why.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct LeftOut {
    /// The feature's id.
    pub id: String,
    /// Why, in words.
    pub why: String,
}
