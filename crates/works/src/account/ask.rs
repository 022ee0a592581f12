//! What is asked of an account.

use super::OwnRate;
use crate::money::{FirstFlow, Rates};
use guidance::{Country, Guidance, Unknown};
use std::collections::{BTreeMap, BTreeSet};

/// What is asked for.
#[derive(Clone, Debug, PartialEq)]
pub struct Ask {
    /// Number of the option.
    pub option: u32,
    /// The user's own rates; they win over the tables.
    pub own: Vec<OwnRate>,
    /// Discount rates of the account.
    pub rates: Rates,
    /// When the first year of the account falls: [`FirstFlow::Now`] leaves it undiscounted.
    pub first: FirstFlow,
    /// Years the account runs at least; it always runs until the last line.
    pub years: Option<u32>,
    /// What the option adds to the ledger, low, usual and high, in the unit of the ledger.
    pub gain: Option<[f64; 3]>,
    /// Usable hectares the option adds, low, usual and high.
    pub usable_ha: Option<[f64; 3]>,
    /// Measures whose work comes to lie in a later year than they are meant for, by id, with how many years later: their money falls then.
    pub later: BTreeMap<String, u32>,
    /// Measures no day is left for, by id: their money is counted all the same, and that is told.
    pub cannot: BTreeSet<String>,
    /// Payments that are not to be claimed, by [`super::Payment::id`]: closed, refused or unwanted.
    pub not_wanted: Vec<String>,
}

impl Ask {
    /// An option at the discount rate of guidance (`design.discount`), the first year undiscounted, every payment claimed that can be.
    ///
    /// # Errors
    /// A rate the tables lack.
    pub fn of(guidance: &Guidance, country: Country, option: u32) -> Result<Ask, Unknown> {
        let rate = guidance.number("design.discount", country)? / 100.0;
        Ok(Ask {
            option,
            own: vec![],
            rates: Rates::constant(rate).map_err(|_| no_rate(country))?,
            first: FirstFlow::Now,
            years: None,
            gain: None,
            usable_ha: None,
            later: BTreeMap::new(),
            cannot: BTreeSet::new(),
            not_wanted: vec![],
        })
    }

    /// Years that the work of a measure comes to lie later than the measure is meant for.
    pub fn years_later(&self, measure: &str) -> i32 {
        self.later.get(measure).map_or(0, |years| *years as i32)
    }
}

/// The Treasury's rates for public money, which fall with the years: `design.discount`, then `discount.second.*` and `discount.third.*`.
///
/// # Errors
/// A rate the tables lack, or rates that make no list.
pub fn falling(guidance: &Guidance, country: Country) -> Result<Rates, Unknown> {
    let figure = |key: &str| guidance.number(key, country);
    let first = (1, figure("design.discount")? / 100.0);
    let second = (figure("discount.second.from")? as u32, figure("discount.second.rate")? / 100.0);
    let third = (figure("discount.third.from")? as u32, figure("discount.third.rate")? / 100.0);
    Rates::falling(vec![first, second, third]).map_err(|_| no_rate(country))
}

/// A rate that is none counts as one the tables lack.
fn no_rate(country: Country) -> Unknown {
    Unknown { key: "design.discount".to_string(), country, why: guidance::Why::NotNumber, near: vec![] }
}
