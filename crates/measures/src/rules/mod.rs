//! The rulebook on what is there: one fault a file.
//!
//! A rule reads the survey and the assessment and tells every place where a limit of the guidance tables is broken: what,
//! how far, where, why it matters and what to do. Rules hold no figure of their own. Every file keeps one running order:
//! what and why, `RULE`, `check`, tests.
//!
//! - [`context`]: what rules are checked against, and how a finding is made
//! - `brood_ground`, `grazed`: ground several rules look at in the same way
//! - [`places`]: cutting features down to the offending piece
//! - [`words`]: figures and lists in plain words
//! - [`page`]: the rulebook as a page of text

pub mod context;
pub mod page;
pub mod places;
pub mod words;

mod brood_ground;
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

use crate::finding::{Finding, Severity};
use guidance::Unknown;

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

/// A rule of the book.
#[derive(Debug)]
pub struct RuleEntry {
    /// In words.
    pub rule: &'static Rule,
    /// Find every breach.
    pub check: fn(&Context) -> Checked,
}

macro_rules! book {
    ($($file:ident),* $(,)?) => {
        &[$(RuleEntry { rule: &$file::RULE, check: $file::check }),*]
    };
}

/// Every rule, in the order of the book: lek, fences and ways, swards, heather, woods, water, fields, survey.
static BOOK: &[RuleEntry] = book![
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

/// Every rule.
pub fn all() -> &'static [RuleEntry] {
    BOOK
}

/// The rule of a key.
pub fn find(key: &str) -> Option<&'static RuleEntry> {
    BOOK.iter().find(|e| e.rule.key == key)
}

/// Every finding of every rule, heaviest first, then by rule and place.
///
/// # Errors
/// A guidance figure that is missing.
pub fn check_all(context: &Context) -> Checked {
    let mut findings = Vec::new();
    for entry in BOOK {
        findings.extend((entry.check)(context)?);
    }
    findings.sort_by(|a, b| (a.severity, a.rule, &a.place, &a.what).cmp(&(b.severity, b.rule, &b.place, &b.what)));
    Ok(findings)
}

#[cfg(test)]
mod tests;
