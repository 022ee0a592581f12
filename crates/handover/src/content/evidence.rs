//! Every figure the hand-over rests on, from the keys actually used, with its source and grade.

use crate::pack::Pack;
use crate::words;
use guidance::explain::{spread_in_words, value_in_words};
use guidance::row::Spread;
use guidance::{Country, Guidance, Row};
use serde::Serialize;
use std::collections::BTreeSet;

/// One figure (or curve) used.
#[derive(Clone, Debug, Serialize)]
pub struct Evidence {
    /// The table it stands in.
    pub table: String,
    /// Its key.
    pub key: String,
    /// Value, unit and spread.
    pub value: String,
    /// Spread in words; empty where fixed.
    pub spread: String,
    /// Short source and locator.
    pub source: String,
    /// Grade in words.
    pub grade: &'static str,
    /// Edition of the source.
    pub edition: String,
}

/// One source used.
#[derive(Clone, Debug, Serialize)]
pub struct Reference {
    /// Its key.
    pub key: String,
    /// The full reference.
    pub reference: String,
    /// How much of it was read.
    pub read: String,
}

/// Figures and sources behind a pack.
pub fn of(pack: &Pack) -> (Vec<Evidence>, Vec<Reference>) {
    let mut keys: BTreeSet<&str> = pack.assessment.evidence.iter().map(String::as_str).collect();
    keys.extend(pack.findings.iter().flat_map(|f| &f.source).map(String::as_str));
    keys.extend(pack.assessment.leks.iter().flat_map(|l| &l.composition).flat_map(|c| &c.source).map(String::as_str));
    let country = pack.holding.about.country;
    let mut figures = vec![];
    let mut sources = BTreeSet::new();
    for key in keys {
        let rows = in_force(pack.guidance, key, country);
        sources.extend(rows.iter().map(|r| r.source.clone()));
        figures.extend(figure(key, &rows));
    }
    figures.sort_by(|a, b| (&a.table, &a.key).cmp(&(&b.table, &b.key)));
    let references = sources
        .into_iter()
        .filter_map(|key| {
            let source = pack.guidance.source(&key)?;
            Some(Reference { reference: source.reference(), read: source.read_status.in_words().to_owned(), key })
        })
        .collect();
    (figures, references)
}

/// The rows of a key that hold in a country: its own, else those of Great Britain.
fn in_force<'a>(guidance: &'a Guidance, key: &str, country: Country) -> Vec<&'a Row> {
    let all: Vec<&Row> = guidance.rows_of(key).collect();
    let own: Vec<&Row> = all.iter().copied().filter(|r| r.country == country).collect();
    let general: Vec<&Row> = all.iter().copied().filter(|r| r.country == Country::GB).collect();
    [own, general, all].into_iter().find(|rows| !rows.is_empty()).unwrap_or_default()
}

fn figure(key: &str, rows: &[&Row]) -> Option<Evidence> {
    let first = rows.first()?;
    let worst = rows.iter().map(|r| r.grade).max()?;
    let value = if rows.len() == 1 {
        value_in_words(first)
    } else {
        let points: Vec<String> = rows.iter().map(|r| r.x.map_or_else(|| value_in_words(r), |x| format!("at {x}: {}", value_in_words(r)))).collect();
        points.join("; ")
    };
    let mut places: Vec<String> = vec![];
    for row in rows {
        let place = if row.locator.is_empty() { row.source.clone() } else { format!("{}, {}", row.source, row.locator) };
        if !places.contains(&place) {
            places.push(place);
        }
    }
    Some(Evidence {
        table: first.file.trim_end_matches(".csv").replace('_', " "),
        key: key.to_owned(),
        value,
        spread: if rows.len() > 1 || first.spread == Spread::None { String::new() } else { spread_in_words(first) },
        source: places.join("; "),
        grade: words::grade(worst),
        edition: first.edition.clone(),
    })
}
