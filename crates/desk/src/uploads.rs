//! Files that pages sent: kept for the time being in a private folder that goes with the run, each under a number.

use crate::api::edit::{Problem, ProblemFault};
use crate::api::importing::Upload;
use crate::state::held;
use holding::import::{Source, look};
use std::collections::BTreeMap;
use std::fs::File;
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};
use tempfile::TempDir;

/// The largest file that is taken, bytes.
pub const BYTES_MAX: u64 = 256 << 20;
/// Files kept at a time, and bytes of all of them; the oldest go first.
const KEPT: usize = 24;
const ALL_BYTES_MAX: u64 = 1 << 30;
/// Letters of a name.
const NAME_MAX: usize = 200;

/// The files of a run.
#[derive(Default)]
pub struct Uploads(Mutex<Shelf>);

#[derive(Default)]
struct Shelf {
    last: u64,
    files: BTreeMap<u64, Kept>,
}

/// A file that was sent. What reads it keeps it there.
#[derive(Clone)]
pub struct Kept {
    /// What was told of it.
    pub told: Upload,
    path: PathBuf,
    /// Its own folder, gone with the last who holds it.
    _folder: Arc<TempDir>,
}

impl Kept {
    /// Where it lies.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// As the importers read it, under the name it was sent by.
    pub fn source(&self) -> Source {
        Source::path(&self.path).called(&self.told.name)
    }
}

/// A file that is being sent.
pub struct Coming {
    name: String,
    path: PathBuf,
    folder: TempDir,
    file: File,
    bytes: u64,
}

impl Coming {
    /// Begin a file of a name.
    ///
    /// # Errors
    /// Where the name is no name, or the disk refuses.
    pub fn begin(name: &str) -> Result<Coming, Problem> {
        let name = plain_name(name)?;
        let folder = tempfile::Builder::new().prefix("greyhen-upload-").tempdir().map_err(|e| failed(&e))?;
        let path = folder.path().join(format!("file{}", ending(&name)));
        let file = File::create_new(&path).map_err(|e| failed(&e))?;
        Ok(Coming { name, path, folder, file, bytes: 0 })
    }

    /// More of it.
    ///
    /// # Errors
    /// Where it is too large, or the disk is full.
    pub fn more(&mut self, bytes: &[u8]) -> Result<(), Problem> {
        self.bytes += bytes.len() as u64;
        if self.bytes > BYTES_MAX {
            let fault = ProblemFault { at: "body".into(), needed: format!("at most {} MiB", BYTES_MAX >> 20), found: "more".into(), hint: "cut it to the ground in hand first".into() };
            return Err(Problem { faults: vec![fault], ..Problem::new("too_large", "This file is too large") });
        }
        self.file.write_all(bytes).map_err(|e| failed(&e))
    }

    /// The whole file is there: look at it, and put it on the shelf.
    ///
    /// # Errors
    /// Where nothing was sent, or the disk refuses.
    pub fn done(mut self, uploads: &Uploads) -> Result<Upload, Problem> {
        self.file.flush().map_err(|e| failed(&e))?;
        if self.bytes == 0 {
            return Err(Problem::refused("The file is empty", ["0 bytes came; needed: a file with something in it".to_string()]));
        }
        let (format, layers) = seen(&self.name, &self.path);
        let mut shelf = held(&uploads.0);
        shelf.last += 1;
        let told = Upload { id: shelf.last, name: self.name, bytes: usize::try_from(self.bytes).unwrap_or(usize::MAX), format, layers };
        shelf.files.insert(told.id, Kept { told: told.clone(), path: self.path, _folder: Arc::new(self.folder) });
        while shelf.files.len() > KEPT || shelf.files.values().map(|kept| kept.told.bytes as u64).sum::<u64>() > ALL_BYTES_MAX {
            shelf.files.pop_first();
        }
        Ok(told)
    }
}

impl Uploads {
    /// Let go of every file: the run ends.
    pub fn let_go(&self) {
        held(&self.0).files.clear();
    }

    /// The file of a number. `at`: the field that names it.
    ///
    /// # Errors
    /// Where it is not there any more.
    pub fn get(&self, at: &str, id: u64) -> Result<Kept, Problem> {
        held(&self.0).files.get(&id).cloned().ok_or_else(|| {
            let fault = ProblemFault { at: at.into(), needed: "a file that was sent".into(), found: format!("{id}, which is not there any more"), hint: "send the file again".into() };
            Problem { faults: vec![fault], ..Problem::not_found("The file is not there any more") }
        })
    }
}

fn failed(error: &io::Error) -> Problem {
    Problem::new("failed", format!("The file could not be kept: {error}"))
}

/// The name a file was sent by, without folders and without signs that steer.
fn plain_name(said: &str) -> Result<String, Problem> {
    let last = said.rsplit(['/', '\\']).next().unwrap_or_default();
    let name: String = last.chars().filter(|c| !c.is_control() && !holding::words::turns(*c)).collect();
    let name = name.trim();
    if name.is_empty() || name.chars().count() > NAME_MAX {
        let fault = ProblemFault { at: "name".into(), needed: format!("a name of 1 to {NAME_MAX} letters"), found: "another".into(), hint: "such as leks.csv".into() };
        return Err(Problem::bad_request("The file needs a name", vec![fault]));
    }
    Ok(name.to_string())
}

/// The ending of a name, where it is a plain one: formats are told apart by it.
fn ending(name: &str) -> String {
    match name.rsplit_once('.') {
        Some((_, ending)) if (1..=8).contains(&ending.len()) && ending.chars().all(|c| c.is_ascii_alphanumeric()) => format!(".{}", ending.to_ascii_lowercase()),
        _ => String::new(),
    }
}

/// Format and layers of a file; both empty where it is not recognised.
fn seen(name: &str, path: &Path) -> (String, Vec<String>) {
    let mut head = [0; 4096];
    let read = File::open(path).and_then(|mut file| file.read(&mut head)).unwrap_or_default();
    if let Some(format) = ground::heights::format(&head[..read]) {
        return (format.to_string(), vec![]);
    }
    match look(&Source::path(path).called(name)) {
        Ok(looked) => (looked.format.to_string(), looked.layers),
        // An archive without a Shapefile in it may be one of height tiles.
        Err(_) if head.starts_with(b"PK") => ("archive (zip)".to_string(), vec![]),
        Err(_) => (String::new(), vec![]),
    }
}
