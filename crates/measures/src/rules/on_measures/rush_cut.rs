//! Too much rush cut, or cut in the closed season.
//!
//! Sources: a third a year is practice from memory; the closed season from an English option; elsewhere the usual window.

use super::seen::OnMeasures;
use super::when::{self, Lies, Window};
use super::{Checked, Rule};
use crate::finding::Severity;
use crate::rules::Said;
use habitat::ahead::Doing;

/// The rule.
pub const RULE: Rule = Rule {
    key: "rush_cut",
    title: "Rush cut too much or out of season",
    severity: Severity::Should,
    explain: "Looks at rush cut in turn: no more than {arable.rush.share_per_year} in a year, and the month told within {arable.rush.cut_first} to \
        {arable.rush.cut_last}. An English option closes the season by dates of its own, which the table gives. A month partly outside is told as well; without a \
        month only the share is looked at. Check the scheme and the code in force.\n\n\
        Why it matters: rush is nest cover for grouse and waders; what is cut gives none next spring, and cutting late destroys nests.\n\n\
        What to do: cut a third in turn, after July, and leave tussocks.",
    keys: &["arable.rush.share_per_year", "arable.rush.cut_first", "arable.rush.cut_last", "arable.rush.no_cut_first", "arable.rush.no_cut_last"],
};

/// Find rush cut too much or out of season.
pub fn check(o: &OnMeasures) -> Checked {
    let most = o.number("arable.rush.share_per_year")?;
    let window = Window::read(o, "arable.rush.cut_first", "arable.rush.cut_last", o.country())?;
    let mut found = Vec::new();
    for (i, work) in &o.works {
        let Doing::CutRush { share } = work.doing else { continue };
        let (measure, pct) = (o.measures[*i], 100.0 * f64::from(share));
        let late = when::months(measure).filter(|all| all.iter().any(|m| window.of_month(*m) != Lies::Inside));
        // Shares are kept as single floats.
        let much = pct > most + 1e-3;
        if !much && late.is_none() {
            continue;
        }
        let name = o.name(measure);
        let closed = late.as_ref().map(|m| format!("cut in {}", when::words(m)));
        let value: Vec<String> = much.then(|| format!("{pct:.0} % of the rush cut in a year")).into_iter().chain(closed).collect();
        found.push(o.finding(
            &RULE,
            measure,
            Said {
                what: format!("{name} cuts {}", if much { "too much rush" } else { "rush out of season" }),
                place: name,
                geometry: work.area.clone().into(),
                value: value.join("; "),
                needed: format!("at most {most:.0} % a year, {}; check the scheme and the code in force", window.words()),
                why: "Rush is nest cover: what is cut gives none next spring, and cutting late destroys nests.".into(),
                hint: "Cut a third in turn, after July, and leave tussocks.".into(),
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
    fn share_and_season_hold() {
        let at = |share: f64, month: &str| {
            let facts = [("work", json!("rush")), ("share_pct", json!(share)), ("month", json!(month))];
            found(&moor(), vec![measure("inbye", rect(100.0, 100.0, 200.0, 200.0), &facts)], check).len()
        };
        assert_eq!([at(33.0, ""), at(34.0, ""), at(33.0, "Aug-Feb"), at(33.0, "Jul"), at(33.0, "Mar")], [0, 1, 0, 1, 1]);
    }
}
