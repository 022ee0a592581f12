//! An option handed over on the command line: whole outputs, exit codes, and what stands in the way of it.

use crate::program::{demonstration, run};
use crate::schema::holds_schema;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// Names of the outputs with an option, and how each begins.
fn wanted() -> Vec<(&'static str, &'static [u8])> {
    let mut all: Vec<(&'static str, &'static [u8])> = vec![
        ("ledger.xlsx", b"PK"),
        ("contractor.xlsx", b"PK"),
        ("claims.xlsx", b"PK"),
        ("calendar.ics", b"BEGIN:VCALENDAR\r\n"),
        ("waypoints.gpx", b"<?xml"),
        ("gis/measures.gpkg", b"SQLite format 3"),
        ("gis/results.gpkg", b"SQLite format 3"),
        ("manifest.json", b"{"),
    ];
    if cfg!(feature = "pdf") {
        all.extend(["plan.pdf", "kitchen-table.pdf", "contractor.pdf", "monitoring.pdf"].map(|name| (name, &b"%PDF"[..])));
    }
    all
}

/// Names of the files in a folder and its folders.
fn names(folder: &Path) -> Vec<String> {
    let mut all: Vec<String> = vec![];
    for entry in std::fs::read_dir(folder).into_iter().flatten().map(Result::unwrap) {
        let name = entry.file_name().into_string().unwrap();
        if entry.path().is_dir() {
            all.extend(names(&entry.path()).iter().map(|inner| format!("{name}/{inner}")));
        } else {
            all.push(name);
        }
    }
    all.sort();
    all
}

#[test]
fn an_option_of_the_demonstration_is_handed_over() {
    let dir = tempfile::tempdir().unwrap();
    let at = |name: &str| dir.path().join(name).to_str().unwrap().to_string();
    let plan = demonstration(dir.path());
    let (_, stderr) = run(2, &["handover", &plan, "--to", &at("none"), "--option", "1"]);
    assert!(stderr.contains("option 1: not in the plan") && stderr.contains("add one first"), "{stderr}");
    run(0, &["option", &plan, "add", "Trees and water"]);
    run(0, &["option", &plan, "add", "Lek care"]);
    run(0, &["option", &plan, "add", "Winter off"]);
    run(0, &["suggest", &plan, "water", "--option", "1", "--most", "2", "--draws", "10"]);
    run(0, &["suggest", &plan, "fence", "--option", "1", "--most", "1", "--draws", "10"]);
    run(0, &["measure", &plan, "add", "conifer_edge", "--option", "1", "--on", "N01", "--fact", "work=feather"]);
    run(0, &["measure", &plan, "add", "lek_care", "--option", "2", "--on", "L2", "--fact", "work=short"]);
    run(0, &["measure", &plan, "add", "grazing", "--option", "3", "--on", "P01", "--fact", "head=Nov-Mar 40"]);

    // What cannot be run says so, all at once, and nothing is written.
    let none = at("none");
    let (_, stderr) = run(2, &["handover", &plan, "--to", &none, "--option", "7", "--compare", "2,9"]);
    for said in ["option 7", "option 9", "1 (Trees and water)", "3 (Winter off)", "2 things are wrong"] {
        assert!(stderr.contains(said), "{said}: {stderr}");
    }
    for arguments in [&["--compare", "2"][..], &["--budget", "5000"], &["--option", "1", "--budget", "-4"]] {
        let (_, stderr) = run(2, &[&["handover", plan.as_str(), "--to", none.as_str()][..], arguments].concat());
        assert!(stderr.contains("--option") || stderr.contains("above 0"), "{stderr}");
    }
    assert!(!Path::new(&none).exists(), "nothing is made where nothing is handed over");

    let before = std::fs::read(&plan).unwrap();
    let to = at("pack");
    let common = ["--date", "2026-06-20", "--from", "2026-06-20", "--draws", "10"];
    let (stdout, stderr) = run(0, &[&["handover", plan.as_str(), "--to", to.as_str(), "--option", "2", "--compare", "1"][..], &common].concat());
    assert!(stderr.is_empty(), "silent when piped: {stderr}");
    assert!(stdout.contains("withheld"), "{stdout}");
    for (name, begins) in wanted() {
        let bytes = std::fs::read(Path::new(&to).join(name)).unwrap();
        let least = if name.ends_with("xlsx") || name.ends_with("gpkg") || name.ends_with("pdf") { 8_000 } else { 1_000 };
        assert!(bytes.starts_with(begins) && bytes.len() > least, "{name}: {} bytes", bytes.len());
        assert!(stdout.contains(name), "{stdout}");
    }
    assert_eq!(names(Path::new(&to)).len(), wanted().len(), "and nothing else is left there");
    let list = holds_schema("manifest.json", &std::fs::read_to_string(Path::new(&to).join("manifest.json")).unwrap());
    assert_eq!(list["files"].as_array().unwrap().len(), wanted().len() - 1);
    assert_eq!((list["lek_places"].as_str(), list["printed"].as_str()), (Some("withheld"), Some("2026-06-20")));
    // The calendar is that of the works but for its stamp.
    run(0, &["works", &plan, "--option", "2", "--from", "2026-06-20", "--to", &at("works")]);
    let unstamped = |path: String| std::fs::read_to_string(path).unwrap().lines().filter(|l| !l.starts_with("DTSTAMP")).map(str::to_owned).collect::<Vec<_>>();
    assert_eq!(unstamped(at("pack/calendar.ics")), unstamped(at("works/works.ics")));
    assert_eq!(before, std::fs::read(&plan).unwrap(), "the plan is only read");

    // Nothing is overwritten unasked, and that is said before any of the work.
    let begun = Instant::now();
    let (_, stderr) = run(2, &["handover", &plan, "--to", &to, "--option", "1"]);
    assert!(stderr.contains("--force") && begun.elapsed() < Duration::from_secs(10), "{stderr}");
    // Care of a lek: the lek's place is not in the copy, unless places are asked for.
    let lek = holding::plan::Plan::open_read_only(Path::new(&plan)).unwrap().holding().unwrap().leks.into_iter().find(|l| l.id == "L2").unwrap().at;
    let holds = |shown: bool| {
        let bytes = std::fs::read(Path::new(&to).join("gis/measures.gpkg")).unwrap();
        let place = [lek.x().to_le_bytes(), lek.y().to_le_bytes()].concat();
        let results = std::fs::read(Path::new(&to).join("gis/results.gpkg")).unwrap();
        assert_eq!(results.windows(16).any(|w| w == place), shown, "the lek's place");
        assert!(shown || !bytes.windows(16).any(|w| w == place), "the lek's place among the measures");
    };
    holds(false);
    let care = ["handover", plan.as_str(), "--to", to.as_str(), "--option", "2", "--compare", "1", "--force", "--show-leks", "--no-pages"];
    run(0, &care.into_iter().chain(common).collect::<Vec<_>>());
    holds(true);
    // A plan alone leaves no doubt about what is of an earlier run.
    let alone = ["handover", plan.as_str(), "--to", to.as_str(), "--force", "--no-pages", "--date", "2026-06-20", "--draws", "10"];
    run(0, &alone);
    let list = holds_schema("manifest.json", &std::fs::read_to_string(Path::new(&to).join("manifest.json")).unwrap());
    assert_eq!(list["files"].as_array().unwrap().iter().map(|f| f["name"].as_str().unwrap()).collect::<Vec<_>>(), ["ledger.xlsx", "gis/results.gpkg"]);
    // What stands in the way of one file is said before any is written.
    std::fs::remove_file(Path::new(&to).join("ledger.xlsx")).unwrap();
    std::fs::create_dir(Path::new(&to).join("ledger.xlsx")).unwrap();
    let before = std::fs::read(Path::new(&to).join("manifest.json")).unwrap();
    let (_, stderr) = run(2, &[&alone[..], &["--seed", "7"]].concat());
    assert!(stderr.contains("ledger.xlsx is a folder"), "{stderr}");
    assert_eq!(before, std::fs::read(Path::new(&to).join("manifest.json")).unwrap());
    assert!(names(Path::new(&to)).iter().all(|name| !name.ends_with(".part")));
}

#[test]
#[ignore = "slow: make soak"]
fn a_hand_over_that_is_killed_leaves_whole_files_only() {
    let dir = tempfile::tempdir().unwrap();
    let at = |name: &str| dir.path().join(name).to_str().unwrap().to_string();
    let plan = demonstration(dir.path());
    run(0, &["option", &plan, "add", "Lek care"]);
    run(0, &["measure", &plan, "add", "lek_care", "--option", "1", "--on", "L2", "--fact", "work=short"]);
    let arguments = |to: &str| ["handover", &plan, "--to", to, "--option", "1", "--draws", "5", "--date", "2026-06-20"].map(str::to_string);
    let whole = at("whole");
    let begun = Instant::now();
    run(0, &arguments(&whole).iter().map(String::as_str).collect::<Vec<_>>());
    let takes = begun.elapsed();
    for round in 0..2u32 {
        let to = at(&format!("killed-{round}"));
        let mut child = Command::new(env!("CARGO_BIN_EXE_greyhen")).args(arguments(&to)).stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
        std::thread::sleep(takes.mul_f64(0.85 + 0.1 * f64::from(round)));
        let _ = child.kill();
        child.wait().unwrap();
        for name in names(Path::new(&to)).iter().filter(|n| !n.ends_with(".part")) {
            assert!(std::fs::read(Path::new(&to).join(name)).unwrap() == std::fs::read(Path::new(&whole).join(name)).unwrap(), "{name} is half written");
        }
    }
    // What a kill left does not stand in the way of the next one.
    let to = at("killed-1");
    std::fs::create_dir_all(&to).unwrap();
    std::fs::write(Path::new(&to).join("ledger.xlsx.part"), b"half").unwrap();
    run(0, &arguments(&to).iter().map(String::as_str).chain(["--force"]).collect::<Vec<_>>());
    assert_eq!(names(Path::new(&to)), names(Path::new(&whole)));
    for name in names(Path::new(&to)) {
        assert!(std::fs::read(Path::new(&to).join(&name)).unwrap() == std::fs::read(Path::new(&whole).join(&name)).unwrap(), "{name} differs from run to run");
    }
}
