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

/// One finding in words.
pub(super) fn text(pack: &Pack, secrecy: &Secrecy, number: usize, f: &Finding) -> FindingText {
    let (shape, blurred) = secrecy.shape(f);
    let reference = match Secrecy::spot(&shape) {
        Some(at) if blurred => format!("{}, place withheld", secrecy.grid_reference(at, 4)),
        Some(at) => secrecy.grid_reference(at, 6),
        None => String::new(),
    };
    let f = &secrecy.finding(f);
    let careful = |t: &str| secrecy.words(t);
    let place: Vec<String> = [careful(&f.place), reference].into_iter().filter(|p| !p.trim().is_empty()).collect();
    FindingText {
        number,
        severity: f.severity.word(),
        rule: f.rule,
        what: words::capital(&careful(&f.what)),
        place: place.join(", "),
        value: if blurred { with_bands(&careful(&f.value), secrecy) } else { careful(&f.value) },
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
    for f in pack.ordered_findings().iter().map(|f| secrecy.finding(f)).filter(|f| ["measure", "missing", "count", "survey"].iter().any(|w| f.rule.contains(w))) {
        let parts = [words::capital(&f.what), words::capital(&f.value), f.hint.clone()];
        let parts: Vec<&str> = parts.iter().map(|p| p.trim_end_matches('.')).filter(|p| !p.is_empty()).collect();
        let line = secrecy.words(&format!("{}.", parts.join(". ")));
        if !out.contains(&line) {
            out.push(line);
        }
    }
    out
}

/// Words with shares in bands: `16 % of the ground` becomes `15 to 30 % of the ground`.
fn with_bands(text: &str, secrecy: &Secrecy) -> String {
    let parts: Vec<&str> = text.split(' ').collect();
    let mut out: Vec<String> = vec![];
    for (i, part) in parts.iter().enumerate() {
        let next = parts.get(i + 1).copied().unwrap_or_default();
        match part.parse::<f64>() {
            Ok(percent) if next.starts_with('%') => out.push(secrecy.share(percent / 100.0).trim_end_matches(" %").to_owned()),
            _ => out.push((*part).to_owned()),
        }
    }
    out.join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn measured_shares_fall_in_bands() {
        let secrecy = Secrecy::new(&holding::Holding::default(), false);
        assert_eq!(with_bands("16 % of the ground and 98 % of the horizon", &secrecy), "15 to 30 % of the ground and over 50 % of the horizon");
    }
}
