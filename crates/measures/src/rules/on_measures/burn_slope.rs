//! Heather burnt on steep ground.
//!
//! Source: the muirburn code, from memory: slopes to avoid on dry and on wet heath.

use super::seen::OnMeasures;
use super::{Checked, Rule, heathered, lie};
use crate::finding::Severity;
use crate::rules::{Said, places};

/// The rule.
pub const RULE: Rule = Rule {
    key: "burn_slope",
    title: "Burning planned on a steep slope",
    severity: Severity::Must,
    explain: "Looks at the slope under burnt heather by the height model: steeper than {heather.burning.slope_dry} on dry heath and {heather.burning.slope_wet} on wet \
        is to be left. Ground is taken as wet from a surveyed wetness of {rule.planting.wet_from}, an assumption. Without heights nothing is told.\n\n\
        Why it matters: fire runs up a slope faster than people, and the soil washes off behind it.\n\n\
        What to do: leave the steep part out. In England burning on very steep ground and on scree needs a licence as well: check the code in force.",
    keys: &["heather.burning.slope_dry", "heather.burning.slope_wet", "rule.planting.wet_from"],
};

/// Find burning on steep ground.
pub fn check(o: &OnMeasures) -> Checked {
    let (dry_deg, wet_deg) = (o.number("heather.burning.slope_dry")?, o.number("heather.burning.slope_wet")?);
    let wet_from = o.number("rule.planting.wet_from")?;
    let mut found = Vec::new();
    for p in heathered::burnt(o) {
        let wet = lie::wetness(o, &p.area).is_some_and(|w| w >= wet_from);
        let limit_deg = if wet { wet_deg } else { dry_deg };
        let Some((piece, steepest_deg)) = lie::steep(o, &p.area, limit_deg).filter(|(piece, _)| !piece.0.is_empty()) else { continue };
        let name = o.name(p.measure);
        found.push(o.finding(
            &RULE,
            p.measure,
            Said {
                what: format!("{name} burns on steep ground"),
                place: name,
                value: format!("{} steeper than {limit_deg:.0} degrees, the steepest {steepest_deg:.0}", lie::ha(places::hectares(&piece))),
                geometry: piece.into(),
                needed: format!("no burning on slopes over {limit_deg:.0} degrees on {} heath; check the code in force", if wet { "wet" } else { "dry" }),
                why: "Fire runs up a slope faster than people, and the soil washes off behind it.".into(),
                hint: "Leave the steep part out.".into(),
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
    fn wet_heath_has_the_lower_limit() {
        let at = |deg: f64, wetness: f32| {
            let mut h = moor();
            h.heights = Some(slope(deg));
            h.patches.iter_mut().for_each(|p| p.wetness = Some(wetness));
            found(&h, vec![measure("heather", rect(400.0, 400.0, 600.0, 600.0), &[("work", json!("burn"))])], check).len()
        };
        assert_eq!([at(26.0, 0.3), at(27.5, 0.3), at(18.0, 0.7), at(19.5, 0.7)], [0, 1, 0, 1]);
    }
}
