//! Every rule on the invented demonstration holding, which has a fault for each but one: all its leks lie on level ground.

#![allow(clippy::unwrap_used, reason = "a test may stop")]

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
    let silent: Vec<&str> = rules::on_ground().iter().map(|e| e.rule.key).filter(|k| !findings.iter().any(|f| f.rule == *k)).collect();
    assert!(silent.iter().all(|k| *k == "display_ground_steep"), "no finding of {silent:?}");
    assert!(findings.is_sorted_by_key(|f| f.severity));
    for f in &findings {
        let text = [&f.what, &f.place, &f.value, &f.needed, &f.why, &f.hint];
        assert!(text.iter().all(|t| !t.is_empty() && !t.contains("NaN") && !t.contains("  ")), "{f:?}");
    }
    let again = rules::check_all(&context).unwrap();
    let json = |f: &[measures::Finding]| to_json(f, &guidance, &holding, true).to_string();
    assert_eq!(json(&findings), json(&again));
    withheld_findings_keep_the_leks(&context, &to_json(&findings, &guidance, &holding, false));
}

/// Every blurred finding of a lek shows the one square the lek lies in, and none names ground a lek lies on or tells a length
/// from it.
fn withheld_findings_keep_the_leks(c: &Context, told: &serde_json::Value) {
    let on_leks: Vec<String> = c.stands().iter().filter(|s| c.holds_lek(s)).map(|s| c.stand_name(s)).collect();
    assert!(on_leks.iter().any(|n| n == "old lek green"), "{on_leks:?}");
    let mut blurred = 0;
    for f in told["findings"].as_array().unwrap() {
        let words = ["what", "where", "value", "needed", "hint"].map(|k| f[k].as_str().unwrap()).join(" | ");
        assert!(on_leks.iter().all(|name| !words.contains(name.as_str())), "{words}");
        assert!(!words.contains("71 m") && !words.contains("3.92 km"), "{words}");
        let Some(lek) = f["lek"].as_str().and_then(|id| c.holding.leks.iter().find(|l| l.id == id)) else { continue };
        let ring = f["geometry"]["coordinates"][0].as_array().unwrap();
        let side = |i: usize, at: f64| {
            let (low, high) = ring.iter().map(|p| p[i].as_f64().unwrap()).fold((f64::MAX, f64::MIN), |(l, h), v| (l.min(v), h.max(v)));
            assert_eq!((low, high), ((at / 1000.0).floor() * 1000.0, (at / 1000.0).floor() * 1000.0 + 1000.0), "{f}");
        };
        side(0, lek.at.x());
        side(1, lek.at.y());
        blurred += 1;
    }
    assert!(blurred >= 10);
}
