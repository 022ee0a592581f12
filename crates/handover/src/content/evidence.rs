//! Every figure the hand-over rests on, from the keys actually used, with its source and grade.

use crate::pack::Pack;
use crate::words;
use guidance::explain::value_in_words;
use guidance::row::Spread;
use guidance::source::Source;
use guidance::{Country, Guidance, Row, Value};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

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
    let planned = pack.option.map(super::option::keys).unwrap_or_default();
    keys.extend(planned.iter().map(String::as_str));
    keys.extend(pack.spring.map(super::spring::keys).unwrap_or_default());
    let of_works = super::works::keys(pack);
    keys.extend(of_works.iter().map(String::as_str));
    let country = pack.holding.about.country;
    let mut figures = vec![];
    let mut classes: BTreeMap<String, Vec<&Row>> = BTreeMap::new();
    let mut sources = BTreeSet::new();
    for key in keys {
        let rows = in_force(pack.guidance, key, country);
        sources.extend(rows.iter().map(|r| r.source.clone()));
        match class_of(key) {
            Some(class) => classes.entry(class.to_owned()).or_default().extend(rows),
            None => figures.extend(figure(key, &rows)),
        }
    }
    figures.extend(classes.iter().filter_map(|(class, rows)| defaults(class, rows)));
    figures.sort_by(|a, b| (&a.table, &a.key).cmp(&(&b.table, &b.key)));
    let references = sources
        .into_iter()
        .filter_map(|key| {
            let source = pack.guidance.source(&key)?;
            Some(Reference { reference: reference(source), read: source.read_status.in_words().to_owned(), key })
        })
        .collect();
    (figures, references)
}

/// The reference of a source; what stands for one is written as beside the figures.
fn reference(source: &Source) -> String {
    match source.key.as_str() {
        "assumption" => "assumption of this program".to_owned(),
        "practice" => "common practice, no source".to_owned(),
        "memory" => "from memory: no source opened".to_owned(),
        _ => source.reference(),
    }
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
    Some(Evidence {
        table: table(first),
        key: key.to_owned(),
        value,
        spread: if rows.len() > 1 { String::new() } else { spread(first) },
        source: places(rows),
        grade: words::grade(worst),
        edition: first.edition.clone(),
    })
}

/// The class a default of the habitat tables belongs to: `phase1.D1.1` of `phase1.D1.1.cover.heather`.
fn class_of(key: &str) -> Option<&str> {
    let tail = [".cover.", ".height", ".wetness"].into_iter().filter_map(|mark| key.find(mark)).min()?;
    key.starts_with("phase1.").then(|| &key[..tail])
}

/// All defaults of a class on one line, covers of nought left out.
fn defaults(class: &str, rows: &[&Row]) -> Option<Evidence> {
    let first = rows.first()?;
    let worst = rows.iter().map(|r| r.grade).max()?;
    let parts: Vec<String> = rows
        .iter()
        .filter(|r| !matches!(r.value, Value::Number(n) if n == 0.0))
        .map(|r| {
            let name = r.key.trim_start_matches(class).trim_start_matches(".cover").trim_start_matches('.').replace('_', " ");
            format!("{name} {}", value_in_words(r).trim_end_matches(" cover"))
        })
        .collect();
    Some(Evidence {
        table: table(first),
        key: class.to_owned(),
        value: parts.join(", "),
        spread: String::new(),
        source: places(rows),
        grade: words::grade(worst),
        edition: first.edition.clone(),
    })
}

/// The table a row stands in, as a heading.
fn table(row: &Row) -> String {
    if row.file == "phase1.csv" {
        return "Defaults by Phase 1 habitat class".to_owned();
    }
    words::capital(&row.file.trim_end_matches(".csv").replace('_', " "))
}

/// Sources with locators, each once; what stands for one where the grade says that there is none, as the list of sources has it.
pub(super) fn places(rows: &[&Row]) -> String {
    let mut places: Vec<String> = vec![];
    for row in rows {
        let place = match words::no_source(row.grade) {
            Some(words) => words.to_owned(),
            None if row.source == "memory" => "from memory".to_owned(),
            None if row.locator.is_empty() => row.source.clone(),
            None => format!("{}, {}", row.source, row.locator),
        };
        if !places.contains(&place) {
            places.push(place);
        }
    }
    places.join("; ")
}

/// A spread in few words.
fn spread(row: &Row) -> String {
    let figure = |bound: Option<f64>| bound.map_or_else(String::new, |b| b.to_string());
    let (low, high) = (figure(row.low), figure(row.high));
    match row.spread {
        Spread::None => String::new(),
        Spread::Range => format!("{low} to {high}"),
        Spread::Uniform => format!("{low} to {high}, even"),
        Spread::Sd => format!("sd {high}"),
        Spread::Se => format!("se {high}"),
        Spread::Cv => format!("cv {high}"),
        Spread::Ci95 => format!("95 % limits {low} to {high}"),
    }
}
