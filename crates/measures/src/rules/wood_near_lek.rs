//! Trees or wood inside the lek's stand-off.
//!
//! Cocks display where they can see all round; trees near by hide hunters, and a wood that grows up round a lek ends it.
//! Sources: the distance is common practice without a source; a bird guide for woods asks for clearing within half of it.

use super::{Checked, Context, Rule, Said, places, words};
use crate::finding::Severity;
use crate::secrecy::{Secret, area_band, distance_band};
use geo::{Distance, Euclidean};
use habitat::Feature;

/// The rule.
pub const RULE: Rule = Rule {
    key: "wood_near_lek",
    title: "Trees or wood inside the lek stand-off",
    severity: Severity::Should,
    explain: "Looks for woods any part of which lies within {practice.tree_distance} of the middle of a display ground, and gives the \
        part inside.\n\n\
        The distance is common practice: no study was found that measured it. A guide to managing woods for birds asks for \
        encroaching trees to be cleared within {structure.lek.tree_clearance} of a lek; a wood inside that is told of as the more urgent.\n\n\
        Why it matters: displaying cocks need to see danger coming, and hens keep to open ground on the way in. A wood that closes round a \
        lek ends it.\n\n\
        What to do: clear or cut back the part inside, outside the season of display and nesting; leave the felled ground open. Ask the forestry \
        authority first whether a felling licence or permission is needed, and on protected ground the conservation authority. Felling is for \
        trained people.\n\n\
        Not seen: single trees and scrub that nobody mapped as a wood.",
    keys: &["practice.tree_distance", "structure.lek.tree_clearance"],
};

/// Find every wood with a part inside the stand-off of a lek.
pub fn check(c: &Context) -> Checked {
    let stand_off_m = c.number("practice.tree_distance")?;
    let clear_m = c.number("structure.lek.tree_clearance")?;
    let mut found = Vec::new();
    for lek in 0..c.leks().len() {
        let at = c.lek_at(lek);
        let disc = places::disc(at, stand_off_m);
        for (index, wood) in c.holding.woods.iter().enumerate() {
            let inside = places::area_inside(&wood.shape, &disc);
            if inside.0.is_empty() {
                continue;
            }
            let nearest_m = Euclidean.distance(&at, &wood.shape);
            let (name, lek_name) = (if wood.name.is_empty() { &wood.id } else { &wood.name }, c.lek_name(lek));
            // A wood over the middle has neither a side towards it nor a distance.
            let covers = nearest_m == 0.0;
            let (exact, band) = (words::metres(nearest_m), distance_band(nearest_m));
            let away = |d: &str| format!("{d} away at the nearest");
            let (how_near, what, place) = if covers {
                ("covers the middle of the display ground".to_string(), format!("{name} stands on {lek_name}"), format!("{name}, all round the middle of {lek_name}"))
            } else {
                (away(&exact), format!("{name} stands too close to {lek_name}"), format!("{name}, the side towards {lek_name}"))
            };
            let ha = places::hectares(&inside);
            let mut secret = c.names_kept_back(c.stands().iter().filter(|s| s.feature == Feature::Wood(index)));
            // On any map a named wood and the width of the stand-off are a strip.
            secret.extend(c.name_kept_back(name, "a wood"));
            secret.push(Secret::of(&exact, band, away));
            secret.push(Secret::of(&format!("{ha:.2} ha"), area_band(ha), |a| format!("{a} inside the stand-off")));
            let urgent = if nearest_m < clear_m { "; trees this close are the first to clear" } else { "" };
            found.push(c.finding(
                &RULE,
                Said {
                    lek: Some(lek),
                    severity: None,
                    what,
                    place,
                    value: format!("{how_near}; {ha:.2} ha inside the stand-off{urgent}"),
                    geometry: inside.into(),
                    needed: format!("no trees within {} of the middle of the display ground", words::metres(stand_off_m)),
                    why: "Cocks display where they see danger coming from every side; trees near by hide it and, as they grow, close the lek.".into(),
                    hint: "Clear the part inside the stand-off outside the breeding season and keep it open. Ask the forestry authority about a \
                        felling licence or permission first, and for consent on protected ground; felling is for trained people."
                        .into(),
                    secret,
                },
            ));
        }
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::fixture::{bare, moor, rect, run, wood};
    use super::*;
    use geo_types::Geometry;
    use holding::Tree;

    #[test]
    fn a_wood_reaching_in_is_found_and_only_the_part_inside_is_given() {
        let mut h = moor();
        h.woods = vec![wood("Close wood", rect(1060.0, 900.0, 1300.0, 1100.0), Tree::Birch, 5.0, 40.0, 2012)];
        let f = run(&h, check);
        assert_eq!(f.len(), 1);
        assert!(f[0].what.contains("Close wood") && f[0].what.contains("Testrigg"));
        let Geometry::MultiPolygon(piece) = &f[0].geometry else { panic!("{:?}", f[0].geometry) };
        // Circular segment beyond 60 m in a circle of 100 m: r^2 acos(d/r) - d sqrt(r^2 - d^2).
        let exact = (1e4 * 0.6f64.acos() - 60.0 * 80.0) / 1e4;
        assert!((places::hectares(piece) - exact).abs() < 0.005, "{} {exact}", places::hectares(piece));
        assert_eq!(f[0].lek.as_deref(), Some("L1"));
    }

    #[test]
    fn a_wood_over_the_lek_has_no_side_towards_it_and_is_not_nought_metres_away() {
        let mut h = moor();
        h.woods = vec![wood("Old planting", rect(900.0, 900.0, 1300.0, 1100.0), Tree::Birch, 5.0, 40.0, 2012)];
        let f = run(&h, check).remove(0);
        assert!(f.what.contains("stands on") && !f.place.contains("side towards") && !f.value.contains("0 m"), "{f:?}");
        assert!(f.value.starts_with("covers the middle of the display ground; 3.1"), "{}", f.value);
        let told = f.withheld();
        assert_eq!(told.what, "a wood at the lek stands on Testrigg lek");
        assert!(!told.place.contains("Old planting"), "{}", told.place);
    }

    #[test]
    fn withheld_distances_and_areas_are_bands_and_the_public_limit_stays() {
        let mut h = moor();
        h.woods = vec![wood("Close wood", rect(1071.0, 900.0, 1300.0, 1100.0), Tree::Birch, 5.0, 40.0, 2012)];
        let f = run(&h, check).remove(0);
        assert!(f.value.starts_with("71 m away at the nearest; 0.2"), "{}", f.value);
        let told = f.withheld();
        assert_eq!(told.value, "under 1 km away at the nearest; under 1 ha inside the stand-off");
        assert_eq!(told.needed, f.needed);
        assert_eq!([told.what, told.place], ["a wood stands too close to Testrigg lek", "a wood, the side towards Testrigg lek"]);
    }

    #[test]
    fn a_wood_just_outside_is_left_alone() {
        let mut h = moor();
        h.woods = vec![wood("Far wood", rect(1101.0, 900.0, 1300.0, 1100.0), Tree::Birch, 5.0, 40.0, 2012)];
        assert!(run(&h, check).is_empty());
    }

    #[test]
    fn a_bare_survey_is_read() {
        assert!(run(&bare(), check).is_empty());
    }
}
