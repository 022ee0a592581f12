//! Whether the plan's file is still where it was opened. It may be moved, put away or replaced by a copy under the desk's hands, and what is
//! written then would never be found again. The file is looked at and not opened: closing it would let its locks go.

use std::fs::{Metadata, symlink_metadata};
use std::path::{Path, PathBuf};

/// A file at its place.
pub(crate) struct Place {
    path: PathBuf,
    file: Option<FileId>,
}

impl Place {
    /// The file that is there now.
    pub fn of(path: &Path) -> Place {
        // A link may be pointed elsewhere: it is the file itself that is followed.
        let path = path.canonicalize().unwrap_or_else(|_| path.to_path_buf());
        Place { file: file_at(&path), path }
    }

    /// Whether the same file is there still.
    pub fn holds(&self) -> bool {
        self.file.is_some() && file_at(&self.path) == self.file
    }

    /// Whether a path leads to this place.
    pub fn is_at(&self, path: &Path) -> bool {
        path.canonicalize().is_ok_and(|path| path == self.path)
    }
}

fn file_at(path: &Path) -> Option<FileId> {
    symlink_metadata(path).ok().map(|about| id_of(&about))
}

/// What tells a file from every other on the machine.
#[cfg(unix)]
type FileId = (u64, u64);

#[cfg(unix)]
fn id_of(about: &Metadata) -> FileId {
    use std::os::unix::fs::MetadataExt;
    (about.dev(), about.ino())
}

/// Where an open file cannot be moved away, its being there says enough.
#[cfg(not(unix))]
type FileId = ();

#[cfg(not(unix))]
fn id_of(_: &Metadata) -> FileId {}
