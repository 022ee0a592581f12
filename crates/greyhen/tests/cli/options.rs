//! Options and measures on the command line, as people and scripts meet them.


use crate::program::run;
use crate::schema::holds_schema;
use serde_json::Value;
use std::path::Path;

/// A square kilometre and a half of invented moor with a hill parcel, a field, a spruce wood, a lek and ewes.
fn plan(dir: &Path) -> String {
    let at = |name: &str| dir.join(name).to_str().unwrap().to_string();
    let write = |name: &str, text: &str| std::fs::write(dir.join(name), text).unwrap();
    let square = |x0: u32, y0: u32, x1: u32, y1: u32| format!("\"POLYGON(({x0} {y0},{x1} {y0},{x1} {y1},{x0} {y1},{x0} {y0}))\"");
    write("boundary.csv", &format!("name,wkt\nInvented Hill,{}\n", square(390_000, 520_000, 391_500, 521_500)));
    write("vegetation.csv", &format!("id,phase1,height_cm,wkt\np1,D1.1,30,{}\n", square(390_000, 520_000, 391_500, 521_500)));
    write("leks.csv", "id,name,easting,northing\nL1,Invented Knowe,390700,520700\n");
    write("parcels.csv", &format!("id,name,kind,wkt\nH,High Moor,hill,{}\nF,Low Field,arable,{}\n", square(390_000, 520_000, 391_500, 521_500), square(390_000, 520_000, 390_200, 520_200)));
    write("woods.csv", &format!("id,name,planted,species,wkt\nW1,Invented Plantation,2000,spruce 2000,{}\n", square(391_000, 521_000, 391_200, 521_200)));
    write("stock.csv", "parcel,class,head,month\nH,ewes,200,Apr-Oct\nH,ewes,100,Nov-Mar\n");
    let plan = at("hill.gpkg");
    run(0, &["new", &plan, "--boundary", &at("boundary.csv"), "--country", "England", "--as-at", "2026-06-01"]);
    for (kind, file) in [("patches", "vegetation.csv"), ("leks", "leks.csv"), ("parcels", "parcels.csv"), ("woods", "woods.csv"), ("stock", "stock.csv")] {
        run(0, &["import", &plan, kind, &at(file)]);
    }
    plan
}

fn gill(dir: &Path) -> String {
    let path = dir.join("gill.geojson");
    let text = r#"{"type":"FeatureCollection","crs":{"type":"name","properties":{"name":"urn:ogc:def:crs:EPSG::27700"}},"features":[
        {"type":"Feature","properties":{},"geometry":{"type":"Polygon","coordinates":[[[390200,521000],[390300,521000],[390300,521200],[390200,521200],[390200,521000]]]}}]}"#;
    std::fs::write(&path, text).unwrap();
    path.to_str().unwrap().to_string()
}

#[test]
fn an_option_grows_is_copied_and_goes_with_its_measures() {
    let dir = tempfile::tempdir().unwrap();
    let (plan, gill) = (plan(dir.path()), gill(dir.path()));
    assert!(run(0, &["option", &plan, "list"]).0.contains("No option yet"));
    holds_schema("options.json", &run(0, &["option", &plan, "list", "--json"]).0);
    assert!(run(0, &["option", &plan, "add", "More trees", "--note", "along the gill"]).0.contains("Added option 1"));
    let (stdout, _) = run(0, &[
        "measure", &plan, "add", "wood", "--option", "1", "--year", "2028", "--area", &gill, "--fact", "stems_per_ha=1000", "--fact", "mix=birch 60, rowan 40",
    ]);
    // Two hectares of a thousand stems, at the English rate, with what to mind.
    assert!(stdout.contains("Added wood-1") && stdout.contains("birch 1200 trees") && stdout.contains("cost.england.te4_tree") && stdout.contains("Mind:"), "{stdout}");
    run(0, &["measure", &plan, "add", "grazing", "--option", "1", "--on", "high moor", "--fact", "head=Nov-Mar 50"]);
    run(0, &["measure", &plan, "add", "lek-care", "--option", "1", "--on", "L1", "--fact", "work=quiet"]);
    run(0, &["measure", &plan, "add", "conifer_edge", "--option", "1", "--on", "W1", "--fact", "work=feather"]);
    run(0, &["measure", &plan, "add", "inbye", "--option", "1", "--on", "Low Field", "--fact", "work=roots"]);
    run(0, &["measure", &plan, "add", "heather", "--option", "1", "--area", &gill, "--fact", "every=10"]);

    let (stdout, _) = run(0, &["measure", &plan, "list", "--json"]);
    let list = holds_schema("measures.json", &stdout);
    let measures = list["measures"].as_array().unwrap();
    assert_eq!(measures.len(), 6);
    assert!(measures.iter().all(|m| m["faults"].as_array().unwrap().is_empty()), "{list:#}");
    assert_eq!(measures[1]["facts"], serde_json::json!({"parcel": "H", "head": {"Nov-Mar": 50}}));
    // A feathered band of 30 m inside the four hectares: 200 squared less 140 squared.
    assert!((measures[3]["quantities"][0]["amount"].as_f64().unwrap() - 2.04).abs() < 1e-6, "{list:#}");
    assert!(!stdout.contains("390700"), "the lek's place is told to nobody");
    assert_eq!(stdout, run(0, &["measure", &plan, "list", "--json"]).0);
    let screen = run(0, &["measure", &plan, "list", "--option", "1"]).0;
    assert!(screen.contains("harm:") && screen.contains("when:") && screen.contains("undiscounted"), "{screen}");

    assert!(run(0, &["option", &plan, "copy", "1", "Fewer"]).0.contains("with 6 measures"));
    run(0, &["measure", &plan, "drop", "wood-2"]);
    let options = holds_schema("options.json", &run(0, &["option", &plan, "list", "--json"]).0);
    let of = |n: usize, what: &str| options["options"][n][what].clone();
    assert_eq!((of(0, "measures").as_array().unwrap().len(), of(1, "measures").as_array().unwrap().len()), (6, 5));
    assert_eq!((of(0, "faults"), of(0, "note")), (serde_json::json!(0), serde_json::json!("along the gill")));
    // The wood of 2,450 trees at 1.72 and 2,000 shelters at 2.43 GBP is what the copy saves.
    let saved = of(0, "gbp")["usual"].as_f64().unwrap() - of(1, "gbp")["usual"].as_f64().unwrap();
    assert!((saved - (2450.0 * 1.72 + 2000.0 * 2.43)).abs() < 0.02, "{saved}");
    assert!(run(0, &["option", &plan, "list"]).0.contains("More trees"));

    let (stdout, _) = run(0, &["option", &plan, "drop", "1"]);
    assert!(stdout.contains("its 6 measures") && stdout.contains("wood-1"), "{stdout}");
    let show: Value = serde_json::from_str(&run(0, &["show", &plan, "--json"]).0).unwrap();
    assert_eq!((&show["counts"]["options"], &show["counts"]["measures"]), (&serde_json::json!(1), &serde_json::json!(5)));
    // A number once used is not given to another while measures bear it.
    assert!(run(0, &["option", &plan, "add", "Again"]).0.contains("Added option 3"));
}

#[test]
fn everything_wrong_is_told_at_once_and_nothing_is_written() {
    let dir = tempfile::tempdir().unwrap();
    let (plan, gill) = (plan(dir.path()), gill(dir.path()));
    run(0, &["option", &plan, "add", "One"]);
    let before = std::fs::read(&plan).unwrap();
    let said = |arguments: &[&str], words: &[&str]| {
        let (_, stderr) = run(2, &[&arguments[..1], &[plan.as_str()], &arguments[1..]].concat());
        assert!(words.iter().all(|w| stderr.contains(w)), "{arguments:?}: {stderr}");
        assert_eq!(before, std::fs::read(&plan).unwrap());
    };
    said(
        &["measure", "add", "wood", "--option", "7", "--year", "1999", "--area", &gill, "--fact", "mix=birch 60, palm 10", "--fact", "open_pct=120", "--fact", "colour=red"],
        &["option 7", "1 (One)", "1999", "palm", "70 percent", "open_pct", "colour", "stems_per_ha", "Nothing was added"],
    );
    said(&["measure", "add", "moat", "--option", "1"], &["`moat`", "conifer_edge"]);
    said(&["measure", "add", "wood", "--option", "1"], &["area", "--area"]);
    said(&["measure", "add", "wood", "--option", "1", "--on", "L1"], &["lek", "place without an area"]);
    said(&["measure", "add", "grazing", "--option", "1", "--on", "Moon"], &["Moon"]);
    said(&["measure", "add", "conifer_edge", "--option", "1", "--area", &gill, "--fact", "work=fell"], &["no wood of the plan"]);
    said(&["measure", "add", "wood", "--option", "1", "--area", "no_such.geojson"], &["no_such.geojson"]);
    said(&["measure", "drop", "wood-9"], &["wood-9", "no measures"]);
    said(&["measure", "list", "--option", "9"], &["option 9"]);
    said(&["measure", "kinds", "moat"], &["heather"]);
    said(&["option", "add", " "], &["empty"]);
    said(&["option", "add", "one"], &["option 1 already"]);
    said(&["option", "copy", "4", "one"], &["option 4", "option 1 already", "2 things are wrong"]);
    said(&["option", "drop", "4"], &["option 4"]);
    said(&["import", "leks", &gill, "--option", "1"], &["--option is for measures"]);
    let (_, stderr) = run(2, &["measure", &plan, "add", "wood", "--option", "1", "--fact", "open_pct"]);
    assert!(stderr.contains("name=value"), "{stderr}");
}

#[test]
fn measures_drawn_elsewhere_come_in_with_their_facts() {
    let dir = tempfile::tempdir().unwrap();
    let plan = plan(dir.path());
    run(0, &["option", &plan, "add", "Drawn"]);
    let drawn = dir.path().join("drawn.geojson");
    let feature = |properties: &str, x: u32| {
        format!(r#"{{"type":"Feature","properties":{properties},"geometry":{{"type":"Polygon","coordinates":[[[{x},521000],[{},521000],[{},521100],[{x},521100],[{x},521000]]]}}}}"#, x + 100, x + 100)
    };
    let file = |rows: &[String]| {
        let text = format!(r#"{{"type":"FeatureCollection","crs":{{"type":"name","properties":{{"name":"urn:ogc:def:crs:EPSG::27700"}}}},"features":[{}]}}"#, rows.join(","));
        std::fs::write(&drawn, text).unwrap();
    };
    let drawn = drawn.to_str().unwrap().to_string();
    file(&[
        feature(r#"{"kind":"Wood","year":2029,"Open pct":"50","mix":"birch 50, willow 50","surveyor":"nobody"}"#, 390_200),
        feature(r#"{"kind":"heather","work":"burn"}"#, 390_400),
        r#"{"type":"Feature","geometry":null,"properties":{"kind":"grazing","parcel":"High Moor","off_winter_head":40}}"#.to_string(),
    ]);
    let (stdout, _) = run(0, &["import", &plan, "measures", &drawn, "--option", "1"]);
    assert!(stdout.contains("no such facts: surveyor") && stdout.contains("Imported 3 measures"), "{stdout}");
    let list = holds_schema("measures.json", &run(0, &["measure", &plan, "list", "--json"]).0);
    assert_eq!(list["measures"][0]["facts"], serde_json::json!({"mix": {"birch": 50, "willow": 50}, "open_pct": 50, "surveyor": "nobody"}));
    assert_eq!((&list["measures"][0]["kind"], &list["measures"][0]["year"]), (&serde_json::json!("wood"), &serde_json::json!(2029)));
    assert!(list["measures"][2]["costs"][0]["gbp"]["usual"].as_f64().unwrap() > 0.0);
    // Replacing leaves the other options alone.
    run(0, &["option", &plan, "copy", "1", "Other"]);
    file(&[feature(r#"{"kind":"heather"}"#, 390_400)]);
    run(0, &["import", &plan, "measures", &drawn, "--option", "1", "--replace"]);
    let options: Value = serde_json::from_str(&run(0, &["option", &plan, "list", "--json"]).0).unwrap();
    let count = |n: usize| options["options"][n]["measures"].as_array().unwrap().len();
    assert_eq!((count(0), count(1)), (1, 3));
    // Faults of all rows together, with their rows, and the plan as it was.
    file(&[feature(r#"{"kind":"moat"}"#, 390_200), feature(r#"{"kind":"wood","open_pct":"lots","year":1999}"#, 390_400)]);
    let before = std::fs::read(&plan).unwrap();
    let (_, stderr) = run(2, &["import", &plan, "measures", &drawn, "--option", "1"]);
    assert!(stderr.contains("3 things are wrong") && stderr.contains("row 1") && stderr.contains("row 2") && stderr.contains("lots"), "{stderr}");
    assert!(run(2, &["import", &plan, "measures", &drawn]).1.contains("--option NUMBER"));
    assert!(run(2, &["import", &plan, "measures", &drawn, "--option", "5"]).1.contains("option 5"));
    assert!(run(2, &["import", &plan, "measures", &drawn, "--replace"]).1.contains("whose measures"));
    assert_eq!(before, std::fs::read(&plan).unwrap());
}

#[test]
fn kinds_are_told_with_their_facts_and_what_to_mind() {
    let dir = tempfile::tempdir().unwrap();
    let plan = plan(dir.path());
    let (stdout, _) = run(0, &["measure", &plan, "kinds"]);
    for kind in ["wood", "conifer_edge", "grazing", "heather", "inbye", "lek_care"] {
        assert!(stdout.contains(kind), "{stdout}");
        let (one, _) = run(0, &["measure", &plan, "kinds", kind]);
        assert!(one.contains("facts, as --fact") && one.contains("Mind:") && !one.contains(['{', '}']), "{one}");
    }
    let kinds = holds_schema("kinds.json", &run(0, &["measure", &plan, "kinds", "--json"]).0);
    assert!(kinds["kinds"].as_array().unwrap().len() >= 6);
}
