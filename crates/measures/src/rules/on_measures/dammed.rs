//! Ditches the option dams, as the water rules see them.

use super::seen::OnMeasures;
use crate::kind::dams::Plan;
use crate::kind::water;
use guidance::Unknown;
use holding::{Ditch, Measure};

/// A ditch dammed by one measure.
pub struct Dammed<'a> {
    /// The measure.
    pub measure: &'a Measure,
    /// The ditch.
    pub ditch: &'a Ditch,
    /// Where the dams stand.
    pub plan: Option<Plan>,
}

/// Every ditch blocked or dammed.
///
/// # Errors
/// A figure the tables lack.
pub fn all<'a>(o: &OnMeasures<'a>) -> Result<Vec<Dammed<'a>>, Unknown> {
    let mut out = Vec::new();
    for measure in o.of_kind("water") {
        let facts = o.facts(measure);
        if !matches!(facts.word("work").as_str(), "block" | "dam") {
            continue;
        }
        let said = facts.word("ditch");
        let Some(ditch) = o.holding().ditches.iter().find(|d| d.id == said) else { continue };
        out.push(Dammed { measure, ditch, plan: water::plan(&o.context, measure)? });
    }
    Ok(out)
}
