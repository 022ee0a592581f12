//! One reader a format; each gives a [`Table`](super::table::Table).

pub(super) mod csv;
pub(super) mod dbf;
pub(super) mod flatgeobuf;
pub(super) mod geojson;
pub(super) mod geopackage;
pub(super) mod gpx;
pub(super) mod shapefile;
pub(super) mod xlsx;

use super::fault::ImportFault;
use super::kind::Kind;
use crate::words::Word;
use super::limit::{CELLS_MAX, COLUMNS_MAX, ROWS_MAX};

/// The one layer to read: the one asked for, or the only one there is. Where several are there, the hint names the
/// one that is called like the kind.
pub(super) fn pick<'a>(names: &'a [String], asked: Option<&str>, kind: Kind, what: &str) -> Result<&'a str, ImportFault> {
    let listed = || format!("`{}`", names.join("`, `"));
    match (asked, names) {
        (_, []) => Err(ImportFault::new(format!("at least one {what}"), "none")),
        (Some(asked), _) => names.iter().find(|n| n.eq_ignore_ascii_case(asked)).map(String::as_str).ok_or_else(|| {
            ImportFault::new(format!("the {what} `{asked}`"), listed()).hint("name one of them with `--layer`")
        }),
        (None, [only]) => Ok(only),
        (None, _) => {
            let called = |n: &&String| Kind::from_word(n) == Some(kind) || n.to_lowercase().contains(kind.word().trim_end_matches('s'));
            let name = names.iter().find(called).unwrap_or(&names[0]);
            let name = if name.chars().all(|c| c.is_alphanumeric() || matches!(c, '_' | '-' | '.')) { name.clone() } else { format!("\"{name}\"") };
            Err(ImportFault::new(format!("one {what}"), format!("{}: {}", names.len(), listed()))
            .hint(format!("say which with `--layer {name}`")))
        }
    }
}

/// The fault of a sheet that begins with a title.
pub(super) fn title_row(title: &str) -> ImportFault {
    let title: String = title.chars().take(40).collect();
    ImportFault::new("a first row of column names", format!("`{title}` alone above wider rows")).hint("delete the rows above the headings and save again")
}

/// Refuse a table of more rows or columns than any holding has.
pub(super) fn within_limits(rows: usize, columns: usize) -> Result<(), ImportFault> {
    if rows > ROWS_MAX || columns > COLUMNS_MAX || rows.saturating_mul(columns) > CELLS_MAX {
        return Err(ImportFault::new(
            format!("at most {ROWS_MAX} rows, {COLUMNS_MAX} columns and {CELLS_MAX} values"),
            format!("{rows} rows of {columns} columns"),
        )
        .hint("leave out what lies off the holding"));
    }
    Ok(())
}

/// Column names as the file gives them: names for columns without one, and a number behind a name that comes twice.
pub(super) fn column_names(raw: impl IntoIterator<Item = String>) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for (at, name) in raw.into_iter().enumerate() {
        let (name, _) = super::value::clean(&name);
        let name = if name.is_empty() { format!("column {}", at + 1) } else { name };
        let mut unique = name.clone();
        let mut number = 2;
        while names.contains(&unique) {
            unique = format!("{name} ({number})");
            number += 1;
        }
        names.push(unique);
    }
    names
}
