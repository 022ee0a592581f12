//! A meadow cut while broods are in it.
//!
//! Source: dates are practice from memory.

use super::seen::OnMeasures;
use super::{Checked, Rule, when};
use crate::finding::Severity;
use crate::rules::Said;
use habitat::ahead::Doing;

/// The rule.
pub const RULE: Rule = Rule {
    key: "meadow_cut_early",
    title: "Meadow cut while broods are in it",
    severity: Severity::Should,
    explain: "Holds the month told for a late-cut meadow against the first day it is cut for broods, {arable.meadow.cut_first_broods}, for late ones \
        {arable.meadow.cut_first_broods_late}: a month that ends before the first is told, and one that begins before it is something to think about. Without a \
        month nothing is told. The dates are practice from memory; a scheme sets its own.\n\n\
        Why it matters: chicks press themselves flat before a mower.\n\n\
        What to do: cut later, from the middle outwards, and leave an edge.",
    keys: &["arable.meadow.cut_first_broods", "arable.meadow.cut_first_broods_late"],
};

/// Find meadows cut early.
pub fn check(o: &OnMeasures) -> Checked {
    let first = o.context.guidance.month_day("arable.meadow.cut_first_broods", o.country())?;
    let until = o.context.words("arable.meadow.cut_first_broods")?;
    // The growing season before the first day.
    let closed = when::Window { first: (4, 1), last: (first.0, first.1.saturating_sub(1).max(1)) };
    let mut found = Vec::new();
    for (i, work) in &o.works {
        let measure = o.measures[*i];
        let (Doing::Mow { .. }, Some(months)) = (&work.doing, when::months(measure)) else { continue };
        let worst = months.iter().map(|m| closed.of_month(*m)).fold(when::Lies::Outside, |a, b| match (a, b) {
            (when::Lies::Inside, _) | (_, when::Lies::Inside) => when::Lies::Inside,
            (when::Lies::Partly, _) | (_, when::Lies::Partly) => when::Lies::Partly,
            _ => when::Lies::Outside,
        });
        if worst == when::Lies::Outside {
            continue;
        }
        let name = o.name(measure);
        found.push(o.finding(
            &RULE,
            measure,
            Said {
                severity: Some(if worst == when::Lies::Inside { Severity::Should } else { Severity::Consider }),
                what: format!("{name} cuts the meadow early"),
                place: name,
                geometry: work.area.clone().into(),
                value: format!("cut in {}", when::words(&months)),
                needed: format!("no cut before {until}; check the scheme in force"),
                why: "Chicks press themselves flat before a mower.".into(),
                hint: "Cut later, from the middle outwards, and leave an edge.".into(),
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
    fn the_month_is_held_against_the_day() {
        let at = |month: &str| {
            let m = measure("inbye", rect(100.0, 100.0, 200.0, 200.0), &[("work", json!("meadow")), ("month", json!(month))]);
            found(&moor(), vec![m], check).first().map(|f| f.severity)
        };
        assert_eq!([at("Jun"), at("Jul"), at("Aug"), at("")], [Some(Severity::Should), Some(Severity::Consider), None, None]);
    }
}
