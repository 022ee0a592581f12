//! A burn that is too large.
//!
//! Sources: the muirburn code, from memory; above the licence limit of England, its guidance.

use super::seen::OnMeasures;
use super::{Checked, Rule, heathered, lie};
use crate::finding::Severity;
use crate::rules::{Said, places, words};
use geo_types::MultiPolygon;
use guidance::Country;

/// The rule.
pub const RULE: Rule = Rule {
    key: "burn_size",
    title: "Burn too large",
    severity: Severity::Should,
    explain: "Looks at every patch burnt by itself: the code gives {heather.burning.fire_size.typical} as usual and {heather.burning.fire_size.max} as the most; \
        practice for black grouse is about {heather.patch.size}. Cut patches are held to the same most, as something to think about. In England a single burn \
        above the limit in the table needs a licence, which is told as law.\n\n\
        Why it matters: a large burn is hard to hold, and leaves a wide even stand without cover for years.\n\n\
        What to do: cut it into several patches and do them in different years. Check the code in force.",
    keys: &["heather.burning.fire_size.typical", "heather.burning.fire_size.max", "heather.patch.size", "law.burning.licence_if.single_burn"],
};

/// Find patches too large.
pub fn check(o: &OnMeasures) -> Checked {
    let most_ha = o.number("heather.burning.fire_size.max")?;
    let licence = o.countries().contains(&Country::England).then(|| o.limit("law.burning.licence_if.single_burn", Country::England)).flatten();
    let mut found = Vec::new();
    for p in heathered::all(o) {
        let burnt = p.cut_cm.is_none();
        for patch in &p.area.0 {
            let patch = MultiPolygon(vec![patch.clone()]);
            let ha = places::hectares(&patch);
            if ha <= most_ha {
                continue;
            }
            let lawful = licence.as_ref().filter(|l| burnt && ha > l.value);
            let name = o.name(p.measure);
            let law = lawful.map_or(String::new(), |l| format!("; a licence above {} ({})", l.words, l.from));
            found.push(o.finding(
                &RULE,
                p.measure,
                Said {
                    severity: Some(match (burnt, lawful) {
                        (true, Some(_)) => Severity::Must,
                        (true, None) => Severity::Should,
                        _ => Severity::Consider,
                    }),
                    what: format!("{name} {} a large patch", if burnt { "burns" } else { "cuts" }),
                    place: name,
                    geometry: patch.into(),
                    value: format!("a patch of {}", lie::ha(ha)),
                    needed: format!("patches of no more than {}{law}; check the code in force", words::hectares(most_ha)),
                    why: "A large burn is hard to hold, and leaves a wide even stand without cover for years.".into(),
                    hint: "Cut it into several patches and do them in different years.".into(),
                    ..Said::default()
                },
            ));
        }
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
    fn two_hectares_are_the_most_and_ten_want_a_licence_in_england() {
        let at = |country: Country, metres: f64, work: &str| {
            let mut h = moor();
            h.about.country = country;
            found(&h, vec![measure("heather", rect(100.0, 100.0, 300.0, 100.0 + metres), &[("work", json!(work))])], check).first().map(|f| f.severity)
        };
        assert_eq!([at(Country::Scotland, 99.0, "burn"), at(Country::Scotland, 101.0, "burn")], [None, Some(Severity::Should)]);
        assert_eq!([at(Country::England, 499.0, "burn"), at(Country::England, 501.0, "burn"), at(Country::Scotland, 501.0, "burn")], [
            Some(Severity::Should),
            Some(Severity::Must),
            Some(Severity::Should)
        ]);
        assert_eq!(at(Country::England, 501.0, "cut"), Some(Severity::Consider));
    }
}
