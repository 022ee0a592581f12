//! Heather burnt down to a watercourse.
//!
//! Source: the muirburn code, from memory.

use super::seen::OnMeasures;
use super::{Checked, Rule, heathered, lie};
use crate::finding::Severity;
use crate::rules::{Said, places, words};

/// The rule.
pub const RULE: Rule = Rule {
    key: "burn_by_water",
    title: "Burning planned down to a watercourse",
    severity: Severity::Must,
    explain: "Looks for burnt heather within {heather.burning.watercourse_margin} of a mapped watercourse, or {heather.burning.watercourse_margin_large} where the burn \
        is larger than {heather.burning.fire_size.typical}. From memory of the code; check the code in force.\n\n\
        Why it matters: ash and bare soil wash into the water, and the strip beside it is what hens and broods use.\n\n\
        What to do: leave the strip out and cut a break along it.",
    keys: &["heather.burning.watercourse_margin", "heather.burning.watercourse_margin_large", "heather.burning.fire_size.typical"],
};

/// Find burning by water.
pub fn check(o: &OnMeasures) -> Checked {
    let (small_m, large_m) = (o.number("heather.burning.watercourse_margin")?, o.number("heather.burning.watercourse_margin_large")?);
    let usual_ha = o.number("heather.burning.fire_size.typical")?;
    let mut found = Vec::new();
    for p in heathered::burnt(o) {
        let within_m = if places::hectares(&p.area) > usual_ha { large_m } else { small_m };
        for water in &o.holding().watercourses {
            // The line is the middle of the channel; the margin begins at the bank.
            let bank_m = water.width_m.filter(|w| w.is_finite() && *w > 0.0).map_or(0.0, |w| f64::from(w) / 2.0);
            let piece = lie::near_lines(&p.area, &water.shape, within_m + bank_m);
            if piece.0.is_empty() {
                continue;
            }
            let name = o.name(p.measure);
            found.push(o.finding(
                &RULE,
                p.measure,
                Said {
                    what: format!("{name} burns down to water"),
                    place: format!("{name}, at {}", lie::called(&water.name, &water.id)),
                    value: format!("{} within the margin", lie::ha(places::hectares(&piece))),
                    geometry: piece.into(),
                    needed: format!("{} along the water left unburnt; check the code in force", words::metres(within_m)),
                    why: "Ash and bare soil wash into the water, and hens and broods use the strip beside it.".into(),
                    hint: "Leave the strip out and cut a break along it.".into(),
                    ..Said::default()
                },
            ));
        }
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::tests::{found, measure};
    use super::*;
    use crate::rules::fixture::{line, moor, rect};
    use holding::Watercourse;
    use serde_json::json;

    #[test]
    fn the_margin_goes_by_the_size() {
        let mut h = moor();
        h.watercourses = vec![Watercourse::new("B1", line(&[(0.0, 500.0), (2000.0, 500.0)]))];
        let at = |y: f64, side: f64, work: &str| found(&h, vec![measure("heather", rect(200.0, y, 200.0 + side, y + side), &[("work", json!(work))])], check).len();
        assert_eq!([at(504.5, 50.0, "burn"), at(505.5, 50.0, "burn")], [1, 0]);
        assert_eq!([at(509.5, 80.0, "burn"), at(510.5, 80.0, "burn"), at(500.0, 50.0, "cut")], [1, 0, 0]);
    }
}
