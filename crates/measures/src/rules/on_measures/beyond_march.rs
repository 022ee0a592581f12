//! Work drawn on ground beyond the march of the holding.
//!
//! Common practice, no source: nothing is done on another's ground without their leave.

use super::seen::OnMeasures;
use super::{Checked, Rule, lie};
use crate::finding::Severity;
use crate::rules::{Said, places, words};
use ground::quick::{difference, grown, lines_outside};

/// The rule.
pub const RULE: Rule = Rule {
    key: "beyond_march",
    title: "Work beyond the march",
    severity: Severity::Should,
    explain: "Looks for measures drawn more than {rule.march.beyond} beyond the boundary of the holding and gives the part outside; from {rule.march.mostly} of it on it \
        lies wholly there. Where no boundary is in the plan nothing is found. Work on what is surveyed (a ditch blocked, a fence marked) is not looked at, and leave given is not in the plan.\n\n\
        Both figures are ours: marches are surveyed and drawn by hand, and a line along one is not to be told of for its width.\n\n\
        Why it matters: ground beyond the march is another's. Work there without leave is trespass, and no grant of the holding pays for it.\n\n\
        What to do: draw it inside the march; or have the written leave of who owns the ground and who farms it, and settle with them who pays and keeps it.",
    keys: &["rule.march.beyond", "rule.march.mostly"],
};

/// Find measures beyond the march.
pub fn check(o: &OnMeasures) -> Checked {
    let Some(boundary) = &o.holding().boundary else { return Ok(vec![]) };
    let (beyond_m, mostly) = (o.number("rule.march.beyond")?, o.number("rule.march.mostly")?);
    let land = grown(boundary, beyond_m);
    let mut found = Vec::new();
    for measure in &o.measures {
        let (area, line) = (difference(&measure.shape, &land), lines_outside(&land, &measure.line));
        let (ha, metres) = (places::hectares(&area), places::metres(&line));
        if ha <= 0.0 && metres <= 0.0 {
            continue;
        }
        let name = o.name(measure);
        let (whole, value) = if ha > 0.0 {
            (ha > mostly * places::hectares(&measure.shape), format!("{} beyond the march", lie::ha(ha)))
        } else {
            (metres > mostly * places::metres(&measure.line), format!("{} beyond the march", words::metres(metres)))
        };
        found.push(o.finding(
            &RULE,
            measure,
            Said {
                what: format!("{name} lies {} ground", if whole { "on a neighbour's" } else { "partly on a neighbour's" }),
                place: format!("{name}, beyond the march"),
                value,
                geometry: if ha > 0.0 { area.into() } else { line.into() },
                needed: "inside the march, or with the written leave of who owns the ground and who farms it".into(),
                why: "Ground beyond the march is another's: work there without leave is trespass, and no grant of the holding pays for it.".into(),
                hint: "Draw it inside the march, or get that leave first and settle who pays for the work and keeps it.".into(),
                ..Said::default()
            },
        ));
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::tests::{along, found, wood_of};
    use super::*;
    use crate::rules::fixture::{moor, rect};
    use serde_json::json;

    #[test]
    fn what_lies_beyond_is_told_with_its_part_outside() {
        let mut h = moor();
        h.boundary = Some(rect(0.0, 0.0, 1000.0, 2000.0));
        let wood = |west: f64| found(&h, vec![wood_of(rect(west, 500.0, west + 100.0, 600.0), &[])], check);
        assert!(wood(900.0).is_empty() && wood(904.0).is_empty());
        let partly = wood(950.0).remove(0);
        // The march is taken 5 m wider: 45 m by 100 m.
        assert_eq!((partly.what.as_str(), partly.value.as_str()), ("wood M1 lies partly on a neighbour's ground", "0.45 ha beyond the march"));
        assert_eq!(wood(1200.0)[0].what, "wood M1 lies on a neighbour's ground");
        let fence = |y: f64| found(&h, vec![along("fence", &[(500.0, y), (1105.0, y)], &[("work", json!("new"))])], check);
        assert_eq!(fence(700.0)[0].value, "100 m beyond the march");
        h.boundary = None;
        assert!(found(&h, vec![wood_of(rect(5000.0, 500.0, 5100.0, 600.0), &[])], check).is_empty());
    }

    #[test]
    fn a_line_along_the_march_is_not_told_of() {
        let mut h = moor();
        h.boundary = Some(rect(0.0, 0.0, 1000.0, 2000.0));
        assert!(found(&h, vec![along("fence", &[(1002.0, 100.0), (1003.0, 900.0)], &[("work", json!("new"))])], check).is_empty());
    }
}
