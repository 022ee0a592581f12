//! What can be wrong with a plan file, and what can go wrong while one is used.

use std::fmt;
use std::path::PathBuf;

/// One thing wrong in a plan file, with its place. A damaged plan reports all of them at once.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct PlanFault {
    /// The table.
    pub table: String,
    /// The row's `fid`, where one row is at fault.
    pub row: Option<i64>,
    /// The feature's id, where it is known.
    pub id: Option<String>,
    /// The column, where one column is at fault.
    pub column: Option<String>,
    /// What is needed there.
    pub needed: String,
    /// What was found there.
    pub found: String,
    /// What to do about it.
    pub hint: String,
}

impl PlanFault {
    /// A fault of a whole table.
    pub(crate) fn table(table: &str, needed: impl Into<String>, found: impl Into<String>, hint: &str) -> Self {
        Self {
            table: table.into(),
            row: None,
            id: None,
            column: None,
            needed: needed.into(),
            found: found.into(),
            hint: hint.into(),
        }
    }
}

impl fmt::Display for PlanFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "table `{}`", self.table)?;
        if let Some(row) = self.row {
            write!(f, ", row {row}")?;
        }
        if let Some(id) = &self.id {
            write!(f, " (id `{id}`)")?;
        }
        if let Some(column) = &self.column {
            write!(f, ", column `{column}`")?;
        }
        write!(f, ": needed {}, found {}", self.needed, self.found)?;
        if !self.hint.is_empty() {
            write!(f, "\n  hint: {}", self.hint)?;
        }
        Ok(())
    }
}

/// Why a plan could not be opened, read or written.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum PlanError {
    /// There is no such file.
    #[error("there is no plan at `{}`\n  hint: make one with `greyhen new`, or check the path", .0.display())]
    Missing(PathBuf),
    /// A file is in the way.
    #[error("`{}` exists already\n  hint: choose another name, or say `--force` to replace a plan", .0.display())]
    Exists(PathBuf),
    /// The folder a plan is to be made in is not there.
    #[error("there is no folder `{}`\n  hint: make it first, or check the path", .0.display())]
    NoFolder(PathBuf),
    /// The file is something else.
    #[error("`{}` is not a plan: {found}\n  hint: {hint}", path.display())]
    NotAPlan {
        /// The file.
        path: PathBuf,
        /// What it is instead.
        found: String,
        /// What to do.
        hint: &'static str,
    },
    /// The file was made by a newer version and must not be written.
    #[error(
        "`{}` was written by a newer version (plan schema {found}; this one writes {known}), so it can be read but not changed\n  hint: open it for reading only, or use the newer version",
        path.display()
    )]
    Newer {
        /// The file.
        path: PathBuf,
        /// Its schema.
        found: u32,
        /// The newest schema this version writes.
        known: u32,
    },
    /// Another writer has the plan.
    #[error("`{}` is open for writing elsewhere: {who}\n  hint: close it there, or open it here for reading only", path.display())]
    Taken {
        /// The file.
        path: PathBuf,
        /// Who has it and since when, as far as is known.
        who: String,
    },
    /// The file or its folder cannot be written.
    #[error("`{}` cannot be written: {why}\n  hint: check the permissions of the file and its folder, and the room on the disk", path.display())]
    NotWritable {
        /// The file.
        path: PathBuf,
        /// Why.
        why: String,
    },
    /// The plan was opened for reading only.
    #[error("`{}` was opened for reading only", .0.display())]
    ReadOnly(PathBuf),
    /// What was done to the plan cannot be taken back, or done again: somebody changed the same since.
    #[error("`{label}` stays as it is: a row of `{table}` was changed by another program since\n  hint: put the feature right as it stands now")]
    Moved {
        /// What was done, in words.
        label: String,
        /// The table.
        table: String,
    },
    /// Values that do not fit the plan, all of them.
    #[error("{}", all(.0))]
    Faults(Vec<PlanFault>),
    /// The database engine refused.
    #[error("{doing}: {source}")]
    Engine {
        /// What was being done.
        doing: String,
        /// What the engine said.
        source: rusqlite::Error,
    },
    /// The operating system refused.
    #[error("{doing}: {source}")]
    System {
        /// What was being done.
        doing: String,
        /// What the system said.
        source: std::io::Error,
    },
}

impl PlanError {
    /// True where another writer has the plan.
    pub fn is_taken(&self) -> bool {
        matches!(self, PlanError::Taken { .. })
    }

    pub(crate) fn engine(doing: impl Into<String>) -> impl FnOnce(rusqlite::Error) -> PlanError {
        let doing = doing.into();
        move |source| PlanError::Engine { doing, source }
    }
}

fn all(faults: &[PlanFault]) -> String {
    let list: Vec<String> = faults.iter().map(PlanFault::to_string).collect();
    format!("{} fault{} in the plan\n{}", list.len(), if list.len() == 1 { "" } else { "s" }, list.join("\n"))
}

/// Said where a fault is beyond repair by hand.
pub(crate) const RESTORE: &str = "restore the plan from a copy, or repair the value in a GIS or with `sqlite3`";
