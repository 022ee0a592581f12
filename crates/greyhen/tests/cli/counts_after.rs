//! Before and after work at a lek, as people ask it.

use crate::counts_in::{flowing, plan, write};
use crate::program::run;
use crate::schema::holds_schema;
use std::path::Path;

/// Counts of 2011 to 2022: at one lek twice as many after 2016, at the others as before.
fn counted(dir: &Path) -> String {
    let plan = plan(dir);
    let mut text = "lek,date,start,cocks\n".to_string();
    for year in 2011..2023 {
        let swing = [0, 1, -1, 0, 1, 0, -1, 1, 0, 0, 1, -1][(year - 2011) as usize];
        for (lek, most) in [("L1", if year > 2016 { 16 } else { 8 }), ("L2", 9), ("L3", 7)] {
            text.push_str(&format!("{lek},{year}-04-12,05:40,{}\n{lek},{year}-04-26,05:10,{}\n", most + swing, most + swing - 1));
        }
    }
    let visits = write(dir, "visits.csv", &text);
    run(0, &["counts", &plan, "import", &visits]);
    run(0, &["option", &plan, "add", "Quiet and short"]);
    plan
}

#[test]
fn a_worked_lek_is_read_out_and_its_cause_never_told() {
    let dir = tempfile::tempdir().unwrap();
    let plan = counted(dir.path());
    assert!(flowing(&run(0, &["counts", &plan, "after"]).0).contains("the plan has no measures"));
    run(0, &["measure", &plan, "add", "lek_care", "--option", "1", "--year", "2016", "--on", "L1", "--fact", "work=short"]);
    let told = flowing(&run(0, &["counts", &plan, "after"]).0);
    assert!(told.contains("No lek has work done within 1500 m") && told.contains("1 measure not noted as done"), "{told}");
    assert!(run(0, &["measure", &plan, "done", "lek_care-1", "--year", "2016"]).0.contains("is done in 2016"));
    let out = holds_schema("counts-after.json", &run(0, &["counts", &plan, "after", "--json"]).0);
    let leks = out["leks"].as_array().unwrap();
    assert_eq!((leks.len(), leks[0]["lek"].as_str(), leks[0]["standing"].as_str()), (1, Some("High Knowe"), Some("more")));
    assert_eq!((leks[0]["before"]["years"].as_array().unwrap().len(), leks[0]["after"]["years"].as_array().unwrap().len()), (6, 6));
    let change = leks[0]["change"]["widened"]["value"].as_f64().unwrap();
    assert!((change - 96.0 / 49.0).abs() < 1e-9, "{change}");
    assert!((leks[0]["beside"]["limits"]["value"].as_f64().unwrap() - change).abs() < 0.2 && leks[0]["beside"]["leks"] == 2, "{out:#}");
    assert_eq!(leks[0]["cannot_be_concluded"][0]["reason"], "one_lek");
    let told = flowing(&run(0, &["counts", &plan, "after", "--lek", "high knowe", "--expected", "1.2:1-1.4"]).0);
    for wanted in ["lek_care-1: Lek cared for", "did better than at the other leks", "Expected: 1.20 times", "more was counted than that", "What cannot be concluded", "not an experiment", "a rise would be seen"] {
        assert!(told.contains(wanted), "{wanted}: {told}");
    }
    assert!(flowing(&run(0, &["counts", &plan, "after", "--lek", "L2"]).0).contains("has no work done within"));
    // Taken back, it is no part of it.
    run(0, &["measure", &plan, "done", "lek_care-1", "--not-yet"]);
    let out = holds_schema("counts-after.json", &run(0, &["counts", &plan, "after", "--json"]).0);
    assert!(out["leks"].as_array().unwrap().is_empty() && out["not_done"] == 1, "{out:#}");
}

#[test]
fn work_just_done_is_too_soon_and_far_work_is_nobodys() {
    let dir = tempfile::tempdir().unwrap();
    let plan = counted(dir.path());
    let area = write(
        dir.path(),
        "gill.geojson",
        r#"{"type":"FeatureCollection","crs":{"type":"name","properties":{"name":"urn:ogc:def:crs:EPSG::27700"}},"features":[
        {"type":"Feature","properties":{},"geometry":{"type":"Polygon","coordinates":[[[391200,521500],[391300,521500],[391300,521600],[391200,521600],[391200,521500]]]}}]}"#,
    );
    run(0, &["measure", &plan, "add", "wood", "--option", "1", "--year", "2020", "--area", &area]);
    run(0, &["measure", &plan, "done", "wood-1", "--year", "2021"]);
    let out = holds_schema("counts-after.json", &run(0, &["counts", &plan, "after", "--json"]).0);
    assert_eq!((out["leks"][0]["shows_from"].as_i64(), out["leks"][0]["could_show"].as_u64()), (Some(2029), Some(0)));
    // How far work lies from a lek would tell where it is: bands, unless leks are shown.
    let work = |o: &serde_json::Value| o["leks"][0]["works"][0].clone();
    assert!(work(&out)["away_m"].is_null() && work(&out)["band"].as_str().is_some_and(|b| b.contains("km")), "{out:#}");
    let shown = holds_schema("counts-after.json", &run(0, &["counts", &plan, "after", "--show-leks", "--json"]).0);
    assert!(work(&shown)["away_m"].as_f64().is_some_and(|m| m > 0.0));
    let reasons: Vec<&str> = out["leks"][0]["cannot_be_concluded"].as_array().unwrap().iter().map(|c| c["reason"].as_str().unwrap()).collect();
    assert!(reasons.contains(&"too_soon") && reasons.contains(&"few_years"), "{reasons:?}");
    let near = holds_schema("counts-after.json", &run(0, &["counts", &plan, "after", "--within", "100", "--show-leks", "--json"]).0);
    assert_eq!((near["leks"].as_array().unwrap().len(), near["near_no_lek"][0].as_str()), (0, Some("wood-1")));
}

#[test]
fn what_cannot_be_asked_is_told() {
    let dir = tempfile::tempdir().unwrap();
    let plan = counted(dir.path());
    run(0, &["measure", &plan, "add", "lek_care", "--option", "1", "--year", "2016", "--on", "L1", "--fact", "work=short"]);
    for (typed, wanted) in [
        (&["counts", &plan, "after", "--option", "9"][..], "option 9: not in the plan"),
        (&["counts", &plan, "after", "--lek", "Nowhere"], "is no lek of the plan"),
        (&["counts", &plan, "after", "--within", "744"], "one of 1000, 3000"),
        (&["counts", &plan, "after", "--expected", "1e9"], "up to 100"),
        (&["measure", &plan, "done", "lek_care-1", "--year", "1500"], "needed: 1900 or later"),
        (&["counts", &plan, "after", "--expected", "much"], "needed a multiple above 0"),
        (&["counts", &plan, "after", "--expected", "1.5:2-3"], "needed a multiple above 0"),
        (&["measure", &plan, "done", "lek_care-1", "--year", "2015"], "needed: 2016 or later"),
        (&["measure", &plan, "done", "lek_care-1", "--year", "2999"], "work that lies ahead is not done"),
        (&["measure", &plan, "done", "wood-9", "--year", "2016"], "measure `wood-9`: not in the plan"),
    ] {
        let (_, said) = run(2, typed);
        assert!(said.contains(wanted), "{typed:?}: {said}");
    }
}
