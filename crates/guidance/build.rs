//! Lists the tables of `guidance/` so that every one of them is built into the program: a new file there needs no change here.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::{env, fs, io};

fn main() -> io::Result<()> {
    let crate_folder = PathBuf::from(env::var("CARGO_MANIFEST_DIR").map_err(io::Error::other)?);
    let tables = crate_folder.join("..").join("..").join("guidance");
    println!("cargo:rerun-if-changed={}", tables.display());
    let out = PathBuf::from(env::var("OUT_DIR").map_err(io::Error::other)?);
    fs::write(out.join("tables.gen.rs"), listing(&tables)?)
}

/// Rust source of a slice of `(file name, text)` in order of name.
fn listing(folder: &Path) -> io::Result<String> {
    let mut files: Vec<PathBuf> = fs::read_dir(folder)?.collect::<io::Result<Vec<_>>>()?.into_iter().map(|entry| entry.path()).collect();
    files.retain(|path| path.extension().is_some_and(|ending| ending == "csv") || path.file_name().is_some_and(|name| name == "edition.txt"));
    files.sort();
    let mut source = String::from("&[\n");
    for path in files {
        println!("cargo:rerun-if-changed={}", path.display());
        let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        let place = fs::canonicalize(&path)?;
        writeln!(source, "    ({name:?}, include_str!({:?})),", place.display().to_string()).map_err(io::Error::other)?;
    }
    source.push(']');
    Ok(source)
}
