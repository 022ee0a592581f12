//! Blocks of trees larger or smaller than grouse use best.
//!
//! Source: blocks of 1 to 5 ha are common practice.

use super::seen::OnMeasures;
use super::{Checked, Rule, lie, planted};
use crate::finding::Severity;
use crate::rules::{Said, places, words};
use geo_types::MultiPolygon;

/// The rule.
pub const RULE: Rule = Rule {
    key: "planting_block_size",
    title: "Block of trees out of size",
    severity: Severity::Consider,
    explain: "Looks at every block of a new wood by itself. Common practice for black grouse is blocks of {practice.wood.block_low} to \
        {practice.wood.block_high}; larger woods only at low density with much open ground, which has its own rule. The least block of the Scottish low-density option stands in the table.\n\n\
        Why it matters: small blocks spread winter food over the ground; a large one closes, and grouse keep to its edge.\n\n\
        What to do: cut a large block into several with open ground between, join slivers or leave them out.",
    keys: &["practice.wood.block_low", "practice.wood.block_high", "planting.low_density.block_min"],
};

/// Find blocks out of size.
pub fn check(o: &OnMeasures) -> Checked {
    let (low_ha, high_ha) = (o.number("practice.wood.block_low")?, o.number("practice.wood.block_high")?);
    let mut found = Vec::new();
    for p in planted::new(o) {
        for block in &p.area.0 {
            let block = MultiPolygon(vec![block.clone()]);
            let ha = places::hectares(&block);
            if ha <= 0.0 || (low_ha..=high_ha).contains(&ha) {
                continue;
            }
            let name = o.name(p.measure);
            let (is, hint) = match ha > high_ha {
                true => ("large", "Cut it into several blocks with open ground between, or plant at low density with much open ground."),
                false => ("small", "Join it to another block, or keep it as a clump of food trees in a gill."),
            };
            found.push(o.finding(
                &RULE,
                p.measure,
                Said {
                    what: format!("{name} has a {is} block"),
                    place: name,
                    geometry: block.into(),
                    value: format!("a block of {}", lie::ha(ha)),
                    needed: format!("blocks of {} to {}", words::hectares(low_ha), words::hectares(high_ha)),
                    why: "Small blocks spread winter food over the ground; a large one closes, and grouse keep to its edge.".into(),
                    hint: hint.into(),
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

    #[test]
    fn blocks_are_judged_one_by_one() {
        let block = |x: f64, side: f64| rect(x, 1300.0, x + side, 1300.0 + side);
        let one = |side: f64| found(&moor(), vec![wood_of(block(1300.0, side), &[])], check).len();
        // 1 ha is 100 m square, 5 ha 223.6 m.
        assert_eq!([one(99.9), one(100.1), one(223.5), one(223.7)], [1, 0, 0, 1]);
        let two = MultiPolygon([block(1300.0, 50.0).0, block(1500.0, 150.0).0].concat());
        let f = found(&moor(), vec![wood_of(two, &[])], check);
        assert_eq!(f.len(), 1);
        assert!(f[0].value.contains("0.25 ha"), "{}", f[0].value);
    }
}
