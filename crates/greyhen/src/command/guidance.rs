//! `greyhen guidance`: the tables of figures.

use crate::fail::Fail;
use crate::{Ended, talk};
use guidance::{Guidance, Row};
use serde_json::json;
use std::path::PathBuf;

/// Arguments.
#[derive(clap::Args)]
pub struct Guide {
    #[command(subcommand)]
    what: What,
}

#[derive(clap::Subcommand)]
enum What {
    /// List the keys, with value, unit and grade
    List {
        /// Only keys that begin so, such as `composition.`
        prefix: Option<String>,
        /// Print one JSON document
        #[arg(long)]
        json: bool,
    },
    /// Show one key whole
    Show {
        /// The key
        key: String,
        /// Print one JSON document
        #[arg(long)]
        json: bool,
    },
    /// Check tables for faults: those built in, or a folder of tables
    Check {
        /// Folder with bibliography.csv, edition.txt and tables
        folder: Option<PathBuf>,
    },
}

impl Guide {
    /// Run it.
    pub fn run(self) -> Result<Ended, Fail> {
        match self.what {
            What::List { prefix, json } => list(prefix.as_deref().unwrap_or(""), json),
            What::Show { key, json } => super::explain::figure(&super::tables()?, &key, json),
            What::Check { folder } => check(folder),
        }
    }
}

fn list(prefix: &str, as_json: bool) -> Result<Ended, Fail> {
    let guidance = super::tables()?;
    let rows: Vec<&Row> = guidance.rows().filter(|r| r.key.starts_with(prefix)).collect();
    if rows.is_empty() {
        return Err(Fail::one(format!("no key begins with `{prefix}`. Hint: greyhen guidance list, without a beginning, lists all")));
    }
    if as_json {
        let rows: Vec<_> = rows
            .iter()
            .map(|r| json!({
                "key": r.key, "x": r.x, "value": r.value.to_string(), "unit": r.unit, "low": r.low, "high": r.high,
                "source": r.source, "locator": r.locator, "grade": r.grade.word(), "country": r.country.to_string(), "edition": r.edition,
            }))
            .collect();
        talk::print_json(&json!({"schema": "greyhen.guidance/1", "edition": guidance.edition(), "rows": rows}));
        return Ok(Ended::Well);
    }
    let rows: Vec<Vec<String>> = rows
        .iter()
        .map(|r| {
            let key = r.x.map_or(r.key.clone(), |x| format!("{} at {x}", r.key));
            vec![key, shortened(&r.value.to_string()), r.unit.clone(), r.grade.word().to_string(), r.source.clone(), r.country.to_string()]
        })
        .collect();
    talk::print(&talk::table(&["key", "value", "unit", "grade", "source", "country"], &rows, &[1]));
    talk::print(&format!("\n{} rows, edition {}", rows.len(), guidance.edition()));
    Ok(Ended::Well)
}

fn shortened(text: &str) -> String {
    if text.chars().count() <= 40 { text.to_string() } else { text.chars().take(37).chain("...".chars()).collect() }
}

fn check(folder: Option<PathBuf>) -> Result<Ended, Fail> {
    let guidance = match &folder {
        None => super::tables()?,
        Some(folder) => {
            let mut texts = Vec::new();
            let entries = std::fs::read_dir(folder).map_err(|e| Fail::file(folder, "reading the folder", &e))?;
            for entry in entries.flatten() {
                let path = entry.path();
                let name = entry.file_name().to_string_lossy().into_owned();
                if name.ends_with(".csv") || name == "edition.txt" {
                    texts.push((name, std::fs::read_to_string(&path).map_err(|e| Fail::file(&path, "reading", &e))?));
                }
            }
            texts.sort();
            let texts: Vec<(&str, &str)> = texts.iter().map(|(n, t)| (n.as_str(), t.as_str())).collect();
            Guidance::from_texts(&texts)?
        }
    };
    let rows = guidance.rows().count();
    talk::print(&format!("{rows} rows, {} sources, edition {}: no fault", guidance.sources().count(), guidance.edition()));
    Ok(Ended::Well)
}
