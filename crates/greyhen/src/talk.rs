//! Talking to people: progress on the error stream, tables and JSON on the output stream.

use crate::fail::Fail;
use desk::Progress;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use serde_json::Value;
use std::io::{IsTerminal, Write};
use std::sync::OnceLock;
use std::time::Duration;

/// A word on the error stream, silent when that is not a terminal.
pub fn say(text: &str) {
    if std::io::stderr().is_terminal() {
        complain(text);
    }
}

/// A spinner for work that may take over a second, gone when dropped; silent when piped.
pub struct Working(ProgressBar);

impl Working {
    /// Begin, saying what is done.
    pub fn on(what: &str) -> Self {
        let target = if std::io::stderr().is_terminal() { ProgressDrawTarget::stderr() } else { ProgressDrawTarget::hidden() };
        let bar = ProgressBar::with_draw_target(None, target).with_message(what.to_string());
        if let Ok(style) = ProgressStyle::with_template("{spinner} {msg} {elapsed}") {
            bar.set_style(style);
        }
        bar.enable_steady_tick(Duration::from_millis(120));
        Self(bar)
    }

    /// Say what is done now.
    pub fn now(&self, what: &str) {
        self.0.set_message(what.to_string());
    }
}

impl Progress for Working {
    fn now(&self, words: &str) {
        Working::now(self, words);
    }

    /// Whoever no longer waits at a terminal ends the program itself.
    fn stopped(&self) -> bool {
        false
    }
}

/// Say what is done now, and go no further where nobody waits for it any more.
pub fn step(progress: &dyn Progress, what: &str) -> Result<(), Fail> {
    progress.now(what);
    if progress.stopped() { Err(Fail::one("stopped, as nobody waits for it any more")) } else { Ok(()) }
}

impl Drop for Working {
    fn drop(&mut self) {
        self.0.finish_and_clear();
    }
}

/// The first failure of the output stream.
static LOST: OnceLock<String> = OnceLock::new();

/// Why output was lost, where some was.
pub fn lost() -> Option<&'static str> {
    LOST.get().map(String::as_str)
}

/// Print text on the output stream, without control characters. A reader that has gone away is no fault; any other
/// failure is kept for [`lost`].
pub fn print(text: &str) {
    let text = plain(text);
    let mut out = std::io::stdout().lock();
    let written = out.write_all(text.as_bytes()).and_then(|()| out.write_all(b"\n")).and_then(|()| out.flush());
    if let Err(error) = written.map_err(|e| (e.kind(), e.to_string()))
        && error.0 != std::io::ErrorKind::BrokenPipe
    {
        LOST.get_or_init(|| error.1);
    }
}

/// A line on the error stream, without control characters; where that fails there is nobody to tell.
pub fn complain(text: &str) {
    let _ = writeln!(std::io::stderr().lock(), "{}", plain(text));
}

/// Characters that steer a terminal or turn the reading direction.
fn steers(c: char) -> bool {
    c.is_control() || holding::words::turns(c)
}

/// Text with every control character but the line end as a space.
fn plain(text: &str) -> String {
    text.chars().map(|c| if c != '\n' && steers(c) { ' ' } else { c }).collect()
}

/// A name from a file on one line, cut at 60 characters.
pub fn name(text: &str) -> String {
    cut(&text.split(|c: char| c.is_whitespace() || steers(c)).filter(|w| !w.is_empty()).collect::<Vec<_>>().join(" "), 60)
}

/// Text of at most so many characters, the last three dots where it was longer.
fn cut(text: &str, longest: usize) -> String {
    if text.chars().count() <= longest { text.to_string() } else { text.chars().take(longest.saturating_sub(3)).chain("...".chars()).collect() }
}

/// A number of things: `1 draw`, `200 draws`.
pub fn number(count: usize, one: &str) -> String {
    format!("{count} {one}{}", if count == 1 { "" } else { "s" })
}

/// Print one JSON document.
pub fn print_json(value: &Value) {
    print(&serde_json::to_string_pretty(value).unwrap_or_else(|e| format!("{{\"error\": \"{e}\"}}")));
}

/// Characters in a line of a screen, less the most a table is indented.
const SCREEN: usize = 98;
/// A column of words is not cut narrower than this.
const NARROWEST: usize = 14;

/// A table with columns as wide as their widest cell; the first column is left-aligned, numbers by `right`. Where it would be wider than
/// a screen the widest columns of words are cut, `Upper Qua...`, as far as [`NARROWEST`]; those without a head, bars and remarks, never.
pub fn table(head: &[&str], rows: &[Vec<String>], right: &[usize]) -> String {
    let mut width: Vec<usize> = (0..head.len())
        .map(|c| rows.iter().map(|r| r[c].chars().count()).chain([head[c].chars().count()]).max().unwrap_or(0))
        .collect();
    while width.iter().sum::<usize>() + 2 * (head.len() - 1) > SCREEN {
        let words = (0..head.len()).filter(|c| !right.contains(c) && !head[*c].is_empty() && width[*c] > NARROWEST.max(head[*c].chars().count()));
        let Some(widest) = words.max_by_key(|c| width[*c]) else { break };
        width[widest] -= 1;
    }
    let line = |cells: &[String]| {
        cells
            .iter()
            .enumerate()
            .map(|(c, cell)| {
                let cell = &cut(cell, width[c]);
                let pad = " ".repeat(width[c].saturating_sub(cell.chars().count()));
                if right.contains(&c) { format!("{pad}{cell}") } else { format!("{cell}{pad}") }
            })
            .collect::<Vec<_>>()
            .join("  ")
            .trim_end()
            .to_string()
    };
    let mut out = vec![line(&head.iter().map(|h| h.to_string()).collect::<Vec<_>>())];
    out.push(width.iter().map(|w| "-".repeat(*w)).collect::<Vec<_>>().join("  "));
    out.extend(rows.iter().map(|r| line(r)));
    out.join("\n")
}

/// Text broken at spaces to a width, with an indent.
pub fn wrapped(text: &str, width: usize, indent: &str) -> String {
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let last = lines.len() - 1;
        if !lines[last].is_empty() && lines[last].chars().count() + 1 + word.chars().count() > width {
            lines.push(word.to_string());
        } else {
            if !lines[last].is_empty() {
                lines[last].push(' ');
            }
            lines[last].push_str(word);
        }
    }
    lines.iter().map(|l| format!("{indent}{l}")).collect::<Vec<_>>().join("\n")
}
