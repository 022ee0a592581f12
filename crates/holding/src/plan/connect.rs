//! A connection to a plan file, set up with distrust: limits on values, no trust in what the file's own
//! definitions call, and the geometry functions that the R-tree triggers need.
//!
//! One file at rest: the engine keeps a rollback journal beside the plan while a transaction is being written and
//! deletes it when the transaction ends. A journal left by a kill is played back by whoever opens the plan next,
//! for reading or for writing. (The other mode the engine offers, a log beside the file, would leave committed
//! work outside the plan until somebody folds it in; a copy of the one file would then miss it.)

use super::fault::PlanError;
use super::geometry::blob;
use rusqlite::functions::FunctionFlags;
use rusqlite::limits::Limit;
use rusqlite::{Connection, ErrorCode, OpenFlags};
use std::path::Path;
use std::time::Duration;

/// Longest text or binary value, and longest row, bytes.
const VALUE_BYTES_MAX: i32 = 256 << 20;

/// How long a statement waits while another program reads or finishes writing.
pub(crate) const PATIENCE: Duration = Duration::from_secs(5);

/// Open a file that must be there.
pub(crate) fn existing(path: &Path) -> Result<Connection, PlanError> {
    match std::fs::metadata(path) {
        Err(source) if source.kind() == std::io::ErrorKind::NotFound => return Err(PlanError::Missing(path.into())),
        Err(source) => return Err(PlanError::System { doing: format!("looking at `{}`", path.display()), source }),
        Ok(facts) if facts.is_dir() => return Err(not_a_plan(path, "it is a folder", "name the file inside it")),
        Ok(facts) if facts.len() == 0 && !journal_beside(path) => {
            return Err(not_a_plan(path, "it is empty", "restore it from a copy, or make a new plan"));
        }
        Ok(_) => {}
    }
    open(path, OpenFlags::SQLITE_OPEN_READ_WRITE)
}

fn journal_beside(path: &Path) -> bool {
    let mut name = path.as_os_str().to_owned();
    name.push("-journal");
    std::fs::metadata(Path::new(&name)).is_ok_and(|facts| facts.len() > 0)
}

/// Open a file that is being made.
pub(crate) fn fresh(path: &Path) -> Result<Connection, PlanError> {
    open(path, OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_CREATE)
}

fn open(path: &Path, flags: OpenFlags) -> Result<Connection, PlanError> {
    let conn = Connection::open_with_flags(path, flags | OpenFlags::SQLITE_OPEN_NO_MUTEX)
        .map_err(|source| told(path, "opening the plan", source))?;
    set_up(&conn).map_err(|source| told(path, "opening the plan", source))?;
    Ok(conn)
}

/// Limits, distrust and functions; asked of every connection, also of one in memory.
pub(crate) fn set_up(conn: &Connection) -> rusqlite::Result<()> {
    conn.busy_timeout(PATIENCE)?;
    conn.set_limit(Limit::SQLITE_LIMIT_LENGTH, VALUE_BYTES_MAX)?;
    conn.pragma_update(None, "trusted_schema", false)?;
    conn.pragma_update(None, "cell_size_check", true)?;
    geometry_functions(conn)
}

/// The functions GeoPackage R-tree triggers call (OGC 12-128r18, annex F.3).
fn geometry_functions(conn: &Connection) -> rusqlite::Result<()> {
    let flags = FunctionFlags::SQLITE_UTF8 | FunctionFlags::SQLITE_DETERMINISTIC | FunctionFlags::SQLITE_INNOCUOUS;
    conn.create_scalar_function("ST_IsEmpty", 1, flags, |call| {
        let value = call.get_raw(0);
        Ok(value.as_blob().ok().map(|bytes| !matches!(blob::bounds(bytes), Ok(Some(_)))))
    })?;
    for (at, name) in ["ST_MinX", "ST_MaxX", "ST_MinY", "ST_MaxY"].into_iter().enumerate() {
        conn.create_scalar_function(name, 1, flags, move |call| {
            let value = call.get_raw(0);
            let bounds = value.as_blob().ok().and_then(|bytes| blob::bounds(bytes).ok().flatten());
            Ok(bounds.map(|b| b[at]))
        })?;
    }
    Ok(())
}

pub(crate) fn not_a_plan(path: &Path, found: impl Into<String>, hint: &'static str) -> PlanError {
    PlanError::NotAPlan { path: path.into(), found: found.into(), hint }
}

/// Put what the engine said into the words of a plan.
pub(crate) fn told(path: &Path, doing: &str, source: rusqlite::Error) -> PlanError {
    match source.sqlite_error_code() {
        Some(ErrorCode::NotADatabase) => {
            not_a_plan(path, "it is not a GeoPackage", "import it into a plan with `greyhen import`, or check the path")
        }
        Some(ErrorCode::DatabaseCorrupt) => not_a_plan(path, format!("it is damaged ({source})"), "restore it from a copy"),
        Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => {
            PlanError::Taken { path: path.into(), who: "another program is writing it, or reading it without pause".into() }
        }
        Some(ErrorCode::ReadOnly | ErrorCode::PermissionDenied | ErrorCode::CannotOpen | ErrorCode::DiskFull | ErrorCode::SystemIoFailure) => {
            PlanError::NotWritable { path: path.into(), why: source.to_string() }
        }
        _ => PlanError::Engine { doing: format!("{doing} `{}`", path.display()), source },
    }
}
