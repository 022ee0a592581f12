//! Heather burnt beside woodland.
//!
//! Source: the muirburn code of 2011 keeps woodland, its edge, scrub and young trees free of fire and gives no width; the width is
//! an assumption.

use super::seen::OnMeasures;
use super::{Checked, Rule, heathered, lie};
use crate::finding::Severity;
use crate::rules::{Said, places, words};

/// The rule.
pub const RULE: Rule = Rule {
    key: "burn_by_wood",
    title: "Burning planned beside woodland",
    severity: Severity::Must,
    explain: "Looks for burnt heather within {rule.burn.wood} of a wood of the plan, or of one the option plants. The code of 2011 keeps woodland and its edge, scrub, \
        young trees and juniper free of fire and gives no width; the distance is an assumption about as wide as a wide fire-break. Scrub and juniper nobody \
        mapped are not seen.\n\n\
        Why it matters: a fire that gets into a wood is lost, and the edge with its scrub is winter food.\n\n\
        What to do: leave the strip out, cut it, or burn elsewhere. Check the code in force.",
    keys: &["rule.burn.wood", "heather.fire_free"],
};

/// Find burning beside woods.
pub fn check(o: &OnMeasures) -> Checked {
    let within_m = o.number("rule.burn.wood")?;
    let mut found = Vec::new();
    for p in heathered::burnt(o) {
        for wood in &o.after.woods {
            let piece = lie::near_area(&p.area, &wood.shape, within_m);
            if piece.0.is_empty() {
                continue;
            }
            let name = o.name(p.measure);
            found.push(o.finding(
                &RULE,
                p.measure,
                Said {
                    what: format!("{name} burns beside a wood"),
                    place: format!("{name}, at {}", lie::called(&wood.name, &wood.id)),
                    value: format!("{} within {} of the wood", lie::ha(places::hectares(&piece)), words::metres(within_m)),
                    geometry: piece.into(),
                    needed: format!("no burning within {} of woodland, scrub or young trees; check the code in force", words::metres(within_m)),
                    why: "A fire that gets into a wood is lost, and the edge with its scrub is winter food.".into(),
                    hint: "Leave the strip out, cut it, or burn elsewhere.".into(),
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
    use crate::rules::fixture::{moor, rect, wood};
    use holding::{Measure, Tree};
    use serde_json::json;

    #[test]
    fn woods_that_stand_and_woods_to_come_are_kept_clear_of() {
        let mut h = moor();
        h.woods = vec![wood("Gill", rect(600.0, 400.0, 700.0, 500.0), Tree::Birch, 4.0, 30.0, 2010)];
        let burn = |x: f64| measure("heather", rect(x - 50.0, 400.0, x, 450.0), &[("work", json!("burn"))]);
        assert_eq!(found(&h, vec![burn(581.0)], check).len(), 1);
        assert!(found(&h, vec![burn(579.0)], check).is_empty());
        let planned = Measure { id: "W".into(), ..wood_of(rect(300.0, 400.0, 400.0, 500.0), &[]) };
        let f = found(&h, vec![burn(290.0), planned], check);
        assert!(f.len() == 1 && f[0].place.contains("at W"), "{f:?}");
    }
}
