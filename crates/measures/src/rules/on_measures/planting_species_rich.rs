//! Trees planted on species-rich ground, or on ground the owner keeps out.
//!
//! Source: that such ground is left alone is common practice and a rule of woodland grants; no figure is in it.

use super::seen::OnMeasures;
use super::{Checked, Rule, lie, planted};
use crate::finding::Severity;
use crate::kind::cut::shared;
use crate::rules::{Said, places};
use holding::AreaKind;

/// The rule.
pub const RULE: Rule = Rule {
    key: "planting_species_rich",
    title: "Trees planned on species-rich or closed ground",
    severity: Severity::Must,
    explain: "Looks for woods, new ones and restocked ones, on ground mapped as species-rich or as ground the owner keeps out. The guidance: \
        {practice.grazing.mosaic}. Old meadow that nobody mapped is not seen: have the ground looked at in flower.\n\n\
        Why it matters: flower-rich grass feeds chicks and cannot be made again once it is shaded out.\n\n\
        What to do: draw the wood round it. The environmental impact rules treat the loss of semi-natural ground as well: check the code in force.",
    keys: &["practice.grazing.mosaic"],
};

/// Find woods on species-rich or closed ground.
pub fn check(o: &OnMeasures) -> Checked {
    let mut found = Vec::new();
    for p in planted::all(o) {
        for area in &o.holding().areas {
            let (what, why) = match area.kind {
                AreaKind::SpeciesRich => ("species-rich ground", "Flower-rich ground feeds chicks and cannot be made again once it is shaded out."),
                AreaKind::NoGo => ("ground the owner keeps out", "The owner has said no."),
                _ => continue,
            };
            let piece = shared(&p.area, &area.shape);
            if piece.0.is_empty() {
                continue;
            }
            let (name, called) = (o.name(p.measure), lie::called(&area.name, &area.id));
            found.push(o.finding(
                &RULE,
                p.measure,
                Said {
                    what: format!("{name} plants on {what}"),
                    place: format!("{name}, on {called}"),
                    value: format!("{} of it under trees", lie::ha(places::hectares(&piece))),
                    geometry: piece.into(),
                    needed: format!("no trees on {what}"),
                    why: why.into(),
                    hint: "Draw the wood round it; check the code in force on the loss of semi-natural ground.".into(),
                    ..Said::default()
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
    use holding::Area;

    #[test]
    fn a_wood_on_it_is_found_and_one_beside_it_or_on_other_ground_is_not() {
        let mut h = moor();
        h.areas = vec![
            Area { kind: AreaKind::SpeciesRich, name: "Old meadow".into(), ..Area::new("A1", rect(1500.0, 1500.0, 1600.0, 1600.0)) },
            Area { kind: AreaKind::WaterSupply, ..Area::new("A2", rect(1400.0, 1400.0, 1700.0, 1700.0)) },
        ];
        let f = found(&h, vec![wood_of(rect(1550.0, 1500.0, 1700.0, 1600.0), &[])], check);
        assert_eq!((f.len(), f[0].severity), (1, Severity::Must));
        assert!(f[0].what.contains("species-rich") && f[0].place.contains("Old meadow"));
        assert!(found(&h, vec![wood_of(rect(1601.0, 1500.0, 1700.0, 1600.0), &[])], check).is_empty());
    }
}
