//! The program, run.

use std::path::Path;
use std::process::{Command, Output};
use std::sync::OnceLock;

/// Run it with some arguments.
pub fn greyhen(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_greyhen")).args(arguments).output().unwrap()
}

/// A stream as text.
pub fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

/// Run, expect an exit code, give back both streams.
pub fn run(code: i32, arguments: &[&str]) -> (String, String) {
    let out = greyhen(arguments);
    let (stdout, stderr) = (text(&out.stdout), text(&out.stderr));
    assert_eq!(out.status.code(), Some(code), "greyhen {}\n{stdout}\n{stderr}", arguments.join(" "));
    (stdout, stderr)
}

/// The plan of the demonstration in a folder, to be written in: made once, copied for each.
pub fn demonstration(folder: &Path) -> String {
    static MADE: OnceLock<Vec<u8>> = OnceLock::new();
    let made = MADE.get_or_init(|| {
        let folder = tempfile::tempdir().unwrap();
        run(0, &["demo", folder.path().to_str().unwrap()]);
        std::fs::read(folder.path().join("demo.gpkg")).unwrap()
    });
    let plan = folder.join("demo.gpkg");
    std::fs::write(&plan, made).unwrap();
    plan.to_str().unwrap().to_string()
}
