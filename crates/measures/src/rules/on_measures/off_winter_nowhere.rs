//! Stock that vanishes for part of the year with no away-keep.
//!
//! Source: this program's own sum of head; the usual months away are from memory.

use super::seen::OnMeasures;
use super::{Checked, Rule};
use crate::finding::Severity;
use crate::kind::grazing;
use crate::rules::{Said, words};
use crate::rules::on_measures::when;
use holding::{Holding, StockClass, Word};

/// The rule.
pub const RULE: Rule = Rule {
    key: "off_winter_nowhere",
    title: "Stock off the hill for part of the year with nowhere to go",
    severity: Severity::Should,
    explain: "Sums the head of every class over all parcels, month by month, now and once the option is done. Head that is gone in every month is taken as sold. What is \
        gone in some months only must stand somewhere: in another parcel, or wintered away (facts off_winter_head and away, usually {stocking.off_winter.first} to \
        {stocking.off_winter.last}), which is costed. What is left over has neither place nor cost and is told, with the months.\n\n\
        Why it matters: sheep that are on no field still eat: they go to the in-bye, the neighbour or a bill nobody reckoned.\n\n\
        What to do: put them into a parcel, tell them as wintered away, or sell them.",
    keys: &["stocking.off_winter.first", "stocking.off_winter.last"],
};

/// Head of a class on the whole holding, by month.
fn head(h: &Holding, class: StockClass) -> [f64; 12] {
    let mut all = [0.0; 12];
    for s in h.stock.iter().filter(|s| s.class == class) {
        all.iter_mut().zip(s.head).for_each(|(sum, head)| *sum += f64::from(head));
    }
    all
}

/// Find stock without a place.
pub fn check(o: &OnMeasures) -> Checked {
    let mut found = Vec::new();
    let mut seen: Vec<StockClass> = Vec::new();
    for measure in o.of_kind("grazing") {
        let Some(class) = StockClass::from_word(&o.facts(measure).word("class")).filter(|c| !seen.contains(c)) else { continue };
        seen.push(class);
        let mut gone = head(o.holding(), class);
        gone.iter_mut().zip(head(&o.after, class)).for_each(|(g, a)| *g -= a);
        for m in o.of_kind("grazing") {
            let facts = o.facts(m);
            if StockClass::from_word(&facts.word("class")) != Some(class) {
                continue;
            }
            gone.iter_mut().zip(grazing::away(&o.context, m)?).for_each(|(g, away)| *g -= away);
        }
        let sold = gone.iter().copied().fold(f64::INFINITY, f64::min).max(0.0);
        let months: Vec<usize> = (0..12).filter(|m| gone[*m] - sold >= 1.0).collect();
        let most = gone.iter().map(|g| g - sold).fold(0.0, f64::max);
        if months.is_empty() {
            continue;
        }
        let name = o.name(measure);
        let (called, told): (String, Vec<&str>) = (class.word().replace('_', " "), months.iter().map(|m| when::NAMES[*m]).collect());
        found.push(o.finding(
            &RULE,
            measure,
            Said {
                what: format!("{name} takes {called} off for part of the year with nowhere to go"),
                place: name,
                geometry: super::work_in_season::place_of(o, measure),
                value: format!("up to {most:.0} head of {called} on no field and not wintered away, in {}", words::list(&told)),
                needed: "every head in a parcel, wintered away or sold".into(),
                why: "Sheep that are on no field still eat: on the in-bye, at the neighbour's, or on a bill nobody reckoned.".into(),
                hint: "Put them into a parcel, tell them with off_winter_head or away, or sell them.".into(),
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
    use crate::rules::fixture::grazed;
    use geo_types::MultiPolygon;
    use serde_json::json;

    #[test]
    fn head_gone_in_winter_only_wants_a_place() {
        let told = |facts: &[(&str, serde_json::Value)]| {
            let mut m = measure("grazing", MultiPolygon(vec![]), facts);
            m.facts.insert("parcel".into(), json!("H"));
            found(&grazed(1.0, 1.0), vec![m], check)
        };
        // 400 ewes all year.
        let f = told(&[("head", json!("Nov-Mar 100"))]);
        assert!(f.len() == 1 && f[0].value.contains("up to 300 head of hill ewe"), "{f:?}");
        assert!(told(&[("off_winter_head", json!(300))]).is_empty());
        assert!(told(&[("head", json!("Jan-Dec 100"))]).is_empty(), "sold");
        assert!(told(&[("head", json!("Nov-Mar 399.5"))]).is_empty());
    }
}
