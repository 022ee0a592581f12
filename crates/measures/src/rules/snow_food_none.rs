//! No woodland food within reach when snow lies.
//!
//! Sources: in deep snow all birds feed in trees (Parr & Watson 1988); leks without woodland lost about half their cocks in the snow of
//! 2009/10, leks with woodland about 15 % (news item); the least area is an assumption.

use super::{Checked, Context, Rule, Said, places, words};
use crate::finding::Severity;

/// The rule.
pub const RULE: Rule = Rule {
    key: "snow_food_none",
    title: "No woodland food within reach when snow lies",
    severity: Severity::Should,
    explain: "Adds up the woods and scrub with food above snow within {reach.winter_m} of a lek: those where trees old enough to bear catkins, buds or berries, \
        weighted by their worth as winter food, cover at least the part {site.tree_food.share} of the ground. It tells where that is less than \
        {rule.snow.food_wood_ha}. Larger woods count only by what lies within reach.\n\n\
        In deep snow all birds of a Scottish study fed in trees. After the long snow of 2009/10 cocks at leks in northern England changed by \
        {composition.snow_loss.with_woods} where there was woodland and by {composition.snow_loss.without_woods} where there was none (a news item; the \
        share of wood is not given). The least area is an assumption of this program; the ledger's snowbound season says more.\n\n\
        Why it matters: one hard winter can halve a lek that has nothing to eat above the snow.\n\n\
        What to do: plant small ragged woods of birch, rowan, willow, hawthorn and alder within reach but clear of the lek, flushes and good \
        brood ground; it is years before they bear.",
    keys: &["rule.snow.food_wood_ha", "site.tree_food.share", "reach.winter_m", "composition.snow_loss.with_woods", "composition.snow_loss.without_woods"],
};

/// Find leks without tree food in reach.
pub fn check(c: &Context) -> Checked {
    let least_ha = c.number("rule.snow.food_wood_ha")?;
    let share = c.number("site.tree_food.share")? as f32;
    let reach_m = c.number("reach.winter_m")?;
    let worth = &c.assessed.middle.tree_food;
    let food = |bearing: bool| -> Vec<bool> {
        c.stands()
            .iter()
            .map(|s| s.trees.iter().filter(|t| t.bears || !bearing).map(|t| t.canopy * worth[t.tree as usize]).sum::<f32>() >= share)
            .collect()
    };
    let (bears, any) = (food(true), food(false));
    let mut found = Vec::new();
    for lek in 0..c.leks().len() {
        let at = c.lek_at(lek);
        let area = c.ha_within(at, reach_m);
        let sum = |pick: &[bool]| area.iter().zip(pick).filter(|(_, p)| **p).map(|(a, _)| a).sum::<f64>();
        let (ha, with_young) = (sum(&bears), sum(&any));
        if ha >= least_ha {
            continue;
        }
        let young = if with_young - ha >= 0.1 { format!("; {} more is too young to bear", words::hectares(with_young - ha)) } else { String::new() };
        let lek_name = c.lek_name(lek);
        found.push(c.finding(
            &RULE,
            Said {
                lek: Some(lek),
                severity: None,
                what: format!("little or nothing to eat above snow near {lek_name}"),
                place: format!("within {} of {lek_name}", words::metres(reach_m)),
                geometry: places::disc(at, reach_m).into(),
                value: format!("{ha:.1} ha of wood or scrub with winter food{young}"),
                needed: format!("at least {} within {}", words::hectares(least_ha), words::metres(reach_m)),
                why: "When snow covers heather the birds live on buds, catkins and berries; leks without woodland lost far more cocks in a long snow.".into(),
                hint: "Plant small ragged woods of birch, rowan, willow, hawthorn and alder within reach, clear of the lek, its view, flushes and good brood \
                    ground. Ask first about environmental assessment, grants and what lies under the ground."
                    .into(),
                secret: vec![],
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
    fn a_treeless_moor_is_found_and_one_with_enough_birch_is_not() {
        let mut h = moor();
        assert_eq!(run(&h, check).len(), 1);
        h.woods = vec![wood("Birks", rect(1500.0, 1500.0, 1650.0, 1650.0), Tree::Birch, 8.0, 40.0, 1990)];
        assert!(run(&h, check).is_empty(), "2.25 ha");
        h.woods = vec![wood("Birks", rect(1500.0, 1500.0, 1630.0, 1650.0), Tree::Birch, 8.0, 40.0, 1990)];
        assert_eq!(run(&h, check).len(), 1, "1.95 ha");
    }

    #[test]
    fn young_trees_and_spruce_do_not_count() {
        let mut h = moor();
        h.woods = vec![
            wood("Young", rect(1500.0, 1500.0, 1700.0, 1700.0), Tree::Birch, 3.0, 20.0, 2023),
            wood("Spruce", rect(200.0, 200.0, 500.0, 500.0), Tree::Spruce, 12.0, 90.0, 1990),
        ];
        let f = run(&h, check);
        assert_eq!(f.len(), 1);
        assert!(f[0].value.contains("4.0 ha more is too young to bear"), "{}", f[0].value);
    }

    #[test]
    fn a_bare_survey_is_read() {
        assert_eq!(run(&bare(), check).len(), 1);
    }
}
