//! Hard conifer edge near a lek or brood ground.
//!
//! Source: woods with uneven edges and scrub along them are common practice; birds that use forestry stay near its edge (NatureScot
//! report 545; White et al. 2015).

use super::{Checked, Context, Rule, Said, places, words};
use crate::finding::Severity;
use crate::secrecy::{Secret, distance_band};
use geo_types::MultiPolygon;
use habitat::{Class, Feature};

/// The rule.
pub const RULE: Rule = Rule {
    key: "conifer_edge_hard",
    title: "Hard conifer edge near lek or brood ground",
    severity: Severity::Consider,
    explain: "Looks for closed plantation conifer whose edge was recorded as a wall of trees, not shaped in steps and gaps, and gives the length of \
        its outline within {reach.brood_m} of a lek, the ground broods use. Every plantation is told of once, under its nearest lek. A plantation whose \
        edge nobody recorded is not told of.\n\n\
        Uneven edges with scrub along them are common practice without a source. Studies found that of the birds that used forestry some \
        {woods.use.four_fifths_share} stayed within {woods.use.four_fifths_within} of its edge, so it is the edge that counts. The outline includes \
        stretches that meet other woods.\n\n\
        Why it matters: a dark wall of spruce gives neither food nor cover and shelters hunters of eggs and chicks; a ragged edge with birch, willow \
        and blaeberry gives both.\n\n\
        What to do: at thinning or felling, break the edge into bays and open strips, let birch, rowan and willow come. A felling licence or permission is \
        usually needed; windthrow is a risk in tall crops: ask a forester.",
    keys: &["reach.brood_m", "woods.use.four_fifths_share", "woods.use.four_fifths_within"],
};

/// Find hard conifer edges.
pub fn check(c: &Context) -> Checked {
    let reach_m = c.number("reach.brood_m")?;
    let used_m = c.number("woods.use.four_fifths_within")?;
    let mut found = Vec::new();
    for stand in c.stands().iter().filter(|s| s.class == Class::ClosedConifer) {
        let Feature::Wood(i) = stand.feature else { continue };
        let wood = &c.holding.woods[i];
        let Some((lek, distance_m)) = c.nearest_lek(&wood.shape).filter(|(_, d)| wood.feathered_edge == Some(false) && *d < reach_m) else { continue };
        let near = MultiPolygon(vec![places::disc(c.lek_at(lek), reach_m)]);
        let edge = places::line_inside(&places::outlines(&wood.shape), &near);
        let length_m = places::metres(&edge);
        if edge.0.is_empty() {
            continue;
        }
        let (name, lek_name) = (c.stand_name(stand), c.lek_name(lek));
        let mut secret = c.names_kept_back([stand]);
        secret.push(Secret::of(&words::metres(distance_m), distance_band(distance_m), |d| format!("{d} at the nearest")));
        secret.push(Secret::of(&words::metres(length_m), distance_band(length_m), |d| format!("{d} of hard edge")));
        found.push(c.finding(
            &RULE,
            Said {
                lek: Some(lek),
                severity: None,
                what: format!("{name} meets the open ground near {lek_name} as a wall of trees"),
                place: if distance_m > 0.0 {
                    format!("{name}, {} at the nearest from {lek_name}", words::metres(distance_m))
                } else {
                    format!("{name}, which {lek_name} lies in")
                },
                geometry: edge.into(),
                value: format!("{} of hard edge, trees about {:.0} m tall", words::metres(length_m), stand.tree_height_m),
                needed: format!("an edge in steps and gaps with scrub along it within {} of a lek", words::metres(reach_m)),
                why: format!(
                    "Birds that use plantations keep within some {} of the edge; a dark wall gives them neither food nor cover and shelters hunters.",
                    words::metres(used_m)
                ),
                hint: "Plan bays, gaps and low native scrub along this edge at the next thinning or felling. A felling licence or permission is usually \
                    needed; ask a forester about windthrow first."
                    .into(),
                secret,
            },
        ));
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::fixture::{bare, moor, rect, run, wood};
    use super::*;
    use holding::Tree;

    #[test]
    fn a_recorded_wall_of_spruce_is_found_with_its_outline_inside_the_reach() {
        let mut h = moor();
        h.woods = vec![wood("Block", rect(1500.0, 900.0, 1600.0, 1100.0), Tree::Spruce, 14.0, 90.0, 1985)];
        assert!(run(&h, check).is_empty(), "an edge nobody recorded is not told of");
        h.woods[0].feathered_edge = Some(false);
        let f = run(&h, check);
        assert_eq!(f.len(), 1);
        assert!(f[0].value.starts_with("600 m of hard edge"), "{}", f[0].value);
        h.woods[0].feathered_edge = Some(true);
        assert!(run(&h, check).is_empty());
    }

    #[test]
    fn native_wood_and_far_conifer_are_left_alone() {
        let mut h = moor();
        h.woods = vec![
            wood("Birch", rect(1500.0, 900.0, 1600.0, 1100.0), Tree::Birch, 8.0, 50.0, 1985),
            wood("Far", rect(2501.0, 900.0, 2600.0, 1100.0), Tree::Spruce, 14.0, 90.0, 1985),
        ];
        h.woods.iter_mut().for_each(|w| w.feathered_edge = Some(false));
        assert!(run(&h, check).is_empty());
    }

    #[test]
    fn a_bare_survey_is_read() {
        assert!(run(&bare(), check).is_empty());
    }
}
