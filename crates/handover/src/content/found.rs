//! Findings in words, and what to measure on the next visit.

use crate::pack::Pack;
use crate::secrecy::Secrecy;
use crate::words;
use measures::Finding;
use serde::Serialize;

/// A finding as printed.
#[derive(Clone, Debug, Serialize)]
pub struct FindingText {
    /// Number, as on the map.
    pub number: usize,
    /// must, should or consider.
    pub severity: &'static str,
    /// The rule's key.
    pub rule: &'static str,
    /// What is wrong.
    pub what: String,
    /// Where, with grid reference.
    pub place: String,
    /// The value here.
    pub value: String,
    /// What is needed.
    pub needed: String,
    /// Why it matters.
    pub why: String,
    /// What to do.
    pub hint: String,
    /// Sources in short.
    pub source: String,
    /// The lowest grade, in words.
    pub grade: &'static str,
    /// Edition.
    pub edition: String,
}

/// Findings in the order they are numbered.
pub fn of(pack: &Pack, secrecy: &Secrecy) -> Vec<FindingText> {
    pack.ordered_findings().iter().enumerate().map(|(i, f)| text(pack, secrecy, i + 1, f)).collect()
}

fn text(pack: &Pack, secrecy: &Secrecy, number: usize, f: &Finding) -> FindingText {
    let (shape, blurred) = secrecy.shape(f);
    let reference = match Secrecy::spot(&shape) {
        Some(at) if blurred => format!("{}, place withheld", secrecy.grid_reference(at, 4)),
        Some(at) => secrecy.grid_reference(at, 6),
        None => String::new(),
    };
    let near = secrecy.withheld() && (blurred || !secrecy.named(f).is_empty());
    let careful = |t: &str| if near { without_distances(&secrecy.words(t)) } else { secrecy.words(t) };
    let place: Vec<String> = [careful(&f.place), reference].into_iter().filter(|p| !p.trim().is_empty()).collect();
    FindingText {
        number,
        severity: f.severity.word(),
        rule: f.rule,
        what: words::capital(&careful(&f.what)),
        place: place.join(", "),
        value: if near && is_distance(&f.value) { "withheld with the place".to_owned() } else { secrecy.words(&f.value) },
        needed: secrecy.words(&f.needed),
        why: secrecy.words(&f.why),
        hint: careful(&f.hint),
        source: words::sources(&f.source, pack.guidance),
        grade: words::grade(f.grade),
        edition: f.edition.clone(),
    }
}

/// What the rules and the ledger say should be measured, each once.
pub fn next_visit(pack: &Pack, secrecy: &Secrecy) -> Vec<String> {
    let mut out: Vec<String> = vec![];
    for f in pack.ordered_findings().iter().filter(|f| ["measure", "missing", "count", "survey"].iter().any(|w| f.rule.contains(w))) {
        let parts = [words::capital(&f.what), words::capital(&f.value), f.hint.clone()];
        let parts: Vec<&str> = parts.iter().map(|p| p.trim_end_matches('.')).filter(|p| !p.is_empty()).collect();
        let line = secrecy.words(&format!("{}.", parts.join(". ")));
        if !out.contains(&line) {
            out.push(line);
        }
    }
    out
}

/// Whether a value is a length in metres or kilometres.
fn is_distance(value: &str) -> bool {
    let mut parts = value.split_whitespace().peekable();
    while let Some(part) = parts.next() {
        if part.chars().all(|c| c.is_ascii_digit() || c == '.' || c == ',') && parts.peek().is_some_and(|u| matches!(u.trim_end_matches(['.', ',', ';']), "m" | "km")) {
            return true;
        }
    }
    false
}

/// Words without the figures of lengths: `45 m from` becomes `some way from`.
fn without_distances(text: &str) -> String {
    let parts: Vec<&str> = text.split(' ').collect();
    let mut out: Vec<String> = vec![];
    let mut i = 0;
    while i < parts.len() {
        let pair = parts.get(i + 1).map(|unit| format!("{} {unit}", parts[i]));
        match pair {
            Some(pair) if is_distance(&pair) => {
                let tail: String = parts[i + 1].chars().filter(|c| !c.is_alphanumeric()).collect();
                out.push(format!("some way{tail}"));
                i += 2;
            }
            _ => {
                out.push(parts[i].to_owned());
                i += 1;
            }
        }
    }
    out.join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_are_known_and_taken_out() {
        assert!(is_distance("45 m") && is_distance("about 1.2 km, unmarked"));
        assert!(!is_distance("45 %") && !is_distance("12 cm") && !is_distance("mean 31 cm over 2 ha"));
        assert_eq!(without_distances("fence 45 m from Cold Rig, 30 cm high"), "fence some way from Cold Rig, 30 cm high");
        assert_eq!(without_distances("wood begins 80 m, too near"), "wood begins some way, too near");
    }
}
