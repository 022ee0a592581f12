//! Next season's dawns, as people ask for them.

use crate::program::run;
use crate::schema::holds_schema;
use std::path::Path;

const REFERENCE: &str = "NY 9070 2130";

/// Invented moor with a track along its south, two leks by it and one 9 km up the hill.
fn plan(dir: &Path) -> String {
    let at = |name: &str| dir.join(name).to_str().unwrap().to_string();
    let write = |name: &str, text: &str| std::fs::write(dir.join(name), text).unwrap();
    write("boundary.csv", "name,wkt\nInvented Hill,\"POLYGON((390000 520000,392000 520000,392000 522000,390000 522000,390000 520000))\"\n");
    write("leks.csv", "id,name,easting,northing\nL1,Upper Knowe,390712,521307\nL2,Lower Knowe,391500,520700\nL3,Far Knowe,391000,529600\n");
    write("tracks.csv", "id,name,kind,wkt\nT1,Peat Road,track,\"LINESTRING(390000 520200,392000 520200)\"\n");
    let plan = at("hill.gpkg");
    run(0, &["new", &plan, "--boundary", &at("boundary.csv"), "--country", "England", "--as-at", "2026-06-01"]);
    for (kind, file) in [("leks", "leks.csv"), ("tracks", "tracks.csv")] {
        run(0, &["import", &plan, kind, &at(file)]);
    }
    plan
}

/// Text without the line breaks that fit it to a screen.
fn flowing(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn a_spring_is_planned_told_and_written_and_nothing_is_overwritten() {
    let dir = tempfile::tempdir().unwrap();
    let plan = plan(dir.path());
    let out = dir.path().join("out");
    let base = ["counts", &plan, "dawns", "--base", "Home=NY850250", "--date", "2026-11-26"];
    let asked = [&base[..], &["--to", out.to_str().unwrap(), "--no-pages"]].concat();
    let told = flowing(&run(0, &asked).0);
    assert!(told.contains("Dawns of 2027 at hill: 3 leks, 1 observer") && told.contains("Proven the fewest"), "{told}");
    assert!(told.contains("4 visits on") && told.contains("2 visits cannot be made"), "{told}");
    assert!(told.contains("Far Knowe, visit 1: the walk in the dark is longer than 90 minutes") && told.contains("hint: "), "{told}");
    assert!(!told.contains("Peat Road") && !told.contains("NY 90 20"), "{told}");
    assert!(told.contains("A: for Upper Knowe") && told.contains("Stops were sought") && told.contains("estimates but for 0 of 3 walks"), "{told}");
    assert!(told.contains("at least 100 m from the edge") && told.contains("someone who acts if no call comes") && told.contains("4 Beaufort"), "{told}");

    // RFC 5545 section 3.1: lines end in CRLF and are of at most 75 octets without it.
    let calendar = std::fs::read_to_string(out.join("dawns.ics")).unwrap();
    assert!(calendar.ends_with("END:VCALENDAR\r\n") && calendar.split("\r\n").all(|line| line.len() <= 75 && !line.contains('\n')), "{calendar}");
    let unfolded = calendar.replace("\r\n ", "");
    assert_eq!(unfolded.matches("BEGIN:VEVENT").count(), told_outings(&told), "{unfolded}");
    assert!(unfolded.contains("2 visits not planned") && !unfolded.contains("Knowe") && !unfolded.contains("Peat Road") && !unfolded.contains("NY"), "{unfolded}");
    assert!(unfolded.contains(": lek A") && unfolded.contains("lek B") && told.contains("lek A is ") && told.contains("--show-leks"), "{unfolded}");

    let (_, said) = run(2, &asked);
    assert!(said.contains("dawns.ics is there already") && said.contains("--force"), "{said}");
    run(0, &[&asked[..], &["--force", "--show-leks"]].concat());
    assert!(std::fs::read_to_string(out.join("dawns.ics")).unwrap().replace("\r\n ", "").contains("Upper Knowe"));
    let shown = flowing(&run(0, &[&base[..], &["--show-leks"]].concat()).0);
    assert!(shown.contains("Far Knowe, visit 1: the walk in the dark is") && shown.contains(" h ") && shown.contains(", longer than 90") && !shown.contains("lek A is"), "{shown}");
}

/// The number of outings of a plan in words.
fn told_outings(told: &str) -> usize {
    let before = told.split(" outing").next().unwrap_or_default();
    before.rsplit(' ').next().and_then(|n| n.parse().ok()).unwrap()
}

#[test]
fn json_holds_its_schema_and_tells_no_place_unless_asked() {
    let dir = tempfile::tempdir().unwrap();
    let plan = plan(dir.path());
    let ways = dir.path().join("ways.csv");
    std::fs::write(&ways, "From,To,Minutes\nAnn,Gate,33\nGate,L1,41\n").unwrap();
    let asked = [
        "counts", &plan, "dawns", "--json", "--date", "2026-11-26", "--who", "Ann", "--who", "Bob", "--base", "Home=NY 850 250", "--base", "NY 86112 25678", "--leks", "l1,Lower Knowe",
        "--stop", "Gate=NY 90700 21300", "--away", "Bob=2027-03-21..2027-05-15", "--not-on", "2027-03-21,2027-04-01..2027-04-18", "--minutes", ways.to_str().unwrap(),
    ];
    let (document, said) = run(0, &asked);
    let dawns = holds_schema("counts-dawns.json", &document);
    assert!(!document.contains(REFERENCE) && !document.contains("390712") && !document.contains("NY 90700") && document.contains("NY 90 21"), "{document}");
    assert_eq!((dawns["year"].as_i64(), &dawns["withheld"], &dawns["proven"]), (Some(2027), &true.into(), &true.into()));
    assert_eq!((&dawns["minutes"]["walks_measured"], &dawns["minutes"]["drives_measured"]), (&1.into(), &1.into()));
    let mornings = dawns["mornings"].as_array().unwrap();
    for morning in mornings {
        let date = morning["date"].as_str().unwrap();
        assert!(date != "2027-03-21" && !("2027-04-01".."2027-04-19").contains(&date), "{date} cannot be used");
        for outing in morning["outings"].as_array().unwrap() {
            assert_eq!(outing["observer"], "Ann", "Bob is away");
            for visit in outing["visits"].as_array().unwrap().iter().filter(|v| v["lek_id"] == "L1") {
                assert_eq!(visit["walk_min"], serde_json::Value::Null, "measured as 41, and withheld");
            }
        }
    }
    let visits: Vec<(&str, i64)> =
        mornings.iter().flat_map(|m| m["outings"].as_array().unwrap()).flat_map(|o| o["visits"].as_array().unwrap()).map(|v| (v["lek_id"].as_str().unwrap(), v["visit"].as_i64().unwrap())).collect();
    assert_eq!(visits.len(), 4, "{visits:?}");
    // The gate is by the first lek: told to whoever plans, and nowhere in what is handed on.
    assert!(dawns["stops_too_near"].as_array().unwrap().is_empty() && said.contains("A stop is too near to a lek") && !document.contains("under 1 km"), "{said}");
    holds_schema("counts-dawns.json", &run(0, &[&asked[..], &["--seconds", "0.0001"]].concat()).0);
    let shown = holds_schema("counts-dawns.json", &run(0, &[&asked[..], &["--show-leks"]].concat()).0);
    // No way and no time that hangs on one is told where ways are withheld, but when the first lek of an outing is watched.
    let visits = |of: &serde_json::Value| -> Vec<serde_json::Value> {
        let outings = of["mornings"].as_array().unwrap().iter().flat_map(|m| m["outings"].as_array().unwrap());
        outings.flat_map(|o| o["visits"].as_array().unwrap()).cloned().collect()
    };
    for visit in visits(&dawns) {
        assert!(["walk_back_min", "drive_min", "walk_min", "park_at"].iter().all(|key| visit[key].is_null()) && visit["sunrise"].is_string(), "{visit}");
    }
    assert!(visits(&shown).iter().any(|v| v["walk_min"] == 41) && dawns["effort"]["travel_min"].is_null() && shown["effort"]["travel_min"].is_number());
    for outing in mornings.iter().flat_map(|m| m["outings"].as_array().unwrap()) {
        assert!(["leave_base", "back_at_base", "driving_min", "walking_min"].iter().all(|key| outing[key].is_null()), "{outing}");
        for (i, visit) in outing["visits"].as_array().unwrap().iter().enumerate() {
            assert!(["arrive_by", "watch_from", "watch_until"].iter().all(|key| visit[key].is_null() == (i > 0)), "{visit}");
        }
    }
    assert!(shown["stops"][0]["name"].as_str().unwrap().contains(REFERENCE) && shown["stops_too_near"][0]["metres"].is_number(), "{shown:#}");
}

#[test]
fn everything_wrong_is_said_at_once_with_hints_and_nothing_is_written() {
    let dir = tempfile::tempdir().unwrap();
    let plan = plan(dir.path());
    let ways = dir.path().join("ways.csv");
    std::fs::write(&ways, "from,to,minutes\nAnn,A,soon\nAnn,Nowhere,12\n").unwrap();
    let out = dir.path().join("out");
    let (_, said) = run(2, &[
        "counts", &plan, "dawns", "--date", "2026-11-26", "--who", "Ann", "--who", "ann", "--base", "Home=NY85025", "--stop", "NY 90 20", "--away", "Cid=2027-04-03", "--not-on",
        "2027-04-09..2027-04-03", "--leks", "Lost Knowe", "--minutes", ways.to_str().unwrap(), "--to", out.to_str().unwrap(),
    ]);
    let said = flowing(&said);
    for part in ["8 things are wrong", "--base: `NY85025` has 5 figures", "--stop: found `NY 90 20`", "--who: found `ann`", "--away: found `Cid=2027-04-03`", "--not-on: found", "line 2: found `soon`", "`Nowhere`", "`Lost Knowe`"] {
        assert!(said.contains(part), "{part}: {said}");
    }
    assert!(!out.exists());
    let (_, said) = run(2, &["counts", &plan, "dawns", "--date", "2026-11-26", "--base", "NY83", "--year", "2026"]);
    let said = flowing(&said);
    assert!(said.contains("2 things are wrong") && said.contains("a square of 10000 m") && said.contains("the spring of 2026 was over on 15 May; needed: 2027"), "{said}");
    let none = flowing(&run(0, &["counts", &plan, "dawns", "--date", "2026-11-26", "--base", "TQ 300 800"]).0);
    assert!(none.contains("No visit can be made") && !none.contains("fewest") && none.contains("see that the base is where it was meant to be"), "{none}");
    let (_, said) = run(2, &["counts", &plan, "dawns", "--base", "NY850250", "--minutes", "/nowhere/ways.csv"]);
    assert!(said.contains("reading failed"), "{said}");
}

#[cfg(feature = "pdf")]
#[test]
fn the_sheet_is_written_beside_the_calendar() {
    let dir = tempfile::tempdir().unwrap();
    let plan = plan(dir.path());
    let out = dir.path().join("out");
    let asked = ["counts", &plan, "dawns", "--base", "NY850250", "--date", "2026-11-26", "--to", out.to_str().unwrap()];
    run(0, &asked);
    let sheet = std::fs::read(out.join("dawns.pdf")).unwrap();
    assert!(sheet.starts_with(b"%PDF-"));
    run(0, &[&asked[..], &["--force"]].concat());
    assert_eq!(sheet, std::fs::read(out.join("dawns.pdf")).unwrap(), "the same plan on the same day is the same sheet");
}
