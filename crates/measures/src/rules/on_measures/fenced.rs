//! Fences the option puts up, as the fence rules see them.

use super::seen::OnMeasures;
use crate::rules::places::{metres, outlines};
use geo_types::MultiLineString;
use holding::{FenceKind, Marking, Measure, Word};

/// A fence put up by one measure.
pub struct NewFence<'a> {
    /// The measure.
    pub measure: &'a Measure,
    /// Its line.
    pub line: MultiLineString<f64>,
    /// Kind.
    pub kind: FenceKind,
    /// Marking.
    pub marking: Marking,
    /// Gates told of.
    pub gates: Option<f64>,
}

/// Fences that are new or moved, and fences round new woods.
pub fn new<'a>(o: &OnMeasures<'a>) -> Vec<NewFence<'a>> {
    let mut out = Vec::new();
    for measure in o.of_kind("fence") {
        let facts = o.facts(measure);
        let work = facts.word("work");
        if work != "new" && work != "move" {
            continue;
        }
        let said = facts.word("fence");
        let all = &o.holding().fences;
        let moved = all.iter().find(|f| f.id == said).or_else(|| all.iter().find(|f| !f.name.is_empty() && f.name.eq_ignore_ascii_case(&said)));
        let was = moved.filter(|_| work == "move");
        out.push(NewFence {
            measure,
            line: measure.line.clone(),
            kind: FenceKind::from_word(&facts.word("kind")).or(was.map(|f| f.kind)).unwrap_or(FenceKind::Stock),
            marking: Marking::from_word(&facts.word("marking")).or(was.map(|f| f.marking)).unwrap_or(Marking::None),
            gates: measure.facts.get("gates").and_then(serde_json::Value::as_f64),
        });
    }
    for measure in o.of_kind("wood") {
        let facts = o.facts(measure);
        if facts.word("protection") == "fence" {
            out.push(NewFence {
                measure,
                line: outlines(&measure.shape),
                kind: FenceKind::from_word(&facts.word("fence_kind")).unwrap_or_default(),
                marking: Marking::from_word(&facts.word("fence_marking")).unwrap_or_default(),
                gates: None,
            });
        }
    }
    out.retain(|f| metres(&f.line) >= 1.0);
    out
}
