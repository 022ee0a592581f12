//! What is claimed of schemes, and what is not.

use super::line::{Flow, Line};
use super::rate::Standing;
use crate::money::Pence;
use guidance::{Country, Grade};
use serde::Serialize;
use std::collections::BTreeMap;

/// What the tables say of a payment.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Terms {
    /// What it is called.
    pub title: String,
    /// Conditions, as far as they were read.
    pub condition: String,
    /// What would prove it.
    pub evidence: String,
    /// The least grade of what is said here.
    pub grade: Grade,
    /// Where the conditions were read.
    pub source: String,
    /// Edition of that source; empty where none is recorded.
    pub edition: String,
    /// Where they hold.
    pub country: Country,
}

/// One row of the table of claims: one payment for one measure in one year.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Claim {
    /// Calendar year.
    pub year: i32,
    /// The payment, by its id.
    pub payment: String,
    /// What is paid for.
    pub item: String,
    /// The measure's id.
    pub measure: String,
    /// Where, by name.
    pub place: String,
    /// Usual quantity, as printed.
    pub quantity: f64,
    /// Unit of the quantity in words.
    pub unit: String,
    /// Guidance key of the rate; empty where none is known.
    pub rate_key: String,
    /// Usual rate, pounds a unit; `None` where none is known.
    pub rate_gbp: Option<f64>,
    /// What the rate stands on; `None` where none is known.
    pub standing: Option<Standing>,
    /// Quantity times rate; `None` where no rate is known.
    pub pence: Option<Pence>,
    /// Conditions, as far as they were read.
    pub condition: String,
    /// What would prove it.
    pub evidence: String,
    /// The least grade of condition and evidence.
    pub grade: Option<Grade>,
    /// What must be said of the rate and the claim.
    pub says: Vec<String>,
}

/// A payment that could have been claimed and is not.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct NotClaimed {
    /// The payment, by its id.
    pub payment: String,
    /// What is paid for.
    pub item: String,
    /// The measure's id.
    pub measure: String,
    /// Where, by name.
    pub place: String,
    /// How much of it is not claimed.
    pub quantity: f64,
    /// Unit of the quantity in words.
    pub unit: String,
    /// Payments that are claimed on that ground instead, by id.
    pub instead: Vec<String>,
    /// Why, in words.
    pub why: String,
}

/// The table of claims: every income line, year by year; by year, then in the order of the lines.
pub fn claims(lines: &[Line], terms: &BTreeMap<String, Terms>) -> Vec<Claim> {
    let mut out = Vec::new();
    for line in lines.iter().filter(|line| line.flow == Flow::Income) {
        let payment = line.payment.clone().unwrap_or_default();
        let said = terms.get(&payment);
        for part in &line.parts {
            out.push(Claim {
                year: part.year,
                payment: payment.clone(),
                item: line.item.clone(),
                measure: line.measure.clone(),
                place: line.place.clone(),
                quantity: part.quantity[1],
                unit: line.unit.clone(),
                rate_key: line.rate.as_ref().map_or_else(String::new, |rate| rate.key.clone()),
                rate_gbp: line.rate.as_ref().map(|rate| rate.gbp[1]),
                standing: line.rate.as_ref().map(|rate| rate.standing),
                pence: part.pence.map(|pence| pence[1]),
                condition: said.map_or_else(String::new, |said| said.condition.clone()),
                evidence: said.map_or_else(String::new, |said| said.evidence.clone()),
                grade: said.map(|said| said.grade),
                says: line.says.clone(),
            });
        }
    }
    out.sort_by_key(|claim| claim.year);
    out
}
