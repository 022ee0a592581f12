//! Tests of the book as a whole.

use super::*;
use guidance::{Country, Guidance};

#[test]
fn every_rule_is_whole_and_named_once() {
    let guidance = Guidance::load().unwrap();
    let mut keys = Vec::new();
    for entry in all() {
        let rule = entry.rule;
        assert!(!keys.contains(&rule.key), "{} twice", rule.key);
        keys.push(rule.key);
        assert!(rule.explain.len() > 300, "{}: too little said", rule.key);
        for key in rule.keys {
            guidance.row(key, Country::GB).or_else(|e| guidance.rows_of(key).next().ok_or(e)).unwrap();
        }
        for named in rule.explain.split('{').skip(1).filter_map(|t| t.split_once('}')) {
            assert!(rule.keys.contains(&named.0), "{}: {} is named but not among its keys", rule.key, named.0);
        }
        for country in [Country::GB, Country::England, Country::Wales, Country::Scotland] {
            let text = page::explained(rule, &guidance, country).unwrap();
            assert!(!text.contains(['{', '}']), "{}: a figure is not put in: {text}", rule.key);
        }
        assert!(std::ptr::eq(find(rule.key).unwrap().rule, rule));
    }
    assert!(find("no_such_rule").is_none());
}

#[test]
fn every_figure_of_the_rules_table_is_used() {
    let guidance = Guidance::load().unwrap();
    for row in guidance.under("rule.") {
        assert!(all().iter().any(|e| e.rule.keys.contains(&row.key.as_str())), "{} is used by no rule", row.key);
    }
}

#[test]
fn the_written_rulebook_is_the_generated_one() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs/rules.md");
    let page = page::page(&Guidance::load().unwrap()).unwrap();
    if std::env::var_os("GREYHEN_BLESS").is_some() {
        std::fs::write(path, &page).unwrap();
    }
    let written = std::fs::read_to_string(path).unwrap_or_default();
    assert!(written == page, "docs/rules.md is not what the rules say; run with GREYHEN_BLESS=1 and read the difference");
}

#[test]
fn a_bare_survey_breaks_no_rule_check() {
    let holding = fixture::bare();
    for entry in on_ground() {
        if let Check::OnGround(check) = entry.check {
            fixture::run(&holding, check);
        }
    }
}
