//! Trees planted on good brood ground.
//!
//! Source: what brood ground is worth is this program's own reckoning of published choices; the worth from which it is good is an
//! assumption.

use super::seen::OnMeasures;
use super::{Checked, Rule, lie, planted};
use crate::finding::Severity;
use crate::kind::cut::shared;
use crate::rules::{Said, places};
use habitat::Season;

/// The rule.
pub const RULE: Rule = Rule {
    key: "planting_brood_ground",
    title: "Trees planned on good brood ground",
    severity: Severity::Should,
    explain: "Looks at what the ground under every new wood is worth to broods as it lies, cell by cell, on the scale from 0 to 1 of the assessment, within \
        {reach.brood_m} of a lek. Ground worth {rule.planting.brood_value} and more is told of from {rule.planting.brood_ha} up. Both limits are assumptions.\n\n\
        Why it matters: broods are what most leks lack; a wood that grows over their ground takes more than it gives.\n\n\
        What to do: move the wood to ground of little worth, or leave the good part as a glade.",
    keys: &["rule.planting.brood_value", "rule.planting.brood_ha", "reach.brood_m"],
};

/// Find woods on good brood ground.
pub fn check(o: &OnMeasures) -> Checked {
    let woods = planted::new(o);
    if woods.is_empty() {
        return Ok(vec![]);
    }
    let (good, least_ha, reach_m) = (o.number("rule.planting.brood_value")?, o.number("rule.planting.brood_ha")?, o.number("reach.brood_m")?);
    let c = &o.context;
    let layout = &c.assessed.layout;
    let values = c.assessed.middle().values(Season::Brood);
    let worth = |cell: usize| values.get(layout.facet_of[cell] as usize).map(|v| f64::from(*v)).filter(|v| v.is_finite());
    let mut found = Vec::new();
    for p in woods {
        let Some((lek, _)) = c.nearest_lek(&p.area).filter(|(_, d)| *d < reach_m) else { continue };
        let cells: Vec<(usize, f64)> = lie::cells(o, &p.area).into_iter().filter_map(|i| worth(i).filter(|v| *v >= good).map(|v| (i, v))).collect();
        let best = cells.iter().map(|c| c.1).fold(0.0, f64::max);
        let piece = shared(&p.area, &places::of_cells(&layout.frame, cells.into_iter().map(|c| c.0).collect()));
        let ha = places::hectares(&piece);
        if ha < least_ha {
            continue;
        }
        let name = o.name(p.measure);
        found.push(o.finding(
            &RULE,
            p.measure,
            Said {
                what: format!("{name} plants on good brood ground"),
                place: format!("{name}, in brood reach of {}", c.lek_name(lek)),
                geometry: piece.into(),
                value: format!("{} worth {good} or more to broods, the best of it {best:.2}, on a scale from 0 to 1", lie::ha(ha)),
                needed: format!("less than {} of ground worth {good} or more under new trees", lie::ha(least_ha)),
                why: "Broods are what most leks lack; a wood over their ground takes more than it gives.".into(),
                hint: "Move the wood to ground of little worth, or leave the good part as a glade.".into(),
                ..Said::default()
            },
        ));
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::tests::{found, wood_of};
    use super::*;
    use crate::rules::fixture::{moor, rect};
    use holding::{Holding, Plant};

    /// The moor with every patch a mixed sward, flushed or bare.
    fn ground(good: bool) -> Holding {
        let mut h = moor();
        for p in &mut h.patches {
            if good {
                (p.height_cm, p.height_sd_cm, p.wetness, p.flush) = (Some(25.0), Some(12.0), Some(0.6), true);
                p.covers.set(Plant::Herbs, 10.0);
                p.covers.set(Plant::Blaeberry, 20.0);
            } else {
                Plant::ALL.iter().for_each(|k| p.covers.set(*k, if *k == Plant::Bare { 100.0 } else { 0.0 }));
                (p.height_cm, p.height_sd_cm) = (Some(1.0), Some(0.5));
            }
        }
        h
    }

    #[test]
    fn good_ground_is_told_and_bare_ground_and_small_woods_are_not() {
        let wood = |side: f64| vec![wood_of(rect(1400.0, 1400.0, 1400.0 + side, 1400.0 + side), &[])];
        let f = found(&ground(true), wood(200.0), check);
        assert_eq!(f.len(), 1);
        assert!(f[0].value.starts_with("4.0 ha worth"), "{}", f[0].value);
        assert!(found(&ground(false), wood(200.0), check).is_empty());
        assert!(found(&ground(true), wood(49.0), check).is_empty());
    }
}
