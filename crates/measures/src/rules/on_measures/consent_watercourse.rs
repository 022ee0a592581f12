//! Dams that may need a watercourse consent.
//!
//! Sources: Land Drainage Act 1991 s.23, from memory; the Scottish authorisations from memory.

use super::seen::OnMeasures;
use super::{Checked, Rule, dammed};
use crate::finding::Severity;
use crate::rules::Said;
use guidance::Country;

/// The rule.
pub const RULE: Rule = Rule {
    key: "consent_watercourse",
    title: "Dams that may need a watercourse consent",
    severity: Severity::Must,
    explain: "Looks for ditches to be dammed. In England and Wales a structure in an ordinary watercourse, which most ditches are, needs the consent of the lead local \
        flood authority: months and fee a structure stand in the table. In Scotland environmental authorisations apply; ask where a natural burn is near or the \
        channel is wide. Scrapes are passed over, though spoil beside a burn may need asking for too. Check the code in force.\n\n\
        Why it matters: an unconsented dam can be ordered out.\n\n\
        What to do: ask with a map and the number of dams before any is built.",
    keys: &["water.consent.months", "water.consent.fee", "water.consent.environmental_authorisations"],
};

/// Find dams.
pub fn check(o: &OnMeasures) -> Checked {
    let mut needed = Vec::new();
    for country in o.countries() {
        needed.push(match (country, o.limit("water.consent.months", country), o.limit("water.consent.fee", country)) {
            (Country::Scotland, ..) => format!(
                "an authorisation where the rules of {} ask for one",
                o.edition_of("water.consent.environmental_authorisations", country)
            ),
            (_, Some(months), Some(fee)) => format!("consent of the flood authority: about {} and {} a structure ({})", months.words, fee.words, months.from),
            _ => format!("consent of the flood authority of {country}"),
        });
    }
    let mut found = Vec::new();
    for d in dammed::all(o)? {
        let dams = d.plan.as_ref().map_or(0, |p| p.dams().count());
        let name = o.name(d.measure);
        found.push(o.finding(
            &RULE,
            d.measure,
            Said {
                severity: Some(if o.country() == Country::Scotland { Severity::Should } else { Severity::Must }),
                what: format!("{name} dams a ditch: a consent may be needed"),
                place: format!("{name}, ditch {}", d.ditch.id),
                geometry: d.ditch.shape.clone().into(),
                value: if dams == 1 { "1 dam".to_string() } else { format!("{dams} dams") },
                needed: format!("{}; check the code in force", needed.join("; or ")),
                why: "An unconsented dam can be ordered out.".into(),
                hint: "Ask with a map and the number of dams before any is built.".into(),
                ..Said::default()
            },
        ));
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::tests::{block, ditched, found, measure};
    use super::*;
    use crate::rules::fixture::rect;
    use serde_json::json;

    #[test]
    fn dams_are_told_by_country_and_scrapes_are_not() {
        let at = |country: Country| {
            let mut h = ditched();
            h.about.country = country;
            found(&h, vec![block(&[])], check).remove(0)
        };
        assert!(at(Country::England).needed.contains("2 months") && at(Country::England).severity == Severity::Must);
        assert!(at(Country::Scotland).severity == Severity::Should && at(Country::Scotland).needed.contains("Scotland"));
        let scrape = measure("water", rect(100.0, 100.0, 200.0, 200.0), &[("work", json!("scrape"))]);
        assert!(found(&ditched(), vec![scrape], check).is_empty());
    }
}
