//! What an account says.

use super::claims::{Claim, NotClaimed, Terms};
use super::line::Line;
use super::own::OwnUnused;
use super::sensitivity::Moved;
use super::worth::Worth;
use crate::money::Pence;
use serde::Serialize;
use std::collections::BTreeMap;

/// One year of an account: the sum of its lines' parts.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct YearSum {
    /// Calendar year.
    pub year: i32,
    /// What goes out: low, usual, high.
    pub cost: [Pence; 3],
    /// What comes in: low, usual, high.
    pub income: [Pence; 3],
    /// What comes in less what goes out: all rates at their worst, usual, all at their best.
    pub net: [Pence; 3],
    /// Usual net of this year and all before it.
    pub balance: Pence,
}

/// Sums of an account, undiscounted.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Totals {
    /// What goes out: low, usual, high.
    pub cost: [Pence; 3],
    /// What comes in: low, usual, high.
    pub income: [Pence; 3],
    /// What comes in less what goes out: worst, usual, best.
    pub net: [Pence; 3],
    /// Whether every line has a rate.
    pub whole: bool,
    /// What the sums are without, in words: lines no rate is known for.
    pub without: Vec<String>,
}

/// When the purse stands lowest, at usual rates, undiscounted.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Low {
    /// Calendar year.
    pub year: i32,
    /// What has come in by its end, less what has gone out: what must be found beforehand, where below nought.
    pub balance: Pence,
}

/// Cost for one unit gained, present value.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PerUnit {
    /// What is gained: low, usual, high.
    pub gain: [f64; 3],
    /// Present cost for one unit, income not taken off: least, usual, most; `None` where the gain it would be divided by is not above nought.
    pub cost: [Option<Pence>; 3],
    /// The same with income taken off; below nought where the option earns more than it costs.
    pub cost_less_income: [Option<Pence>; 3],
    /// Why a figure is missing, in words; empty where none is.
    pub why: String,
}

/// What an option costs and brings in.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Account {
    /// Number of the option.
    pub option: u32,
    /// Edition of the tables.
    pub edition: String,
    /// Every line: costs in the order of the measures, then income.
    pub lines: Vec<Line>,
    /// By year, without gaps.
    pub years: Vec<YearSum>,
    /// Undiscounted sums.
    pub totals: Totals,
    /// Worth now at the rates asked for.
    pub worth: Worth,
    /// Worth now at the Treasury's rates, which fall with the years.
    pub worth_falling: Worth,
    /// When the purse stands lowest; `None` for an account without years.
    pub low: Option<Low>,
    /// The year from which more has come in than gone out for good, at usual rates, undiscounted; `None` where that never comes.
    pub payback: Option<i32>,
    /// Cost for a usable hectare gained; `None` where none was asked.
    pub per_usable_ha: Option<PerUnit>,
    /// Cost for a unit of the ledger gained; `None` where none was asked.
    pub per_gain: Option<PerUnit>,
    /// The five rates most money hangs on, and the next largest that have a spread until there are five of those, each moved to its low and high.
    pub sensitivity: Vec<Moved>,
    /// What is claimed, year by year.
    pub claims: Vec<Claim>,
    /// What is not, and why.
    pub not_claimed: Vec<NotClaimed>,
    /// Terms of the payments claimed, by id.
    pub terms: BTreeMap<String, Terms>,
    /// Own rates that no line uses.
    pub own_unused: Vec<OwnUnused>,
    /// What must be said of the account as a whole.
    pub says: Vec<String>,
}
