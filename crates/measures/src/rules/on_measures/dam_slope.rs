//! Dams on a steep ditch, or held water over deep peat on a slope.
//!
//! Sources: the steepest ditch for peat dams is practice from memory; peat slides, guidance of 2017 from memory.

use super::seen::OnMeasures;
use super::{Checked, Rule, dammed};
use crate::finding::Severity;
use crate::kind::dams::Soil;
use crate::rules::Said;

/// The rule.
pub const RULE: Rule = Rule {
    key: "dam_slope",
    title: "Dams on a steep slope",
    severity: Severity::Should,
    explain: "Looks at the steepest stretch that would be dammed, by the height model. Above {water.peat_dam.slope_max} peat dams wash out and the plan turns to timber or \
        stone; where the peat is deeper than {water.slide.peat_depth} and the slope above {water.slide.slope}, holding water can set the peat sliding. Above \
        {water.machine.slope_max} nothing is dammed. Deep peat is what the nearest probe or the ground says. Without heights nothing is told.\n\n\
        Why it matters: dams that wash out cut gullies, and peat that slides takes the hill, the burn and whoever is below.\n\n\
        What to do: leave the steep stretch open, or have the risk of a slide looked at by someone trained before any water is held.",
    keys: &["water.peat_dam.slope_max", "water.slide.peat_depth", "water.slide.slope", "water.machine.slope_max"],
};

/// Find dams on steep ditches.
pub fn check(o: &OnMeasures) -> Checked {
    let (peat_deg, slide_deg) = (o.number("water.peat_dam.slope_max")?, o.number("water.slide.slope")?);
    let deep_cm = 100.0 * o.number("water.slide.peat_depth")?;
    let mut found = Vec::new();
    for d in dammed::all(o)? {
        let Some(plan) = d.plan.as_ref().filter(|p| p.by_heights && !p.runs.is_empty()) else { continue };
        let deep = plan.peat_cm.map_or(plan.soil == Soil::BlanketPeat, |cm| cm > deep_cm);
        let slide = deep && plan.steepest_deg > slide_deg;
        if !slide && plan.steepest_deg <= peat_deg {
            continue;
        }
        let name = o.name(d.measure);
        let peat = plan.peat_cm.map_or("peat not probed".to_string(), |cm| format!("peat {cm:.0} cm by the nearest probe"));
        found.push(o.finding(
            &RULE,
            d.measure,
            Said {
                severity: Some(if slide { Severity::Must } else { Severity::Should }),
                what: format!("{name} dams a steep ditch"),
                place: format!("{name}, ditch {}", d.ditch.id),
                geometry: plan.lines().into(),
                value: format!("{:.1} degrees on the steepest stretch dammed; {peat}", plan.steepest_deg),
                needed: format!("peat dams up to {peat_deg:.1} degrees; over {deep_cm:.0} cm of peat no water held above {slide_deg:.1} degrees unlooked at"),
                why: "Dams that wash out cut gullies, and peat that slides takes what is below.".into(),
                hint: if slide { "Have the risk of a peat slide looked at by someone trained first." } else { "Leave the steep stretch open, or use timber or stone." }.into(),
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
    use crate::rules::fixture::slope;
    use geo_types::Point;
    use holding::Probe;

    #[test]
    fn steep_and_deep_weigh_differently() {
        let at = |deg: f64, depth_cm: f32| {
            let mut h = ditched();
            h.heights = Some(slope(deg));
            h.probes = vec![Probe { id: "P".into(), at: Point::new(500.0, 510.0), depth_cm, date: None }];
            found(&h, vec![block(&[])], check).first().map(|f| f.severity)
        };
        assert_eq!([at(3.3, 40.0), at(3.7, 40.0), at(3.3, 80.0), at(3.7, 80.0)], [None, Some(Severity::Should), None, Some(Severity::Must)]);
    }
}
