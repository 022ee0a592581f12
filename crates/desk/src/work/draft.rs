//! A measure as the page sends it, made a measure of the plan.

use super::shapes;
use crate::api::edit::{MeasureDraft, ProblemFault};
use geo::{Area, Euclidean, Length};
use holding::{Holding, Measure};
use measures::kind::{self, Entry, Fault};
use measures::option::unknown_kind;

/// What is wrong, in the page's shape. A hint that tells what to type in a terminal is told as what to do on the page.
impl From<Fault> for ProblemFault {
    fn from(f: Fault) -> ProblemFault {
        let hint = match f.hint {
            h if h.contains("greyhen ") => String::new(),
            h if h.contains("--area") || h.contains("--on") => "draw it on the ground".to_string(),
            h => h.replace("--fact ", ""),
        };
        ProblemFault { at: f.at, needed: f.needed, found: f.found, hint }
    }
}

/// Make a measure of a draft; one without an id stays without. What its kind thinks of its facts is for the kind to say.
///
/// # Errors
/// Every fault of the draft itself: its option, kind, shape.
pub fn measure(draft: &MeasureDraft, holding: &Holding) -> Result<(Measure, &'static Entry), Vec<ProblemFault>> {
    let mut faults = Vec::new();
    if !holding.options.iter().any(|o| o.number == draft.option) {
        let found = format!("option {}, which the plan does not have", draft.option);
        let hint = "add the option first".to_string();
        faults.push(ProblemFault { at: "option".into(), needed: "an option of the plan".into(), found, hint });
    }
    let entry = kind::find(&draft.kind);
    if entry.is_none() {
        faults.push(unknown_kind(&draft.kind).into());
    }
    let shape = shapes::read(draft.geometry.as_ref()).map_err(|fault| faults.push(fault)).ok();
    match (entry, shape) {
        (Some(entry), Some(shape)) if faults.is_empty() => {
            let measure = Measure {
                id: draft.id.clone().unwrap_or_default(),
                option: draft.option,
                kind: entry.key.to_string(),
                year: draft.year,
                shape: shape.area,
                line: shape.line,
                facts: draft.facts.clone(),
            };
            Ok((measure, entry))
        }
        _ => Err(faults),
    }
}

/// Area of a measure, hectares; `None` where no area is drawn.
pub fn area_ha(measure: &Measure) -> Option<f64> {
    (!measure.shape.0.is_empty()).then(|| measure.shape.unsigned_area() / 1e4)
}

/// Length of a measure, metres; `None` where no line is drawn.
pub fn length_m(measure: &Measure) -> Option<f64> {
    (!measure.line.0.is_empty()).then(|| measure.line.0.iter().map(|l| Euclidean.length(l)).sum())
}
