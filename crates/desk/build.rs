//! Lays the page where it is embedded from: what was built in `web/dist`, or a stub that says how to build it.

use std::path::{Path, PathBuf};
use std::{env, fs, io};

/// Shown where the page was not built: the program works, the page needs Node.
const STUB: &str = "<!doctype html><html lang=\"en\"><meta charset=\"utf-8\"><title>greyhen</title>\
<p>This greyhen was built without its page. The command line does the whole job; for the page, install Node and run <code>make run</code>.</p></html>";

fn main() -> io::Result<()> {
    let from = PathBuf::from(env::var("CARGO_MANIFEST_DIR").unwrap_or_default()).join("../../web/dist");
    let to = PathBuf::from(env::var("OUT_DIR").unwrap_or_default()).join("page");
    println!("cargo::rerun-if-changed=build.rs");
    println!("cargo::rerun-if-changed={}", from.display());
    if to.exists() {
        fs::remove_dir_all(&to)?;
    }
    fs::create_dir_all(&to)?;
    if from.is_dir() {
        copy(&from, &to)?;
    }
    // The desk's page and the field page are built one after the other; either may be missing.
    for page in ["index.html", "field/index.html"] {
        let page = to.join(page);
        if !page.is_file() {
            fs::create_dir_all(page.parent().unwrap_or(&to))?;
            fs::write(page, STUB)?;
        }
    }
    Ok(())
}

fn copy(from: &Path, to: &Path) -> io::Result<()> {
    fs::create_dir_all(to)?;
    for entry in fs::read_dir(from)? {
        let entry = entry?;
        if entry.file_name().to_string_lossy().starts_with('.') {
            continue;
        }
        let target = to.join(entry.file_name());
        if entry.file_type()?.is_dir() { copy(&entry.path(), &target)? } else { fs::copy(entry.path(), target).map(|_| ())? }
    }
    Ok(())
}
