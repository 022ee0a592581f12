//! Trees planted on deep peat.
//!
//! Sources: the depth by country (Scottish native birch option 2016; the English and Welsh figures from memory); how far a probe
//! speaks is an assumption.

use super::seen::OnMeasures;
use super::{Checked, Rule, lie, planted};
use crate::finding::Severity;
use crate::rules::Said;
use geo_types::Geometry;
use guidance::explain::value_in_words;

/// The rule.
pub const RULE: Rule = Rule {
    key: "planting_deep_peat",
    title: "Trees planned on deep peat",
    severity: Severity::Must,
    explain: "Looks at new woods and holds the peat probes against the depth beyond which the country's guidance allows no new planting: the table below gives \
        it by country; a plan without a country is held to the strictest. A probe speaks for ground nearer to it than to any other, up to {rule.probe.reach} \
        away, which is an assumption. Ground no probe speaks for is not passed: the finding says how much of the wood it is, and it is told by itself, as \
        something to think about, where part of the wood lies on surveyed bog or moor.\n\n\
        Why it matters: trees dry deep peat, which loses its carbon for centuries, and a bog under trees is lost to grouse, waders and insects.\n\n\
        What to do: probe on a grid before anything is ordered, draw the wood round the deep peat, and ask the forestry authority. Check the code in force.",
    keys: &["planting.deep_peat", "rule.probe.reach"],
};

/// Find new woods on deep peat.
pub fn check(o: &OnMeasures) -> Checked {
    let mut strictest: Option<(f64, String, String)> = None;
    for country in o.countries() {
        if let Some(l) = o.limit("planting.deep_peat", country)
            && strictest.as_ref().is_none_or(|s| l.value < s.0)
        {
            strictest = Some((l.value, l.words, l.from));
        }
    }
    let Some((limit_cm, limit, from)) = strictest else { return Ok(vec![]) };
    let reach = value_in_words(o.context.guidance.row("rule.probe.reach", o.country())?);
    let mut found = Vec::new();
    for p in planted::new(o) {
        let peat = lie::peat(o, &p.area, limit_cm)?;
        let name = o.name(p.measure);
        let gap = if peat.unprobed_ha > 0.005 { format!("; no probe within {reach} of {} of {}", lie::ha(peat.unprobed_ha), lie::ha(peat.ha)) } else { String::new() };
        let (what, value, geometry, severity): (String, String, Geometry<f64>, _) = if let Some(deepest) = peat.deep.first() {
            let value = format!(
                "{} of peat over {limit} by {} of the probes, deepest {:.0} cm at probe {}{gap}",
                lie::ha(places_ha(&peat.piece)),
                peat.deep.len(),
                deepest.depth_cm,
                deepest.id
            );
            (format!("{name} plants on deep peat"), value, peat.piece.clone().into(), Severity::Must)
        } else if peat.unprobed_ha > 0.005 && lie::wetness(o, &p.area).is_some() && o.context.stands().iter().any(|s| peaty(o, s, &p.area)) {
            (format!("{name}: peat not probed"), gap.trim_start_matches("; ").to_string(), p.area.clone().into(), Severity::Consider)
        } else {
            continue;
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
                needed: format!("peat of no more than {limit} under new trees ({from}), known by probes; check the code in force"),
                why: "Trees dry deep peat, its carbon goes into the air, and the bog is lost to grouse, waders and the insects chicks eat.".into(),
                hint: "Probe on a grid first; draw the wood round deep peat; ask the forestry authority.".into(),
                ..Said::default()
            },
        ));
    }
    Ok(found)
}

fn places_ha(shape: &geo_types::MultiPolygon<f64>) -> f64 {
    crate::rules::places::hectares(shape)
}

/// Whether a stand under the wood is moor or bog, where peat is to be looked for.
fn peaty(o: &OnMeasures, stand: &habitat::Stand, area: &geo_types::MultiPolygon<f64>) -> bool {
    stand.class == habitat::Class::Moor && !crate::kind::cut::shared(o.context.shape(stand), area).0.is_empty()
}

#[cfg(test)]
mod tests {
    use super::super::tests::{found, wood_of};
    use super::*;
    use crate::rules::fixture::{moor, rect};
    use geo_types::Point;
    use guidance::Country;
    use holding::{Holding, Probe};

    fn probed(depth_cm: f32, country: Country) -> Holding {
        let mut h = moor();
        h.about.country = country;
        for (i, (x, y)) in [(1520.0, 1520.0), (1560.0, 1560.0), (1520.0, 1560.0), (1560.0, 1520.0)].into_iter().enumerate() {
            h.probes.push(Probe { id: format!("P{i}"), at: Point::new(x, y), depth_cm: if i == 0 { depth_cm } else { 10.0 }, date: None });
        }
        h
    }

    #[test]
    fn the_limit_is_the_countrys() {
        let wood = || vec![wood_of(rect(1500.0, 1500.0, 1580.0, 1580.0), &[])];
        let f = found(&probed(51.0, Country::Scotland), wood(), check);
        assert_eq!((f.len(), f[0].severity), (1, Severity::Must));
        // A quarter of 0.64 ha is nearest to the deep probe.
        assert!(f[0].value.contains("0.16 ha") && f[0].value.contains("deepest 51 cm at probe P0"), "{}", f[0].value);
        assert!(f[0].needed.contains("Scotland, 2016"), "{}", f[0].needed);
        assert!(found(&probed(50.0, Country::Scotland), wood(), check).is_empty());
        assert_eq!(found(&probed(50.0, Country::England), wood(), check)[0].severity, Severity::Must);
        assert!(found(&probed(30.0, Country::England), wood(), check).is_empty());
        assert_eq!(found(&probed(31.0, Country::GB), wood(), check).len(), 1);
    }

    #[test]
    fn ground_without_probes_is_told_and_never_passed() {
        let mut h = moor();
        h.probes = vec![Probe { id: "far".into(), at: Point::new(1631.0, 1550.0), depth_cm: 90.0, date: None }];
        let f = found(&h, vec![wood_of(rect(1500.0, 1500.0, 1580.0, 1580.0), &[])], check);
        assert_eq!((f.len(), f[0].severity), (1, Severity::Consider));
        assert!(f[0].value.contains("no probe within 50 m of 0.64 ha"), "{}", f[0].value);
    }
}
