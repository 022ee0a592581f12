//! Burning that needs a licence, notice or a plan.
//!
//! Sources: Scotland, the Act of 2024 and a release of 2025 on its start; Wales, a note of 2011 on the regulations of 2008; England and
//! Wales, a summary of the regulations.

use super::seen::OnMeasures;
use super::{Checked, Rule, heathered};
use crate::finding::Severity;
use crate::rules::Said;
use guidance::explain::value_in_words;
use guidance::{Country, Unknown};

/// The rule.
pub const RULE: Rule = Rule {
    key: "consent_burning",
    title: "Burning that needs a licence, notice or plan",
    severity: Severity::Must,
    explain: "Tells for every burn what the country asks before a match is struck: in Scotland written notice to the owner and every occupier near by, and a licence once \
        licensing is in force, which must be checked; in Wales a written burning plan; in England and Wales no start at night and enough people. The table gives the \
        terms. It fires whether or not they are in hand: the plan does not hold them. Depth of peat, season and size have rules of their own. Check the code in \
        force.\n\n\
        Why it matters: burning without is an offence, and neighbours who are not told cannot keep their stock and people away.\n\n\
        What to do: read the code, ask the licensing authority and the fire service, and write the plan of the burn; burning is for trained people.",
    keys: &["law.muirburn.licensing_start", "law.muirburn.notice_days", "law.muirburn.notice_distance", "law.burning.plan", "law.burning.night"],
};

/// What a country asks, with its edition.
fn asked(o: &OnMeasures, country: Country) -> Result<String, Unknown> {
    let words = |key: &str| o.context.guidance.row(key, country).map(value_in_words);
    Ok(match country {
        Country::Scotland => format!(
            "notice at least {} before to the owner and occupiers within {}, and a licence once in force: {} ({})",
            words("law.muirburn.notice_days")?,
            words("law.muirburn.notice_distance")?,
            words("law.muirburn.licensing_start")?,
            o.edition_of("law.muirburn.notice_days", country)
        ),
        Country::Wales => {
            format!("{}; {} ({})", words("law.burning.plan")?, words("law.burning.night")?, o.edition_of("law.burning.plan", country))
        }
        _ => format!("{} ({})", words("law.burning.night")?, o.edition_of("law.burning.night", country)),
    })
}

/// Find burning.
pub fn check(o: &OnMeasures) -> Checked {
    let mut needed = Vec::new();
    for country in o.countries() {
        needed.push(asked(o, country)?);
    }
    let mut found = Vec::new();
    for p in heathered::burnt(o) {
        let name = o.name(p.measure);
        found.push(o.finding(
            &RULE,
            p.measure,
            Said {
                what: format!("{name} burns: licence, notice or plan first"),
                place: name,
                geometry: p.area.clone().into(),
                value: "burning planned; what is in hand is not known to the plan".into(),
                needed: format!("{}; check the code in force", needed.join("; or ")),
                why: "Burning without is an offence, and neighbours not told cannot keep stock and people away.".into(),
                hint: "Read the code, ask the licensing authority and the fire service first; burning is for trained people. Or cut instead.".into(),
                ..Said::default()
            },
        ));
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::tests::{found, measure};
    use super::*;
    use crate::rules::fixture::{moor, rect};
    use serde_json::json;

    #[test]
    fn each_country_asks_its_own_and_cutting_nothing() {
        let at = |country: Country, work: &str| {
            let mut h = moor();
            h.about.country = country;
            found(&h, vec![measure("heather", rect(100.0, 100.0, 150.0, 150.0), &[("work", json!(work))])], check).first().map(|f| f.needed.clone())
        };
        assert!(at(Country::Scotland, "burn").unwrap().contains("7 days before"));
        assert!(at(Country::Wales, "burn").unwrap().contains("written burning plan"));
        assert!(at(Country::England, "burn").unwrap().contains("sunset"));
        assert_eq!(at(Country::Scotland, "cut"), None);
    }
}
