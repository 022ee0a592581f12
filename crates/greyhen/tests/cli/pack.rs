//! Everything a hand-over says twice, read back and held against itself: money to the penny and ground to the square metre, across JSON,
//! workbooks, the map file and paper.

use crate::program::{demonstration, run};
use crate::schema::holds_schema;
use calamine::{Data, Range, Reader, Xlsx, open_workbook};
use rusqlite::Connection;
use serde_json::Value;
use std::path::Path;
use std::process::Command;

fn sheet(folder: &Path, book: &str, name: &str) -> Range<Data> {
    let mut opened: Xlsx<_> = open_workbook(folder.join(book)).unwrap();
    opened.worksheet_range(name).unwrap()
}

/// The cells under a head.
fn under(range: &Range<Data>, head: &str) -> Vec<Data> {
    let at = range.rows().next().unwrap().iter().position(|c| *c == head).unwrap_or_else(|| panic!("no column {head}"));
    range.rows().skip(1).map(|row| row[at].clone()).collect()
}

/// A number of a cell; nothing where it holds none.
fn number(cell: &Data) -> Option<f64> {
    match cell {
        Data::Float(v) => Some(*v),
        Data::Int(v) => Some(*v as f64),
        _ => None,
    }
}

fn pence(gbp: f64) -> i64 {
    (gbp * 100.0).round() as i64
}

fn sum_pence(range: &Range<Data>, head: &str) -> i64 {
    under(range, head).iter().filter_map(number).map(pence).sum()
}

/// Pence as paper has them: `£1,234.56`.
fn on_paper(pence: i64) -> String {
    let (pounds, rest) = (pence.abs() / 100, pence.abs() % 100);
    let digits: Vec<char> = pounds.to_string().chars().rev().collect();
    let grouped: Vec<String> = digits.chunks(3).map(|c| c.iter().collect::<String>()).collect();
    let grouped: String = grouped.join(",").chars().rev().collect();
    format!("{}£{grouped}.{rest:02}", if pence < 0 { "-" } else { "" })
}

/// The text of a PDF; `None` where nothing here can read one.
fn text(pdf: &Path) -> Option<String> {
    let out = Command::new("pdftotext").arg("-layout").arg(pdf).arg("-").output().ok()?;
    Some(String::from_utf8_lossy(&out.stdout).into_owned())
}

#[test]
fn what_a_hand_over_says_twice_agrees_to_the_penny_and_the_square_metre() {
    let dir = tempfile::tempdir().unwrap();
    let plan = demonstration(dir.path());
    run(0, &["option", &plan, "add", "Main"]);
    run(0, &["suggest", &plan, "wood", "--option", "1", "--ha", "6", "--draws", "5", "--cell", "20", "--seconds", "2"]);
    run(0, &["suggest", &plan, "water", "--option", "1", "--most", "2", "--draws", "5", "--cell", "20"]);
    run(0, &["measure", &plan, "add", "inbye", "--option", "1", "--on", "P12", "--fact", "work=stubble"]);
    run(0, &["measure", &plan, "add", "lek-care", "--option", "1", "--on", "L1", "--fact", "work=short"]);
    run(0, &["measure", &plan, "add", "fence", "--option", "1", "--fact", "work=mark", "--fact", "fence=F16"]);
    let pack = dir.path().join("pack");
    let when = ["--from", "2027-01-04", "--years", "5"];
    let told = run(0, &[&["works", &plan, "--option", "1", "--json"][..], &when].concat()).0;
    let handed = ["handover", &plan, "--to", pack.to_str().unwrap(), "--option", "1", "--date", "2026-11-27", "--draws", "5", "--cell", "20"];
    let said = run(0, &[&handed[..], &when].concat()).0;

    // Every file there is, and no other.
    let manifest = holds_schema("manifest.json", &std::fs::read_to_string(pack.join("manifest.json")).unwrap());
    let listed: Vec<&str> = manifest["files"].as_array().unwrap().iter().map(|f| f["name"].as_str().unwrap()).collect();
    let paper: &[&str] = if cfg!(feature = "pdf") { &["plan.pdf", "kitchen-table.pdf", "contractor.pdf", "monitoring.pdf"] } else { &[] };
    let rest = ["ledger.xlsx", "contractor.xlsx", "claims.xlsx", "calendar.ics", "waypoints.gpx", "gis/measures.gpkg", "gis/results.gpkg"];
    let wanted: Vec<&str> = paper.iter().chain(&rest).copied().collect();
    assert_eq!(listed, wanted);
    assert!(wanted.iter().all(|name| said.contains(name) && pack.join(name).is_file()), "{said}");

    // Money: JSON, claims.xlsx, the map file.
    let works = holds_schema("works.json", &told);
    let account = &works["account"];
    let usual = |of: &Value| of[1].as_i64().unwrap();
    let (cost, income) = (usual(&account["totals"]["cost"]), usual(&account["totals"]["income"]));
    assert!(cost > 100_000 && income > 100_000, "{cost} {income}");
    assert_eq!(sum_pence(&sheet(&pack, "claims.xlsx", "Costs"), "Amount, £"), cost);
    assert_eq!(sum_pence(&sheet(&pack, "claims.xlsx", "Claims"), "Amount, £"), income);
    let totals = sheet(&pack, "claims.xlsx", "Totals");
    let row = |what: &str| totals.rows().find(|r| r[0] == what).map(|r| [1, 2, 3].map(|i| pence(number(&r[i]).unwrap()))).unwrap();
    let three = |of: &Value| [0, 1, 2].map(|i| of[i].as_i64().unwrap());
    assert_eq!([row("Costs"), row("Income")], [three(&account["totals"]["cost"]), three(&account["totals"]["income"])]);
    let years = sheet(&pack, "claims.xlsx", "By year");
    let of_json: Vec<(i64, i64)> = account["years"].as_array().unwrap().iter().map(|y| (usual(&y["cost"]), usual(&y["income"]))).collect();
    let of_book: Vec<(i64, i64)> = under(&years, "Costs, £").iter().zip(under(&years, "Claimed, £")).filter_map(|(c, i)| Some((pence(number(c)?), pence(number(&i)?)))).collect();
    assert_eq!(of_book, of_json);
    let gis = Connection::open(pack.join("gis/measures.gpkg")).unwrap();
    let sum = |sql: &str| gis.query_row(sql, [], |r| r.get::<_, i64>(0)).unwrap();
    assert_eq!(sum("SELECT SUM(pence) FROM account_lines WHERE flow = 'cost'"), cost);
    assert_eq!(sum("SELECT SUM(pence) FROM account_lines WHERE flow = 'income'"), income);
    assert_eq!((sum("SELECT SUM(cost_pence) FROM measures"), sum("SELECT SUM(income_pence) FROM measures")), (cost, income));
    assert_eq!(sum("SELECT SUM(pence) FROM claims"), income);

    // Tasks: JSON, the contractor's workbook, the map file, the calendar.
    let planned = works["jobs"].as_array().unwrap().iter().filter(|j| !j["planned"].is_null()).count();
    let jobs = sheet(&pack, "contractor.xlsx", "Jobs");
    let calendar = std::fs::read_to_string(pack.join("calendar.ics")).unwrap();
    assert_eq!([jobs.rows().count() - 1, sum("SELECT COUNT(*) FROM tasks") as usize, calendar.matches("BEGIN:VEVENT").count()], [planned; 3]);

    // Ground: the map file, the contractor's workbook, the plan itself.
    let places = sheet(&pack, "contractor.xlsx", "Places");
    let of_book: Vec<(i64, i64)> = under(&places, "Measure").iter().zip(under(&places, "Area shown, m²")).filter_map(|(n, m2)| Some((number(n)? as i64, number(&m2)?.round() as i64))).collect();
    let mut read = gis.prepare("SELECT number, id, area_m2, shape FROM measures WHERE area_m2 IS NOT NULL ORDER BY number").unwrap();
    let rows = read.query_map([], |r| Ok((r.get::<_, i64>(0)?, r.get::<_, String>(1)?, r.get::<_, f64>(2)?, r.get::<_, String>(3)?))).unwrap();
    let of_gis: Vec<_> = rows.map(Result::unwrap).collect();
    assert_eq!(of_book, of_gis.iter().map(|(n, _, m2, _)| (*n, m2.round() as i64)).collect::<Vec<_>>());
    let list: Value = serde_json::from_str(&run(0, &["measure", &plan, "list", "--option", "1", "--json"]).0).unwrap();
    let mut held = 0;
    for (_, id, m2, _) in of_gis.iter().filter(|(.., shape)| shape == "as planned") {
        let measure = list["measures"].as_array().unwrap().iter().find(|m| m["id"] == id.as_str()).unwrap();
        let planned_m2 = measure["area_ha"].as_f64().unwrap() * 10_000.0;
        // One that stands on a field has no outline of its own.
        if planned_m2 > 0.0 {
            assert_eq!(planned_m2.round(), m2.round(), "{id}");
            held += 1;
        }
    }
    assert!(held > 0, "{of_gis:?}");

    // Paper.
    if !cfg!(feature = "pdf") {
        return;
    }
    let Some(page) = text(&pack.join("plan.pdf")) else {
        println!("skipped: pdftotext is not here, so the plan on paper was not read back");
        return;
    };
    let all: Vec<i64> = account["years"].as_array().unwrap().iter().flat_map(|y| [usual(&y["cost"]), usual(&y["income"])]).chain([cost, income, income - cost]).collect();
    for sum in all {
        assert!(page.contains(&on_paper(sum)), "{} is not on paper", on_paper(sum));
    }
    for (_, id, m2, _) in of_gis.iter().filter(|(_, id, _, shape)| shape == "as planned" && id.starts_with("wood")) {
        assert!(page.contains(&format!("{:.2} ha", m2 / 10_000.0)), "{id}: {:.2} ha", m2 / 10_000.0);
    }
    let contractor = text(&pack.join("contractor.pdf")).unwrap();
    let flat = |t: &str| t.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(!flat(&contractor).contains('£'), "no money in the contractor's sheet");
    for page in [&page, &contractor, &text(&pack.join("kitchen-table.pdf")).unwrap(), &text(&pack.join("monitoring.pdf")).unwrap()] {
        let sheets: Vec<&str> = page.split('\u{c}').filter(|p| !p.trim().is_empty()).collect();
        let silent: Vec<usize> = (1..sheets.len()).filter(|i| !flat(sheets[*i]).contains("lek places withheld")).collect();
        assert!(silent.is_empty(), "pages that do not say what is done about leks: {silent:?}");
    }
}
