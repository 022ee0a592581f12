//! The years ahead on the command line.

use serde_json::Value;
use std::process::{Command, Output};

fn greyhen(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_greyhen")).args(arguments).output().unwrap()
}

#[test]
fn the_demonstration_looks_thirty_years_ahead() {
    let folder = tempfile::tempdir().unwrap();
    let dir = folder.path().join("d");
    assert!(greyhen(&["demo", dir.to_str().unwrap()]).status.success());
    let plan = dir.join("demo.gpkg");
    let plan = plan.to_str().unwrap();
    let out = greyhen(&["ahead", plan, "--draws", "20", "--json"]);
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    let now: Value = serde_json::from_slice(&out.stdout).unwrap();
    assert_eq!(now["schema"], "greyhen.ahead/1");
    let years: Vec<u64> = now["years"].as_array().unwrap().iter().map(|y| y["year"].as_u64().unwrap()).collect();
    assert_eq!(years, [0, 1, 2, 3, 5, 8, 10, 15, 20, 25, 30]);
    assert_eq!(now["years"][0]["leks"][0]["seasons"].as_array().unwrap().len(), 7);
    let out = greyhen(&["ahead", plan, "--draws", "20", "--option", "7"]);
    assert_eq!(out.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&out.stderr).contains("no option 7"));
    let out = greyhen(&["ahead", plan, "--draws", "20"]);
    let text = String::from_utf8(out.stdout).unwrap();
    assert!(text.contains("nothing done") && text.contains("snow"), "{text}");
}
