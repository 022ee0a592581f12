//! Small files that nobody else may read.

use std::fs;
use std::io::{self, Write};
use std::path::Path;

/// Write a file of a private folder: whole or not at all, readable by its owner alone.
pub(super) fn keep(folder: &Path, name: &str, text: &str) -> Result<(), String> {
    write(folder, name, text).map_err(|error| format!("`{}` cannot be written: {error}", folder.join(name).display()))
}

fn write(folder: &Path, name: &str, text: &str) -> io::Result<()> {
    fs::create_dir_all(folder)?;
    only_owner(folder, 0o700)?;
    let part = folder.join(format!("{name}.part"));
    let mut options = fs::OpenOptions::new();
    options.write(true).create(true).truncate(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let mut file = options.open(&part)?;
    only_owner(&part, 0o600)?;
    file.write_all(text.as_bytes())?;
    file.sync_all()?;
    fs::rename(part, folder.join(name))
}

#[cfg(unix)]
fn only_owner(path: &Path, mode: u32) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    fs::set_permissions(path, fs::Permissions::from_mode(mode))
}

// Elsewhere a person's own folder is shut to others by the system.
#[cfg(not(unix))]
fn only_owner(_: &Path, _: u32) -> io::Result<()> {
    Ok(())
}

/// Read a file of a private folder; `None` where there is none.
pub(super) fn read_kept(folder: &Path, name: &str) -> Result<Option<String>, String> {
    match fs::read_to_string(folder.join(name)) {
        Ok(text) => Ok(Some(text)),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
        Err(error) => Err(format!("`{}` cannot be read: {error}", folder.join(name).display())),
    }
}
