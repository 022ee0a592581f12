//! Stubble ploughed or grazed off before winter is out.
//!
//! Source: the day oats are kept to is practice from memory.

use super::seen::OnMeasures;
use super::when::{self, Lies, Window};
use super::{Checked, Rule, lie};
use crate::finding::Severity;
use crate::kind::place::parcel_of;
use crate::rules::Said;
use geo_types::Geometry;
use holding::Stubble;

/// The rule.
pub const RULE: Rule = Rule {
    key: "stubble_lost_early",
    title: "Stubble ploughed or grazed off early",
    severity: Severity::Should,
    explain: "Looks at every stubble the option leaves: stock that stands in its field, once the option is done, in a month between harvest (taken as the end of \
        October) and {arable.oats.keep_until}; and a month told, when it is ploughed or grazed off, in that time. The day is practice from memory; a \
        scheme may have its own. Stock in only part of the field, behind a fence, is not told apart.\n\n\
        Why it matters: spilt grain and weed seed are what grouse come for, in the hardest months.\n\n\
        What to do: keep stock off and the plough away until then, or leave a part.",
    keys: &["arable.oats.keep_until"],
};

/// Find stubble lost early.
pub fn check(o: &OnMeasures) -> Checked {
    let keep = Window { first: (11, 1), last: o.context.guidance.month_day("arable.oats.keep_until", o.country())? };
    let until = o.context.words("arable.oats.keep_until")?;
    let mut found = Vec::new();
    for (i, work) in &o.works {
        if !matches!(work.doing, habitat::ahead::Doing::Crop { left: Stubble::Left }) {
            continue;
        }
        let measure = o.measures[*i];
        let early = when::months(measure).filter(|all| all.iter().any(|m| keep.of_month(*m) != Lies::Outside));
        let field = parcel_of(&o.context, &o.facts(measure).word("parcel"), measure);
        let stocked: Vec<usize> = (0..12)
            .filter(|m| keep.of_month(*m) == Lies::Inside)
            .filter(|m| field.is_some_and(|f| o.after.stock.iter().any(|s| s.parcel == f.id && s.head[*m] > 0.0)))
            .collect();
        let mut value: Vec<String> = early.iter().map(|m| format!("ploughed or grazed off in {}", when::words(m))).collect();
        if !stocked.is_empty() {
            value.push(format!("stock in the field in {}", crate::rules::words::list(&stocked.iter().map(|m| when::NAMES[*m]).collect::<Vec<_>>())));
        }
        if value.is_empty() {
            continue;
        }
        let name = o.name(measure);
        found.push(o.finding(
            &RULE,
            measure,
            Said {
                what: format!("{name} loses its stubble early"),
                place: field.map_or(name.clone(), |f| format!("{name}, {}", lie::called(&f.name, &f.id))),
                geometry: Geometry::from(work.area.clone()),
                value: value.join("; "),
                needed: format!("stubble left ungrazed and unploughed until {until}"),
                why: "Spilt grain and weed seed are what grouse come for in the hardest months.".into(),
                hint: "Keep stock off and the plough away until then, or leave a part.".into(),
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
    use geo_types::MultiPolygon;
    use holding::{Parcel, Stock, StockClass};
    use serde_json::json;

    #[test]
    fn stock_and_plough_wait_until_spring() {
        let at = |stocked: Option<usize>, month: &str| {
            let mut h = moor();
            h.parcels = vec![Parcel::new("F", rect(100.0, 100.0, 200.0, 200.0))];
            let mut head = [0.0; 12];
            stocked.into_iter().for_each(|m| head[m] = 20.0);
            h.stock = vec![Stock { id: "S".into(), parcel: "F".into(), class: StockClass::HillEwe, head }];
            let facts = [("work", json!("stubble")), ("parcel", json!("F")), ("month", json!(month))];
            found(&h, vec![measure("inbye", MultiPolygon(vec![]), &facts)], check).len()
        };
        assert_eq!([at(Some(0), ""), at(Some(3), ""), at(None, "Feb"), at(None, "Apr"), at(None, "")], [1, 0, 1, 0, 0]);
    }
}
