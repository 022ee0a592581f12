//! Bringing a plan of an older schema up to the present one, step by step, in one transaction.

use super::kind::Stored;
use super::{base, clock, describe, history};
use crate::model::{BroodCount, HiredCrew, OwnPrice, Visit};
use rusqlite::{Connection, OptionalExtension, params};

/// The plan schema this version writes.
pub const SCHEMA: u32 = 5;

/// The schema of a file, and the guidance edition last written into it; `None` where it is not a plan.
pub(crate) fn schema(conn: &Connection) -> rusqlite::Result<Option<(u32, String)>> {
    let there = "SELECT 1 FROM sqlite_master WHERE type = 'table' AND name = 'greyhen_schema'";
    if conn.query_row(there, [], |_| Ok(())).optional()?.is_none() {
        return Ok(None);
    }
    let sql = "SELECT version, IFNULL(guidance_edition, '') FROM greyhen_schema ORDER BY version DESC, fid DESC LIMIT 1";
    conn.query_row(sql, [], |row| Ok((row.get(0)?, row.get(1)?))).optional()
}

/// Note that the file now has the present schema.
pub(crate) fn note(conn: &Connection, guidance_edition: &str) -> rusqlite::Result<()> {
    conn.execute(
        "INSERT INTO greyhen_schema (version, guidance_edition, program, since) VALUES (?1, ?2, ?3, ?4)",
        params![SCHEMA, guidance_edition, concat!("greyhen ", env!("CARGO_PKG_VERSION")), clock::now()],
    )?;
    Ok(())
}

/// What brings a file from one schema to the next.
type Upgrade = fn(&Connection) -> rusqlite::Result<()>;

/// The step from each older schema to the next, oldest first.
const STEPS: [(u32, Upgrade); 4] = [(1, from_1), (2, from_2), (3, from_3), (4, from_4)];

/// Bring a file up to the present schema; the caller holds the transaction.
pub(crate) fn up(conn: &Connection, from: u32, guidance_edition: &str) -> rusqlite::Result<()> {
    if from >= SCHEMA {
        return Ok(());
    }
    for (_, step) in STEPS.iter().filter(|(version, _)| *version >= from) {
        step(conn)?;
    }
    note(conn, guidance_edition)
}

/// Schema 2 tells in the file what each column means, finds rows by the rows they name, and declares the
/// GeoPackage version that more programs know.
fn from_1(conn: &Connection) -> rusqlite::Result<()> {
    describe::add(conn)?;
    base::add_lookups(conn)?;
    conn.pragma_update(None, "user_version", base::USER_VERSION)
}

/// Schema 3 keeps more of a visit, and brood counts.
fn from_2(conn: &Connection) -> rusqlite::Result<()> {
    let visits = Visit::TABLE;
    for column in visits.columns.iter().filter(|c| matches!(c.name, "known_to" | "observer" | "wind_beaufort" | "rain" | "other")) {
        let there = "SELECT 1 FROM pragma_table_info(?1) WHERE name = ?2";
        if conn.query_row(there, params![visits.name, column.name], |_| Ok(())).optional()?.is_none() {
            let (name, kind, check) = (column.name, column.sql_type(), column.sql_check());
            conn.execute_batch(&format!("ALTER TABLE \"{}\" ADD COLUMN \"{name}\" {kind}{check}", visits.name))?;
        }
    }
    let epsg: u32 = conn.query_row("SELECT srs_id FROM gpkg_geometry_columns WHERE table_name = 'leks'", [], |row| row.get(0))?;
    base::add_table(conn, BroodCount::TABLE, epsg)?;
    describe::add(conn)
}

/// Schema 4 keeps who can be had for works, and the user's own rates.
fn from_3(conn: &Connection) -> rusqlite::Result<()> {
    let epsg: u32 = conn.query_row("SELECT srs_id FROM gpkg_geometry_columns WHERE table_name = 'leks'", [], |row| row.get(0))?;
    base::add_table(conn, HiredCrew::TABLE, epsg)?;
    base::add_table(conn, OwnPrice::TABLE, epsg)?;
    describe::add(conn)
}

/// Schema 5 keeps what was done, so that it can be taken back.
fn from_4(conn: &Connection) -> rusqlite::Result<()> {
    history::add(conn)
}
