//! One writer at a time.
//!
//! The lock is the engine's own: a writer keeps a write transaction open from the moment it opens the plan
//! (the reserved lock: others may read, none may write) and takes the next one straight after each commit. The
//! operating system drops the lock when the process ends, however it ends, so none can go stale, and nothing is
//! left beside the file.
//!
//! A row in `greyhen_writer` says who has the plan, for the words of the refusal. The row alone means nothing: a
//! kill leaves it behind. It serves once more in the moment between a commit and the next transaction, when the
//! lock is free: whoever finds the lock free but a name in the row lets go again and waits a little, and a living
//! writer has its lock back by then.

use super::clock;
use super::connect::{PATIENCE, told};
use super::fault::PlanError;
use rusqlite::{Connection, ErrorCode, OptionalExtension};
use std::path::Path;
use std::time::Duration;

/// Times a free lock with a name in the row is looked at again, and the pause between.
const LOOKS: u32 = 4;
const PAUSE: Duration = Duration::from_millis(12);

/// Take the lock, or say who has it.
pub(crate) fn take(conn: &Connection, path: &Path) -> Result<(), PlanError> {
    for look in 0.. {
        begin(conn, path)?;
        if look >= LOOKS || writer(conn).is_none() {
            return Ok(());
        }
        conn.execute_batch("ROLLBACK").map_err(|source| told(path, "opening the plan", source))?;
        std::thread::sleep(PAUSE);
    }
    Ok(())
}

fn begin(conn: &Connection, path: &Path) -> Result<(), PlanError> {
    let failed = |source| told(path, "opening the plan", source);
    conn.busy_timeout(Duration::ZERO).map_err(failed)?;
    let begun = conn.execute_batch("BEGIN IMMEDIATE");
    conn.busy_timeout(PATIENCE).map_err(failed)?;
    match begun {
        Ok(()) => Ok(()),
        Err(source) if source.sqlite_error_code() == Some(ErrorCode::DatabaseBusy) => Err(taken(conn, path)),
        Err(source) => Err(failed(source)),
    }
}

/// The refusal, with what is known of the holder.
pub(crate) fn taken(conn: &Connection, path: &Path) -> PlanError {
    let who = writer(conn).unwrap_or_else(|| "by another program".into());
    PlanError::Taken { path: path.into(), who }
}

/// Who the row names, in words.
fn writer(conn: &Connection) -> Option<String> {
    let sql = "SELECT person, machine, process, since FROM greyhen_writer LIMIT 1";
    let row = conn
        .query_row(sql, [], |row| {
            Ok((row.get::<_, String>(0)?, row.get::<_, String>(1)?, row.get::<_, i64>(2)?, row.get::<_, String>(3)?))
        })
        .optional();
    let (person, machine, process, since) = row.ok().flatten()?;
    Some(format!("by {person} on {machine} (process {process}), since {since}"))
}

/// Write the row; the caller commits.
pub(crate) fn sign(conn: &Connection) -> rusqlite::Result<()> {
    let named = |keys: &[&str], otherwise: &str| {
        keys.iter().find_map(|key| std::env::var(key).ok().filter(|v| !v.is_empty())).unwrap_or(otherwise.into())
    };
    conn.execute("DELETE FROM greyhen_writer", [])?;
    conn.execute(
        "INSERT INTO greyhen_writer (fid, person, machine, process, since) VALUES (1, ?1, ?2, ?3, ?4)",
        rusqlite::params![
            named(&["USER", "USERNAME"], "somebody"),
            named(&["HOSTNAME", "COMPUTERNAME"], "this machine"),
            std::process::id(),
            clock::now(),
        ],
    )?;
    Ok(())
}

/// Take the row out again; the caller commits.
pub(crate) fn sign_off(conn: &Connection) -> rusqlite::Result<()> {
    conn.execute("DELETE FROM greyhen_writer", []).map(|_| ())
}
