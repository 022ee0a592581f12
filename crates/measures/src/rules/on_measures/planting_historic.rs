//! Trees planted on a historic feature or within its margin.
//!
//! Source: UK Forestry Standard 2017, historic environment, from memory.

use super::seen::OnMeasures;
use super::{Checked, Rule, lie, planted};
use crate::finding::Severity;
use crate::kind::cut::shared;
use crate::rules::{Said, places, words};
use geo::{Distance, Euclidean};
use holding::AreaKind;

/// The rule.
pub const RULE: Rule = Rule {
    key: "planting_historic",
    title: "Trees planned on or beside a historic feature",
    severity: Severity::Must,
    explain: "Looks for woods, new ones and restocked ones, on a historic feature or within {planting.monument} of it: the margin of scheduled monuments and \
        other features of weight. For lesser features the margin is about {planting.other_feature}; the plan does not tell them apart, so every mapped \
        historic feature is given the wider one, and between the two the finding is something to think about.\n\n\
        Why it matters: roots and machines break what lies in the ground, and a monument among trees is lost to sight.\n\n\
        What to do: draw the wood round it and ask the historic environment authority or the council's archaeologist first; a scheduled monument needs \
        consent for any work. Check the code in force.",
    keys: &["planting.monument", "planting.other_feature"],
};

/// Find woods on or beside historic features.
pub fn check(o: &OnMeasures) -> Checked {
    let (wide_m, narrow_m) = (o.number("planting.monument")?, o.number("planting.other_feature")?);
    let mut found = Vec::new();
    for p in planted::all(o) {
        for area in o.holding().areas.iter().filter(|a| a.kind == AreaKind::Historic) {
            let piece = lie::near_area(&p.area, &area.shape, wide_m);
            if piece.0.is_empty() {
                continue;
            }
            let on = places::hectares(&shared(&p.area, &area.shape));
            let away_m = Euclidean.distance(&p.area, &area.shape);
            let (name, called) = (o.name(p.measure), lie::called(&area.name, &area.id));
            found.push(o.finding(
                &RULE,
                p.measure,
                Said {
                    severity: Some(if away_m < narrow_m { Severity::Must } else { Severity::Consider }),
                    what: format!("{name} plants {} a historic feature", if on > 0.0 { "on" } else { "beside" }),
                    place: format!("{name}, at {called}"),
                    value: if on > 0.0 {
                        format!("{} on it, {} within the margin", lie::ha(on), lie::ha(places::hectares(&piece)))
                    } else {
                        format!("{} from it; {} within the margin", words::metres(away_m), lie::ha(places::hectares(&piece)))
                    },
                    geometry: piece.into(),
                    needed: format!(
                        "trees at least {} from scheduled monuments and features of weight, about {} from lesser ones; check the code in force",
                        words::metres(wide_m),
                        words::metres(narrow_m)
                    ),
                    why: "Roots and machines break what lies in the ground.".into(),
                    hint: "Draw the wood round it; ask the historic environment authority first, and for consent where it is scheduled.".into(),
                    ..Said::default()
                },
            ));
        }
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::tests::{found, wood_of};
    use super::*;
    use crate::rules::fixture::{moor, rect};
    use holding::Area;

    #[test]
    fn the_margin_is_kept() {
        let mut h = moor();
        h.areas = vec![Area { kind: AreaKind::Historic, name: "Shieling".into(), ..Area::new("A1", rect(1500.0, 1500.0, 1520.0, 1520.0)) }];
        let at = |x: f64| found(&h, vec![wood_of(rect(x, 1500.0, 1700.0, 1600.0), &[])], check);
        assert_eq!(at(1510.0)[0].severity, Severity::Must);
        assert!(at(1510.0)[0].value.contains("on it"));
        assert_eq!(at(1539.0)[0].severity, Severity::Consider);
        assert!(at(1539.0)[0].value.contains("19 m from it"), "{}", at(1539.0)[0].value);
        assert!(at(1540.5).is_empty());
    }
}
