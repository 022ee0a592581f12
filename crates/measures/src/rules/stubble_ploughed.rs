//! Stubble ploughed in before winter.
//!
//! Source: leaving stubbles over winter and roots with weedy patches is common practice without a source.

use super::{Checked, Context, Rule, Said, words};
use crate::finding::Severity;
use geo::Area;
use holding::{ParcelKind, Stubble};

/// The rule.
pub const RULE: Rule = Rule {
    key: "stubble_ploughed",
    title: "Stubble ploughed in before winter",
    severity: Severity::Consider,
    explain: "Looks at arable fields within {reach.winter_m} of a lek. It tells of every field that is ploughed in autumn, and of fields where nobody recorded \
        what happens over winter.\n\n\
        Common practice, without a source: {practice.inbye.stubble}. The distance is the reach the ledger uses for winter. What a hectare of stubble is worth \
        to the birds was not found measured.\n\n\
        Why it matters: spilt grain and weed seeds feed birds when heather is under snow, and few hill farms grow any.\n\n\
        What to do: leave the stubble standing till the end of winter, best beside rough ground or a wood edge; leave headlands and weedy patches. Schemes \
        pay for it under their own dates.",
    keys: &["practice.inbye.stubble", "reach.winter_m"],
};

/// Find arable fields without winter stubble.
pub fn check(c: &Context) -> Checked {
    let reach_m = c.number("reach.winter_m")?;
    let arable = |p: &&holding::Parcel| p.kind == ParcelKind::InByeArable || p.stubble.is_some();
    let mut found = Vec::new();
    for field in c.holding.parcels.iter().filter(arable) {
        let state = match field.stubble {
            Some(Stubble::Ploughed) => "ploughed in autumn",
            Some(Stubble::Left | Stubble::Roots) => continue,
            None => "not recorded what happens over winter",
        };
        let Some((lek, _)) = c.nearest_lek(&field.shape).filter(|(_, d)| *d < reach_m) else { continue };
        let near = |p: &&holding::Parcel| c.nearest_lek(&p.shape).is_some_and(|(_, d)| d < reach_m);
        let kept: f64 = c
            .holding
            .parcels
            .iter()
            .filter(|p| matches!(p.stubble, Some(Stubble::Left | Stubble::Roots)))
            .filter(near)
            .map(|p| p.shape.unsigned_area() / 1e4)
            .sum();
        let else_kept = if kept > 0.0 { format!("{} are kept elsewhere within reach", words::hectares(kept)) } else { "none is kept within reach".to_string() };
        let name = if field.name.is_empty() { &field.id } else { &field.name };
        found.push(c.finding(
            &RULE,
            Said {
                lek: None,
                severity: None,
                what: format!("no winter stubble on {name}"),
                place: format!("{name}, in winter reach of {}", c.lek_name(lek)),
                geometry: field.shape.clone().into(),
                value: format!("{}, {state}; {else_kept}", words::hectares(field.shape.unsigned_area() / 1e4)),
                needed: "stubble or weedy roots left standing till the end of winter".into(),
                why: "Spilt grain and weed seeds feed birds when heather lies under snow.".into(),
                hint: "Sow in spring and leave the stubble or roots unsprayed and ungrazed till the end of winter; check the dates of your scheme.".into(),
                secret: vec![],
            },
        ));
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::fixture::{bare, moor, rect, run};
    use super::*;
    use holding::Parcel;

    fn with(stubble: Option<Stubble>, x0: f64) -> Vec<crate::Finding> {
        let mut h = moor();
        let mut field = Parcel::new("P1", rect(x0, 900.0, x0 + 200.0, 1050.0));
        (field.name, field.kind, field.stubble) = ("Barley field".into(), ParcelKind::InByeArable, stubble);
        h.parcels = vec![field];
        run(&h, check)
    }

    #[test]
    fn ploughed_and_unrecorded_fields_are_found_and_stubble_is_not() {
        let f = with(Some(Stubble::Ploughed), 1700.0);
        assert_eq!(f.len(), 1);
        assert_eq!(f[0].value, "3.0 ha, ploughed in autumn; none is kept within reach");
        assert!(with(None, 1700.0)[0].value.contains("not recorded"));
        assert!(with(Some(Stubble::Left), 1700.0).is_empty());
    }

    #[test]
    fn a_field_out_of_reach_is_left_alone() {
        assert_eq!(with(Some(Stubble::Ploughed), 2990.0).len(), 1);
        assert!(with(Some(Stubble::Ploughed), 3010.0).is_empty());
    }

    #[test]
    fn a_bare_survey_is_read() {
        assert!(run(&bare(), check).is_empty());
    }
}
