//! Trees planted on a wet flush.
//!
//! Sources: broods choose wet flushes (Roos et al. 2016); that flushes are left open is common practice.

use super::seen::OnMeasures;
use super::{Checked, Rule, lie, planted};
use crate::finding::Severity;
use crate::kind::cut::shared;
use crate::rules::{Said, places};

/// The rule.
pub const RULE: Rule = Rule {
    key: "planting_flush",
    title: "Trees planned on a wet flush",
    severity: Severity::Should,
    explain: "Looks for new woods on ground surveyed as a wet flush. A study found that broods choose wet flushes at the scale of \
        {structure.brood.flush_scale}; that flushes are left open is common practice. Flushes nobody mapped are not seen.\n\n\
        Why it matters: flushes breed the insects chicks live on in their first weeks; trees shade and dry them.\n\n\
        What to do: draw the wood round the flush and leave a sunny margin; a few willows beside it do no harm.",
    keys: &["structure.brood.flush_scale", "practice.wet"],
};

/// Find new woods on flushes.
pub fn check(o: &OnMeasures) -> Checked {
    let mut found = Vec::new();
    for p in planted::new(o) {
        for stand in o.context.stands().iter().filter(|s| s.flush) {
            let piece = shared(&p.area, o.context.shape(stand));
            if piece.0.is_empty() {
                continue;
            }
            let (name, flush) = (o.name(p.measure), o.context.stand_name(stand));
            found.push(o.finding(
                &RULE,
                p.measure,
                Said {
                    what: format!("{name} plants on a flush"),
                    place: format!("{name}, on {flush}"),
                    value: format!("{} of flush under trees", lie::ha(places::hectares(&piece))),
                    geometry: piece.into(),
                    needed: "no trees on wet flushes".into(),
                    why: "Flushes breed the insects chicks live on in their first weeks; trees shade and dry them.".into(),
                    hint: "Draw the wood round the flush and leave a sunny margin.".into(),
                    secret: o.context.names_kept_back([stand]),
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
    use crate::rules::fixture::{moor, patch, rect};

    #[test]
    fn a_wood_on_a_flush_is_found_and_one_beside_it_is_not() {
        let mut h = moor();
        let mut flush = patch("Sike Well", rect(1200.0, 1200.0, 1300.0, 1300.0), 25.0);
        flush.flush = true;
        h.patches.push(flush);
        let f = found(&h, vec![wood_of(rect(1250.0, 1200.0, 1400.0, 1300.0), &[])], check);
        assert_eq!(f.len(), 1);
        assert!(f[0].value.contains("0.50 ha") && f[0].place.contains("Sike Well"), "{f:?}");
        assert_eq!(f[0].measure.as_deref(), Some("M1"));
        assert!(found(&h, vec![wood_of(rect(1300.5, 1200.0, 1400.0, 1300.0), &[])], check).is_empty());
    }
}
