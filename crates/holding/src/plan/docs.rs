//! The tables part of `docs/plan-file.md`, written from the same descriptions the plan is made from.

use super::about;
use super::column::{Kind, Table};
use super::kind::TABLES;
use std::path::Path;

const START: &str = "<!-- tables: written by `GREYHEN_BLESS=1 cargo test -p holding plan_file_is_described` -->";
const END: &str = "<!-- end of tables -->";

fn table(table: &Table) -> String {
    let rows = match table.shape() {
        Some(shape) => format!("Features; geometry `{}`, indexed.", shape.type_name()),
        None => "Rows without geometry.".into(),
    };
    let mut text = format!("### `{}`\n{} {rows}\n\n| column | type | unit | values | says |\n|---|---|---|---|---|\n", table.name, table.meaning);
    text += "| `fid` | INTEGER | | unique | number of the row; gives the order |\n";
    for column in table.columns {
        let values = match (column.kind, column.range) {
            (Kind::Word(words, _), _) => words().iter().map(|w| format!("`{w}`")).collect::<Vec<_>>().join(", "),
            (Kind::Boolean, _) => "0, 1".into(),
            (Kind::Date, _) => "YYYY-MM-DD".into(),
            (Kind::Time, _) => "HH:MM:SS".into(),
            (Kind::Json, _) => "JSON object".into(),
            (_, Some((low, high))) if high < f64::from(u32::MAX) && low > f64::from(i32::MIN) => format!("{low} to {high}"),
            (_, Some((low, _))) if low > f64::from(i32::MIN) => format!("{low} or more"),
            _ => String::new(),
        };
        let needed = if column.required { "; must be there" } else { "" };
        text += &format!("| `{}` | {} | {} | {values} | {}{needed} |\n", column.name, column.sql_type(), column.unit, column.meaning);
    }
    text
}

fn tables() -> String {
    let mut text: Vec<String> = TABLES.iter().map(|t| table(t)).collect();
    let keys: String = about::KEYS.iter().map(|(key, says)| format!("| `{key}` | {says} |\n")).collect();
    text.push(format!("### `about`\nFacts about the plan itself: columns `fid`, `key` (TEXT, unique), `value` (TEXT). Other keys are kept.\n\n| key | says |\n|---|---|\n{keys}"));
    text.join("\n")
}

#[test]
fn the_plan_file_is_described() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/plan-file.md");
    let page = std::fs::read_to_string(&path).unwrap();
    let (before, rest) = page.split_once(START).unwrap();
    let (_, after) = rest.split_once(END).unwrap();
    let expected = format!("{before}{START}\n\n{}\n{END}{after}", tables());
    if std::env::var_os("GREYHEN_BLESS").is_some() {
        std::fs::write(&path, expected).unwrap();
    } else {
        assert!(page == expected, "docs/plan-file.md is not what the plan is made from; run with GREYHEN_BLESS=1");
    }
}

#[test]
fn every_fact_about_a_plan_is_described() {
    let all = crate::model::About { blaeberry_taken: Some(true), as_at: Some(Default::default()), name: "n".into(), heights_source: "h".into(), note: "n".into(), ..Default::default() };
    let conn = rusqlite::Connection::open_in_memory().unwrap();
    conn.execute_batch("CREATE TABLE about (fid INTEGER PRIMARY KEY, key TEXT UNIQUE, value TEXT)").unwrap();
    about::write(&conn, &all).unwrap();
    let mut select = conn.prepare("SELECT key FROM about ORDER BY fid").unwrap();
    let keys: Vec<String> = select.query_map([], |row| row.get(0)).unwrap().map(Result::unwrap).collect();
    assert_eq!(keys, about::KEYS.map(|(key, _)| key));
    let mut faults = Vec::new();
    assert_eq!((about::read(&conn, &mut faults).unwrap(), faults.len()), (all, 0));
}
