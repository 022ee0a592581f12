//! Files written beside the plan: into a new folder of their own, whole or not at all, never over anything.

use crate::api::edit::{Problem, ProblemFault};
use crate::jobs::File;
use std::path::{Component, Path, PathBuf};
use std::{fs, io};

/// Longest name of a file or folder, letters.
const NAME_MAX: usize = 100;

/// A name as it may stand in the desk's folder: one part of a path, nothing hidden, nothing that steers.
///
/// # Errors
/// What is wrong with it. `at`: the field it is of.
pub fn name_of(at: &str, said: &str) -> Result<String, Problem> {
    let name = said.trim();
    let letters = name.chars().count();
    let wrong = if name.is_empty() {
        Some("nothing")
    } else if letters > NAME_MAX {
        Some("a longer one")
    } else if name.starts_with('.') {
        Some("one that begins with a dot")
    } else if name.ends_with('.') {
        Some("one that ends with a dot")
    } else if name.chars().any(|c| c.is_control() || holding::words::turns(c) || r#"/\:*?"<>|"#.contains(c)) {
        Some("one with signs that a name of a file cannot hold")
    } else if reserved(name) {
        Some("one that some systems keep for themselves")
    } else {
        None
    };
    let Some(found) = wrong else { return Ok(name.to_string()) };
    let needed = format!("a name of 1 to {NAME_MAX} letters, without folders, not beginning with a dot");
    let fault = ProblemFault { at: at.to_string(), needed, found: found.to_string(), hint: "letters, figures, blanks and hyphens do".to_string() };
    Err(Problem { faults: vec![fault], ..Problem::new("refused", "This name cannot be used") })
}

/// Names of devices that Windows keeps, whatever their ending.
fn reserved(name: &str) -> bool {
    let stem = name.split('.').next().unwrap_or_default().trim_end().to_ascii_lowercase();
    let numbered = |device: &str| stem.strip_prefix(device).is_some_and(|n| n.len() == 1 && n.chars().all(|c| c.is_ascii_digit()));
    ["con", "prn", "aux", "nul"].contains(&stem.as_str()) || numbered("com") || numbered("lpt")
}

/// Write files into a new folder: all of them, or nothing.
///
/// # Errors
/// Where the folder is there already, or the disk refuses.
pub fn keep(parent: &Path, folder: &str, files: &[File]) -> Result<PathBuf, Problem> {
    let to = parent.join(folder);
    let taken = || Problem::new("taken", format!("{folder} is there already: choose another name; nothing is written over"));
    if fs::symlink_metadata(&to).is_ok() {
        return Err(taken());
    }
    let failed = |doing: &str, error: &io::Error| Problem::new("failed", format!("{doing} failed: {error}; nothing was kept"));
    // Beside its place, on the same disk, so that it is put there in one go.
    let part = tempfile::Builder::new().prefix(".greyhen-").tempdir_in(parent).map_err(|e| failed("making the folder", &e))?;
    for (name, bytes) in files {
        let inside = Path::new(name);
        if !inside.components().all(|part| matches!(part, Component::Normal(_))) {
            return Err(Problem::new("failed", "A file of the hand-over has a name that leads out of its folder; nothing was kept"));
        }
        let path = part.path().join(inside);
        let made = path.parent().map_or(Ok(()), fs::create_dir_all).and_then(|()| fs::write(&path, bytes));
        made.map_err(|e| failed(&format!("writing {name}"), &e))?;
    }
    open_to_others(part.path()).map_err(|e| failed("making the folder", &e))?;
    fs::rename(part.path(), &to).map_err(|e| if fs::symlink_metadata(&to).is_ok() { taken() } else { failed("putting the folder in its place", &e) })?;
    // It has gone to its place: nothing is left to be taken away.
    let _ = part.keep();
    Ok(to)
}

/// A folder made for the time being is shut to others; one that is kept is as any other.
#[cfg(unix)]
fn open_to_others(folder: &Path) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    fs::set_permissions(folder, fs::Permissions::from_mode(0o755))
}

#[cfg(not(unix))]
fn open_to_others(_: &Path) -> io::Result<()> {
    Ok(())
}
