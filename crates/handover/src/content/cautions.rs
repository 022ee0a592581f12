//! Cautions for work on the hill, from the tables.

use crate::pack::Pack;
use crate::words;
use guidance::{Country, Value};

/// Keys of cautions begin with this.
const PREFIX: &str = "caution.";

/// Title and text of every caution that holds in the plan's country, one entry a subject, in the order of the tables' keys.
pub fn of(pack: &Pack) -> Vec<(String, String)> {
    let here = pack.holding.about.country;
    let mut out: Vec<(String, String)> = vec![];
    for row in pack.guidance.under(PREFIX).filter(|row| row.country == here || row.country == Country::GB || here == Country::GB) {
        let Value::Text(text) = &row.value else { continue };
        let subject = title(&row.key);
        let source = words::sources(std::slice::from_ref(&row.key), pack.guidance);
        let sentence = format!("{} ({source}).", words::capital(said(text, &subject).trim_end_matches('.')));
        match out.last_mut() {
            Some((last, all)) if *last == subject => *all = format!("{all} {sentence}"),
            _ => out.push((subject, sentence)),
        }
    }
    out
}

/// The subject of a key: `caution.atv.record` is about quad bikes.
fn title(key: &str) -> String {
    let subject = key.trim_start_matches(PREFIX).split('.').next().unwrap_or_default();
    match subject {
        "atv" => "Quad bikes".to_owned(),
        "buried" => "Buried services".to_owned(),
        other => words::capital(&other.replace('_', " ")),
    }
}

/// The text without an opening that only repeats its subject (`hill weather: ...`).
fn said<'a>(text: &'a str, subject: &str) -> &'a str {
    match text.split_once(':') {
        Some((head, rest)) if head.split_whitespace().count() <= 4 => {
            let known = subject.to_lowercase();
            let repeats = head.to_lowercase().split_whitespace().any(|w| known.contains(w.trim_end_matches(['s', 'g', 'n', 'i'])));
            if repeats { rest.trim_start() } else { text }
        }
        _ => text,
    }
}
