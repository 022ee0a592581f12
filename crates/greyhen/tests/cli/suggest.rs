//! Measures put forward and money spent, on the command line, over the invented demonstration. Woods, patches and budgets on coarse cells:
//! what they come to on the usual ones is checked in the suites of `measures`.


use crate::program::{demonstration, greyhen};
use crate::schema::holds_schema;
use serde_json::Value;

fn ok(arguments: &[&str]) -> String {
    let out = greyhen(arguments);
    assert!(out.status.success(), "{arguments:?} {}", String::from_utf8_lossy(&out.stderr));
    String::from_utf8(out.stdout).unwrap()
}

#[test]
fn measures_are_put_forward_laid_and_paid_for() {
    let folder = tempfile::tempdir().unwrap();
    let plan = demonstration(folder.path());
    let plan = plan.as_str();
    ok(&["option", plan, "add", "Designed"]);
    let before = std::fs::read(plan).unwrap();

    // Nothing is written without --option; what is written is said.
    let said = ok(&["suggest", plan, "water", "--draws", "2", "--most", "1"]);
    assert!(said.contains("The plan is as it was") && std::fs::read(plan).unwrap() == before, "{said}");
    let laid = ok(&["suggest", plan, "fence", "--draws", "2", "--most", "1", "--option", "1"]);
    assert!(laid.contains("Laid in option 1") && ok(&["measure", plan, "list"]).contains("fence-1"), "{laid}");
    ok(&["measure", plan, "drop", "fence-1"]);

    // Woods: put forward and laid.
    let said = holds_schema("suggest.json", &ok(&["suggest", plan, "wood", "--draws", "8", "--cell", "20", "--ha", "8", "--option", "1", "--json"]));
    let (objective, bound) = (said["objective"].as_f64().unwrap(), said["upper_bound"].as_f64().unwrap());
    assert!(objective <= bound + 1e-9 && said["gap"].as_f64().unwrap() <= 0.03);
    let woods = said["measures"].as_array().unwrap();
    assert!(!woods.is_empty() && woods.iter().all(|w| w["geometry"].is_null() && w["why"] == ""), "places stay at home");
    let listed: Value = serde_json::from_str(&ok(&["measure", plan, "list", "--json"])).unwrap();
    assert_eq!(listed["measures"].as_array().unwrap().len(), woods.len());

    // Heather and the flock: a bound each, and what speaks for it.
    let heather = holds_schema("suggest.json", &ok(&["suggest", plan, "heather", "--draws", "2", "--cell", "20", "--option", "1", "--json"]));
    assert!(heather["gap"].as_f64().unwrap() <= 0.03 && !heather["measures"].as_array().unwrap().is_empty());
    assert!(heather["blocks"].as_array().unwrap().iter().any(|b| b["worked_ha"].as_f64().unwrap() > 1.0));
    let flock = holds_schema("suggest.json", &ok(&["suggest", plan, "grazing", "--draws", "2", "--plants-only", "--option", "1", "--json"]));
    assert!(flock["gap"].as_f64().unwrap() <= 0.03 && flock["used"].as_array().unwrap().iter().all(|u| u["then"].as_f64() <= u["limit"].as_f64().map(|l| l + 1e-3)));
    let wrong = ok(&["measure", plan, "list", "--option", "1"]);
    assert!(!wrong.contains("wrong:") && !wrong.contains("needed:"), "{wrong}");

    // Fences and ditches: the first of a ranking.
    let fences = holds_schema("suggest.json", &ok(&["suggest", plan, "fence", "--draws", "2", "--most", "2", "--option", "1", "--json"]));
    assert_eq!(fences["measures"].as_array().unwrap().len(), 2);
    let water = holds_schema("suggest.json", &ok(&["suggest", plan, "water", "--draws", "2", "--budget", "900", "--json"]));
    let gbp: f64 = water["measures"].as_array().unwrap().iter().map(|m| m["gbp"]["usual"].as_f64().unwrap()).sum();
    assert!(gbp <= 900.0 && water["objective"].is_null());

    // What is laid shows in the years ahead.
    let told = holds_schema("compare.json", &ok(&["compare", plan, "1", "--draws", "8", "--at", "0,20", "--json"]));
    let better = told["pairs"][0]["differences"].as_array().unwrap().iter().filter(|d| d["better_draws"] == 8).count();
    assert!(better >= 3, "{better}");

    // What cannot be is said.
    let out = greyhen(&["suggest", plan, "wood", "--size", "5-1"]);
    assert_eq!(out.status.code(), Some(2));
    let out = greyhen(&["suggest", plan, "wood", "--option", "9"]);
    assert!(String::from_utf8_lossy(&out.stderr).contains("option 9: not in the plan"));
}

#[test]
fn money_buys_more_the_more_of_it_there_is() {
    let folder = tempfile::tempdir().unwrap();
    let plan = demonstration(folder.path());
    let plan = plan.as_str();
    ok(&["option", plan, "add", "Nothing yet"]);
    // More of it never meets less, bounds hold, the whole budget's set is laid.
    ok(&["option", plan, "add", "Ten thousand"]);
    let spent = holds_schema("spend.json", &ok(&["spend", plan, "--draws", "8", "--cell", "20", "--budget", "10000", "--points", "3", "--seconds", "5", "--option", "2", "--json"]));
    let points = spent["frontier"].as_array().unwrap();
    assert_eq!(points.len(), 3);
    for (p, next) in points.iter().zip(points.iter().skip(1)) {
        assert!(p["objective"].as_f64() <= next["objective"].as_f64());
    }
    for p in points {
        assert!(p["spent_gbp"].as_f64() <= p["budget_gbp"].as_f64().map(|b| b + 1e-6));
        assert!(p["objective"].as_f64().unwrap() <= p["upper_bound"].as_f64().unwrap() + 1e-9);
    }
    assert!(points[2]["gain"]["p50"].as_f64().unwrap() > 0.0);
    let listed: Value = serde_json::from_str(&ok(&["measure", plan, "list", "--option", "2", "--json"])).unwrap();
    assert_eq!(listed["measures"].as_array().unwrap().len(), points[2]["chosen"].as_array().unwrap().len());
}
