//! Trees planted inside the stand-off of a lek.
//!
//! Sources: all three distances are practice; no study was found that measured them.

use super::seen::OnMeasures;
use super::{Checked, Rule, lie, planted};
use crate::finding::Severity;
use crate::rules::{Said, places, words};
use crate::secrecy::{Secret, area_band, distance_band};
use geo::{Distance, Euclidean};

/// The rule.
pub const RULE: Rule = Rule {
    key: "planting_near_lek",
    title: "Trees planned inside the lek stand-off",
    severity: Severity::Should,
    explain: "Looks for woods, new ones and restocked ones, any part of which lies within {disturbance.new_tree_distance} of the middle of a display ground. \
        Within {planting.offset.lek_none} no trees are planted at all, and within {practice.tree_distance} they end the lek; farther out, a wood that will close \
        is told as something to think about. All three are practice: no study was found that measured them.\n\n\
        Why it matters: cocks display where they see danger coming from every side. A wood that grows up round a lek ends it, though not before \
        ten years or more.\n\n\
        What to do: move the wood off, or leave the side towards the lek open with single low shrubs. Whether it shuts the view in a given year is told by \
        its own rule once the years ahead are worked out.",
    keys: &["disturbance.new_tree_distance", "planting.offset.lek_none", "practice.tree_distance", "planting.offset.lek_closed_wood"],
};

/// Find woods inside the stand-off.
pub fn check(o: &OnMeasures) -> Checked {
    let none_m = o.number("planting.offset.lek_none")?.max(o.number("practice.tree_distance")?);
    let closed_m = o.number("disturbance.new_tree_distance")?.min(o.number("planting.offset.lek_closed_wood")?);
    let c = &o.context;
    let mut found = Vec::new();
    for p in planted::all(o) {
        for lek in 0..c.leks().len() {
            let away_m = Euclidean.distance(&c.lek_at(lek), &p.area);
            let limit_m = if away_m < none_m { none_m } else { closed_m };
            let piece = places::area_inside(&p.area, &places::disc(c.lek_at(lek), limit_m));
            if piece.0.is_empty() {
                continue;
            }
            let (name, lek_name, ha) = (o.name(p.measure), c.lek_name(lek), places::hectares(&piece));
            let (exact, band) = (words::metres(away_m), distance_band(away_m));
            let away = |d: &str| format!("{d} away at the nearest");
            let inside = |a: &str| format!("{a} within the distance");
            found.push(o.finding(
                &RULE,
                p.measure,
                Said {
                    lek: Some(lek),
                    severity: Some(if away_m < none_m { Severity::Should } else { Severity::Consider }),
                    what: format!("{name} plants too close to {lek_name}"),
                    place: format!("{name}, the side towards {lek_name}"),
                    value: format!("{}; {}", away(&exact), inside(&lie::ha(ha))),
                    geometry: piece.into(),
                    needed: format!("no planting within {} of a lek, none that closes within {}", words::metres(none_m), words::metres(closed_m)),
                    why: "Cocks display where they see danger coming from every side; a wood that grows up round a lek ends it.".into(),
                    hint: "Move the wood off, or leave the side towards the lek open.".into(),
                    secret: vec![Secret::of(&exact, band, away), Secret::of(&lie::ha(ha), area_band(ha), inside)],
                },
            ));
        }
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::tests::{found, wood_of};
    use super::*;
    use crate::rules::fixture::{moor, rect};

    #[test]
    fn the_two_distances_weigh_differently() {
        let at = |x: f64| found(&moor(), vec![wood_of(rect(1000.0 + x, 900.0, 1900.0, 1100.0), &[])], check);
        assert_eq!(at(149.0)[0].severity, Severity::Should);
        assert_eq!(at(151.0)[0].severity, Severity::Consider);
        assert_eq!(at(399.0)[0].severity, Severity::Consider);
        assert!(at(401.0).is_empty());
    }

    #[test]
    fn withheld_the_distance_is_a_band() {
        let f = found(&moor(), vec![wood_of(rect(1071.0, 900.0, 1900.0, 1100.0), &[])], check).remove(0);
        assert!(f.value.starts_with("71 m away") && f.lek.as_deref() == Some("L1"), "{f:?}");
        let told = f.withheld();
        assert!(!told.value.contains("71 m") && told.value.starts_with("under 1 km away at the nearest;"), "{}", told.value);
    }
}
