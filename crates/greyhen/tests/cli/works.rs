//! An option as works, as people ask for it: the worked example of `docs/works.md`, crews, calendar, what is wrong said at once.

use crate::program::{demonstration, run};
use crate::schema::holds_schema;
use serde_json::Value;
use std::path::Path;

/// A part of the worked example, in the order of the page.
enum Part {
    /// A file, by name.
    File(String, String),
    /// Commands, one a line.
    Commands(Vec<String>),
    /// Tasks with first and last day.
    Dates(Vec<[String; 3]>),
}

/// The worked example of the page.
fn example() -> Vec<Part> {
    let page = std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/works.md")).unwrap();
    let (_, page) = page.split_once("## A year of work, by hand").unwrap();
    let mut out = Vec::new();
    let mut name = String::new();
    let mut lines = page.lines();
    while let Some(line) = lines.next() {
        if let Some(named) = line.strip_prefix('`').and_then(|l| l.strip_suffix('`')) {
            name = named.to_string();
        } else if let Some(kind) = line.strip_prefix("```") {
            let text: Vec<&str> = lines.by_ref().take_while(|l| *l != "```").collect();
            out.push(match kind {
                "sh" => Part::Commands(text.iter().map(|l| (*l).to_string()).collect()),
                _ => Part::File(name.clone(), text.join("\n")),
            });
        } else if line.starts_with("| task |") {
            let rows = lines.by_ref().skip(1).take_while(|l| l.starts_with('|'));
            let cell = |row: &str, n: usize| row.split('|').nth(n).unwrap().trim().to_string();
            out.push(Part::Dates(rows.map(|r| [cell(r, 1), cell(r, 2), cell(r, 3)]).collect()));
        }
    }
    out
}

/// The arguments of a command line, with quotes.
fn arguments(line: &str) -> Vec<String> {
    let mut out = Vec::new();
    for (i, piece) in line.split('"').enumerate() {
        if i % 2 == 1 {
            out.push(piece.to_string());
        } else {
            out.extend(piece.split_whitespace().map(str::to_string));
        }
    }
    out
}

/// Every file, command and date of the page, the dates reckoned there by hand.
#[test]
fn the_worked_example_of_the_page_holds() {
    let dir = tempfile::tempdir().unwrap();
    let mut last: Option<Value> = None;
    let mut held = 0;
    for part in example() {
        match part {
            Part::File(name, text) => std::fs::write(dir.path().join(name), text).unwrap(),
            Part::Commands(lines) => {
                for line in lines {
                    let file = |a: String| {
                        if dir.path().join(&a).exists() || a.ends_with(".gpkg") { dir.path().join(&a).to_str().unwrap().to_string() } else { a }
                    };
                    let given: Vec<String> = arguments(&line).into_iter().skip(1).map(file).collect();
                    let mut given: Vec<&str> = given.iter().map(String::as_str).collect();
                    if given[0] == "works" {
                        given.push("--json");
                        last = Some(holds_schema("works.json", &run(0, &given).0));
                    } else {
                        run(0, &given);
                    }
                }
            }
            Part::Dates(rows) => {
                let told = last.as_ref().unwrap();
                for [id, first, to] in rows {
                    let job = told["jobs"].as_array().unwrap().iter().find(|j| j["id"] == id.as_str()).unwrap_or_else(|| panic!("no task {id}"));
                    assert_eq!([&job["planned"]["first"], &job["planned"]["last"]], [&Value::from(first), &Value::from(to)], "{id}");
                    held += 1;
                }
            }
        }
    }
    assert!(held >= 12, "{held} dates");
}

/// Where a lek lies in its kilometre square does not change a letter of a programme that withholds it.
#[test]
fn a_lek_moved_within_its_square_changes_nothing_of_what_leaves() {
    let dir = tempfile::tempdir().unwrap();
    let plan = dir.path().join("hill.gpkg").to_str().unwrap().to_string();
    let told: Vec<String> = [(390_020.0, 521_030.0), (390_980.0, 521_960.0)]
        .into_iter()
        .map(|(east, north)| {
            let _ = std::fs::remove_file(&plan);
            for part in example() {
                match part {
                    Part::File(name, text) => std::fs::write(dir.path().join(name), text).unwrap(),
                    Part::Commands(lines) => {
                        std::fs::write(dir.path().join("leks.csv"), format!("id,name,easting,northing\nL1,Invented Knowe,{east},{north}\n")).unwrap();
                        for line in lines.iter().filter(|l| !l.contains("greyhen works")) {
                            let file = |a: String| if dir.path().join(&a).exists() || a.ends_with(".gpkg") { dir.path().join(&a).to_str().unwrap().to_string() } else { a };
                            let given: Vec<String> = arguments(line).into_iter().skip(1).map(file).collect();
                            run(0, &given.iter().map(String::as_str).collect::<Vec<_>>());
                        }
                        break;
                    }
                    Part::Dates(_) => {}
                }
            }
            let asked = ["works", plan.as_str(), "--option", "1", "--from", "2027-01-04", "--years", "3"];
            let shown = run(0, &[&asked[..], &["--show-leks"]].concat()).0;
            assert_eq!(shown.contains("Invented Knowe lek, "), north < 521_500.0, "{shown}");
            run(0, &asked).0
        })
        .collect();
    assert_eq!(told[0], told[1]);
    assert!(told[0].split_whitespace().collect::<Vec<_>>().join(" ").contains("a lek may be within 750 m"), "{}", told[0]);
}

/// The demonstration with a fence to mark, a field, a wood and the ground of a lek.
fn option(dir: &Path) -> String {
    let plan = demonstration(dir);
    run(0, &["option", &plan, "add", "Works"]);
    run(0, &["measure", &plan, "add", "conifer_edge", "--option", "1", "--on", "N04", "--fact", "work=restock"]);
    run(0, &["measure", &plan, "add", "inbye", "--option", "1", "--on", "P12", "--fact", "work=stubble"]);
    run(0, &["measure", &plan, "add", "lek-care", "--option", "1", "--on", "L1", "--fact", "work=short"]);
    run(0, &["measure", &plan, "add", "fence", "--option", "1", "--fact", "work=mark", "--fact", "fence=F16"]);
    plan
}

#[test]
fn works_are_told_by_month_in_lines_that_fit_and_written_as_a_calendar_that_names_no_lek() {
    let dir = tempfile::tempdir().unwrap();
    let plan = option(dir.path());
    let out = dir.path().join("out");
    let asked = ["works", &plan, "--option", "1", "--from", "2027-01-04", "--years", "4", "--to", out.to_str().unwrap()];
    let (told, _) = run(0, &asked);
    assert!(told.lines().all(|line| line.chars().count() <= 100), "{told}");
    let flowing = told.split_whitespace().collect::<Vec<_>>().join(" ");
    for part in [
        "January 2027",
        "These crews are assumed",
        "after: ",
        "when: ",
        "a lek may be within 750 m",
        "If something is 30 days late",
        "Mind",
        "common practice, no source:",
        "check the code in force",
    ] {
        assert!(flowing.contains(part), "{part}: {told}");
    }
    let names = ["Mirkhope Edge", "Quarlow Top", "Low Quarlow"];
    assert!(names.iter().all(|name| !told.contains(name)), "{told}");
    let board = std::fs::read_to_string(out.join("board-1.svg")).unwrap();
    assert!(board.contains("Works of option 1, Works, at ") && board.contains(">2027</text>") && names.iter().all(|name| !board.contains(name)), "{board}");
    assert!(flowing.contains("[no. 1, ") && flowing.contains("board-1.svg"), "{told}");
    let calendar = std::fs::read_to_string(out.join("works.ics")).unwrap();
    // RFC 5545 section 3.1: lines end in CRLF and are of at most 75 octets without it.
    assert!(calendar.ends_with("END:VCALENDAR\r\n") && calendar.split("\r\n").all(|line| line.len() <= 75 && !line.contains('\n')));
    let unfolded = calendar.replace("\r\n ", "");
    assert!(names.iter().all(|name| !unfolded.contains(name)) && unfolded.contains("DTSTART;VALUE=DATE:2027"), "{unfolded}");
    let document = run(0, &["works", &plan, "--option", "1", "--from", "2027-01-04", "--years", "4", "--json"]).0;
    let value = holds_schema("works.json", &document);
    assert!(names.iter().all(|name| !document.contains(name)));
    let planned = value["jobs"].as_array().unwrap().iter().filter(|j| !j["planned"].is_null()).count();
    assert_eq!(unfolded.matches("BEGIN:VEVENT").count(), planned);
    let shown = run(0, &[&asked[..], &["--force", "--show-leks"]].concat()).0;
    assert!(shown.split_whitespace().collect::<Vec<_>>().join(" ").contains("a lek is within 750 m (Mirkhope Edge lek, "), "{shown}");
    let (_, said) = run(2, &asked);
    assert!(said.contains("works.ics is there already") && said.contains("--force"), "{said}");
}

#[test]
fn crews_given_do_the_works_and_what_nobody_can_do_is_told() {
    let dir = tempfile::tempdir().unwrap();
    let plan = option(dir.path());
    let crews = dir.path().join("crews.csv");
    std::fs::write(
        &crews,
        "name,kinds,people,from,to,off\nAnn and sons,fencing;planting,3,09-01,04-30,2027-12-20..2028-01-04\nBob,adviser tractor farm,1,,,\n",
    )
    .unwrap();
    let asked = ["works", &plan, "--option", "1", "--from", "2027-01-04", "--years", "4", "--crews", crews.to_str().unwrap(), "--json"];
    let told = holds_schema("works.json", &run(0, &asked).0);
    assert_eq!(told["crews_assumed"], false);
    let job = |id: &str| told["jobs"].as_array().unwrap().iter().find(|j| j["id"] == id).unwrap_or_else(|| panic!("no {id}")).clone();
    assert_eq!(job("fence-1/fence/mark")["planned"]["crews"][0], "Ann and sons");
    let why = |id: &str| told["cannot"].as_array().unwrap().iter().find(|c| c["job"] == id).map(|c| c["why"].as_str().unwrap().to_string());
    assert!(why("conifer_edge-1/work/fell").unwrap().contains("no crew can do saws"), "{told:#}");
    assert!(why("conifer_edge-1/work/plant").unwrap().contains("waits for"), "{told:#}");

    // Kept in the plan, with own rates, they are taken the next time without being given.
    let rates = dir.path().join("rates.csv");
    std::fs::write(&rates, "item,rate,unit,note\nfence marked,4.40,£/m,asked in May\n").unwrap();
    run(0, &["works", &plan, "--option", "1", "--from", "2027-01-04", "--crews", crews.to_str().unwrap(), "--rates", rates.to_str().unwrap(), "--keep"]);
    let kept = holds_schema("works.json", &run(0, &["works", &plan, "--option", "1", "--from", "2027-01-04", "--years", "4", "--json"]).0);
    assert_eq!([&kept["crews"], &kept["jobs"]], [&told["crews"], &told["jobs"]]);
    assert!(kept.to_string().contains("asked in May"), "{kept:#}");
    let (_, said) = run(2, &["works", &plan, "--option", "1", "--keep"]);
    assert!(said.contains("neither --crews nor --rates"), "{said}");

    std::fs::write(&crews, "name,kinds,people,from,to,off\nAnn,digging baking,0,13-01,,2027-12-20..2027-01-04\nann,,1,,,\n").unwrap();
    let (_, said) = run(2, &["works", &plan, "--option", "9", "--crews", crews.to_str().unwrap()]);
    for part in ["7 things are wrong", "option 9", "baking", "`0` people", "`13-01`", "2027-12-20..2027-01-04", "the name `ann`", "the kinds ``"] {
        assert!(said.contains(part), "{part}: {said}");
    }
}
