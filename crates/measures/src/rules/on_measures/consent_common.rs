//! A fence on common land without the consent it needs.
//!
//! Source: from memory.

use super::seen::OnMeasures;
use super::{Checked, Rule, fenced, lie};
use crate::finding::Severity;
use crate::rules::{Said, places, words};
use holding::ParcelKind;

/// The rule.
pub const RULE: Rule = Rule {
    key: "consent_common",
    title: "New fence on common land",
    severity: Severity::Must,
    explain: "Looks for fences put up or moved, and fences round new woods, on parcels of common grazing. The law, from memory: {law.text.common}. Common land nobody \
        mapped as such is not seen, and consents are not in the plan. Check the code in force.\n\n\
        Why it matters: an unconsented fence on a common can be ordered down.\n\n\
        What to do: ask all who share the grazing first, then the authority; it takes months.",
    keys: &["law.text.common"],
};

/// Find new fences on commons.
pub fn check(o: &OnMeasures) -> Checked {
    let law = o.context.guidance.text("law.text.common", o.country())?;
    let from = o.edition_of("law.text.common", o.country());
    let mut found = Vec::new();
    for f in fenced::new(o) {
        for common in o.holding().parcels.iter().filter(|p| p.kind == ParcelKind::Common) {
            let piece = places::line_inside(&f.line, &common.shape);
            if piece.0.is_empty() {
                continue;
            }
            let (name, called) = (o.name(f.measure), lie::called(&common.name, &common.id));
            found.push(o.finding(
                &RULE,
                f.measure,
                Said {
                    what: format!("{name} puts a fence on common land"),
                    place: format!("{name}, on {called}"),
                    value: format!("{} of new fence on the common", words::metres(places::metres(&piece))),
                    geometry: piece.into(),
                    needed: format!("{law} ({from}); check the code in force"),
                    why: "An unconsented fence on a common can be ordered down.".into(),
                    hint: "Ask all who share the grazing first, then the authority.".into(),
                    ..Said::default()
                },
            ));
        }
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::tests::{along, found};
    use super::*;
    use crate::rules::fixture::{moor, rect};
    use holding::Parcel;
    use serde_json::json;

    #[test]
    fn only_the_common_counts() {
        let at = |kind: ParcelKind, y: f64| {
            let mut h = moor();
            h.parcels = vec![Parcel { kind, ..Parcel::new("C", rect(0.0, 0.0, 500.0, 500.0)) }];
            found(&h, vec![along("fence", &[(100.0, y), (300.0, y)], &[("work", json!("new"))])], check)
        };
        assert!(at(ParcelKind::Common, 499.0)[0].value.contains("200 m"));
        assert!(at(ParcelKind::Common, 501.0).is_empty() && at(ParcelKind::Hill, 400.0).is_empty());
    }
}
