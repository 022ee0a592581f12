//! Checks that need more than one row.

use std::collections::BTreeMap;

use crate::fault::Fault;
use crate::row::Row;

/// Tells facts given twice, and keys whose rows do not go together.
pub(super) fn check(rows: &[Row], faults: &mut Vec<Fault>) {
    let mut seen: BTreeMap<(&str, Option<u64>, &str), &Row> = BTreeMap::new();
    let mut first: BTreeMap<&str, &Row> = BTreeMap::new();
    for row in rows {
        let abscissa = row.x.map(|x| (x + 0.0).to_bits());
        if let Some(earlier) = seen.insert((&row.key, abscissa, row.country.name()), row) {
            faults.push(fault(row, "key", "a fact given once for a country", format!("`{}` again", row.key), earlier));
        }
        let head = *first.entry(&row.key).or_insert(row);
        if head.x.is_some() != row.x.is_some() {
            faults.push(fault(row, "x", "all rows of a key with an abscissa, or none", format!("`{}` of both kinds", row.key), head));
        }
        if head.unit != row.unit {
            faults.push(fault(row, "unit", "one unit for all rows of a key", format!("`{}`", row.unit), head));
        }
        if head.waits != row.waits {
            faults.push(fault(row, "waits", "one word for all rows of a key", format!("`{}`", row.waits), head));
        }
    }
}

fn fault(row: &Row, column: &str, needed: &str, found: String, other: &Row) -> Fault {
    Fault {
        file: row.file.clone(),
        row: row.line,
        column: column.to_owned(),
        needed: needed.to_owned(),
        found,
        hint: format!("see also {} line {}", other.file, other.line),
    }
}
