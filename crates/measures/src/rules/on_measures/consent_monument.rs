//! Work on a historic feature without the consent a scheduled monument needs.
//!
//! Source: weeks from memory.

use super::seen::OnMeasures;
use super::work_in_season::place_of;
use super::{Checked, Rule, lie};
use crate::finding::Severity;
use crate::rules::Said;
use geo::Intersects;
use geo_types::Geometry;
use guidance::explain::value_in_words;
use holding::AreaKind;

/// The rule.
pub const RULE: Rule = Rule {
    key: "consent_monument",
    title: "Work on a historic feature",
    severity: Severity::Must,
    explain: "Looks for measures that touch a historic feature. Where it is scheduled, planting, dams, fences, burning and digging all need the consent of the historic \
        environment authority; the table gives the weeks it takes, from memory. The plan does not tell scheduled monuments from lesser features, nor hold \
        consents. Grazing and quiet are passed over. Check the code in force.\n\n\
        Why it matters: work on a scheduled monument without consent is an offence, and what is broken cannot be mended.\n\n\
        What to do: look the feature up, move the work off it, or ask first.",
    keys: &["law.monument.weeks"],
};

/// Find work on historic features.
pub fn check(o: &OnMeasures) -> Checked {
    let time: Vec<String> = o
        .countries()
        .into_iter()
        .filter_map(|c| o.context.guidance.find("law.monument.weeks", c).map(|r| format!("about {} ({})", value_in_words(r), o.edition_of("law.monument.weeks", c))))
        .collect();
    let time = super::distinct(time).join(", ");
    let mut found = Vec::new();
    for measure in o.measures.iter().filter(|m| m.kind != "grazing" && o.facts(m).word("work") != "quiet") {
        let place = place_of(o, measure);
        if geo::CoordsIter::coords_count(&place) == 0 {
            continue;
        }
        for area in o.holding().areas.iter().filter(|a| a.kind == AreaKind::Historic) {
            if !place.intersects(&Geometry::from(area.shape.clone())) {
                continue;
            }
            let (name, called) = (o.name(measure), lie::called(&area.name, &area.id));
            found.push(o.finding(
                &RULE,
                measure,
                Said {
                    what: format!("{name} works on a historic feature"),
                    place: format!("{name}, on {called}"),
                    geometry: place.clone(),
                    value: format!("touches {called}"),
                    needed: format!("consent of the historic environment authority where it is scheduled: {time}; check the code in force"),
                    why: "Work on a scheduled monument without consent is an offence, and what is broken cannot be mended.".into(),
                    hint: "Look the feature up, move the work off it, or ask first.".into(),
                    ..Said::default()
                },
            ));
        }
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::tests::{along, found};
    use super::*;
    use crate::rules::fixture::{moor, rect};
    use guidance::Country;
    use holding::Area;
    use serde_json::json;

    #[test]
    fn a_fence_across_it_is_told_and_one_beside_it_is_not() {
        let at = |y: f64| {
            let mut h = moor();
            h.about.country = Country::Scotland;
            h.areas = vec![Area { kind: AreaKind::Historic, ..Area::new("Cairn", rect(1500.0, 1500.0, 1510.0, 1510.0)) }];
            found(&h, vec![along("fence", &[(1400.0, y), (1600.0, y)], &[("work", json!("new"))])], check)
        };
        assert!(at(1505.0)[0].needed.contains("8 weeks (Scotland"), "{}", at(1505.0)[0].needed);
        assert!(at(1511.0).is_empty());
    }
}
