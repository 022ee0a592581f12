//! New woodland, or woodland cleared, above the thresholds of the rules on environmental impact.
//!
//! Sources: government tables for England; for Scotland a page and from memory; for Wales from memory.

use super::seen::OnMeasures;
use super::{Checked, Rule, lie, planted};
use crate::finding::Severity;
use crate::kind::cut::shared;
use crate::rules::{Said, places, words};
use geo_types::MultiPolygon;
use guidance::Country;
use habitat::ahead::Doing;
use holding::{AreaKind, Measure};

/// The rule.
pub const RULE: Rule = Rule {
    key: "consent_eia",
    title: "Planting or clearing that the impact rules may cover",
    severity: Severity::Must,
    explain: "Sums the new woods of the option, and the wood it clears and leaves open, and holds the sums against the thresholds of the country's rules on environmental \
        impact for forestry: the table gives them. Ground counts as sensitive where a new wood touches a protected site or, in Scotland, where a probe on it finds \
        peat deeper than the table's depth; National Parks and scenic areas are not in the plan. All woods of the option count together, as work near by \
        within years of it does; planting done before is not known. A plan without a country is held to all three. Check the code in force.\n\n\
        Why it matters: planting or clearing above the threshold without the authority's opinion can be ordered undone.\n\n\
        What to do: ask the forestry authority for its opinion before planting; it takes months.",
    keys: &[
        "law.eia.england.sensitive_only",
        "law.eia.england.basic_notification",
        "law.eia.england.full_notification",
        "law.eia.wales",
        "law.eia.wales_sensitive",
        "law.eia.scotland.from_2017",
        "law.eia.scotland.deep_peat",
        "law.eia.deforestation.other",
        "law.eia.adjacent_years",
    ],
};

/// What a country's rules ask of so many hectares of new wood; `None` below their threshold.
fn asked(o: &OnMeasures, country: Country, ha: f64, sensitive: bool) -> Option<String> {
    let limit = |key: &str| o.limit(key, country);
    let over = |key: &str| limit(key).filter(|l| ha > l.value);
    match country {
        Country::England => {
            let (screening, from) = ("an opinion from the forestry authority", |l: &super::seen::Limit| l.from.clone());
            if let Some(l) = over("law.eia.england.full_notification") {
                return Some(format!("{screening}: above {} ({})", l.words, from(&l)));
            }
            if let Some(l) = over("law.eia.england.basic_notification") {
                let how = if sensitive { screening } else { "full notification on the low-risk map, else an opinion" };
                return Some(format!("{how}: above {} ({})", l.words, from(&l)));
            }
            if let Some(l) = over("law.eia.england.sensitive_only") {
                let how = if sensitive { screening } else { "basic notification" };
                return Some(format!("{how}: above {} ({})", l.words, from(&l)));
            }
            sensitive.then(|| format!("{screening}: no threshold on sensitive ground ({})", o.edition_of("law.eia.england.sensitive_only", country)))
        }
        Country::Wales => over(if sensitive { "law.eia.wales_sensitive" } else { "law.eia.wales" })
            .map(|l| format!("an opinion from the forestry authority: above {}{} ({})", l.words, if sensitive { " on sensitive ground" } else { "" }, l.from)),
        _ if sensitive => Some(format!("an opinion from the forestry authority: no threshold on sensitive ground ({})", o.edition_of("law.eia.scotland.from_2017", country))),
        _ => over("law.eia.scotland.from_2017").map(|l| format!("an opinion from the forestry authority: above {} ({})", l.words, l.from)),
    }
}

/// Find planting and clearing above the thresholds.
pub fn check(o: &OnMeasures) -> Checked {
    let mut found = Vec::new();
    let mut tell = |measure: &Measure, what: String, geometry: MultiPolygon<f64>, value: String, needed: Vec<String>| {
        found.push(o.finding(
            &RULE,
            measure,
            Said {
                place: o.name(measure),
                what,
                geometry: geometry.into(),
                value,
                needed: format!("{}; check the code in force", needed.join("; or ")),
                why: "Above the threshold without the authority's opinion it can be ordered undone.".into(),
                hint: "Ask the forestry authority for its opinion first; it takes months.".into(),
                ..Said::default()
            },
        ));
    };
    let woods = planted::new(o);
    let ha: f64 = woods.iter().map(|p| places::hectares(&p.area)).sum();
    if let Some(largest) = woods.iter().max_by(|a, b| places::hectares(&a.area).total_cmp(&places::hectares(&b.area))) {
        let protected = woods.iter().any(|p| {
            o.holding().areas.iter().any(|a| matches!(a.kind, AreaKind::Sssi | AreaKind::European | AreaKind::Historic) && !shared(&p.area, &a.shape).0.is_empty())
        });
        let mut needed = Vec::new();
        for country in o.countries() {
            let mut sensitive = protected;
            if let Some(l) = o.limit("law.eia.scotland.deep_peat", country).filter(|_| country == Country::Scotland) {
                for p in &woods {
                    sensitive |= !lie::peat(o, &p.area, l.value)?.deep.is_empty();
                }
            }
            needed.extend(asked(o, country, ha, sensitive));
        }
        if !needed.is_empty() {
            let names: Vec<String> = woods.iter().map(|p| o.name(p.measure)).collect();
            let all = MultiPolygon(woods.iter().flat_map(|p| p.area.0.clone()).collect());
            let value = format!("{} of new wood in the option ({})", words::hectares(ha), words::list(&names));
            tell(largest.measure, format!("{} is part of new woods the impact rules may cover", o.name(largest.measure)), all, value, needed);
        }
    }
    for (i, work) in o.works.iter().filter(|(_, w)| matches!(w.doing, Doing::Fell | Doing::ClearTrees)) {
        let cleared: Vec<_> = crate::kind::cut::on_woods(o.holding(), &work.area).into_iter().map(|(_, part)| part).collect();
        let ha: f64 = cleared.iter().map(places::hectares).sum();
        // A threshold of this was read for Scotland only; the others' rules treat clearing too.
        let over = o.countries().into_iter().filter_map(|c| o.limit("law.eia.deforestation.other", Country::Scotland).filter(|l| ha > l.value).map(|l| (c, l)));
        let needed: Vec<String> = over
            .map(|(c, l)| match c {
                Country::Scotland => format!("an opinion from the forestry authority: above {} ({})", l.words, l.from),
                c => format!("an opinion from the forestry authority of {c}: its threshold was not read, the Scottish {} is taken", l.words),
            })
            .collect();
        if !needed.is_empty() {
            let measure = o.measures[*i];
            let value = format!("{} of wood cleared and left open", words::hectares(ha));
            tell(measure, format!("{} clears wood for good", o.name(measure)), MultiPolygon(cleared.into_iter().flat_map(|p| p.0).collect()), value, needed);
        }
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::tests::{found, measure, wood_of};
    use super::*;
    use crate::rules::fixture::{moor, rect, wood};
    use holding::{Area, Holding, Tree};
    use serde_json::json;

    fn at(country: Country, ha: f64, sensitive: bool) -> Option<String> {
        let mut h = moor();
        h.about.country = country;
        if sensitive {
            h.areas = vec![Area { kind: AreaKind::Sssi, ..Area::new("A", rect(1300.0, 1300.0, 1310.0, 1310.0)) }];
        }
        let half = || wood_of(rect(1300.0, 1300.0, 1700.0, 1300.0 + ha * 12.5), &[]);
        let second = Measure { id: "M2".into(), ..half() };
        found(&h, vec![half(), second], check).first().map(|f| f.needed.clone())
    }

    #[test]
    fn the_thresholds_are_the_countrys_and_woods_count_together() {
        let (e, w, s) = (Country::England, Country::Wales, Country::Scotland);
        assert_eq!(at(e, 1.9, false), None);
        assert!(at(e, 2.1, false).unwrap().contains("basic notification"));
        assert!(at(e, 5.1, false).unwrap().contains("full notification"));
        assert!(at(e, 50.1, false).unwrap().contains("opinion") && at(e, 1.0, true).unwrap().contains("no threshold"));
        assert_eq!([at(w, 4.9, false), at(w, 1.9, true)], [None, None]);
        assert!(at(w, 5.1, false).is_some() && at(w, 2.1, true).is_some());
        assert_eq!(at(s, 19.9, false), None);
        assert!(at(s, 20.1, false).unwrap().contains("Scotland") && at(s, 0.5, true).is_some());
        assert!(at(Country::GB, 3.0, false).is_some());
    }

    #[test]
    fn clearing_for_good_counts() {
        let cleared = |side: f64| {
            let mut h: Holding = moor();
            h.about.country = Country::Scotland;
            h.woods = vec![wood("W", rect(1400.0, 1400.0, 1400.0 + side, 1400.0 + side), Tree::Spruce, 8.0, 80.0, 2000)];
            found(&h, vec![measure("conifer_edge", rect(1300.0, 1300.0, 1800.0, 1800.0), &[("work", json!("fell"))])], check).len()
        };
        assert_eq!([cleared(99.0), cleared(101.0)], [0, 1]);
    }
}
