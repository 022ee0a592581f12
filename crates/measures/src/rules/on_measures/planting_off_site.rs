//! Species planted above their ceiling, or on ground too wet or too dry for them.
//!
//! Sources: practical planting ceilings from memory; moisture values from memory of the published list for British plants (2004);
//! what counts as wet and dry here is an assumption.

use super::seen::OnMeasures;
use super::{Checked, Rule, lie, planted};
use crate::finding::Severity;
use crate::rules::{Said, words};
use holding::{Tree, Word};

/// The rule.
pub const RULE: Rule = Rule {
    key: "planting_off_site",
    title: "Species planned off its site",
    severity: Severity::Consider,
    explain: "Looks at every species of a wood against the ground: the mean altitude by the height model against its practical planting ceiling (downy birch \
        {tree.downy_birch.plant_to}, rowan {tree.rowan.plant_to}, eared willow {tree.eared_willow.plant_to}, hawthorn {tree.hawthorn.plant_to}, alder \
        {tree.alder.plant_to}, juniper {tree.juniper.plant_to}, Scots pine {tree.scots_pine.plant_to}, sessile oak {tree.sessile_oak.plant_to}; about \
        {tree.plant_to_northwest_drop} lower in the exposed north-west, which is not taken off here), and the surveyed wetness against its moisture value: \
        from {rule.planting.wet_from} species of moisture {rule.planting.wet_moisture} and less are off their site, up to {rule.planting.dry_from} those \
        of {rule.planting.dry_moisture} and more. Ceilings and moisture values are from memory, the limits of wetness assumptions; soil reaction and exposure are \
        not looked at. Species without a value are passed over.\n\n\
        Why it matters: trees off their site die or stand still, and the food they were planted for never comes.\n\n\
        What to do: change the mix for this ground, or the ground for this mix.",
    keys: &[
        "tree.downy_birch.plant_to",
        "tree.rowan.plant_to",
        "tree.eared_willow.plant_to",
        "tree.hawthorn.plant_to",
        "tree.alder.plant_to",
        "tree.juniper.plant_to",
        "tree.scots_pine.plant_to",
        "tree.sessile_oak.plant_to",
        "tree.plant_to_northwest_drop",
        "rule.planting.wet_from",
        "rule.planting.wet_moisture",
        "rule.planting.dry_from",
        "rule.planting.dry_moisture",
        "tree.downy_birch.moisture",
        "tree.rowan.moisture",
        "tree.eared_willow.moisture",
        "tree.hawthorn.moisture",
        "tree.alder.moisture",
        "tree.juniper.moisture",
        "tree.scots_pine.moisture",
        "tree.sessile_oak.moisture",
    ],
};

/// Ceiling and moisture value of the hardiest species of a group.
pub fn site_of(tree: Tree) -> Option<(&'static str, &'static str)> {
    Some(match tree {
        Tree::Birch => ("tree.downy_birch.plant_to", "tree.downy_birch.moisture"),
        Tree::Rowan => ("tree.rowan.plant_to", "tree.rowan.moisture"),
        Tree::Willow => ("tree.eared_willow.plant_to", "tree.eared_willow.moisture"),
        Tree::Hawthorn => ("tree.hawthorn.plant_to", "tree.hawthorn.moisture"),
        Tree::Alder => ("tree.alder.plant_to", "tree.alder.moisture"),
        Tree::Juniper => ("tree.juniper.plant_to", "tree.juniper.moisture"),
        Tree::ScotsPine => ("tree.scots_pine.plant_to", "tree.scots_pine.moisture"),
        Tree::Oak => ("tree.sessile_oak.plant_to", "tree.sessile_oak.moisture"),
        _ => return None,
    })
}

/// Find species off their site.
pub fn check(o: &OnMeasures) -> Checked {
    let (wet_from, wet_moisture) = (o.number("rule.planting.wet_from")?, o.number("rule.planting.wet_moisture")?);
    let (dry_from, dry_moisture) = (o.number("rule.planting.dry_from")?, o.number("rule.planting.dry_moisture")?);
    let mut found = Vec::new();
    for p in planted::all(o) {
        let (altitude_m, wetness) = (lie::altitude_m(o, &p.area), lie::wetness(o, &p.area));
        let (mut off, mut needed) = (Vec::new(), Vec::new());
        for (tree, _) in p.stems.iter().filter(|s| s.1 > 0.0) {
            let Some((ceiling, moisture)) = site_of(*tree) else { continue };
            let (ceiling_m, moisture) = (o.number(ceiling)?, o.number(moisture)?);
            let called = tree.word().replace('_', " ");
            if let Some(m) = altitude_m.filter(|m| *m > ceiling_m) {
                off.push(format!("{called} at {m:.0} m"));
                needed.push(format!("{called} up to about {ceiling_m:.0} m"));
            }
            match wetness {
                Some(w) if w >= wet_from && moisture <= wet_moisture => {
                    off.push(format!("{called} on wet ground (wetness {w:.1})"));
                    needed.push(format!("{called} on ground drier than {wet_from}"));
                }
                Some(w) if w <= dry_from && moisture >= dry_moisture => {
                    off.push(format!("{called} on dry ground (wetness {w:.1})"));
                    needed.push(format!("{called} on ground wetter than {dry_from}"));
                }
                _ => {}
            }
        }
        if off.is_empty() {
            continue;
        }
        let name = o.name(p.measure);
        found.push(o.finding(
            &RULE,
            p.measure,
            Said {
                what: format!("{name} plants species off their site"),
                place: name,
                geometry: p.area.clone().into(),
                value: off.join("; "),
                needed: words::list(&needed),
                why: "Trees off their site die or stand still, and the food they were planted for never comes.".into(),
                hint: "Change the mix for this ground, or the ground for this mix.".into(),
                ..Said::default()
            },
        ));
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::tests::{found, wood_of};
    use super::*;
    use crate::rules::fixture::{flat, moor, rect};
    use holding::Holding;
    use serde_json::json;

    fn at(height_m: f32, wetness: f32) -> Holding {
        let mut h = moor();
        let mut grid = flat();
        grid.cells.iter_mut().for_each(|c| *c = height_m);
        h.heights = Some(grid);
        h.patches.iter_mut().for_each(|p| p.wetness = Some(wetness));
        h
    }

    fn told(h: &Holding, mix: serde_json::Value) -> Vec<String> {
        found(h, vec![wood_of(rect(1400.0, 1400.0, 1500.0, 1500.0), &[("mix", mix)])], check).into_iter().map(|f| f.value).collect()
    }

    #[test]
    fn ceilings_are_the_species_own() {
        let mix = || json!({"alder": 50, "birch": 50});
        assert_eq!(told(&at(351.0, 0.4), mix()), ["alder at 351 m"]);
        assert!(told(&at(350.0, 0.4), mix()).is_empty());
        assert_eq!(told(&at(551.0, 0.4), mix()).len(), 1);
        assert!(told(&at(900.0, 0.4), json!({"spruce": 100})).is_empty());
    }

    #[test]
    fn wet_and_dry_ground_bar_other_species() {
        assert_eq!(told(&at(300.0, 0.7), json!({"rowan": 100})), ["rowan on wet ground (wetness 0.7)"]);
        assert!(told(&at(300.0, 0.7), json!({"birch": 100})).is_empty());
        assert_eq!(told(&at(300.0, 0.1), json!({"alder": 100})), ["alder on dry ground (wetness 0.1)"]);
        assert!(told(&at(300.0, 0.3), json!({"alder": 50, "rowan": 50})).is_empty());
    }
}
