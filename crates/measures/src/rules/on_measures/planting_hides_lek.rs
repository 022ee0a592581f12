//! Trees planted that shut the view of a lek in a year to come.
//!
//! Sources: cocks display with a view all round (common practice); the part of the view that may go is an assumption, and the
//! years ahead are this program's forecast.

use super::seen::OnMeasures;
use super::{Checked, Rule, planted};
use crate::finding::Severity;
use crate::rules::{Said, places, words};
use crate::secrecy::{Secret, distance_band};
use geo::{Distance, Euclidean};

/// The rule.
pub const RULE: Rule = Rule {
    key: "planting_hides_lek",
    title: "Trees planned that shut a lek's view in years to come",
    severity: Severity::Should,
    explain: "Reads the years ahead under the option: the share of the ground within {lek.view_m} in sight of a displaying bird, year by year. Where it falls by \
        more than {rule.view.lost_share} of what is in sight at the start, the finding gives the first year that it does so, and every wood the option plants \
        by then within that distance. Needs a height model and the years ahead; without them nothing is told.\n\n\
        The forecast grows trees and swards together: trees that stand there already and a sward gone tall take part of the view too, and the finding \
        does not part them from what is planted. Compare with the option without the wood. The part that may go is an assumption.\n\n\
        Why it matters: a lek whose cocks no longer see danger coming is left.\n\n\
        What to do: move the wood out of the line of sight, behind a rise or farther off, or plant low shrubs on that side.",
    keys: &["rule.view.lost_share", "lek.view_m", "practice.lek.sward"],
};

/// Find woods planted by the first year a lek's view is lost.
pub fn check(o: &OnMeasures) -> Checked {
    let Some(forecast) = o.forecast else { return Ok(vec![]) };
    let (share, view_m) = (o.number("rule.view.lost_share")?, o.number("lek.view_m")?);
    let c = &o.context;
    let woods = planted::all(o);
    let mut found = Vec::new();
    for (lek, ledger) in c.leks().iter().enumerate() {
        let seen = |year: &habitat::ahead::YearLedger| year.leks.iter().find(|l| l.id == ledger.id).and_then(|l| l.view_disc);
        let first = forecast.years.iter().find(|y| y.year == 0).and_then(seen).or(ledger.ground.view_disc);
        let Some(first) = first.filter(|v| *v > 0.0) else { continue };
        let lost = forecast.years.iter().filter(|y| y.year > 0).find_map(|y| seen(y).filter(|v| *v < first * (1.0 - share)).map(|v| (y.year, v)));
        let Some((year, then)) = lost else { continue };
        let lek_name = c.lek_name(lek);
        for p in woods.iter().filter(|p| p.year <= year) {
            let piece = places::area_inside(&p.area, &places::disc(c.lek_at(lek), view_m));
            if piece.0.is_empty() {
                continue;
            }
            let (name, away_m) = (o.name(p.measure), Euclidean.distance(&c.lek_at(lek), &p.area));
            let (exact, band) = (words::metres(away_m), distance_band(away_m));
            let away = |d: &str| format!("the wood is {d} away");
            found.push(o.finding(
                &RULE,
                p.measure,
                Said {
                    lek: Some(lek),
                    what: format!("{name} stands in the view of {lek_name}, which is lost by {}", o.year_words(year)),
                    place: format!("{name}, in sight of {lek_name}"),
                    geometry: piece.into(),
                    value: format!(
                        "in sight now {}, in {} {}; {}",
                        words::percent(first),
                        o.year_words(year),
                        words::percent(then),
                        away(&exact)
                    ),
                    needed: format!("no more than {} of the view lost in any year ahead", words::percent(share)),
                    why: "A lek whose cocks no longer see danger coming is left.".into(),
                    hint: "Move the wood out of the line of sight, or plant low shrubs on that side; compare the view without it.".into(),
                    secret: vec![Secret::of(&exact, band, away)],
                    ..Said::default()
                },
            ));
        }
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::tests::{found, found_ahead, wood_of};
    use super::*;
    use crate::rules::fixture::{flat, moor, rect};
    use serde_json::json;

    #[test]
    fn a_dense_wood_by_the_lek_shuts_the_view_and_a_far_one_does_not() {
        let mut h = moor();
        h.heights = Some(flat());
        for p in &mut h.patches {
            (p.height_cm, p.height_sd_cm) = (Some(8.0), Some(2.0));
        }
        let near = || wood_of(rect(1060.0, 700.0, 1400.0, 1300.0), &[("stems_per_ha", json!(3000)), ("open_pct", json!(0))]);
        let f = found_ahead(&h, vec![near()], &[0, 5, 10, 20, 30], check);
        assert_eq!(f.len(), 1, "{f:?}");
        assert!(f[0].what.contains("Testrigg") && f[0].what.contains("20"), "{}", f[0].what);
        assert!(f[0].value.contains("60 m away") && !f[0].withheld().value.contains("60 m"), "{}", f[0].value);
        assert!(found(&h, vec![near()], check).is_empty(), "nothing is told without the years ahead");
        let far = wood_of(rect(1900.0, 1900.0, 2000.0, 2000.0), &[]);
        assert!(found_ahead(&h, vec![far], &[0, 5, 10], check).is_empty());
    }
}
