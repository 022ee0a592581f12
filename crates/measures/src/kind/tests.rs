//! Tests of the book of kinds, and what the kinds' own tests share.

use super::*;
use crate::rules::fixture;
use geo_types::MultiPolygon;
use habitat::Settings;
use serde_json::Value;

/// Assess a holding and look at it.
pub fn with<T>(holding: &Holding, look: impl FnOnce(&Context) -> T) -> T {
    let guidance = Guidance::load().unwrap();
    let assessed = habitat::assess(holding, &guidance, Settings { draws: 2, seed: 1, cell_m: Some(50.0) }).unwrap();
    look(&Context::new(holding, &guidance, &assessed))
}

/// A measure of option 1 with facts.
pub fn measure(kind: &str, shape: MultiPolygon<f64>, facts: &[(&str, Value)]) -> Measure {
    Measure {
        id: "M1".to_string(),
        option: 1,
        kind: kind.to_string(),
        shape,
        facts: facts.iter().map(|(k, v)| (k.to_string(), v.clone())).collect(),
        ..Measure::default()
    }
}

#[test]
fn every_kind_is_whole_and_named_once() {
    let guidance = Guidance::load().unwrap();
    let mut keys = Vec::new();
    for entry in all() {
        assert!(!keys.contains(&entry.key), "{} twice", entry.key);
        keys.push(entry.key);
        assert!(std::ptr::eq(find(entry.key).unwrap(), *entry));
        for country in [Country::GB, Country::England, Country::Wales, Country::Scotland] {
            let text = entry.explained(&guidance, country).unwrap();
            assert!(text.len() > 300 && !text.contains(['{', '}']), "{}: {text}", entry.key);
            for caution in entry.cautions {
                guidance.row(caution, country).unwrap();
            }
            for fact in entry.facts {
                if let Usual::Key(key) = fact.usual {
                    guidance.row(key, country).unwrap();
                }
            }
        }
        let mut names: Vec<&str> = entry.facts.iter().map(|f| f.name).collect();
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), entry.facts.len(), "{}: a fact twice", entry.key);
    }
    assert!(find("no_such_kind").is_none());
}

#[test]
fn the_first_year_is_counted_from_the_plans_day() {
    with(&fixture::moor(), |c| {
        let at = |year| year_of(c, &Measure { year, ..Measure::default() });
        assert_eq!([at(None), at(Some(2020)), at(Some(2026)), at(Some(2027)), at(Some(2031))], [1, 1, 1, 1, 5]);
    });
}

#[test]
fn a_measure_with_nothing_said_breaks_no_kind() {
    let mut bare = fixture::bare();
    bare.about.country = Country::Scotland;
    with(&bare, |c| {
        for entry in all() {
            let m = measure(entry.key, MultiPolygon(vec![]), &[]);
            assert!(!(entry.faults)(c, &m).is_empty(), "{}: nothing at all is not enough", entry.key);
            (entry.quantities)(c, &m).unwrap();
            (entry.works)(c, &m, &mut Programme::default()).unwrap();
            (entry.features)(c, &m, &mut c.holding.clone()).unwrap();
            (entry.harm)(c, &m).unwrap();
            (entry.costs)(c, &m).unwrap();
            (entry.window)(c, &m).unwrap();
        }
    });
}
