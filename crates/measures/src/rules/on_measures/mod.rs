//! The rules on the measures of an option: one fault a file.
//!
//! A rule looks at the option's measures as they are planned, on the survey they start from, and at the years ahead where these
//! were worked out. What the option makes of the ground itself is judged by the rules on what is there, run on the holding as it
//! stands afterwards. Law and code are told with country and edition and left to the authority: check the code in force.
//!
//! - [`seen`]: the option as the rules see it
//! - [`when`]: months told, and windows of the guidance
//! - [`season`]: the days law, leks and guidance leave for a work
//! - `planted`, `heathered`, `fenced`, `dammed`: the works rules look at in the same way
//! - `lie`: peat, slope, altitude and wetness of the ground, and what lies near

pub mod season;
pub mod seen;
pub mod when;

mod dammed;
mod fenced;
mod heathered;
pub mod lie;
mod planted;

#[cfg(test)]
mod tests;

pub use seen::OnMeasures;

use super::{Check, Checked, Context, Rule, RuleEntry, in_order};
use habitat::ahead::Forecast;

macro_rules! book {
    ($($file:ident),* $(,)?) => {
        $(pub mod $file;)*
        /// The rules on measures, in the order of the book: planting, fences, heather, water, times, stock, fields, consents.
        static BOOK: &[RuleEntry] = &[$(RuleEntry { rule: &$file::RULE, check: Check::OnMeasures($file::check) }),*];
    };
}

book![
    planting_deep_peat,
    planting_flush,
    planting_species_rich,
    planting_historic,
    planting_near_lek,
    planting_hides_lek,
    planting_services,
    planting_by_water,
    planting_brood_ground,
    planting_block_size,
    planting_straight_edge,
    planting_open_low,
    planting_off_site,
    planting_one_species,
    planting_density,
    planting_too_near,
    new_fence_near_lek,
    fence_without_gate,
    burn_season,
    burn_peat,
    burn_slope,
    burn_by_water,
    burn_by_wood,
    burn_size,
    heather_again_too_soon,
    heather_cut_height,
    heather_cut_slope,
    dam_spacing,
    dam_slope,
    dam_ditch_large,
    kept_drain_blocked,
    dam_near_building,
    work_in_season,
    off_winter_nowhere,
    stocking_high,
    heather_overused,
    waders_lose_ahead,
    stubble_lost_early,
    rush_cut,
    meadow_cut_early,
    beyond_march,
    consent_protected,
    consent_monument,
    consent_eia,
    consent_felling,
    consent_watercourse,
    consent_common,
    consent_burning,
];

/// Words told once each, in their order.
fn distinct(words: Vec<String>) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    for word in words {
        if !out.contains(&word) {
            out.push(word);
        }
    }
    out
}

/// Every rule on measures.
pub fn all() -> &'static [RuleEntry] {
    BOOK
}

/// Every finding on the measures of an option, heaviest first, then by rule and measure. Without the years ahead the rules that need
/// them find nothing.
///
/// # Errors
/// A guidance figure that is missing.
pub fn check_option(context: &Context, option: u32, forecast: Option<&Forecast>) -> Checked {
    let seen = OnMeasures::new(*context, option, forecast)?;
    let mut findings = Vec::new();
    for entry in BOOK {
        if let Check::OnMeasures(check) = entry.check {
            findings.extend(check(&seen)?);
        }
    }
    in_order(&mut findings);
    Ok(findings)
}
