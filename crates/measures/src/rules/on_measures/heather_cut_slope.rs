//! Heather cut on ground too steep for the machine.
//!
//! Source: practice, from memory; the maker's plate rules.

use super::seen::OnMeasures;
use super::{Checked, Rule, heathered, lie};
use crate::finding::Severity;
use crate::rules::{Said, places};

/// The rule.
pub const RULE: Rule = Rule {
    key: "heather_cut_slope",
    title: "Cutting planned on ground too steep for the machine",
    severity: Severity::Must,
    explain: "Looks at the slope under cut heather by the height model against what the machine takes: {heather.cutting.slope.tractor} for a tractor, \
        {heather.cutting.slope.tracked} for a tracked machine. Practice from memory; the maker's plate rules. A robot flail goes to about \
        {heather.cutting.slope.robot}, run from beside. Without heights nothing is told; a height model does not see ditches, banks and boulders.\n\n\
        Why it matters: machines that overturn kill.\n\n\
        What to do: leave the steep part out, or use another machine and a trained driver; walk the ground first and never work alone.",
    keys: &["heather.cutting.slope.tractor", "heather.cutting.slope.tracked", "heather.cutting.slope.robot"],
};

/// Find cutting on steep ground.
pub fn check(o: &OnMeasures) -> Checked {
    let (tractor_deg, tracked_deg) = (o.number("heather.cutting.slope.tractor")?, o.number("heather.cutting.slope.tracked")?);
    let mut found = Vec::new();
    for p in heathered::all(o).into_iter().filter(|p| p.cut_cm.is_some()) {
        let tracked = o.facts(p.measure).word("machine") == "tracked";
        let limit_deg = if tracked { tracked_deg } else { tractor_deg };
        let Some((piece, steepest_deg)) = lie::steep(o, &p.area, limit_deg).filter(|(piece, _)| !piece.0.is_empty()) else { continue };
        let name = o.name(p.measure);
        found.push(o.finding(
            &RULE,
            p.measure,
            Said {
                what: format!("{name} cuts on steep ground"),
                place: name,
                value: format!("{} steeper than {limit_deg:.1} degrees, the steepest {steepest_deg:.0}", lie::ha(places::hectares(&piece))),
                geometry: piece.into(),
                needed: format!("slopes up to {limit_deg:.1} degrees for a {}, or what the maker's plate says", if tracked { "tracked machine" } else { "tractor" }),
                why: "Machines that overturn kill.".into(),
                hint: "Leave the steep part out, or use another machine and a trained driver; walk the ground first.".into(),
                ..Said::default()
            },
        ));
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::tests::{found, measure};
    use super::*;
    use crate::rules::fixture::{moor, rect, slope};
    use serde_json::json;

    #[test]
    fn the_machine_sets_the_limit() {
        let at = |deg: f64, machine: &str| {
            let mut h = moor();
            h.heights = Some(slope(deg));
            found(&h, vec![measure("heather", rect(400.0, 400.0, 600.0, 600.0), &[("machine", json!(machine))])], check).len()
        };
        assert_eq!([at(17.0, "tractor"), at(18.5, "tractor"), at(24.5, "tracked"), at(26.0, "tracked")], [0, 1, 0, 1]);
    }
}
