//! Too little open ground in a wood of its size.
//!
//! Sources: more than the open share for larger woods is common practice; gaps in woods from a size up, from a bird guide; the least
//! open share of any wood, from the assurance standard.

use super::seen::OnMeasures;
use super::{Checked, Rule, lie, planted};
use crate::finding::Severity;
use crate::rules::{Said, places, words};

/// The rule.
pub const RULE: Rule = Rule {
    key: "planting_open_low",
    title: "Too little open ground in a wood of its size",
    severity: Severity::Should,
    explain: "Looks at the open share of woods, new ones and restocked ones, against their size. Above {practice.wood.block_high} practice wants more than \
        {practice.wood.open_min} open where broods are to be reared once the wood has grown. From {woods.gaps_above} up a guide wants gaps, and at least \
        {planting.composition.open_min} as the assurance standard asks of any wood. Smaller woods are left alone.\n\n\
        Why it matters: a wood without glades is of use for about two decades and then closes over its berries and herbs.\n\n\
        What to do: leave more open, in glades that join and reach the edge. Scotland's native options limit open ground from above: check the scheme in force.",
    keys: &["practice.wood.block_high", "practice.wood.open_min", "woods.gaps_above", "planting.composition.open_min"],
};

/// Find woods with too little open ground.
pub fn check(o: &OnMeasures) -> Checked {
    let (large_ha, much) = (o.number("practice.wood.block_high")?, o.number("practice.wood.open_min")?);
    let (gaps_ha, some) = (o.number("woods.gaps_above")?, o.number("planting.composition.open_min")?);
    let mut found = Vec::new();
    for p in planted::all(o) {
        let (ha, open) = (places::hectares(&p.area), 100.0 * p.open);
        let needed = match () {
            () if ha > large_ha => much,
            () if ha >= gaps_ha => some,
            () => continue,
        };
        // Shares are kept as single floats.
        if open >= needed - 1e-3 {
            continue;
        }
        let name = o.name(p.measure);
        found.push(o.finding(
            &RULE,
            p.measure,
            Said {
                what: format!("{name} leaves little open ground"),
                place: name,
                geometry: p.area.clone().into(),
                value: format!("{open:.0} % open in a wood of {}", lie::ha(ha)),
                needed: format!("at least {needed:.0} % open in a wood of this size (above {}: {much:.0} %)", words::hectares(large_ha)),
                why: "A wood without glades closes over its berries and herbs within about two decades.".into(),
                hint: "Leave more open, in glades that join and reach the edge; check the scheme in force.".into(),
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
    fn the_share_goes_with_the_size() {
        let at = |side: f64, open: f64| found(&moor(), vec![wood_of(rect(1300.0, 1300.0, 1300.0 + side, 1300.0 + side), &[("open_pct", json!(open))])], check).len();
        // 6.25 ha, 4 ha, 2.25 ha.
        assert_eq!([at(250.0, 39.0), at(250.0, 40.0), at(200.0, 9.0), at(200.0, 10.0), at(150.0, 0.0)], [1, 0, 1, 0, 0]);
    }
}
