//! Worked leks in words: before, after, and what cannot be concluded.

use crate::secrecy::Secrecy;
use crate::spring::Spring;
use crate::words;
use birds::after::{Period, Work};
use serde::Serialize;

/// Keys of a read-out.
pub(super) const KEYS: &[&str] = &["counts.after.years_min", "counts.after.visits_min", "counts.after.leks_min"];

/// A worked lek, as printed.
#[derive(Clone, Debug, Serialize)]
pub struct AfterText {
    /// Its name.
    pub lek: String,
    /// What the counts come to.
    pub verdict: String,
    /// What was done, when, and when it can show.
    pub works: Vec<String>,
    /// Year, before or after, cocks, note.
    pub rows: Vec<[String; 4]>,
    /// What it would take to tell; empty where that cannot be worked out.
    pub needed: String,
    /// What cannot be concluded.
    pub cannot: Vec<String>,
}

pub(super) fn of(spring: &Spring, secrecy: &Secrecy) -> Vec<AfterText> {
    let Some((outs, ask)) = &spring.after else { return vec![] };
    let text = |out: &birds::after::ReadOut| AfterText {
        lek: out.lek.clone(),
        verdict: secrecy.words(&out.verdict(ask)),
        works: out.works.iter().map(|w| work(w, secrecy)).collect(),
        rows: rows(&out.before, "before").chain(rows(&out.after, "after")).collect(),
        needed: out.needed_in_words(ask).unwrap_or_default(),
        cannot: out.cautions(ask).into_iter().map(|c| c.words).collect(),
    };
    outs.iter().map(text).collect()
}

/// A work in words. Its id, what it lies on and how far it is would tell where the lek is.
fn work(w: &Work, secrecy: &Secrecy) -> String {
    let years = w.years();
    let shows = words::things(w.shows_after_years.ceil() as usize, "year", "years");
    if secrecy.withheld() {
        let what = w.what.split(" (").next().unwrap_or_default();
        return format!("{what}, {years}, {} away; can be expected to show after {shows}", secrecy.distance(w.away_m));
    }
    format!("{}: {}, {years}, {} away; can be expected to show after {shows}", w.id, w.what, secrecy.distance(w.away_m))
}

fn rows<'a>(period: &'a Period, when: &'a str) -> impl Iterator<Item = [String; 4]> + 'a {
    let thin = |year: &i32| if period.thin_years.contains(year) { "few visits" } else { "" };
    period.years.iter().zip(&period.cocks).map(move |(y, c)| [y.to_string(), when.to_owned(), c.to_string(), thin(y).to_owned()])
}
