//! The plan file: one GeoPackage that holds the whole holding.
//!
//! - One writer at a time, any number of readers ([`Plan::open`], [`Plan::open_read_only`]).
//! - Every [`Plan::step`] is one transaction: a kill at any moment loses at most the step under way.
//! - What the tool does not know in the file is kept: other tables, other columns, other facts.
//! - The file carries its schema version and is brought up to date when a newer version opens it for writing.
//!
//! `docs/plan-file.md` describes every table and column.
//!
//! A program that holds a plan open must not open and close the same file by other means meanwhile: on some
//! systems, closing a file drops the locks the whole process has on it.

mod about;
mod base;
mod clock;
mod column;
mod connect;
mod coverage;
mod describe;
#[cfg(test)]
mod docs;
mod fault;
mod geometry;
mod history;
mod kind;
mod lock;
mod migrate;
mod read;
mod row;
mod rtree;
mod set;
pub mod shown;
mod srs;
mod step;
mod tile;

pub use fault::{PlanError, PlanFault};
pub use history::{History, Turned};
pub(crate) use kind::Outline;
pub use kind::Stored;
pub use migrate::SCHEMA;
pub use step::{Saved, Step};

use crate::model::{About, Holding};
use connect::{not_a_plan, told};
use history::Way;
use rusqlite::{Connection, params};
use std::path::{Path, PathBuf};

/// An open plan.
pub struct Plan {
    conn: Connection,
    path: PathBuf,
    writable: bool,
    schema: u32,
    notice: Option<String>,
}

impl Plan {
    /// Make a plan file that holds `holding`, and open it for writing.
    ///
    /// The file is made whole beside its place (`PATH.part`) and then moved there, so a kill leaves either what
    /// was there before or the new plan. An existing file is replaced only with `force` and where it is a plan, and
    /// never while somebody has it open for writing.
    pub fn create(path: &Path, holding: &Holding, force: bool) -> Result<Plan, PlanError> {
        let there = path.try_exists().unwrap_or(true);
        if there && !force {
            return Err(PlanError::Exists(path.into()));
        }
        // Held until the new file is in place, so that nobody starts writing the old one meanwhile.
        let old = if there { Some(replaceable(path)?) } else { None };
        let folder = path.parent().filter(|p| !p.as_os_str().is_empty());
        if let Some(folder) = folder.filter(|p| !p.is_dir()) {
            return Err(PlanError::NoFolder(folder.into()));
        }
        let part = beside(path, ".part");
        for leftover in [part.clone(), beside(&part, "-journal")] {
            gone(&leftover)?;
        }
        let built = build(&part, holding);
        if let Err(error) = built {
            gone(&part)?;
            return Err(error);
        }
        drop(old);
        for leftover in ["-journal", "-wal", "-shm"] {
            gone(&beside(path, leftover))?;
        }
        std::fs::rename(&part, path)
            .map_err(|source| PlanError::NotWritable { path: path.into(), why: source.to_string() })?;
        settle(path);
        Plan::open(path)
    }

    /// Open a plan for reading and writing. A plan of an older schema is brought up to date first.
    ///
    /// Refused where another writer has it ([`PlanError::Taken`]), where it was written by a newer version
    /// ([`PlanError::Newer`]; it can still be read), or where the file cannot be written.
    pub fn open(path: &Path) -> Result<Plan, PlanError> {
        let conn = connect::existing(path)?;
        let failed = |source| told(path, "opening the plan", source);
        let newer = |found| PlanError::Newer { path: path.into(), found, known: SCHEMA };
        let (found, _) = recognise(&conn, path)?;
        if found > SCHEMA {
            return Err(newer(found));
        }
        let mode: String = conn.query_row("PRAGMA journal_mode = DELETE", [], |row| row.get(0)).map_err(failed)?;
        if mode != "delete" {
            return Err(lock::taken(&conn, path));
        }
        conn.pragma_update(None, "synchronous", "EXTRA").map_err(failed)?;
        lock::take(&conn, path)?;
        // Looked at again now that nobody else can write.
        let (found, edition) = recognise(&conn, path)?;
        if found > SCHEMA {
            return Err(newer(found));
        }
        migrate::up(&conn, found, &edition).map_err(failed)?;
        history::mend(&conn).map_err(failed)?;
        let notice = (found < SCHEMA).then(|| {
            format!("`{}` was brought up from plan schema {found} to {SCHEMA}: older versions can no longer change it", path.display())
        });
        let mut plan = Plan { conn, path: path.into(), writable: true, schema: SCHEMA, notice };
        lock::sign(&plan.conn).map_err(failed)?;
        plan.commit("opening the plan")?;
        Ok(plan)
    }

    /// Open a plan for reading only; it may be open for writing elsewhere. A transaction that a kill cut short is
    /// rolled back first. A plan of an older schema is brought up to date in memory, the file stays as it is.
    pub fn open_read_only(path: &Path) -> Result<Plan, PlanError> {
        let failed = |source| told(path, "opening the plan", source);
        let mut conn = connect::existing(path)?;
        let (schema, edition) = recognise(&conn, path)?;
        if schema < SCHEMA {
            conn = in_memory(&conn).map_err(failed)?;
            migrate::up(&conn, schema, &edition).map_err(failed)?;
        }
        conn.pragma_update(None, "query_only", true).map_err(failed)?;
        let notice = (schema > SCHEMA).then(|| {
            format!(
                "`{}` was written by a newer version (plan schema {schema}; this one knows {SCHEMA}): it is open for reading only, and what is new in it is not seen",
                path.display()
            )
        });
        Ok(Plan { conn, path: path.into(), writable: false, schema, notice })
    }

    /// Where the plan is.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The schema of the file.
    pub fn schema(&self) -> u32 {
        self.schema
    }

    /// False where the plan was opened for reading only.
    pub fn is_writable(&self) -> bool {
        self.writable
    }

    /// What the user should be told about how the plan was opened, if anything.
    pub fn notice(&self) -> Option<&str> {
        self.notice.as_deref()
    }

    /// The guidance edition the plan was last worked on with; empty where none was noted.
    pub fn guidance_edition(&self) -> Result<String, PlanError> {
        let noted = migrate::schema(&self.conn).map_err(PlanError::engine("reading the guidance edition"))?;
        Ok(noted.map(|(_, edition)| edition).unwrap_or_default())
    }

    /// The definition of the plan's coordinate system, well-known text.
    ///
    /// # Errors
    /// Where the file cannot be read.
    pub fn system(&self) -> Result<String, PlanError> {
        let sql = "SELECT definition FROM gpkg_spatial_ref_sys WHERE srs_id = (SELECT CAST(value AS INTEGER) FROM about WHERE key = 'epsg')";
        let found = rusqlite::OptionalExtension::optional(self.conn.query_row(sql, [], |row| row.get(0)));
        found.map(Option::unwrap_or_default).map_err(PlanError::engine("reading the coordinate system"))
    }

    /// The facts about the plan alone, without its features.
    pub fn about(&self) -> Result<About, PlanError> {
        let mut faults = Vec::new();
        let about = about::read(&self.conn, &mut faults).map_err(PlanError::engine("reading about the plan"))?;
        if faults.is_empty() { Ok(about) } else { Err(PlanError::Faults(faults)) }
    }

    /// Note the guidance edition the plan is worked on with.
    pub fn set_guidance_edition(&mut self, edition: &str) -> Result<(), PlanError> {
        if self.guidance_edition()? == edition {
            return Ok(());
        }
        self.step("noting the guidance edition", |step| step.note_guidance(edition))
    }

    /// The whole holding, or everything that is wrong with the file.
    pub fn holding(&self) -> Result<Holding, Vec<PlanFault>> {
        let lone = self.conn.is_autocommit();
        let mut faults = Vec::new();
        // A reader sees one state of the file throughout.
        if lone && let Err(source) = self.conn.execute_batch("BEGIN") {
            faults.push(PlanFault::table("plan", "a file that can be read", source.to_string(), fault::RESTORE));
        }
        let mut holding = Holding::default();
        read::into(&self.conn, &mut holding, &|_| true, &mut faults);
        if lone {
            self.conn.execute_batch("COMMIT").ok();
        }
        if faults.is_empty() { Ok(holding) } else { Err(faults) }
    }

    /// Do one step of work: all of it is written, or, where `work` fails or the program is stopped, none.
    /// When this returns, the step is on the disk. `label` says in words what is done, for messages.
    pub fn step<T>(
        &mut self,
        label: &str,
        work: impl FnOnce(&mut Step) -> Result<T, PlanError>,
    ) -> Result<T, PlanError> {
        self.work(label, work).map(|(result, _)| result)
    }

    /// Write what differs between the plan and a holding, as one step.
    pub fn save(&mut self, holding: &Holding) -> Result<Saved, PlanError> {
        self.work("saving the plan", |step| step.save(holding)).map(|((), saved)| saved)
    }

    /// What can be taken back and done again.
    ///
    /// # Errors
    /// Where the file cannot be read.
    pub fn history(&self) -> Result<History, PlanError> {
        if self.schema < history::SINCE {
            return Ok(History::default());
        }
        history::told(&self.conn).map_err(PlanError::engine("reading the history"))
    }

    /// Take the last step back, and read what it touched into `holding`; `None` where there is nothing to take back.
    ///
    /// # Errors
    /// Where a row was changed by another program since, or the file cannot be written. The plan is then as it was.
    pub fn undo(&mut self, holding: &mut Holding) -> Result<Option<Turned>, PlanError> {
        self.turn(Way::Back, holding)
    }

    /// Do the step last taken back again, and read what it touched into `holding`; `None` where there is none.
    ///
    /// # Errors
    /// As [`Plan::undo`].
    pub fn redo(&mut self, holding: &mut Holding) -> Result<Option<Turned>, PlanError> {
        self.turn(Way::Again, holding)
    }

    fn turn(&mut self, way: Way, holding: &mut Holding) -> Result<Option<Turned>, PlanError> {
        if !self.writable {
            return Err(PlanError::ReadOnly(self.path.clone()));
        }
        self.hold()?;
        let mut after = holding.clone();
        let done = history::turn(&self.conn, way).and_then(|turned| {
            let mut faults = Vec::new();
            let touched = |table: &str| turned.iter().flat_map(|t| &t.rows).any(|(name, _)| name == table || (name == "woods" && table == "wood_stems"));
            read::into(&self.conn, &mut after, &touched, &mut faults);
            if faults.is_empty() { Ok(turned) } else { Err(PlanError::Faults(faults)) }
        });
        match done {
            Ok(turned) => {
                self.commit("taking a step back")?;
                *holding = after;
                Ok(turned)
            }
            Err(error) => {
                self.conn.execute_batch("ROLLBACK").ok();
                self.hold()?;
                Err(error)
            }
        }
    }

    fn work<T>(
        &mut self,
        label: &str,
        work: impl FnOnce(&mut Step) -> Result<T, PlanError>,
    ) -> Result<(T, Saved), PlanError> {
        if !self.writable {
            return Err(PlanError::ReadOnly(self.path.clone()));
        }
        self.hold()?;
        let unfinished = Unfinished(&self.conn);
        let mut step = Step::new(&self.conn)?;
        let done = work(&mut step).and_then(|result| {
            let saved = step.finish(Some(label)).map_err(|source| told(&self.path, label, source))?;
            Ok((result, saved))
        });
        std::mem::forget(unfinished);
        match done {
            Ok(done) => self.commit(label).map(|()| done),
            Err(error) => {
                self.conn.execute_batch("ROLLBACK").ok();
                self.hold()?;
                Err(error)
            }
        }
    }

    /// Make sure the write transaction is open.
    fn hold(&self) -> Result<(), PlanError> {
        if self.conn.is_autocommit() {
            self.conn.execute_batch("BEGIN IMMEDIATE").map_err(|source| match source.sqlite_error_code() {
                Some(rusqlite::ErrorCode::DatabaseBusy) => lock::taken(&self.conn, &self.path),
                _ => told(&self.path, "taking hold of the plan", source),
            })?;
        }
        Ok(())
    }

    /// Commit, and take the next transaction. A failure to take it shows at the next step.
    fn commit(&mut self, label: &str) -> Result<(), PlanError> {
        if let Err(source) = self.conn.execute_batch("COMMIT") {
            self.conn.execute_batch("ROLLBACK").ok();
            self.hold().ok();
            return Err(told(&self.path, label, source));
        }
        self.hold().ok();
        Ok(())
    }

    /// Ask the engine to check the whole file; every fault it finds.
    pub fn check(&self) -> Result<(), Vec<PlanFault>> {
        let broken = |found: String| PlanFault::table("plan", "a sound file", found, fault::RESTORE);
        let found = || -> rusqlite::Result<Vec<String>> {
            let mut check = self.conn.prepare("PRAGMA integrity_check")?;
            check.query_map([], |row| row.get(0))?.collect()
        };
        match found() {
            Ok(lines) if lines == ["ok"] => Ok(()),
            Ok(lines) => Err(lines.into_iter().map(broken).collect()),
            Err(source) => Err(vec![broken(source.to_string())]),
        }
    }
}

/// A step under way: where it breaks off, what it wrote is taken back, so that the next step does not write it.
struct Unfinished<'p>(&'p Connection);

impl Drop for Unfinished<'_> {
    fn drop(&mut self) {
        self.0.execute_batch("ROLLBACK").ok();
    }
}

impl Drop for Plan {
    fn drop(&mut self) {
        if self.writable && !self.conn.is_autocommit() {
            self.conn.busy_timeout(std::time::Duration::from_millis(500)).ok();
            lock::sign_off(&self.conn).and_then(|()| self.conn.execute_batch("COMMIT")).ok();
        }
    }
}

/// The schema and guidance edition of a file, where it is a plan.
fn recognise(conn: &Connection, path: &Path) -> Result<(u32, String), PlanError> {
    let failed = |source| told(path, "opening the plan", source);
    let mark: i64 = conn.query_row("PRAGMA application_id", [], |row| row.get(0)).map_err(failed)?;
    let schema = migrate::schema(conn).map_err(failed)?;
    let hint = "import it into a plan with `greyhen import`";
    match schema {
        Some(found) if mark == base::APPLICATION_ID => Ok(found),
        None if mark == base::APPLICATION_ID => Err(not_a_plan(path, "it is a GeoPackage, but not made by this tool", hint)),
        _ => Err(not_a_plan(path, "it is a database of another kind", hint)),
    }
}

/// A copy of a whole plan in memory.
fn in_memory(from: &Connection) -> rusqlite::Result<Connection> {
    let mut copy = Connection::open_in_memory()?;
    rusqlite::backup::Backup::new(from, &mut copy)?.run_to_completion(1000, std::time::Duration::ZERO, None)?;
    connect::set_up(&copy)?;
    Ok(copy)
}

/// Build a whole plan in a new file.
fn build(path: &Path, holding: &Holding) -> Result<(), PlanError> {
    let conn = connect::fresh(path)?;
    let failed = |source| told(path, "making the plan", source);
    conn.pragma_update(None, "synchronous", "EXTRA").map_err(failed)?;
    conn.execute_batch("BEGIN IMMEDIATE").map_err(failed)?;
    base::lay_out(&conn, holding.about.epsg).map_err(failed)?;
    about::write(&conn, &Holding::default().about).map_err(failed)?;
    conn.execute("UPDATE about SET value = ?1 WHERE key = 'epsg'", params![holding.about.epsg.to_string()]).map_err(failed)?;
    migrate::note(&conn, "").map_err(failed)?;
    let mut step = Step::new(&conn)?;
    step.save(holding)?;
    // A new plan has nothing behind it to go back to.
    step.finish(None).map_err(failed)?;
    conn.execute_batch("COMMIT").map_err(failed)?;
    conn.close().map_err(|(_, source)| failed(source))
}

/// The plan in the way, held until the new file takes its place. Anything else is not replaced.
fn replaceable(path: &Path) -> Result<Connection, PlanError> {
    let conn = connect::existing(path).and_then(|conn| recognise(&conn, path).map(|_| conn)).map_err(|error| match error {
        PlanError::NotAPlan { path, found, .. } => not_a_plan(
            &path,
            found,
            "`--force` replaces plans only; choose another name, or move this file away yourself",
        ),
        error => error,
    })?;
    match lock::take(&conn, path) {
        Err(error) if error.is_taken() => Err(error),
        _ => Ok(conn),
    }
}

fn beside(path: &Path, ending: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(ending);
    name.into()
}

fn gone(path: &Path) -> Result<(), PlanError> {
    match std::fs::remove_file(path) {
        Err(source) if source.kind() != std::io::ErrorKind::NotFound => {
            Err(PlanError::NotWritable { path: path.into(), why: source.to_string() })
        }
        _ => Ok(()),
    }
}

/// Make the move of a file last: the folder's own entry is written to the disk, where the system can.
fn settle(path: &Path) {
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    if let Ok(folder) = std::fs::File::open(folder) {
        folder.sync_all().ok();
    }
}
