//! Work on a protected site without its consent.
//!
//! Sources: government pages on sites of special scientific interest; the months for European sites and Scotland from memory.

use super::seen::OnMeasures;
use super::work_in_season::place_of;
use super::{Checked, Rule, lie};
use crate::finding::Severity;
use crate::rules::Said;
use geo::Intersects;
use geo_types::Geometry;
use guidance::explain::value_in_words;
use holding::AreaKind;

/// The rule.
pub const RULE: Rule = Rule {
    key: "consent_protected",
    title: "Work on a protected site",
    severity: Severity::Must,
    explain: "Looks for measures that touch a site of special scientific interest or a European site. Owners need the consent of the conservation authority before \
        listed work, planting, burning, drainage, fences and changes of grazing among it; the table gives the months. A European site adds about \
        {law.european_site.months} for the assessment of the deciding body. Work under a scheme the authority was asked about may be cleared already. It fires \
        whether or not consent is in hand: the plan does not hold consents. Check the code in force.\n\n\
        Why it matters: work without consent is an offence.\n\n\
        What to do: ask the conservation authority before anything is ordered, and put the months into the programme.",
    keys: &["law.sssi.months", "law.european_site.months"],
};

/// Find work on protected sites.
pub fn check(o: &OnMeasures) -> Checked {
    let mut found = Vec::new();
    for measure in &o.measures {
        let mut ground = vec![place_of(o, measure)];
        ground.extend(o.works_of(measure).map(|w| Geometry::from(w.area.clone())));
        if measure.kind == "grazing" {
            let said = o.facts(measure).word("parcel");
            ground.extend(crate::kind::place::parcel_of(&o.context, &said, measure).map(|p| Geometry::from(p.shape.clone())));
        }
        for area in &o.holding().areas {
            let (what, key) = match area.kind {
                AreaKind::Sssi => ("a site of special scientific interest", "law.sssi.months"),
                AreaKind::European => ("a European site", "law.european_site.months"),
                _ => continue,
            };
            let shape = Geometry::from(area.shape.clone());
            let Some(touched) = ground.iter().find(|g| geo::CoordsIter::coords_count(*g) > 0 && g.intersects(&shape)) else { continue };
            let time: Vec<String> = o
                .countries()
                .into_iter()
                .filter_map(|c| o.context.guidance.find(key, c).map(|r| format!("about {} ({})", value_in_words(r), o.edition_of(key, c))))
                .collect();
            let time = if time.is_empty() { format!("time not held for {}", o.country()) } else { super::distinct(time).join(", ") };
            let (name, called) = (o.name(measure), lie::called(&area.name, &area.id));
            found.push(o.finding(
                &RULE,
                measure,
                Said {
                    what: format!("{name} works on {what}"),
                    place: format!("{name}, on {called}"),
                    geometry: touched.clone(),
                    value: format!("touches {called}"),
                    needed: format!("consent of the conservation authority first: {time}; check the code in force"),
                    why: "Work there without consent is an offence.".into(),
                    hint: "Ask the conservation authority before anything is ordered.".into(),
                    ..Said::default()
                },
            ));
        }
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::tests::{found, measure, wood_of};
    use super::*;
    use crate::rules::fixture::{moor, rect};
    use guidance::Country;
    use holding::Area;
    use serde_json::json;

    #[test]
    fn touching_is_enough_and_beside_is_not() {
        let at = |country: Country, kind: AreaKind, x: f64| {
            let mut h = moor();
            h.about.country = country;
            h.areas = vec![Area { kind, name: "Test Moss".into(), ..Area::new("A", rect(1500.0, 1500.0, 1700.0, 1700.0)) }];
            found(&h, vec![wood_of(rect(x, 1500.0, x + 100.0, 1600.0), &[])], check)
        };
        let f = at(Country::England, AreaKind::Sssi, 1450.0);
        assert!(f[0].severity == Severity::Must && f[0].needed.contains("4 months") && f[0].needed.contains("England"), "{}", f[0].needed);
        assert_eq!(at(Country::Wales, AreaKind::European, 1450.0).len(), 1);
        assert!(at(Country::England, AreaKind::Sssi, 1399.0).is_empty());
        assert!(at(Country::England, AreaKind::SpeciesRich, 1450.0).is_empty());
    }

    #[test]
    fn a_change_of_grazing_on_the_parcel_counts() {
        let mut h = crate::rules::fixture::grazed(1.0, 1.0);
        h.areas = vec![Area { kind: AreaKind::Sssi, ..Area::new("A", rect(0.0, 0.0, 10.0, 10.0)) }];
        let m = measure("grazing", geo_types::MultiPolygon(vec![]), &[("parcel", json!("H")), ("head", json!("Jun 1"))]);
        assert_eq!(found(&h, vec![m], check).len(), 1);
    }
}
