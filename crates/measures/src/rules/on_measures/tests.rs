//! What the tests of the rules on measures share, and tests of all of them at once.

use super::*;
use crate::finding::Finding;
use crate::kind;
pub use crate::kind::tests::measure;
use crate::kind::tests::with;
use crate::rules::fixture;
use geo_types::{LineString, MultiLineString, MultiPolygon};
use guidance::Country;
use holding::{Holding, Measure, PlanOption};
use serde_json::{Value, json};

/// The findings of one check on the measures, as option 1 of a holding.
pub fn found(holding: &Holding, measures: Vec<Measure>, check: fn(&OnMeasures) -> Checked) -> Vec<Finding> {
    let mut h = holding.clone();
    h.options = vec![PlanOption { number: 1, name: "Test".into(), note: String::new() }];
    h.measures = measures;
    with(&h, |c| check(&OnMeasures::new(*c, 1, None).unwrap()).unwrap())
}

/// The same with the years ahead.
pub fn found_ahead(holding: &Holding, measures: Vec<Measure>, years: &[u32], check: fn(&OnMeasures) -> Checked) -> Vec<Finding> {
    let mut h = holding.clone();
    h.options = vec![PlanOption { number: 1, name: "Test".into(), note: String::new() }];
    h.measures = measures;
    with(&h, |c| {
        let programme = crate::option::programme(c, 1).unwrap();
        let after = crate::option::holding_with(c, 1).unwrap();
        let course = habitat::ahead::Course { holding: &after, programme: &programme };
        let forecast = habitat::ahead::forecast(c.assessed, c.holding, c.guidance, course, years).unwrap();
        check(&OnMeasures::new(*c, 1, Some(&forecast)).unwrap()).unwrap()
    })
}

/// A wood of a shape with facts.
pub fn wood_of(shape: MultiPolygon<f64>, facts: &[(&str, Value)]) -> Measure {
    measure("wood", shape, facts)
}

/// A measure along a line.
pub fn along(kind: &str, points: &[(f64, f64)], facts: &[(&str, Value)]) -> Measure {
    Measure { line: MultiLineString(vec![LineString::from(points.to_vec())]), ..measure(kind, MultiPolygon(vec![]), facts) }
}

/// The moor with one ditch of ordinary size, 800 m long, running east.
pub fn ditched() -> Holding {
    let mut h = fixture::moor();
    let mut ditch = holding::Ditch::new("D1", fixture::line(&[(100.0, 500.0), (900.0, 500.0)]));
    (ditch.width_cm, ditch.depth_cm) = (Some(60.0), Some(60.0));
    h.ditches = vec![ditch];
    h
}

/// That ditch blocked, with further facts.
pub fn block(facts: &[(&str, Value)]) -> Measure {
    let mut m = measure("water", MultiPolygon(vec![]), facts);
    m.facts.insert("work".into(), json!("block"));
    m.facts.insert("ditch".into(), json!("D1"));
    m
}

/// A measure of every kind and work with nothing else said, and with nonsense for every fact.
fn odd_measures() -> Vec<Measure> {
    let mut out = Vec::new();
    let nonsense = [json!("???"), json!(-1e300), json!(f64::MAX), json!({"a": {"b": []}}), json!([1, 2]), json!(true), Value::Null, json!("13-99 ; x")];
    for entry in kind::all() {
        let works: Vec<Option<&str>> = match entry.facts.iter().find(|f| f.name == "work").map(|f| f.form) {
            Some(kind::Form::OneOf(words)) => words.iter().map(|w| Some(*w)).collect(),
            _ => vec![None],
        };
        for work in works {
            for shape in [MultiPolygon(vec![]), fixture::rect(300.0, 300.0, 700.0, 700.0)] {
                let mut m = along(entry.key, &[(0.0, 480.0), (900.0, 500.0)], &[]);
                m.shape = shape;
                if let Some(work) = work {
                    m.facts.insert("work".into(), json!(work));
                }
                out.push(m.clone());
                for value in &nonsense {
                    let mut odd = m.clone();
                    for fact in entry.facts.iter().map(|f| f.name).filter(|n| *n != "work").chain(["month", "gates"]) {
                        odd.facts.insert(fact.into(), value.clone());
                    }
                    odd.facts.insert("ditch".into(), json!("d"));
                    odd.facts.insert("parcel".into(), json!("a"));
                    out.push(odd);
                }
            }
        }
    }
    for (i, m) in out.iter_mut().enumerate() {
        m.id = format!("M{i}");
        m.year = [None, Some(2028), Some(i32::MIN), Some(2126)][i % 4];
    }
    out
}

#[test]
fn every_rule_reads_a_bare_survey_an_empty_option_and_nonsense() {
    for country in [Country::GB, Country::England, Country::Wales, Country::Scotland] {
        for mut h in [fixture::bare(), fixture::moor()] {
            h.about.country = country;
            h.options = vec![PlanOption { number: 1, ..PlanOption::default() }];
            with(&h, |c| assert!(check_option(c, 1, None).unwrap().is_empty(), "an option without measures breaks nothing"));
            h.measures = odd_measures();
            with(&h, |c| {
                for f in check_option(c, 1, None).unwrap() {
                    let text = [&f.what, &f.place, &f.value, &f.needed, &f.why, &f.hint];
                    assert!(text.iter().all(|t| !t.is_empty() && !t.contains("NaN") && !t.contains("inf ") && !t.contains("  ")), "{f:?}");
                    assert!(f.measure.is_some() && !f.source.is_empty(), "{f:?}");
                    f.withheld();
                }
                assert!(check_option(c, 7, None).unwrap().is_empty());
            });
        }
    }
}

#[test]
fn every_rule_on_measures_is_in_the_book_once_and_stays_out_of_the_check_of_the_ground() {
    for entry in all() {
        assert!(crate::rules::find(entry.rule.key).is_some(), "{}", entry.rule.key);
        assert!(!crate::rules::on_ground().iter().any(|e| e.rule.key == entry.rule.key));
    }
}
