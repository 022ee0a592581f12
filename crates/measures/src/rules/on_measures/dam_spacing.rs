//! Dams so far apart that a pool does not reach the dam above.
//!
//! Sources: one dam for each step of fall, never more than so far apart: the Scottish rule, the English option's and a Welsh trial's.

use super::seen::OnMeasures;
use super::{Checked, Rule, dammed};
use crate::finding::Severity;
use crate::rules::{Said, words};

/// The rule.
pub const RULE: Rule = Rule {
    key: "dam_spacing",
    title: "Dams too far apart",
    severity: Severity::Should,
    explain: "Looks at the dams as they would stand: a spacing told that is wider than the country's most (the table gives it), and dams whose pool does not reach the \
        foot of the dam above by the height model. One dam for each {water.dam.fall} of fall is the rule behind it. Without heights only the spacing told is \
        looked at. On a slope where the least spacing leaves steps, pools fall short though nothing was told: there too it says so.\n\n\
        Why it matters: water that runs between dams cuts the bed and takes the lower dam with it.\n\n\
        What to do: leave the spacing out, so that dams stand by the fall; on steep stretches use timber or stone.",
    keys: &["water.dam.fall", "water.dam.spacing_max", "water.dam.spacing_mean"],
};

/// Find dams too far apart.
pub fn check(o: &OnMeasures) -> Checked {
    let (most_m, fall_cm) = (o.number("water.dam.spacing_max")?, o.number("water.dam.fall")?);
    let mut found = Vec::new();
    for d in dammed::all(o)? {
        let told = o.facts(d.measure).maybe_number("spacing_m")?;
        let short = d.plan.as_ref().map_or(0, |p| p.short_pools);
        let wide = told.filter(|s| *s > most_m);
        if wide.is_none() && short == 0 {
            continue;
        }
        let (name, dams) = (o.name(d.measure), d.plan.as_ref().map_or(0, |p| p.dams().count()));
        let mut value: Vec<String> = wide.map(|s| format!("dams {} apart", words::metres(s))).into_iter().collect();
        if short > 0 {
            value.push(format!("the pools of {short} of {dams} dams do not reach the foot of the dam above"));
        }
        found.push(o.finding(
            &RULE,
            d.measure,
            Said {
                what: format!("{name} sets dams too far apart"),
                place: format!("{name}, ditch {}", d.ditch.id),
                geometry: d.ditch.shape.clone().into(),
                value: value.join("; "),
                needed: format!("a dam for each {fall_cm:.0} cm of fall and never more than {} apart", words::metres(most_m)),
                why: "Water that runs between dams cuts the bed and takes the lower dam with it.".into(),
                hint: "Leave the spacing out, so that dams stand by the fall; use timber or stone on steep stretches.".into(),
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
    use guidance::Country;
    use serde_json::json;

    #[test]
    fn the_countrys_most_and_the_pools_hold() {
        let mut h = ditched();
        h.about.country = Country::Scotland;
        let at = |h: &holding::Holding, apart: f64| found(h, vec![block(&[("spacing_m", json!(apart))])], check);
        assert_eq!([at(&h, 50.0).len(), at(&h, 51.0).len()], [0, 1]);
        // Two degrees of fall: 60 cm of depth are used up in 17 m.
        h.heights = Some(slope(2.0));
        assert_eq!([at(&h, 12.0).len(), at(&h, 25.0).len()], [0, 1]);
        assert!(at(&h, 25.0)[0].value.contains("do not reach"), "{}", at(&h, 25.0)[0].value);
    }
}
