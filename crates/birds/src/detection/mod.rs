//! Detection: how many birds a count misses.
//!
//! - [`attendance`]: the highest of some visits as a share of the cocks of a lek, and back from a highest count to the cocks
//! - [`mixture`]: many places counted several times: birds a place and the chance of seeing one, both unknown
//! - [`unknown_n`]: one place counted several times
//! - [`recapture`]: two observers, and the birds that both saw
//!
//! Where the counts cannot tell, the answer is a reason, never a number.

pub mod attendance;
pub mod mixture;
pub mod recapture;
pub mod unknown_n;

use guidance::{Country, Guidance, Unknown};
use serde::{Deserialize, Serialize};

/// A figure and its limits.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Interval {
    /// Estimate.
    pub value: f64,
    /// Lower limit.
    pub low: f64,
    /// Upper limit.
    pub high: f64,
}

/// How much counts must give before a model is put to them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    /// Fewest places with two counts or more.
    pub places: usize,
    /// Least mean of counts over their variance for a steady number.
    pub steady_ratio: f64,
}

impl Limits {
    /// The limits of guidance.
    ///
    /// Errors: a key that guidance does not hold.
    pub fn of(guidance: &Guidance, country: Country) -> Result<Self, Unknown> {
        Ok(Self {
            places: guidance.number("counts.mixture.places_min", country)?.ceil() as usize,
            steady_ratio: guidance.number("counts.unknown_number.steady_ratio", country)?,
        })
    }
}
