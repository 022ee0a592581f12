//! What each column means, told in the file itself: the GeoPackage schema extension.
//!
//! Source: OGC 12-128r18, annex F.9.

use super::column::{Column, Kind, Table};
use super::kind::TABLES;
use rusqlite::{Connection, params};

const LAYOUT: &str = "
CREATE TABLE IF NOT EXISTS gpkg_data_columns (
  table_name TEXT NOT NULL,
  column_name TEXT NOT NULL,
  name TEXT,
  title TEXT,
  description TEXT,
  mime_type TEXT,
  constraint_name TEXT,
  CONSTRAINT pk_gdc PRIMARY KEY (table_name, column_name),
  CONSTRAINT gdc_tn UNIQUE (table_name, name)
);
CREATE TABLE IF NOT EXISTS gpkg_data_column_constraints (
  constraint_name TEXT NOT NULL,
  constraint_type TEXT NOT NULL,
  value TEXT,
  min NUMERIC,
  min_is_inclusive BOOLEAN,
  max NUMERIC,
  max_is_inclusive BOOLEAN,
  description TEXT,
  CONSTRAINT gdcc_ntv UNIQUE (constraint_name, constraint_type, value)
);
";

/// Describe every column of every kind; descriptions of other tables are left alone.
pub(crate) fn add(conn: &Connection) -> rusqlite::Result<()> {
    conn.execute_batch(LAYOUT)?;
    for table in ["gpkg_data_columns", "gpkg_data_column_constraints"] {
        conn.execute(
            "INSERT INTO gpkg_extensions SELECT ?1, NULL, 'gpkg_schema', 'http://www.geopackage.org/spec140/#extension_schema', 'read-write'
             WHERE NOT EXISTS (SELECT 1 FROM gpkg_extensions WHERE table_name = ?1 AND extension_name = 'gpkg_schema')",
            [table],
        )?;
    }
    for table in TABLES {
        for column in table.columns {
            describe(conn, table, column)?;
        }
    }
    Ok(())
}

fn describe(conn: &Connection, table: &Table, column: &Column) -> rusqlite::Result<()> {
    let constraint = constrain(conn, table, column)?;
    let unit = if column.unit.is_empty() { String::new() } else { format!(" ({})", column.unit) };
    conn.execute(
        "INSERT OR REPLACE INTO gpkg_data_columns (table_name, column_name, name, description, constraint_name) VALUES (?1, ?2, ?2, ?3, ?4)",
        params![table.name, column.name, format!("{}{unit}", column.meaning), constraint],
    )?;
    Ok(())
}

/// The constraint on a column: its words, or a range with two ends.
fn constrain(conn: &Connection, table: &Table, column: &Column) -> rusqlite::Result<Option<String>> {
    let name = format!("{}_{}", table.name, column.name);
    match (column.kind, column.range) {
        (Kind::Word(words, _), _) => {
            let sql = "INSERT OR REPLACE INTO gpkg_data_column_constraints (constraint_name, constraint_type, value) VALUES (?1, 'enum', ?2)";
            for word in words() {
                conn.execute(sql, params![name, word])?;
            }
            Ok(Some(name))
        }
        (Kind::Real, Some((low, high))) if high <= 100.0 => {
            conn.execute("DELETE FROM gpkg_data_column_constraints WHERE constraint_name = ?1", [&name])?;
            let sql = "INSERT INTO gpkg_data_column_constraints (constraint_name, constraint_type, min, min_is_inclusive, max, max_is_inclusive) VALUES (?1, 'range', ?2, 1, ?3, 1)";
            conn.execute(sql, params![name, low, high])?;
            Ok(Some(name))
        }
        _ => Ok(None),
    }
}
