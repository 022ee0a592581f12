//! More stock than ground for black grouse carries, after the option.
//!
//! Source: Calladine et al. 2002.

use super::seen::OnMeasures;
use super::{Checked, Rule, lie};
use crate::finding::Severity;
use crate::kind::place::parcel_of;
use crate::rules::Said;
use geo::{Contains, InteriorPoint};
use habitat::{Feature, State};
use holding::ParcelKind;

/// The rule.
pub const RULE: Rule = Rule {
    key: "stocking_high",
    title: "Stocking planned above what grouse ground carries",
    severity: Severity::Should,
    explain: "Looks at hill, common and rough grazing within {reach.brood_m} of a lek that a grazing measure changes, with the stock that stands there once the option is \
        done, counted as hill ewes: {stocking.black_grouse.summer_max} in summer and {stocking.black_grouse.winter_max} in winter are the levels below which the study \
        found more black grouse; its reference sites held two and three times as many.\n\n\
        Why it matters: above them heather, blaeberry and seeding grass are eaten down, and cover and insects with them.\n\n\
        What to do: take more off, or choose other ground; several small lightly grazed blocks are better than one.",
    keys: &["stocking.black_grouse.summer_max", "stocking.black_grouse.winter_max", "reach.brood_m"],
};

/// Find parcels stocked too high afterwards.
pub fn check(o: &OnMeasures) -> Checked {
    let grazing: Vec<_> = o.of_kind("grazing").collect();
    if grazing.is_empty() {
        return Ok(vec![]);
    }
    let limits = [o.number("stocking.black_grouse.summer_max")?, o.number("stocking.black_grouse.winter_max")?];
    let reach_m = o.number("reach.brood_m")?;
    // The surveyed patches with the stock of afterwards.
    let after = State::surveyed(&o.after, o.context.guidance)?;
    let (mut found, mut seen) = (Vec::new(), Vec::new());
    for measure in grazing.into_iter().rev() {
        let Some(parcel) = parcel_of(&o.context, &o.facts(measure).word("parcel"), measure) else { continue };
        let open = matches!(parcel.kind, ParcelKind::Hill | ParcelKind::Common | ParcelKind::Rough);
        if !open || seen.contains(&parcel.id.as_str()) || o.context.nearest_lek(&parcel.shape).is_none_or(|(_, d)| d >= reach_m) {
            continue;
        }
        seen.push(parcel.id.as_str());
        let inside = |s: &&habitat::Stand| match s.feature {
            Feature::Patch(i) => o.after.patches[i].shape.interior_point().is_some_and(|p| parcel.shape.contains(&p)),
            Feature::Wood(_) => false,
        };
        let Some(stand) = after.stands.iter().find(inside) else { continue };
        let ewes = stand.ewes_per_ha.map(f64::from);
        // Head is kept as single floats.
        let over: Vec<&str> = [("summer", 0), ("winter", 1)].iter().filter(|(_, i)| ewes[*i] > limits[*i] + 1e-3).map(|(w, _)| *w).collect();
        if over.is_empty() {
            continue;
        }
        let (name, field) = (o.name(measure), lie::called(&parcel.name, &parcel.id));
        found.push(o.finding(
            &RULE,
            measure,
            Said {
                what: format!("{name} leaves {field} stocked high in {}", over.join(" and ")),
                place: format!("{name}, {field}"),
                geometry: parcel.shape.clone().into(),
                value: format!("{:.2} ewes or their equal a hectare in summer, {:.2} in winter, once the option is done", ewes[0], ewes[1]),
                needed: format!("no more than {} in summer and {} in winter", limits[0], limits[1]),
                why: "Above that heather, blaeberry and seeding grass are eaten down, and cover and insects with them.".into(),
                hint: "Take more off, or choose other ground; several small lightly grazed blocks are better than one.".into(),
                ..Said::default()
            },
        ));
    }
    found.reverse();
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::tests::{found, measure};
    use super::*;
    use crate::rules::fixture::grazed;
    use geo_types::MultiPolygon;
    use serde_json::json;

    #[test]
    fn both_seasons_have_their_limit() {
        let at = |head: &str| {
            let m = measure("grazing", MultiPolygon(vec![]), &[("parcel", json!("H")), ("head", json!(head))]);
            found(&grazed(2.0, 2.0), vec![m], check).first().map(|f| f.what.clone())
        };
        // 400 ha: 440 ewes in summer and 200 in winter are the limits.
        assert_eq!(at("Apr-Oct 440, Nov-Mar 200"), None);
        assert!(at("Apr-Oct 444, Nov-Mar 200").unwrap().ends_with("in summer"));
        assert!(at("Apr-Oct 440, Nov-Mar 204").unwrap().ends_with("in winter"));
        assert!(found(&grazed(2.0, 2.0), vec![], check).is_empty());
    }
}
