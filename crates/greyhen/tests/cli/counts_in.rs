//! Visits and brood counts brought in, added, changed and taken out, as people and scripts do it.

use crate::program::run;
use crate::schema::holds_schema;
use serde_json::{Value, json};
use std::path::Path;

/// Text without the line breaks that fit it to a screen.
pub fn flowing(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Write a file into a folder, and its path.
pub fn write(dir: &Path, name: &str, text: &str) -> String {
    let path = dir.join(name);
    std::fs::write(&path, text).unwrap();
    path.to_str().unwrap().to_string()
}

/// An invented moor with three leks and no counts.
pub fn plan(dir: &Path) -> String {
    let square = "\"POLYGON((390000 520000,396000 520000,396000 526000,390000 526000,390000 520000))\"";
    let boundary = write(dir, "boundary.csv", &format!("name,wkt\nInvented Moor,{square}\n"));
    let patches = write(dir, "vegetation.csv", &format!("id,phase1,height_cm,wkt\np1,D1.1,30,{square}\n"));
    let leks = write(dir, "leks.csv", "id,name,easting,northing\nL1,High Knowe,391000,521000\nL2,Low Knowe,395000,521000\nL3,Far Knowe,395000,525000\n");
    let plan = dir.join("moor.gpkg").to_str().unwrap().to_string();
    run(0, &["new", &plan, "--boundary", &boundary, "--country", "England", "--as-at", "2010-01-01"]);
    run(0, &["import", &plan, "patches", &patches]);
    run(0, &["import", &plan, "leks", &leks]);
    plan
}

fn list(plan: &str) -> Value {
    holds_schema("counts-list.json", &run(0, &["counts", plan, "list", "--show-leks", "--json"]).0)
}

#[test]
fn a_notebook_comes_in_with_its_remarks_and_its_new_leks() {
    let dir = tempfile::tempdir().unwrap();
    let plan = plan(dir.path());
    let visits = write(
        dir.path(),
        "notebook.csv",
        "Lek,Easting,Northing,Date,Time,Cocks,Hens\nHigh Knowe,,,14 Apr 2024,05:30,6-7,1\n,393000,523000,20/04/2024,05:25,4,0\nNowhere,,,21/04/2024,05:25,2,0\n",
    );
    // One lek is unknown, one place puts a lek forward: nothing goes in, and both are told at once.
    let (told, said) = run(2, &["counts", &plan, "import", &visits]);
    assert!(told.contains("put forward: new lek") && said.contains("2 things are wrong") && said.contains("--make-leks"), "{told} {said}");
    assert!(list(&plan)["visits"].as_array().unwrap().is_empty());
    let (told, _) = run(0, &["counts", &plan, "import", &visits, "--make-leks", "--leave-out"]);
    assert!(told.contains("made: new lek") && told.contains("Imported 2 visits") && told.contains("left out"), "{told}");
    let all = list(&plan);
    let visits = all["visits"].as_array().unwrap();
    assert_eq!((visits.len(), &visits[0]["lek"], &visits[0]["date"]), (2, &json!("L1"), &json!("2024-04-14")));
    assert_eq!(visits[0]["kept"]["Cocks as written"], "6-7", "{all:#}");
    // Columns kept and notes may say where a lek is.
    let withheld = holds_schema("counts-list.json", &run(0, &["counts", &plan, "list", "--json"]).0);
    assert_eq!((&withheld["withheld"], &withheld["visits"][0]["kept"], &all["withheld"]), (&json!(true), &Value::Null, &json!(false)));
    let shown = run(0, &["show", &plan, "--json"]).0;
    assert_eq!(serde_json::from_str::<Value>(&shown).unwrap()["leks"].as_array().unwrap().len(), 4);
    // What is for visits alone is refused for broods.
    let (told, said) = run(2, &["counts", &plan, "import", dir.path().join("notebook.csv").to_str().unwrap(), "--make-leks", "--broods"]);
    assert!(said.contains("--make-leks is for visits"), "{told} {said}");
    let table = dir.path().join("notebook.csv");
    let (_, said) = run(2, &["counts", table.to_str().unwrap(), "import", table.to_str().unwrap()]);
    assert!(said.contains("needed for `import`: a plan file"), "{said}");
}

#[test]
fn broods_come_in_and_are_shown() {
    let dir = tempfile::tempdir().unwrap();
    let plan = plan(dir.path());
    let broods = write(dir.path(), "broods.csv", "Date,Hens,Hens with broods,Chicks,Dog\n12/08/2024,10,6,17,Tess\n13/08/2024,4,5,6,\nsometime,4,2,6,\n");
    let (_, said) = run(2, &["counts", &plan, "import", &broods, "--broods"]);
    assert!(said.contains("2 things are wrong"), "{said}");
    let (told, _) = run(0, &["counts", &plan, "import", &broods, "--broods", "--leave-out"]);
    assert!(told.contains("Imported 1 brood "), "{told}");
    assert!(run(0, &["show", &plan]).0.contains("broods"));
    let shown = holds_schema("show.json", &run(0, &["show", &plan, "--json"]).0);
    assert_eq!(shown["counts"]["broods"], 1);
    assert_eq!(list(&plan)["broods"][0]["young"], 17);
    // Out of season: named where it comes in, where it is listed, and why.
    let told = flowing(&run(0, &["counts", &plan, "add", "broods", "--date", "2024-05-30", "--hens", "2", "--young", "4"]).0);
    assert!(told.contains("left out of the young per hen: outside the season of brood counts, 21 July to 31 August"), "{told}");
    assert!(list(&plan)["broods"].as_array().unwrap().iter().any(|b| b["why_not"].as_str().is_some_and(|why| why.contains("outside the season"))));
    let told = flowing(&run(0, &["counts", &plan, "list"]).0);
    assert!(told.contains("no (1)") && told.contains("(1) outside the season of brood counts"), "{told}");
}

#[test]
fn names_and_remarks_fit_a_screen_and_tell_no_place_unless_asked() {
    let dir = tempfile::tempdir().unwrap();
    let plan = plan(dir.path());
    let observer = "Somebody with a very long name indeed at NY 90712 21307, and a friend";
    run(0, &["counts", &plan, "add", "visit", "--lek", "L1", "--date", "2024-04-14", "--cocks", "7", "--observer", observer, "--note", "left of the third grouse butt"]);
    let told = run(0, &["counts", &plan, "list"]).0;
    assert!(told.lines().all(|line| line.chars().count() <= 100) && told.contains("..."), "{told}");
    assert!(!told.contains("90712") && !told.contains("butt") && told.contains("yes (1)") && flowing(&told).contains("(1) no start was written down"), "{told}");
    let json = run(0, &["counts", &plan, "list", "--json"]).0;
    assert!(!json.contains("90712") && !json.contains("butt") && json.contains("NY 90 21"), "{json}");
    let shown = flowing(&run(0, &["counts", &plan, "list", "--show-leks"]).0);
    assert!(shown.contains("left of the third grouse butt"), "{shown}");
}

#[test]
fn a_visit_is_added_changed_and_taken_out_by_hand() {
    let dir = tempfile::tempdir().unwrap();
    let plan = plan(dir.path());
    let told = flowing(&run(0, &["counts", &plan, "add", "visit", "--lek", "high knowe", "--date", "14 Apr 2024", "--start", "05:30", "--cocks", "7", "--wind", "light breeze", "--note", "still, \"clear\""]).0);
    assert!(told.contains("Added visit") && told.contains("High Knowe, 2024-04-14 from 05:30, 7 cocks; it counts"), "{told}");
    let id = list(&plan)["visits"][0]["id"].as_str().unwrap().to_string();
    assert_eq!(list(&plan)["visits"][0]["note"], "still, \"clear\"");
    // The same again is no second visit.
    let (_, said) = run(2, &["counts", &plan, "add", "visit", "--lek", "L1", "--date", "2024-04-14", "--start", "05:30", "--cocks", "7", "--wind", "light breeze", "--note", "still, \"clear\""]);
    assert!(said.contains("alike in everything"), "{said}");
    let told = flowing(&run(0, &["counts", &plan, "change", "visit", &id, "--cocks", "8", "--date", "2024-06-20"]).0);
    assert!(told.contains("8 cocks; it does not count: outside the season"), "{told}");
    let changed = &list(&plan)["visits"][0];
    assert_eq!((&changed["cocks"], &changed["date"], &changed["start"], &changed["note"]), (&json!(8), &json!("2024-06-20"), &json!("05:30:00"), &json!("still, \"clear\"")));
    run(0, &["counts", &plan, "change", "visit", &id, "--start", ""]);
    assert_eq!(list(&plan)["visits"][0]["start"], Value::Null);
    let told = run(0, &["counts", &plan, "remove", "visit", &id]).0;
    assert!(told.contains("Removed visit"), "{told}");
    assert!(run(0, &["counts", &plan, "list"]).0.contains("No visit and no brood count"));
}

#[test]
fn what_is_odd_of_a_visit_is_said_and_one_dawn_is_one_visit() {
    let dir = tempfile::tempdir().unwrap();
    let plan = plan(dir.path());
    let add = |date: &str, start: &str, cocks: &str| flowing(&run(0, &["counts", &plan, "add", "visit", "--lek", "L1", "--date", date, "--start", start, "--cocks", cocks]).0);
    add("2024-04-14", "05:30", "7");
    assert!(add("2024-04-14", "05:50", "6").contains("it does not count: the same dawn as visit-1"));
    let first = list(&plan)["visits"][0]["id"].as_str().unwrap().to_string();
    let told = flowing(&run(0, &["counts", &plan, "list"]).0);
    assert!(told.contains(&format!("the same dawn as {first}, which counts")), "{told}");
    let found = serde_json::from_str::<Value>(&run(0, &["counts", &plan, "found", "--json"]).0).unwrap();
    assert_eq!((&found["leks"][0]["visits"], &found["leks"][0]["valid"], &found["leks"][0]["cocks"]), (&json!(2), &json!(1), &json!(7)));
    assert!(add("2026-03-29", "01:30", "3").contains("clocks went forward"));
    assert!(add("2024-04-28", "05:30", "200").contains("200, at most 7 on any other visit"));
    let changed = flowing(&run(0, &["counts", &plan, "change", "visit", &first, "--cocks", "8"]).0);
    assert!(!changed.contains("more cocks") && !changed.contains("another visit"), "{changed}");
    let asked = flowing(&run(0, &["counts", &plan, "list", "--year", "1"]).0);
    assert!(asked.contains("No visit and no brood count in 1; the plan has 4 visits and 0 brood counts in all."), "{asked}");
}

#[test]
fn leks_that_say_nothing_of_a_trend_are_named() {
    let dir = tempfile::tempdir().unwrap();
    let plan = plan(dir.path());
    let rows: String = (2015..2021).map(|y| format!("L1,{y}-04-14,{}\nL2,{y}-04-14,0\n", 5 + y % 3)).collect();
    let visits = write(dir.path(), "v.csv", &format!("lek,date,cocks\n{rows}"));
    run(0, &["counts", &plan, "import", &visits]);
    let told = flowing(&run(0, &["counts", &plan, "trend"]).0);
    assert!(told.contains("1 lek never held a cock: no part of the trend, none in the totals (Low Knowe)."), "{told}");
    let json = holds_schema("counts-trend.json", &run(0, &["counts", &plan, "trend", "--json"]).0);
    assert_eq!((&json["empty_leks"], &json["empty_lek_names"]), (&json!(1), &json!(["Low Knowe"])));
}

#[test]
fn what_is_withheld_is_counted_by_kind_and_broods_left_out_say_why() {
    let dir = tempfile::tempdir().unwrap();
    let plan = plan(dir.path());
    let visits = write(dir.path(), "v.csv", "lek,date,cocks,weather,note\nL1,2024-04-14,7,dull,\nL1,2024-04-20,x,clear,by the gate\nL2,2024-04-20,5,,\n");
    let told = flowing(&run(0, &["counts", &plan, "import", &visits]).0);
    assert!(told.contains("`cocks` for not counted"), "{told}");
    run(0, &["counts", &plan, "add", "broods", "--date", "2024-08-12", "--hens", "4"]);
    run(0, &["counts", &plan, "add", "broods", "--date", "2024-08-13", "--young", "4"]);
    let told = flowing(&run(0, &["counts", &plan, "list"]).0);
    for wanted in ["notes beside 1 count, columns kept from files beside 1 count, weather beside 2 counts", "no number of young was written down", "no number of hens was written down"] {
        assert!(told.contains(wanted), "{wanted}: {told}");
    }
    assert!(list(&plan)["broods"].as_array().unwrap().iter().all(|b| b["why_not"].is_string()));
}

#[test]
fn leks_put_forward_tell_no_exact_distance() {
    let dir = tempfile::tempdir().unwrap();
    let plan = plan(dir.path());
    let visits = write(dir.path(), "v.csv", "easting,northing,date,cocks\n391480,521050,2024-04-14,5\n");
    let (told, said) = run(2, &["counts", &plan, "import", &visits]);
    let shown = run(0, &["counts", &plan, "import", &visits, "--make-leks"]).0;
    for text in [&told, &said, &shown] {
        assert!(text.contains("within 500 m") && !text.contains("482") && !text.contains("391480"), "{text}");
    }
}

#[test]
fn help_of_a_word_names_the_file_and_gives_an_example() {
    for word in [&["add", "visit"][..], &["add", "broods"], &["change", "visit"], &["change", "broods"], &["remove", "visit"], &["remove", "broods"], &["import"]] {
        let mut typed = vec!["counts", "hill.gpkg"];
        typed.extend(word);
        typed.push("--help");
        let told = run(0, &typed).0;
        assert!(told.contains("<FILE>") && told.contains("Example") && told.contains(&format!("greyhen counts hill.gpkg {}", word.join(" "))), "{told}");
    }
}

#[test]
fn a_brood_count_is_added_changed_and_taken_out_by_hand() {
    let dir = tempfile::tempdir().unwrap();
    let plan = plan(dir.path());
    run(0, &["counts", &plan, "add", "broods", "--date", "2024-08-12", "--lek", "L2", "--hens", "10", "--with-broods", "6", "--young", "17", "--dogs", "yes"]);
    let id = list(&plan)["broods"][0]["id"].as_str().unwrap().to_string();
    let (_, said) = run(2, &["counts", &plan, "change", "broods", &id, "--hens", "5"]);
    assert!(said.contains("--with-broods") && said.contains("the plan is as it was"), "{said}");
    let told = flowing(&run(0, &["counts", &plan, "change", "broods", &id, "--young", "19", "--observer", "a keeper"]).0);
    assert!(told.contains("Low Knowe, 10 hens, 6 of them with a brood, 19 young"), "{told}");
    let count = &list(&plan)["broods"][0];
    assert_eq!((&count["young"], &count["dogs"], &count["observer"], &count["lek"]), (&json!(19), &json!(true), &json!("a keeper"), &json!("L2")));
    assert!(run(0, &["counts", &plan, "list", "--lek", "Low Knowe", "--year", "2024"]).0.contains("2024-08-12"));
    run(0, &["counts", &plan, "remove", "broods", &id]);
    assert!(list(&plan)["broods"].as_array().unwrap().is_empty());
}

#[test]
fn what_cannot_be_is_told_at_once_and_changes_nothing() {
    let dir = tempfile::tempdir().unwrap();
    let plan = plan(dir.path());
    let before = std::fs::read(&plan).unwrap();
    for (typed, wanted) in [
        (&["add", "visit", "--cocks", "4"][..], &["2 things are wrong", "--lek: nothing", "--date: nothing"][..]),
        (&["add", "visit", "--lek", "Nowhere", "--date", "2024-04-31", "--cocks", "4000"], &["3 things are wrong", "--lek", "--date", "--cocks"]),
        (&["add", "visit", "--lek", "L1", "--date", "2199-04-14", "--cocks", "4"], &["cannot lie ahead"]),
        (&["add", "visit", "--lek", "L1", "--date", "2024-04-14", "--start", "sunrise", "--cocks", "4"], &["--start: needed a time of a morning", "`sunrise`"]),
        (&["add", "visit", "--lek", "L1", "--date", "2024-04-14", "--start=-1", "--cocks=-2"], &["2 things are wrong", "--start", "--cocks"]),
        (&["add", "visit", "--lek", "L1", "--date", "2024-04-14", "--start", "5"], &["--start: needed a time", "`5`"]),
        (&["add", "broods", "--hens", "4"], &["--date: nothing"]),
        (&["change", "visit", "V9", "--cocks", "4"], &["visit `V9`: not in the plan"]),
        (&["remove", "visit", "V9"], &["visit `V9`: not in the plan"]),
        (&["remove", "broods", "B9"], &["brood count `B9`: not in the plan"]),
        (&["list", "--lek", "Nowhere"], &["is no lek of the plan", "High Knowe, Low Knowe, Far Knowe"]),
    ] {
        let mut arguments = vec!["counts", &plan];
        arguments.extend(typed);
        let (_, said) = run(2, &arguments);
        assert!(wanted.iter().all(|w| said.contains(w)), "{typed:?}: {said}");
    }
    assert_eq!(std::fs::read(&plan).unwrap(), before, "the plan is byte for byte as it was");
}
