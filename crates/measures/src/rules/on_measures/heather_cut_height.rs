//! Heather cut too low or too high.
//!
//! Source: practice, from memory: low enough to let it come again, high enough to keep the moss.

use super::seen::OnMeasures;
use super::{Checked, Rule, heathered};
use crate::finding::Severity;
use crate::rules::Said;

/// The rule.
pub const RULE: Rule = Rule {
    key: "heather_cut_height",
    title: "Heather cut too low or too high",
    severity: Severity::Should,
    explain: "Looks at the height heather is cut to against the range about {heather.cutting.height}: the table gives its ends. Practice from memory.\n\n\
        Why it matters: a cut lower strips the moss that keeps peat wet and the stubble heather comes back from; one higher leaves wood that does not shoot and \
        falls over the new growth.\n\n\
        What to do: set the flail within the range and carry it higher over hummocks and tussocks; leave the brash where heather is short, take it off where \
        it is tall.",
    keys: &["heather.cutting.height"],
};

/// Find cuts out of the range.
pub fn check(o: &OnMeasures) -> Checked {
    let row = o.context.guidance.row("heather.cutting.height", o.country())?;
    let usual = o.number("heather.cutting.height")?;
    let (low, high) = (row.low.unwrap_or(usual), row.high.unwrap_or(usual));
    let mut found = Vec::new();
    for p in heathered::all(o) {
        let Some(cut_cm) = p.cut_cm.filter(|c| !(low..=high).contains(c)) else { continue };
        let name = o.name(p.measure);
        let is_low = cut_cm < low;
        found.push(o.finding(
            &RULE,
            p.measure,
            Said {
                what: format!("{name} cuts too {}", if is_low { "low" } else { "high" }),
                place: name,
                geometry: p.area.clone().into(),
                value: format!("cut to {cut_cm:.1} cm"),
                needed: format!("a cut to {low:.0} to {high:.0} cm"),
                why: if is_low { "So low a cut strips the moss and the stubble heather comes back from." } else { "So high a cut leaves wood that does not shoot." }.into(),
                hint: "Set the flail within the range and carry it higher over hummocks.".into(),
                ..Said::default()
            },
        ));
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::tests::{found, measure};
    use super::*;
    use crate::rules::fixture::{moor, rect};
    use serde_json::json;

    #[test]
    fn both_ends_hold() {
        let at = |cm: f64, work: &str| found(&moor(), vec![measure("heather", rect(100.0, 100.0, 150.0, 150.0), &[("height_cm", json!(cm)), ("work", json!(work))])], check).len();
        assert_eq!([at(4.9, "cut"), at(5.0, "cut"), at(10.0, "cut"), at(10.1, "cut"), at(30.0, "burn")], [1, 0, 0, 1, 0]);
    }
}
