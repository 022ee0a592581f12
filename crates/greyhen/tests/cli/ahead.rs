//! The years ahead on the command line.

use crate::program::{demonstration, greyhen};
use crate::schema::holds_schema;
use serde_json::Value;

#[test]
fn the_demonstration_looks_thirty_years_ahead() {
    let folder = tempfile::tempdir().unwrap();
    let plan = demonstration(folder.path());
    let plan = plan.as_str();
    let out = greyhen(&["ahead", plan, "--draws", "20", "--json"]);
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    let now = holds_schema("ahead.json", std::str::from_utf8(&out.stdout).unwrap());
    assert_eq!(now["schema"], "greyhen.ahead/1");
    let years: Vec<u64> = now["years"].as_array().unwrap().iter().map(|y| y["year"].as_u64().unwrap()).collect();
    assert_eq!(years, [0, 1, 2, 3, 5, 8, 10, 15, 20, 25, 30]);
    assert_eq!(now["years"][0]["leks"][0]["seasons"].as_array().unwrap().len(), 7);
    let out = greyhen(&["ahead", plan, "--draws", "20", "--option", "7"]);
    assert_eq!(out.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&out.stderr).contains("option 7: not in the plan"));
    let out = greyhen(&["ahead", plan, "--draws", "20"]);
    let text = String::from_utf8(out.stdout).unwrap();
    assert!(text.contains("nothing done") && text.contains("snow"), "{text}");
    // Options that are the same differ by exactly nothing; one that plants does not stay as now.
    let ok = |arguments: &[&str]| {
        let out = greyhen(arguments);
        assert!(out.status.success(), "{arguments:?} {}", String::from_utf8_lossy(&out.stderr));
        String::from_utf8(out.stdout).unwrap()
    };
    let patch: Value = serde_json::from_str(&ok(&["assess", plan, "--draws", "2", "--json"])).unwrap();
    let on = patch["leks"][0]["seasons"][3]["losses"][0]["stands"][0]["id"].as_str().unwrap().to_string();
    ok(&["option", plan, "add", "Trees"]);
    ok(&["measure", plan, "add", "wood", "--option", "1", "--on", &on]);
    ok(&["option", plan, "copy", "1", "The same"]);
    let told: Value = serde_json::from_str(&ok(&["compare", plan, "1", "2", "--draws", "20", "--at", "0,10,20", "--json"])).unwrap();
    assert_eq!(told["schema"], "greyhen.compare/1");
    let pairs = told["pairs"].as_array().unwrap();
    let alike: Vec<(u64, u64, bool)> = pairs.iter().map(|p| (p["first"].as_u64().unwrap(), p["second"].as_u64().unwrap(), p["alike"].as_bool().unwrap())).collect();
    assert_eq!(alike, [(0, 1, false), (0, 2, false), (1, 2, true)]);
    for d in pairs[2]["differences"].as_array().unwrap() {
        assert_eq!((d["margin"]["p10"].as_f64(), d["margin"]["p90"].as_f64()), (Some(0.0), Some(0.0)));
    }
    let check = greyhen(&["check", plan, "--draws", "20", "--option", "1", "--json"]);
    let check: Value = serde_json::from_slice(&check.stdout).unwrap();
    assert!(check["findings"].as_array().unwrap().iter().any(|f| !f["measure"].is_null()));
}
