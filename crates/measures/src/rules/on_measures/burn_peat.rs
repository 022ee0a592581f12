//! Heather burnt on peat deeper than the country's law or code allows.
//!
//! Sources: England, regulations of 2025; Scotland, the Act of 2024 and the code of 2011; how far a probe speaks is an assumption.

use super::seen::OnMeasures;
use super::{Checked, Rule, heathered, lie};
use crate::finding::Severity;
use crate::rules::{Said, places, words};
use guidance::Country;

/// The rule.
pub const RULE: Rule = Rule {
    key: "burn_peat",
    title: "Burning planned on peat",
    severity: Severity::Must,
    explain: "Holds the peat probes under burnt heather against the depth of the country's law: the table gives the depths. In England no burning without a licence \
        on deeper peat in the less favoured area; in Scotland peat so deep counts as peatland, burnt under licence for a few purposes only. For Wales no depth was \
        read, and the stricter of the two is taken; so it is for a plan without a country. A probe speaks for ground up to {rule.probe.reach} \
        away, which is an assumption; ground no probe speaks for is told as something to find out.\n\n\
        Why it matters: fire dries and burns peat, and is an offence there without a licence.\n\n\
        What to do: cut instead; else probe, and ask the licensing authority. Check the code in force.",
    keys: &["law.burning.peat_depth", "law.muirburn.peat_depth", "heather.deep_peat.code_2011", "rule.probe.reach"],
};

/// Find burning on peat.
pub fn check(o: &OnMeasures) -> Checked {
    let held = [("law.burning.peat_depth", Country::England), ("law.muirburn.peat_depth", Country::Scotland)];
    let own: Vec<_> = held.iter().filter(|(_, c)| *c == o.country()).collect();
    let from = if own.is_empty() { held.iter().collect() } else { own };
    let Some(limit) = from.into_iter().filter_map(|(key, c)| o.limit(key, *c)).min_by(|a, b| a.value.total_cmp(&b.value)) else { return Ok(vec![]) };
    let reach = words::metres(o.number("rule.probe.reach")?);
    let mut found = Vec::new();
    for p in heathered::burnt(o) {
        let peat = lie::peat(o, &p.area, limit.value)?;
        let name = o.name(p.measure);
        let gap = format!("no probe within {reach} of {} of {}", lie::ha(peat.unprobed_ha), lie::ha(peat.ha));
        let gappy = peat.unprobed_ha >= 0.005;
        let (severity, what, value, geometry): (_, _, String, geo_types::Geometry<f64>) = match peat.deep.first() {
            Some(deepest) => (
                Severity::Must,
                format!("{name} burns on deep peat"),
                format!(
                    "{} of peat over {}, deepest {:.0} cm at probe {}{}",
                    lie::ha(places::hectares(&peat.piece)),
                    limit.words,
                    deepest.depth_cm,
                    deepest.id,
                    if gappy { format!("; {gap}") } else { String::new() }
                ),
                peat.piece.clone().into(),
            ),
            None if gappy => (Severity::Consider, format!("{name}: peat not probed"), gap, p.area.clone().into()),
            None => continue,
        };
        found.push(o.finding(
            &RULE,
            p.measure,
            Said {
                severity: Some(severity),
                what,
                place: name,
                geometry,
                value,
                needed: format!("no burning on peat over {} without a licence ({}); check the code in force", limit.words, limit.from),
                why: "Fire dries and burns peat, and is an offence there without a licence.".into(),
                hint: "Cut instead; else probe on a grid and ask the licensing authority.".into(),
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
    use geo_types::Point;
    use holding::Probe;
    use serde_json::json;

    #[test]
    fn the_depth_is_the_countrys() {
        let at = |country: Country, depth_cm: f32, work: &str| {
            let mut h = moor();
            h.about.country = country;
            h.probes = vec![Probe { id: "P1".into(), at: Point::new(125.0, 125.0), depth_cm, date: None }];
            found(&h, vec![measure("heather", rect(100.0, 100.0, 150.0, 150.0), &[("work", json!(work))])], check).first().map(|f| f.severity)
        };
        assert_eq!([at(Country::England, 30.0, "burn"), at(Country::England, 31.0, "burn")], [None, Some(Severity::Must)]);
        assert_eq!([at(Country::Scotland, 40.0, "burn"), at(Country::Scotland, 41.0, "burn")], [None, Some(Severity::Must)]);
        assert_eq!([at(Country::Wales, 31.0, "burn"), at(Country::GB, 31.0, "burn"), at(Country::England, 90.0, "cut")], [Some(Severity::Must), Some(Severity::Must), None]);
    }

    #[test]
    fn unprobed_ground_is_told() {
        let f = found(&moor(), vec![measure("heather", rect(100.0, 100.0, 150.0, 150.0), &[("work", json!("burn"))])], check);
        assert!(f[0].severity == Severity::Consider && f[0].value.contains("0.25 ha of 0.25 ha"), "{f:?}");
    }
}
