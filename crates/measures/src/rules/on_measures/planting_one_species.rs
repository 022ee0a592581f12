//! One species over its share of a wood.
//!
//! Sources: the assurance standard (older edition), as the forestry standard of 2023 from memory.

use super::seen::OnMeasures;
use super::{Checked, Rule, planted};
use crate::finding::Severity;
use crate::rules::Said;
use holding::Word;

/// The rule.
pub const RULE: Rule = Rule {
    key: "planting_one_species",
    title: "One species over its share of a wood",
    severity: Severity::Should,
    explain: "Looks at the mix of woods, new ones and restocked ones. The standard wants no more than {planting.composition.primary_max} of one species where two \
        or more suit the ground, and no more than {planting.composition_one_species.primary_max} where only one does; the plan cannot know that, so a wood of a \
        single species is held to the second. Shares are of the stems; the standard speaks of area. Check the code in force.\n\n\
        Why it matters: one species fruits badly in some years and falls to one disease; grouse want buds, catkins and berries of several.\n\n\
        What to do: add rowan, willow, hawthorn or juniper by the ground.",
    keys: &["planting.composition.primary_max", "planting.composition_one_species.primary_max"],
};

/// Find woods with too much of one species.
pub fn check(o: &OnMeasures) -> Checked {
    let (several, single) = (o.number("planting.composition.primary_max")?, o.number("planting.composition_one_species.primary_max")?);
    let mut found = Vec::new();
    for p in planted::all(o) {
        let all: f64 = p.stems.iter().map(|s| s.1).sum();
        let Some((tree, most)) = p.stems.iter().copied().max_by(|a, b| a.1.total_cmp(&b.1)).filter(|_| all > 0.0) else { continue };
        let limit = if p.stems.iter().filter(|s| s.1 > 0.0).count() > 1 { several } else { single };
        let share = 100.0 * most / all;
        // Stems are kept as single floats.
        if share <= limit + 1e-3 {
            continue;
        }
        let (name, called) = (o.name(p.measure), tree.word().replace('_', " "));
        found.push(o.finding(
            &RULE,
            p.measure,
            Said {
                what: format!("{name} is mostly {called}"),
                place: name,
                geometry: p.area.clone().into(),
                value: format!("{share:.0} % of the stems are {called}"),
                needed: format!("no species over {limit:.0} %; check the code in force"),
                why: "One species fruits badly in some years and falls to one disease; grouse want several.".into(),
                hint: "Add rowan, willow, hawthorn or juniper by the ground.".into(),
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
    use crate::rules::fixture::{moor, rect};
    use serde_json::json;

    #[test]
    fn the_limit_is_that_of_several_species_or_of_one() {
        let told = |mix: serde_json::Value| found(&moor(), vec![wood_of(rect(1400.0, 1400.0, 1500.0, 1500.0), &[("mix", mix)])], check);
        assert!(told(json!({"birch": 65, "rowan": 35})).is_empty());
        assert!(told(json!({"birch": 66, "rowan": 34}))[0].value.contains("66 %"));
        assert!(told(json!({"birch": 100}))[0].needed.contains("75 %"));
        assert!(found(&moor(), vec![wood_of(rect(1400.0, 1400.0, 1500.0, 1500.0), &[])], check).is_empty(), "the usual mix");
    }
}
