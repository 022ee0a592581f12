//! The program, run.

use std::process::{Command, Output};

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
