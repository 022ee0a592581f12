//! Finding things by a few letters: what is on the ground, what is planned, figures, rules and kinds of measure. Case, accents and signs do
//! not matter; every word asked for must be found in a thing, best in its name.

use crate::api::plan::Hit;
use crate::snapshot::Snapshot;
use geo::{Area, Euclidean, Length, MultiLineString, MultiPolygon};
use guidance::explain::value_in_words;
use holding::words::loose;
use holding::{Holding, Word};
use measures::{kind, rules};
use std::collections::HashSet;

/// Hits given at most.
pub const HITS_MAX: usize = 30;
/// Letters of a line about a hit.
const LINE_MAX: usize = 160;

/// What a word is worth where it is found: the less, the better.
const IS_WORD_OF_NAME: u32 = 0;
const BEGINS_WORD_OF_NAME: u32 = 1;
const IN_NAME: u32 = 3;
const BEGINS_WORD_OF_ID: u32 = 2;
const IN_ID: u32 = 4;
const IN_LINE: u32 = 6;

/// What fits, best first.
pub fn search(now: &Snapshot, asked: &str) -> Vec<Hit> {
    let asked = folded(asked);
    if asked.is_empty() {
        return vec![];
    }
    let mut found: Vec<(u32, usize, Hit)> = Vec::new();
    let mut place = 0;
    each(now, &mut |what, layer, id, name, line| {
        place += 1;
        if let Some(rank) = rank(&asked, id, name, line) {
            found.push((rank, place, Hit { what: what.into(), layer: layer.map(str::to_string), id: id.into(), name: name.into(), words: cut(&line()) }));
        }
    });
    found.sort_by_key(|(rank, place, _)| (*rank, *place));
    found.into_iter().take(HITS_MAX).map(|(_, _, hit)| hit).collect()
}

/// The words of a text without case, accents and signs.
fn folded(text: &str) -> Vec<String> {
    text.split(|c: char| !c.is_alphanumeric()).map(loose).filter(|word| !word.is_empty()).collect()
}

/// How well a thing fits; `None`: not at all.
fn rank(asked: &[String], id: &str, name: &str, line: &dyn Fn() -> String) -> Option<u32> {
    let (names, ids) = (folded(name), folded(id));
    if names == asked || ids == asked {
        return Some(0);
    }
    let mut lines: Option<Vec<String>> = None;
    let mut sum = 1;
    for word in asked {
        let within = |all: &[String]| all.iter().any(|w| w.contains(word.as_str()));
        let begins = |all: &[String]| all.iter().any(|w| w.starts_with(word.as_str()));
        sum += if names.contains(word) {
            IS_WORD_OF_NAME
        } else if begins(&names) {
            BEGINS_WORD_OF_NAME
        } else if begins(&ids) {
            BEGINS_WORD_OF_ID
        } else if within(&names) {
            IN_NAME
        } else if within(&ids) {
            IN_ID
        } else if begins(lines.get_or_insert_with(|| folded(&line()))) {
            IN_LINE
        } else {
            return None;
        };
    }
    Some(sum)
}

/// A line that is not too long to be shown.
fn cut(line: &str) -> String {
    if line.chars().count() <= LINE_MAX { line.to_string() } else { line.chars().take(LINE_MAX - 1).chain(['…']).collect() }
}

/// Takes a thing in: what it is, its layer, its id, its name, and a line about it, which is made where it is needed.
type Take<'a> = dyn FnMut(&str, Option<&str>, &str, &str, &dyn Fn() -> String) + 'a;

/// Everything that can be found; of two that fit alike the first here is told first.
fn each(now: &Snapshot, take: &mut Take) {
    let holding = &now.holding;
    for lek in &holding.leks {
        take("lek", Some("leks"), &lek.id, lek.called(), &|| "lek".to_string());
    }
    for option in &holding.options {
        let line = || {
            let count = holding.measures.iter().filter(|m| m.option == option.number).count();
            joined([format!("option {} of {count} measures", option.number), option.note.clone()])
        };
        take("option", None, &option.number.to_string(), &option.name, &line);
    }
    for measure in &holding.measures {
        let title = kind::find(&measure.kind).map_or(measure.kind.as_str(), |entry| entry.title);
        let year = || measure.year.map_or(String::new(), |year| format!("from {year}"));
        let line = || joined([format!("option {}", measure.option), year(), area(&measure.shape), length(&measure.line)]);
        take("measure", Some("measures"), &measure.id, title, &line);
    }
    features(holding, take);
    for entry in kind::all() {
        take("kind", None, entry.key, entry.title, &|| filled(now, entry.explain));
    }
    for entry in rules::all() {
        take("rule", None, entry.rule.key, entry.rule.title, &|| filled(now, entry.rule.explain));
    }
    let mut known = HashSet::new();
    for row in now.guidance.rows() {
        if known.insert(row.key.as_str()) {
            take("figure", None, &row.key, &row.key, &|| joined([value_in_words(row), row.note.clone()]));
        }
    }
}

fn features(holding: &Holding, take: &mut Take) {
    let mut feature = |layer: &str, id: &str, name: &str, line: &dyn Fn() -> String| take("feature", Some(layer), id, if name.is_empty() { id } else { name }, line);
    for f in &holding.patches {
        feature("patches", &f.id, &f.name, &|| joined(["vegetation".into(), f.phase1.clone().unwrap_or_default(), area(&f.shape), f.note.clone()]));
    }
    for f in &holding.woods {
        feature("woods", &f.id, &f.name, &|| joined(["wood".into(), f.planted.map_or(String::new(), |y| format!("planted {y}")), area(&f.shape)]));
    }
    for f in &holding.parcels {
        feature("parcels", &f.id, &f.name, &|| joined(["parcel".into(), f.kind.word().replace('_', " "), area(&f.shape)]));
    }
    for f in &holding.fences {
        feature("fences", &f.id, &f.name, &|| joined(["fence".into(), f.kind.word().replace('_', " "), length(&f.shape)]));
    }
    for f in &holding.ditches {
        feature("ditches", &f.id, "", &|| joined(["ditch".into(), length(&f.shape)]));
    }
    for f in &holding.watercourses {
        feature("watercourses", &f.id, &f.name, &|| joined(["watercourse".into(), length(&f.shape)]));
    }
    for f in &holding.tracks {
        feature("tracks", &f.id, &f.name, &|| joined([f.kind.word().replace('_', " "), length(&f.shape)]));
    }
    for f in &holding.services {
        feature("services", &f.id, "", &|| joined(["service".into(), f.kind.clone(), length(&f.shape)]));
    }
    for f in &holding.buildings {
        feature("buildings", &f.id, &f.name, &|| if f.dwelling { "dwelling".into() } else { "building".into() });
    }
    for f in &holding.areas {
        feature("areas", &f.id, &f.name, &|| joined([f.kind.word().replace('_', " "), area(&f.shape)]));
    }
    for f in &holding.sticks {
        feature("sticks", &f.id, "", &|| joined([format!("stick height {} cm", f.height_cm), f.note.clone()]));
    }
    for f in &holding.probes {
        feature("probes", &f.id, "", &|| format!("peat depth {} cm", f.depth_cm));
    }
}

/// A text with its figures put in.
fn filled(now: &Snapshot, text: &str) -> String {
    rules::page::filled(text, &now.guidance, now.holding.about.country).unwrap_or_else(|_| text.to_string())
}

fn joined<const N: usize>(parts: [String; N]) -> String {
    parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(", ")
}

fn area(shape: &MultiPolygon<f64>) -> String {
    if shape.0.is_empty() { String::new() } else { format!("{:.1} ha", shape.unsigned_area() / 1e4) }
}

fn length(line: &MultiLineString<f64>) -> String {
    if line.0.is_empty() { String::new() } else { format!("{:.0} m", Euclidean.length(line)) }
}

#[cfg(test)]
mod tests {
    use super::{folded, rank};

    #[test]
    fn words_are_found_whatever_their_case_accents_and_signs() {
        let fits = |asked: &str, name: &str| rank(&folded(asked), "w1", name, &|| "a wood, 2.0 ha".to_string());
        assert_eq!(fits("WHIN rigg", "Whìn-Rigg"), Some(0));
        assert!(fits("whi", "Whìn-Rigg") < fits("hin", "Whìn-Rigg"));
        assert!(fits("rigg", "Whìn-Rigg") < fits("wood", "Whìn-Rigg"));
        assert_eq!(fits("rigg birch", "Whìn-Rigg"), None);
        assert!(folded(" -- ').").is_empty());
    }
}
