//! What dawn counts say, as people ask it.

use crate::program::run;
use crate::schema::holds_schema;
use std::path::Path;

/// A file of visits to three invented leks, halving in ten years, with a gap and a remark.
fn visits(dir: &Path) -> String {
    let mut text = "Lek,Date,Time,Cocks,Remarks\n".to_string();
    for (lek, first) in [("Upper Knowe", 16.0_f64), ("Lower Knowe", 8.0), ("Far Knowe", 11.0)] {
        for year in 2010..2021 {
            if (lek, year) != ("Far Knowe", 2014) {
                let cocks = (first * (-0.069 * f64::from(year - 2010)).exp()).round();
                text.push_str(&format!("{lek},14/04/{year},05:30,{cocks},\"still, clear\"\n"));
            }
        }
    }
    let path = dir.join("visits.csv");
    std::fs::write(&path, text).unwrap();
    path.to_str().unwrap().to_string()
}

/// Text without the line breaks that fit it to a screen.
fn flowing(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn a_fall_is_told_with_its_certainty_and_its_limits() {
    let dir = tempfile::tempdir().unwrap();
    let file = visits(dir.path());
    let told = flowing(&run(0, &["counts", &file, "trend"]).0);
    assert!(told.contains("almost certainly fell") && told.contains("from 32 counts at 3 leks"), "{told}");
    let trend = holds_schema("counts-trend.json", &run(0, &["counts", &file, "trend", "--json", "--limits", "quasi", "--base", "2012"]).0);
    let change = trend["annual_change"]["value"].as_f64().unwrap();
    assert!((change - (-0.069_f64).exp_m1()).abs() < 0.01, "{change}");
    assert_eq!(trend["limits"], "quasi");
    let base = trend["index"].as_array().unwrap().iter().find(|y| y["year"] == 2012).unwrap();
    assert_eq!((&base["value"], &base["lo"]), (&serde_json::json!(1.0), &serde_json::Value::Null));
    let short = holds_schema("counts-trend.json", &run(0, &["counts", &file, "trend", "--json", "--from", "2015", "--to", "2018"]).0);
    assert_eq!((&short["counts"], &short["index"][0]["year"]), (&serde_json::json!(12), &serde_json::json!(2015)));
}

#[test]
fn leks_are_set_beside_a_regions_index_and_a_broken_one_is_told_whole() {
    let dir = tempfile::tempdir().unwrap();
    let file = visits(dir.path());
    let index = dir.path().join("index.csv");
    std::fs::write(&index, "Year,Index\n2010,100\n2013,101\n2016,99\n2020,100\n").unwrap();
    let told = flowing(&run(0, &["counts", &file, "trend", "--beside", index.to_str().unwrap()]).0);
    assert!(told.contains("did worse than their region"), "{told}");
    std::fs::write(&index, "Year,Index\n2010,100\n2010,101\n2016,many\n2020,-3\n").unwrap();
    let (_, said) = run(2, &["counts", &file, "trend", "--beside", index.to_str().unwrap()]);
    assert!(said.contains("3 things are wrong") && said.contains("line 3") && said.contains("line 4") && said.contains("line 5"), "{said}");
}

#[test]
fn what_it_takes_to_see_a_change_is_told() {
    let dir = tempfile::tempdir().unwrap();
    let file = visits(dir.path());
    let few = holds_schema("counts-power.json", &run(0, &["counts", &file, "power", "--change", "-2", "--json"]).0);
    let more = holds_schema("counts-power.json", &run(0, &["counts", &file, "power", "--change", "-10", "--json"]).0);
    assert!(few["years_needed"].as_u64().unwrap() > more["years_needed"].as_u64().unwrap(), "{few} {more}");
    let (_, said) = run(2, &["counts", &file, "power", "--change", "0"]);
    assert!(said.contains("of 0.1 at least either way"), "{said}");
    let (_, said) = run(2, &["counts", &file, "trend", "--base", "1999"]);
    assert!(said.contains("cannot start from 1999"), "{said}");
}
