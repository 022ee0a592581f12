//! Every rule on the invented demonstration holding, which has a fault for each but one: all its leks lie on level ground.

use guidance::Guidance;
use habitat::Settings;
use measures::json::to_json;
use measures::rules::{self, Context};

#[test]
fn every_rule_finds_its_fault_on_the_demonstration_holding() {
    let holding = demo::holding(1);
    let guidance = Guidance::load().unwrap();
    let assessed = habitat::assess(&holding, &guidance, Settings { draws: 200, seed: 1, cell_m: None }).unwrap();
    let context = Context::new(&holding, &guidance, &assessed);
    let findings = rules::check_all(&context).unwrap();
    for f in &findings {
        println!("{:8} {:22} {}\n    at: {}\n    is: {}\n    needed: {}", f.severity.word(), f.rule, f.what, f.place, f.value, f.needed);
    }
    let silent: Vec<&str> = rules::all().iter().map(|e| e.rule.key).filter(|k| !findings.iter().any(|f| f.rule == *k)).collect();
    assert!(silent.iter().all(|k| *k == "display_ground_steep"), "no finding of {silent:?}");
    assert!(findings.is_sorted_by_key(|f| f.severity));
    for f in &findings {
        let text = [&f.what, &f.place, &f.value, &f.needed, &f.why, &f.hint];
        assert!(text.iter().all(|t| !t.is_empty() && !t.contains("NaN") && !t.contains("  ")), "{f:?}");
    }
    let again = rules::check_all(&context).unwrap();
    let json = |f: &[measures::Finding]| to_json(f, &guidance, holding.about.epsg, true).to_string();
    assert_eq!(json(&findings), json(&again));
}
