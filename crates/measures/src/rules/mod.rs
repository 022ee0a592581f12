//! The rulebook: one fault a file, on what is there and on what is planned.
//!
//! A rule reads the survey and the assessment and tells every place where a limit of the guidance tables is broken: what,
//! how far, where, why it matters and what to do. Rules hold no figure of their own. Every file keeps one running order:
//! what and why, `RULE`, `check`, tests.
//!
//! - [`context`]: what rules are checked against, and how a finding is made
//! - `brood_ground`, `grazed`: ground several rules look at in the same way
//! - [`places`]: cutting features down to the offending piece
//! - [`words`]: figures and lists in plain words
//! - [`veil`]: what a programme or an account that leaves must not tell of leks
//! - [`page`]: the rulebook as a page of text
//! - [`on_measures`]: the rules on the measures of an option

pub mod context;
pub mod on_measures;
pub mod page;
pub mod places;
pub mod veil;
pub mod words;

pub(crate) mod brood_ground;
mod grazed;

mod brood_sward_rank;
mod brood_sward_short;
mod conifer_edge_hard;
mod conifer_share_high;
mod counts_old;
mod display_ground_rank;
mod display_ground_steep;
mod fence_near_lek;
mod flush_drained;
mod heather_one_age;
pub mod missing;
mod moor_patch_small;
mod nest_cover_none;
mod overgrazed;
mod snow_food_none;
mod stubble_ploughed;
mod view_lost;
mod waders_lose;
mod way_through_lek;
mod wood_near_lek;

#[cfg(test)]
pub(crate) mod fixture;

pub use context::{Context, Said};
pub use on_measures::{OnMeasures, check_option};
pub use veil::Veil;

use crate::finding::{Finding, Severity};
use guidance::Unknown;
use rayon::prelude::*;
use std::sync::LazyLock;

/// What a rule is, in words.
#[derive(Debug)]
pub struct Rule {
    /// Stable key, such as `fence_near_lek`.
    pub key: &'static str,
    /// The fault, in a few words.
    pub title: &'static str,
    /// How much a finding usually weighs; a finding may weigh otherwise where the text says so.
    pub severity: Severity,
    /// What it checks, how, its limits, why it matters and what to do. `{key}` stands for a guidance figure.
    pub explain: &'static str,
    /// Guidance keys of its limits.
    pub keys: &'static [&'static str],
}

/// Findings of a rule, or the guidance figure it lacks.
pub type Checked = Result<Vec<Finding>, Unknown>;

/// How a rule is checked.
#[derive(Clone, Copy, Debug)]
pub enum Check {
    /// On the survey, or on the ground as an option leaves it.
    OnGround(fn(&Context) -> Checked),
    /// On the measures of an option.
    OnMeasures(fn(&OnMeasures) -> Checked),
}

/// A rule of the book.
#[derive(Clone, Copy, Debug)]
pub struct RuleEntry {
    /// In words.
    pub rule: &'static Rule,
    /// Find every breach.
    pub check: Check,
}

macro_rules! book {
    ($($file:ident),* $(,)?) => {
        &[$(RuleEntry { rule: &$file::RULE, check: Check::OnGround($file::check) }),*]
    };
}

/// The rules on what is there, in the order of the book: lek, fences and ways, swards, heather, woods, water, fields, survey.
static ON_GROUND: &[RuleEntry] = book![
    wood_near_lek,
    view_lost,
    display_ground_rank,
    display_ground_steep,
    fence_near_lek,
    way_through_lek,
    brood_sward_short,
    brood_sward_rank,
    overgrazed,
    waders_lose,
    nest_cover_none,
    heather_one_age,
    moor_patch_small,
    conifer_share_high,
    conifer_edge_hard,
    snow_food_none,
    flush_drained,
    stubble_ploughed,
    counts_old,
    missing,
];

/// Every rule: those on what is there, then those on measures.
static BOOK: LazyLock<Vec<RuleEntry>> = LazyLock::new(|| [ON_GROUND, on_measures::all()].concat());

/// Every rule: those on what is there, then those on measures.
pub fn all() -> &'static [RuleEntry] {
    &BOOK
}

/// The rules on what is there.
pub fn on_ground() -> &'static [RuleEntry] {
    ON_GROUND
}

/// The rule of a key.
pub fn find(key: &str) -> Option<&'static RuleEntry> {
    BOOK.iter().find(|e| e.rule.key == key)
}

/// Every finding of every rule on what is there, heaviest first, then by rule and place.
///
/// # Errors
/// A guidance figure that is missing.
pub fn check_all(context: &Context) -> Checked {
    let check = |entry: &RuleEntry| match entry.check {
        Check::OnGround(check) => check(context),
        Check::OnMeasures(_) => Ok(Vec::new()),
    };
    // Each by itself; what they find stays in the order of the book.
    let mut findings = ON_GROUND.par_iter().with_max_len(1).map(check).collect::<Result<Vec<_>, Unknown>>()?.concat();
    in_order(&mut findings);
    Ok(findings)
}

/// Heaviest first, then by rule, measure and place.
fn in_order(findings: &mut [Finding]) {
    findings.sort_by(|a, b| (a.severity, a.rule, &a.measure, &a.place, &a.what).cmp(&(b.severity, b.rule, &b.measure, &b.place, &b.what)));
}

#[cfg(test)]
mod tests;
