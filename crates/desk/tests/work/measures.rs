//! Kinds, measures and findings as the page has them.

use crate::support::{start, with_measures};
use desk::session::of_measure;
use desk::work::courses::{Courses, context};
use desk::work::measures as told;
use holding::Measure;
use measures::{Severity, kind, option};

#[test]
fn every_kind_is_told_with_its_facts() {
    let start = start();
    let kinds = told::kinds(&start.holding, &start.guidance).unwrap();
    assert_eq!(kinds.iter().map(|k| k.key.as_str()).collect::<Vec<_>>(), kind::all().iter().map(|e| e.key).collect::<Vec<_>>());
    for kind in &kinds {
        assert!(!kind.explain.contains('{') && ["area", "line", "either", "nothing"].contains(&kind.draws.as_str()));
        for fact in &kind.facts {
            assert_eq!(fact.form == "choice", !fact.choices.is_empty(), "{} {}", kind.key, fact.name);
            assert_eq!(fact.form == "number", fact.from.is_some() && fact.to.is_some());
            assert!(!fact.what.is_empty());
        }
    }
    assert!(kinds.iter().any(|k| k.facts.iter().any(|f| f.form == "feature" && f.name == "parcel")));
}

#[test]
fn measures_cost_what_the_option_costs() {
    let start = start();
    let all = told::measures(&start, Some(1)).unwrap();
    assert_eq!(all.iter().map(|m| m.id.as_str()).collect::<Vec<_>>(), ["wood-1", "grazing-1"]);
    let costs = option::costs(&context(&start), 1).unwrap();
    assert!(all.iter().zip(&costs).all(|(m, c)| m.gbp == c.gbp) && all[0].gbp[1] > 0.0);
    // A circle of 24 corners and 90 m.
    assert!((all[0].area_ha.unwrap() - 2.5157).abs() < 0.001 && all[0].geometry.is_some() && all[1].geometry.is_none());
    assert!(all.iter().all(|m| m.faults.is_empty() && !m.window.is_empty() && !m.title.is_empty()), "{all:?}");
    let strange = with_measures(&start, |m| m.push(Measure { id: "x".into(), option: 2, kind: "=moat".into(), ..Measure::default() }));
    let strange = told::measures(&strange, Some(2)).unwrap();
    assert!(strange[0].kind == "=moat" && strange[0].faults.len() == 1);
}

#[test]
fn findings_are_those_of_the_rules_with_place_and_source() {
    let start = start();
    let courses = Courses::default();
    let of = |option| {
        let (_, start, course) = courses.under(|| Ok((1, start.clone())), option, 0).unwrap();
        told::findings(course.findings().unwrap(), &start.guidance)
    };
    let now = of(None);
    let rules = measures::rules::check_all(&context(&start)).unwrap();
    let of_rules = |severity| rules.iter().filter(|f| f.severity == severity).map(|f| f.rule).collect::<Vec<_>>();
    assert_eq!(now.iter().map(|f| f.rule.as_str()).collect::<Vec<_>>(), [Severity::Must, Severity::Should, Severity::Consider].map(of_rules).concat());
    assert!(now.len() > 10 && now.iter().all(|f| ["must", "should", "consider"].contains(&f.severity.as_str()) && !f.what.is_empty() && !f.needed.is_empty() && !f.why.is_empty()));
    assert!(now.iter().filter(|f| f.geometry.is_some()).count() > 5 && now.iter().filter(|f| !f.sources.is_empty()).count() > 5);
    for f in &now {
        assert!(f.sources.iter().all(|s| f.sources.iter().filter(|t| t.words == s.words).count() == 1 && !s.words.contains("no source,") && !s.figures.is_empty()), "{:?}", f.sources);
    }
    let planned = of(Some(1));
    assert!(planned.is_sorted_by_key(|f| f.on.is_empty()), "what is found on measures comes first");
    assert!(planned.iter().any(|f| f.on == "wood-1"), "a wood by a lek is found by no rule");
}

#[test]
fn hints_for_a_terminal_do_not_reach_the_page() {
    let start = start();
    let c = context(&start);
    for entry in kind::all() {
        let bare = Measure { kind: entry.key.into(), option: 1, ..Measure::default() };
        for fault in (entry.faults)(&c, &bare) {
            let told = of_measure(fault);
            assert!(!told.hint.contains("--") && !told.hint.contains("greyhen "), "{}: {told:?}", entry.key);
        }
    }
}
