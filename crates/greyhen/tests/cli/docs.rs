//! The pages say what is there: paths, rooms, keys and rules they name exist.

use guidance::Guidance;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn page(name: &str) -> String {
    std::fs::read_to_string(root().join(name)).unwrap_or_else(|e| panic!("{name}: {e}"))
}

/// Every `code` word of a page.
fn code(text: &str) -> Vec<String> {
    let mut out = Vec::new();
    let mut fenced = false;
    for line in text.lines() {
        if line.starts_with("```") {
            fenced = !fenced;
        } else if !fenced {
            out.extend(line.split('`').skip(1).step_by(2).map(str::to_string));
        }
    }
    out
}

#[test]
fn architecture_names_every_room_and_only_paths_that_exist() {
    let text = page("ARCHITECTURE.md");
    let mut rooms = 0;
    for entry in std::fs::read_dir(root().join("crates")).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        assert!(text.contains(&name), "ARCHITECTURE.md does not name the room {name}");
        rooms += 1;
    }
    assert!(rooms >= 9);
    let paths: Vec<String> = code(&text)
        .into_iter()
        .filter(|c| c.contains('/') && !c.contains(' ') && !c.contains('*') && !c.contains(':') && !c.starts_with('('))
        .collect();
    assert!(paths.len() >= 20, "{paths:?}");
    for path in paths {
        assert!(root().join(&path).exists(), "ARCHITECTURE.md names {path}, which is not there");
    }
}

#[test]
fn links_of_the_readme_lead_somewhere() {
    let text = page("README.md");
    let targets: Vec<&str> = text.split("](").skip(1).filter_map(|t| t.split(')').next()).collect();
    assert!(targets.len() >= 5);
    for target in targets.iter().filter(|t| !t.starts_with("http")) {
        assert!(root().join(target).exists(), "README.md leads to {target}, which is not there");
    }
}

#[test]
fn every_trade_fact_is_traced_to_something_that_exists() {
    let guidance = Guidance::load().unwrap();
    let keys: BTreeSet<String> = guidance.rows().map(|r| r.key.clone()).collect();
    let text = page("docs/trade-facts.md");
    let mut traced = BTreeSet::new();
    for line in text.lines().filter(|l| l.starts_with("| ") && l.contains('`')) {
        let cells: Vec<&str> = line.trim_matches('|').split('|').map(str::trim).collect();
        let [_, row, used, place] = cells.as_slice() else { panic!("{line}") };
        let row = row.trim_matches('`');
        assert!(keys.contains(row), "no row {row}");
        traced.insert(row.to_string());
        let named = code(place);
        for name in &named {
            let exists = keys.contains(name)
                || measures::rules::find(name).is_some()
                || measures::kind::find(name).is_some()
                || name.split_once('*').is_some_and(|(a, b)| keys.iter().any(|k| k.starts_with(a) && k.ends_with(b)));
            assert!(exists, "{row} is traced to {name}, which is neither a key, a rule nor a kind of measure");
        }
        if used.contains("rule") {
            assert!(named.iter().any(|n| measures::rules::find(n).is_some()), "{row} names no rule");
        }
        if used.contains("score") && !used.contains("waits") {
            assert!(!named.is_empty(), "{row} names no figure");
        }
    }
    let held: BTreeSet<String> = guidance.under("practice.").map(|r| r.key.clone()).collect();
    assert_eq!(traced, held, "rows of practice.csv and lines of docs/trade-facts.md differ");
}
