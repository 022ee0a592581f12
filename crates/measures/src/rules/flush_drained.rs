//! A flush with a ditch through or beside it.
//!
//! Sources: broods choose wet flushes (Roos et al. 2016); that bog and flush are kept wet and ditches blocked is common practice;
//! how far a ditch draws is an assumption.

use super::{Checked, Context, Rule, Said, places, words};
use crate::finding::Severity;
use geo_types::MultiLineString;

/// The rule.
pub const RULE: Rule = Rule {
    key: "flush_drained",
    title: "Flush drained by a ditch",
    severity: Severity::Should,
    explain: "Looks at every wet flush within {reach.brood_m} of a lek for ditches that run through it or within {water.reach.raised_bog} of it and are \
        neither blocked nor marked as drains that must keep running. Stretches shorter than {rule.flush.ditch_m} together are passed over.\n\n\
        How far a ditch draws water depends on the soil: metres in blanket peat, tens of metres in fen and sand. The distance is an assumption made for fen \
        and raised bog; so is the least stretch. A study found that broods choose wet flushes at the scale of {structure.brood.flush_scale}; keeping flush \
        and bog wet and blocking ditches is common practice.\n\n\
        Why it matters: flushes breed the insects chicks live on in their first weeks.\n\n\
        What to do: block the ditch with dams at even falls, unless a road, house, neighbour or water supply hangs on it. Work in or near a watercourse may \
        need consent, protected ground does; walk the line with whoever is drained by it first.",
    keys: &["water.reach.raised_bog", "rule.flush.ditch_m", "structure.brood.flush_scale", "reach.brood_m"],
};

/// Find flushes with open ditches.
pub fn check(c: &Context) -> Checked {
    let draws_m = c.number("water.reach.raised_bog")?;
    let least_m = c.number("rule.flush.ditch_m")?;
    let reach_m = c.number("reach.brood_m")?;
    let mut found = Vec::new();
    for stand in c.stands().iter().filter(|s| s.flush) {
        let shape = c.shape(stand);
        let Some((lek, _)) = c.nearest_lek(shape).filter(|(_, d)| *d < reach_m) else { continue };
        let round = ground::quick::grown(shape, draws_m);
        let (mut pieces, mut through_m, mut ids) = (Vec::new(), 0.0, Vec::new());
        for ditch in c.holding.ditches.iter().filter(|d| !d.blocked && !d.keep) {
            let piece = places::line_inside(&ditch.shape, &round);
            if !piece.0.is_empty() {
                through_m += places::metres(&places::line_inside(&ditch.shape, shape));
                ids.push(ditch.id.as_str());
                pieces.extend(piece.0);
            }
        }
        let piece = MultiLineString(pieces);
        let length_m = places::metres(&piece);
        if length_m < least_m {
            continue;
        }
        let (name, lek_name) = (c.stand_name(stand), c.lek_name(lek));
        found.push(c.finding(
            &RULE,
            Said {
                lek: None,
                severity: None,
                what: format!("{name} is drained by {}", if ids.len() == 1 { "a ditch" } else { "ditches" }),
                place: format!("{name}, in brood reach of {lek_name}"),
                geometry: piece.into(),
                value: format!(
                    "{} of open ditch ({}) on or beside the flush, {} of it through",
                    words::metres(length_m),
                    words::list(&ids),
                    words::metres(through_m)
                ),
                needed: format!("no open ditch within {} of a flush", words::metres(draws_m)),
                why: "Wet flushes breed the insects chicks live on in their first weeks; a drained one gives few.".into(),
                hint: "Block the ditch with dams at even falls, when nesting is over, unless a road, house, neighbour or water supply hangs on it. Ask about \
                    watercourse consent, and for consent on protected ground, before any digging."
                    .into(),
                secret: vec![],
            },
        ));
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::fixture::{bare, line, moor, patch, rect, run};
    use super::*;
    use holding::{Ditch, Holding};

    /// A flush of one hectare with one ditch along the given line.
    fn with_ditch(points: &[(f64, f64)]) -> Holding {
        let mut h = moor();
        let mut flush = patch("Sike Well", rect(1200.0, 1200.0, 1300.0, 1300.0), 25.0);
        flush.flush = true;
        h.patches.push(flush);
        h.ditches = vec![Ditch::new("D1", line(points))];
        h
    }

    #[test]
    fn a_ditch_through_a_flush_is_found() {
        let f = run(&with_ditch(&[(1000.0, 1250.0), (1500.0, 1250.0)]), check);
        assert_eq!(f.len(), 1);
        // 100 m through and 15 m beyond on each side.
        assert!(f[0].value.contains("130 m of open ditch (D1)") && f[0].value.contains("100 m of it through"), "{}", f[0].value);
    }

    #[test]
    fn a_ditch_just_beside_counts_and_one_farther_off_does_not() {
        assert_eq!(run(&with_ditch(&[(1200.0, 1314.0), (1300.0, 1314.0)]), check).len(), 1);
        assert!(run(&with_ditch(&[(1200.0, 1316.0), (1300.0, 1316.0)]), check).is_empty());
    }

    #[test]
    fn blocked_ditches_and_drains_that_must_run_are_left_alone() {
        let mut h = with_ditch(&[(1000.0, 1250.0), (1500.0, 1250.0)]);
        h.ditches[0].blocked = true;
        assert!(run(&h, check).is_empty());
        (h.ditches[0].blocked, h.ditches[0].keep) = (false, true);
        assert!(run(&h, check).is_empty());
    }

    #[test]
    fn a_bare_survey_is_read() {
        assert!(run(&bare(), check).is_empty());
    }
}
