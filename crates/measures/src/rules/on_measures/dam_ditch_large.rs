//! A ditch too wide or too deep for peat dams.
//!
//! Sources: widest and deepest ditches from the Fen Management Handbook; piling from Brooks & Stoneman 1997.

use super::seen::OnMeasures;
use super::{Checked, Rule, dammed};
use crate::finding::Severity;
use crate::rules::Said;

/// The rule.
pub const RULE: Rule = Rule {
    key: "dam_ditch_large",
    title: "Ditch too large for peat dams",
    severity: Severity::Should,
    explain: "Looks at ditches to be dammed that are wider than {water.peat_dam.excavator.width_max} or deeper than {water.peat_dam.excavator.depth_max}: too large for peat \
        dams even by excavator. They take piling up to {water.piling.width_max} wide; above that they are left. By hand peat dams go to \
        {water.peat_dam.hand.width_max} and {water.peat_dam.hand.depth_max}. Ditches nobody measured are not judged.\n\n\
        Why it matters: a peat dam in a large ditch fails in the first flood.\n\n\
        What to do: have someone who builds such dams look at it; measure the ditch at several places first.",
    keys: &[
        "water.peat_dam.excavator.width_max",
        "water.peat_dam.excavator.depth_max",
        "water.peat_dam.hand.width_max",
        "water.peat_dam.hand.depth_max",
        "water.piling.width_max",
    ],
};

/// Find ditches too large.
pub fn check(o: &OnMeasures) -> Checked {
    let (wide_cm, deep_cm) = (o.number("water.peat_dam.excavator.width_max")?, o.number("water.peat_dam.excavator.depth_max")?);
    let piling_cm = 100.0 * o.number("water.piling.width_max")?;
    let mut found = Vec::new();
    for d in dammed::all(o)? {
        let size = |v: Option<f32>| v.map(f64::from).filter(|v| v.is_finite());
        let (width, depth) = (size(d.ditch.width_cm), size(d.ditch.depth_cm));
        if !(width.is_some_and(|w| w > wide_cm) || depth.is_some_and(|v| v > deep_cm)) {
            continue;
        }
        let left = width.is_some_and(|w| w > piling_cm);
        let say = |v: Option<f64>| v.map_or("not measured".to_string(), |v| format!("{v:.0} cm"));
        let name = o.name(d.measure);
        found.push(o.finding(
            &RULE,
            d.measure,
            Said {
                what: format!("{name} dams a ditch too large for {}", if left { "any dam" } else { "peat dams" }),
                place: format!("{name}, ditch {}", d.ditch.id),
                geometry: d.ditch.shape.clone().into(),
                value: format!("width {}, depth {}", say(width), say(depth)),
                needed: format!("for peat dams at most {wide_cm:.0} cm wide and {deep_cm:.0} cm deep, for piling at most {piling_cm:.0} cm wide"),
                why: "A peat dam in a large ditch fails in the first flood.".into(),
                hint: "Have someone who builds such dams look at it; measure the ditch at several places first.".into(),
                ..Said::default()
            },
        ));
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::tests::{block, ditched, found};
    use super::*;

    #[test]
    fn width_and_depth_hold() {
        let at = |width: Option<f32>, depth: Option<f32>| {
            let mut h = ditched();
            (h.ditches[0].width_cm, h.ditches[0].depth_cm) = (width, depth);
            found(&h, vec![block(&[])], check).len()
        };
        assert_eq!([at(Some(150.0), Some(120.0)), at(Some(151.0), None), at(None, Some(121.0)), at(None, None), at(Some(f32::NAN), None)], [0, 1, 1, 0, 0]);
    }
}
