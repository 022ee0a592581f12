//! The same heather, or its neighbour, worked again too soon.
//!
//! Sources: rotations of ten to twenty years, from a summary of evidence; how long and how far a neighbour is spared is assumed.

use super::heathered::Heathered;
use super::seen::OnMeasures;
use super::{Checked, Rule, heathered, lie};
use crate::finding::Severity;
use crate::kind::cut::shared;
use crate::rules::{Said, places, words};
use geo::{Distance, Euclidean};

/// The rule.
pub const RULE: Rule = Rule {
    key: "heather_again_too_soon",
    title: "Heather worked again, or next door, too soon",
    severity: Severity::Should,
    explain: "Holds every heather patch of the option against every other. The same ground cut or burnt again sooner than the short end of the usual rotation \
        (about {heather.rotation.traditional}, the table gives the ends), and a patch within {rule.heather.neighbour} of another worked less than \
        {rule.heather.neighbour_years} before or after, are told. So is a patch that repeats itself sooner. Distance and years for neighbours are \
        assumptions, built on the share of a block that may go in five years. What was burnt before the plan is not looked at.\n\n\
        Why it matters: patches that touch become one large even stand, and heather worked too often gives way to grass.\n\n\
        What to do: put years between neighbours, or leave a strip of tall heather between them.",
    keys: &["heather.rotation.traditional", "rule.heather.neighbour", "rule.heather.neighbour_years", "heather.patch.share_5_years"],
};

/// Years on which a patch is worked, as far as two rounds of the longest rotation.
fn years(p: &Heathered) -> Vec<u32> {
    const FAR: u32 = 60;
    let step = p.every.unwrap_or(0);
    match step {
        0 => vec![p.year],
        n => (0..).map(|i| p.year.saturating_add(i * n)).take_while(|y| y - p.year <= FAR).collect(),
    }
}

/// Find patches worked again too soon.
pub fn check(o: &OnMeasures) -> Checked {
    let row = o.context.guidance.row("heather.rotation.traditional", o.country())?;
    let again = row.low.map_or_else(|| o.number("heather.rotation.traditional"), Ok)?;
    let (near_m, apart) = (o.number("rule.heather.neighbour")?, o.number("rule.heather.neighbour_years")?);
    let all = heathered::all(o);
    let mut found = Vec::new();
    for (i, p) in all.iter().enumerate() {
        let name = o.name(p.measure);
        let mut tell = |what: String, place: String, geometry: geo_types::Geometry<f64>, value: String, needed: String| {
            found.push(o.finding(
                &RULE,
                p.measure,
                Said {
                    what,
                    place,
                    geometry,
                    value,
                    needed,
                    why: "Patches that touch become one large even stand, and heather worked too often gives way to grass.".into(),
                    hint: "Put years between neighbours, or leave a strip of tall heather between them.".into(),
                    ..Said::default()
                },
            ));
        };
        if let Some(every) = p.every.filter(|e| f64::from(*e) < again) {
            tell(
                format!("{name} comes back too soon"),
                name.clone(),
                p.area.clone().into(),
                format!("the same patch every {every} years"),
                format!("at least {again:.0} years before the same patch"),
            );
        }
        for q in &all[..i] {
            let between = years(p).iter().flat_map(|a| years(q).into_iter().map(|b| a.abs_diff(b))).min().unwrap_or(u32::MAX);
            let other = o.name(q.measure);
            let both = shared(&p.area, &q.area);
            if !both.0.is_empty() && f64::from(between) < again {
                tell(
                    format!("{name} works the ground of {other} again"),
                    format!("{name}, on {other}"),
                    both.clone().into(),
                    format!("{} worked again after {between} years", lie::ha(places::hectares(&both))),
                    format!("at least {again:.0} years before the same patch"),
                );
            } else if both.0.is_empty() && f64::from(between) < apart && Euclidean.distance(&p.area, &q.area) < near_m {
                tell(
                    format!("{name} lies next to {other} and follows too soon"),
                    format!("{name}, beside {other}"),
                    p.area.clone().into(),
                    format!("{} apart, {between} years between them", words::metres(Euclidean.distance(&p.area, &q.area))),
                    format!("{apart:.0} years between patches less than {} apart", words::metres(near_m)),
                );
            }
        }
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::tests::{found, measure};
    use super::*;
    use crate::rules::fixture::{moor, rect};
    use holding::Measure;
    use serde_json::json;

    fn patch(id: &str, x: f64, year: i32) -> Measure {
        Measure { id: id.into(), year: Some(year), ..measure("heather", rect(x, 100.0, x + 50.0, 150.0), &[]) }
    }

    #[test]
    fn neighbours_and_the_same_ground_want_their_years() {
        let told = |ms: Vec<Measure>| found(&moor(), ms, check).into_iter().map(|f| f.what).collect::<Vec<_>>();
        assert!(told(vec![patch("A", 100.0, 2027), patch("B", 155.0, 2031)])[0].contains("next to heather A"));
        assert!(told(vec![patch("A", 100.0, 2027), patch("B", 155.0, 2032)]).is_empty());
        assert!(told(vec![patch("A", 100.0, 2027), patch("B", 171.0, 2027)]).is_empty());
        assert!(told(vec![patch("A", 100.0, 2027), patch("B", 120.0, 2036)])[0].contains("again"));
        assert!(told(vec![patch("A", 100.0, 2027), patch("B", 120.0, 2037)]).is_empty());
    }

    #[test]
    fn a_patch_that_comes_back_by_itself_is_seen() {
        let every = |n: u32| found(&moor(), vec![measure("heather", rect(100.0, 100.0, 150.0, 150.0), &[("every", json!(n))])], check).len();
        assert_eq!([every(9), every(10)], [1, 0]);
    }
}
