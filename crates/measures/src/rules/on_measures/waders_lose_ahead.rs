//! Ground short enough for waders that grows tall in years to come.
//!
//! Sources: waders fell where grazing was cut for black grouse (Baines et al. 2002); the height is common practice.

use super::seen::OnMeasures;
use super::{Checked, Rule, lie};
use crate::finding::Severity;
use crate::kind::place::parcel_of;
use crate::kind::year_of;
use crate::rules::Said;
use habitat::Class;

/// The rule.
pub const RULE: Rule = Rule {
    key: "waders_lose_ahead",
    title: "Short ground that grows too tall for waders",
    severity: Severity::Consider,
    explain: "Reads the years ahead under the option: in every parcel a grazing measure changes, fields, rough grass and other ground not led by trees that is no taller than \
        {practice.grazing.tall} now and grows above it from the first year of the change on. It tells the first year and how much. Without the years ahead nothing is \
        told. On plots that cut grazing for black grouse waders changed by {tests.less_grazing.waders}; the height is common practice, and which birds nest \
        here is not known to this program.\n\n\
        Why it matters: what is done for one bird is taken from others.\n\n\
        What to do: ask who counts waders here; keep the wet fields grazed or mown, and cut grazing on the hill.",
    keys: &["practice.grazing.tall", "tests.less_grazing.waders"],
};

/// Find ground that grows tall under changed grazing.
pub fn check(o: &OnMeasures) -> Checked {
    let Some(forecast) = o.forecast else { return Ok(vec![]) };
    let (tall_cm, waders) = (o.number("practice.grazing.tall")?, o.number("tests.less_grazing.waders")?);
    let Some(start) = forecast.stands.first() else { return Ok(vec![]) };
    let mut found = Vec::new();
    for measure in o.of_kind("grazing") {
        let Some(parcel) = parcel_of(&o.context, &o.facts(measure).word("parcel"), measure) else { continue };
        let Some(index) = o.holding().parcels.iter().position(|p| p.id == parcel.id) else { continue };
        let first = year_of(&o.context, measure);
        let grown = forecast.years.iter().zip(&forecast.stands).filter(|(y, _)| y.year >= first).find_map(|(ledger, stands)| {
            let ha: f64 = stands
                .iter()
                .zip(start)
                .filter(|(m, _)| m.place.parcel == Some(index) && !m.stand.wooded && !matches!(m.stand.class, Class::Bracken))
                .filter(|(m, s)| f64::from(s.stand.height_cm) <= tall_cm && f64::from(m.stand.height_cm) > tall_cm)
                .map(|(m, _)| f64::from(m.place.area_ha))
                .sum();
            (ha > 0.0).then_some((ledger.year, ha))
        });
        let Some((year, ha)) = grown else { continue };
        let (name, field) = (o.name(measure), lie::called(&parcel.name, &parcel.id));
        found.push(o.finding(
            &RULE,
            measure,
            Said {
                what: format!("{name} lets {field} grow too tall for waders"),
                place: format!("{name}, {field}"),
                geometry: parcel.shape.clone().into(),
                value: format!("{} above {tall_cm:.0} cm by {} that is shorter now", lie::ha(ha), o.year_words(year)),
                needed: "a choice made knowingly: some short ground kept for waders".into(),
                why: format!("Where grazing was cut for black grouse, waders changed by {waders:.0} %."),
                hint: "Ask who counts waders here; keep the wet fields grazed or mown.".into(),
                ..Said::default()
            },
        ));
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::tests::{found, found_ahead, measure};
    use super::*;
    use crate::rules::fixture::grazed;
    use geo_types::MultiPolygon;
    use holding::Holding;
    use serde_json::json;

    fn short() -> Holding {
        let mut h = grazed(3.0, 3.0);
        h.patches.iter_mut().for_each(|p| (p.height_cm, p.height_sd_cm) = (Some(22.0), Some(10.0)));
        h
    }

    #[test]
    fn ground_let_go_grows_tall_and_ground_kept_does_not() {
        let m = |head: u32| measure("grazing", MultiPolygon(vec![]), &[("parcel", json!("H")), ("head", json!({"Jan-Dec": head}))]);
        let f = found_ahead(&short(), vec![m(0)], &[0, 5, 10, 20], check);
        assert!(f.len() == 1 && f[0].why.contains("-59 %"), "{f:?}");
        assert!(found_ahead(&short(), vec![m(1200)], &[0, 5, 10, 20], check).is_empty());
        assert!(found(&short(), vec![m(0)], check).is_empty());
    }
}
