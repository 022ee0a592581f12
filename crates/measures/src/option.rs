//! An option: all its measures together, what they do to the ground, what stands afterwards, what they cost, what is wrong.
//!
//! Years are counted from the plan's day: a measure of the year after it has year 1, which is also the least; a measure
//! without a year begins in year 1. Money is undiscounted and grants are not taken off.

use crate::kind::{self, Cost, Entry, Fault, cost};
use crate::rules::Context;
use guidance::Unknown;
use habitat::ahead::{Programme, StockFrom};
use holding::{Holding, Measure, Stock};
use std::collections::BTreeSet;

/// What a measure costs.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct MeasureCost {
    /// The measure's id.
    pub measure: String,
    /// Line by line.
    pub lines: Vec<Cost>,
    /// Low, usual and high of all lines, pounds.
    pub gbp: [f64; 3],
}

/// What is wrong with a measure of an option.
#[derive(Clone, Debug, PartialEq)]
pub struct MeasureFault {
    /// The measure's id.
    pub measure: String,
    /// What is wrong.
    pub fault: Fault,
}

/// The measures of an option that the book knows a kind for, in the order of the plan.
pub fn measures<'a>(context: &Context<'a>, option: u32) -> Vec<(&'a Measure, &'static Entry)> {
    let of = context.holding.measures.iter().filter(|m| m.option == option);
    of.filter_map(|m| kind::find(&m.kind).map(|entry| (m, entry))).collect()
}

/// Everything an option does to the ground.
///
/// Works stand in the order of the measures. Stock stands whole: from each year in which a parcel changes, every class of
/// that parcel is told, changed or not.
///
/// # Errors
/// A guidance figure that is missing.
pub fn programme(context: &Context, option: u32) -> Result<Programme, Unknown> {
    let mut programme = Programme::default();
    for (measure, entry) in measures(context, option) {
        (entry.works)(context, measure, &mut programme)?;
    }
    programme.stock = whole(context.holding, &programme.stock);
    Ok(programme)
}

/// Changes of single classes made whole: from each year of change every class of the parcel.
fn whole(holding: &Holding, changes: &[StockFrom]) -> Vec<StockFrom> {
    let mut out = Vec::new();
    let mut parcels: Vec<&str> = Vec::new();
    for change in changes {
        if !parcels.contains(&change.stock.parcel.as_str()) {
            parcels.push(&change.stock.parcel);
        }
    }
    for parcel in parcels {
        let mut there: Vec<Stock> = Vec::new();
        for stock in holding.stock.iter().filter(|s| s.parcel == parcel) {
            match there.iter_mut().find(|s| s.class == stock.class) {
                Some(same) => same.head.iter_mut().zip(stock.head).for_each(|(sum, head)| *sum += head),
                None => there.push(stock.clone()),
            }
        }
        let of_parcel = || changes.iter().filter(|c| c.stock.parcel == parcel);
        let years: BTreeSet<u32> = of_parcel().map(|c| c.year).collect();
        for year in years {
            for change in of_parcel().filter(|c| c.year == year) {
                match there.iter_mut().find(|s| s.class == change.stock.class) {
                    Some(same) => *same = change.stock.clone(),
                    None => there.push(change.stock.clone()),
                }
            }
            out.extend(there.iter().map(|stock| StockFrom { year, stock: stock.clone() }));
        }
    }
    out
}

/// The holding as it stands when everything of an option is done: new woods and fences, woods cut, stock changed.
///
/// # Errors
/// A guidance figure that is missing.
pub fn holding_with(context: &Context, option: u32) -> Result<Holding, Unknown> {
    let mut holding = context.holding.clone();
    let mut measures = measures(context, option);
    measures.sort_by_key(|(m, _)| kind::year_of(context, m));
    for (measure, entry) in measures {
        (entry.features)(context, measure, &mut holding)?;
    }
    Ok(holding)
}

/// The holding as it stands in a year, counted from the plan's day: what an option has built, planted, taken down and put on by then.
/// Surveyed features keep their places; the plan's measures stay whole.
///
/// # Errors
/// A guidance figure that is missing.
pub fn holding_by(context: &Context, option: u32, year: u32) -> Result<Holding, Unknown> {
    let mut dated = context.holding.clone();
    dated.measures.retain(|m| m.option == option && kind::year_of(context, m) <= year);
    let built = holding_with(&Context { holding: &dated, ..*context }, option)?;
    Ok(Holding { measures: context.holding.measures.clone(), ..built })
}

/// What an option costs, measure by measure in the order of the plan.
///
/// # Errors
/// A guidance figure that is missing.
pub fn costs(context: &Context, option: u32) -> Result<Vec<MeasureCost>, Unknown> {
    let each = |(measure, entry): (&Measure, &'static Entry)| {
        let lines = (entry.costs)(context, measure)?;
        Ok(MeasureCost { measure: measure.id.clone(), gbp: cost::total(&lines), lines })
    };
    measures(context, option).into_iter().map(each).collect()
}

/// What is wrong with the measures of an option, all at once.
pub fn faults(context: &Context, option: u32) -> Vec<MeasureFault> {
    let mut out = Vec::new();
    if !context.holding.options.iter().any(|o| o.number == option) {
        let fault = Fault {
            at: "option".to_string(),
            found: format!("option {option}, which the plan does not have"),
            needed: "an option of the plan".to_string(),
            hint: "add it first: greyhen option FILE add NAME".to_string(),
        };
        out.push(MeasureFault { measure: String::new(), fault });
    }
    for measure in context.holding.measures.iter().filter(|m| m.option == option) {
        let found = match kind::find(&measure.kind) {
            Some(entry) => (entry.faults)(context, measure),
            None => vec![unknown_kind(&measure.kind)],
        };
        out.extend(found.into_iter().map(|fault| MeasureFault { measure: measure.id.clone(), fault }));
    }
    out
}

/// The fault of a kind the book does not know.
pub fn unknown_kind(found: &str) -> Fault {
    Fault {
        at: "kind".to_string(),
        found: if found.is_empty() { "nothing".to_string() } else { format!("`{found}`") },
        needed: format!("one of {}", kind::all().iter().map(|e| e.key).collect::<Vec<_>>().join(", ")),
        hint: "greyhen measure FILE kinds tells what each does".to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::kind::tests::{measure, with};
    use crate::rules::fixture::{grazed, rect};
    use geo_types::MultiPolygon;
    use holding::{PlanOption, StockClass};
    use serde_json::json;

    fn grazing(id: &str, year: i32, facts: &[(&str, serde_json::Value)]) -> Measure {
        let mut m = measure("grazing", MultiPolygon(vec![]), facts);
        m.facts.insert("parcel".into(), json!("H"));
        Measure { id: id.to_string(), year: Some(year), ..m }
    }

    /// The grazed moor with cows too, and an option of two changes of sheep and a wood.
    fn plan() -> Holding {
        let mut h = grazed(1.0, 0.5);
        h.stock.push(Stock { id: "C".into(), parcel: "H".into(), class: StockClass::Cow, head: [20.0; 12] });
        h.options = vec![PlanOption { number: 1, name: "Less".into(), note: String::new() }];
        h.measures = vec![
            // Later in time, first in the plan.
            grazing("late", 2031, &[("head", json!({"Jul": 100}))]),
            grazing("early", 2027, &[("head", json!({"Jan-Mar": 0}))]),
            Measure { id: "W".into(), year: Some(2028), ..measure("wood", rect(1500.0, 1500.0, 1600.0, 1600.0), &[]) },
            Measure { id: "other".into(), option: 2, ..measure("wood", rect(0.0, 0.0, 50.0, 50.0), &[]) },
        ];
        h
    }

    #[test]
    fn a_programme_tells_every_class_of_a_parcel_from_each_year_of_change() {
        with(&plan(), |c| {
            let p = programme(c, 1).unwrap();
            assert_eq!(p.works.iter().map(|w| (w.id.as_str(), w.year)).collect::<Vec<_>>(), [("W", 2)]);
            let told: Vec<_> = p.stock.iter().map(|s| (s.year, s.stock.class, s.stock.head[0], s.stock.head[6])).collect();
            let (ewe, cow) = (StockClass::HillEwe, StockClass::Cow);
            // The later change builds on the earlier one: January stays empty.
            assert_eq!(told, [(1, ewe, 0.0, 400.0), (1, cow, 20.0, 20.0), (5, ewe, 0.0, 100.0), (5, cow, 20.0, 20.0)]);
        });
    }

    #[test]
    fn the_holding_after_has_the_wood_and_the_last_stock() {
        with(&plan(), |c| {
            let after = holding_with(c, 1).unwrap();
            assert_eq!(after.woods.iter().map(|w| (w.id.as_str(), w.planted)).collect::<Vec<_>>(), [("W", Some(2028))]);
            let ewes: Vec<_> = after.stock.iter().filter(|s| s.class == StockClass::HillEwe).collect();
            assert_eq!((ewes.len(), ewes[0].head[0], ewes[0].head[6]), (1, 0.0, 100.0));
            assert_eq!(holding_with(c, 9).unwrap(), *c.holding);
        });
    }

    #[test]
    fn costs_and_faults_are_told_measure_by_measure() {
        let mut h = plan();
        h.measures.push(Measure { id: "X".into(), ..measure("moat", MultiPolygon(vec![]), &[]) });
        h.measures[0].facts.insert("class".into(), json!("yak"));
        with(&h, |c| {
            let costs = costs(c, 1).unwrap();
            assert_eq!(costs.iter().map(|m| m.measure.as_str()).collect::<Vec<_>>(), ["late", "early", "W"]);
            assert!(costs[2].gbp[0] > 0.0 && costs[2].gbp == cost::total(&costs[2].lines));
            let found: Vec<_> = faults(c, 1).into_iter().map(|f| (f.measure, f.fault.at)).collect();
            assert_eq!(found, [("late".to_string(), "class".to_string()), ("X".to_string(), "kind".to_string())]);
            assert_eq!(faults(c, 2)[0].fault.at, "option");
        });
    }
}
