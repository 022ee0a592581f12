//! Measures drawn, changed, taken out, and laid as a designer put them forward. What is wrong with a measure keeps it out, as on the
//! command line.

use super::apply::{Work, all_well, fault, texts_in};
use super::{options, told};
use crate::api::edit::{MeasureDraft, Problem, ProblemFault};
use chrono::Datelike;
use geo_types::{MultiLineString, MultiPolygon};
use holding::import::drawn;
use holding::plan::Step;
use holding::{Extra, Holding, Measure};
use measures::kind::{self, Entry, facts};
use measures::rules::Context;

/// An id that is not taken, after the kind of the measure.
pub(super) fn new_id(kind: &str, holding: &Holding) -> String {
    let taken = |id: &String| holding.measures.iter().any(|m| m.id == *id);
    (1..).map(|n| format!("{kind}-{n}")).find(|id| !taken(id)).unwrap_or_default()
}

/// Add or change one.
pub(super) fn put(work: &mut Work, step: &mut Step, draft: &MeasureDraft) -> Result<(), Problem> {
    let before = draft.id.as_ref().and_then(|id| work.holding.measures.iter().find(|m| m.id == *id)).cloned();
    let mut faults = Vec::new();
    if let (Some(id), None) = (&draft.id, &before) {
        let shown: String = id.chars().take(60).collect();
        faults.push(fault("id", "the id of a measure of the plan, or none for a new one", format!("`{shown}`"), "look at the plan anew"));
    }
    let (measure, told, notes) = understood(draft, before.as_ref(), &work.holding, &mut faults);
    if let Some((measure, entry)) = measure {
        faults.extend(wrong_with(work, &measure, entry)?.into_iter().filter(|f| !told.contains(&f.at)));
        all_well(faults)?;
        step.put(&measure).map_err(super::told)?;
        work.ids.push(measure.id);
        work.notes.extend(notes);
        return Ok(());
    }
    all_well(faults)
}

/// A draft as a measure, with the facts and parts already told as faulty, and what was put right. None where the kind is not known.
#[allow(clippy::type_complexity)]
pub fn understood(
    draft: &MeasureDraft,
    before: Option<&Measure>,
    holding: &Holding,
    faults: &mut Vec<ProblemFault>,
) -> (Option<(Measure, &'static Entry)>, Vec<String>, Vec<String>) {
    let (mut told, mut notes) = (Vec::new(), Vec::new());
    faults.extend(options::missing(holding, "option", draft.option));
    if let Some(year) = draft.year
        && let Some(first) = holding.about.as_at.map(|day| day.year()).filter(|first| year < *first)
    {
        faults.push(fault("year", format!("{first} or later, the plan's own year"), year.to_string(), "work already done belongs in the survey, not in an option"));
    }
    let (mut shape, mut line) = (MultiPolygon(vec![]), MultiLineString(vec![]));
    if let Some(geometry) = draft.geometry.as_ref().filter(|g| !g.is_null()) {
        let read = drawn(geometry).and_then(|drawn| if drawn.point.is_some() { Err("a point".to_string()) } else { Ok(drawn) });
        match read {
            Ok(drawn) => (shape, line, notes) = (drawn.areas, drawn.lines, drawn.notes),
            Err(found) => {
                faults.push(fault("geometry", "an area or a line", found, "draw it again"));
                told.extend(["area", "line", "parcel", "lek", "fence", "ditch"].map(str::to_string));
            }
        }
    }
    let Some(entry) = kind::find(&draft.kind) else {
        faults.push(of_measure(measures::option::unknown_kind(&draft.kind)));
        return (None, told, notes);
    };
    let mut settled: Extra = draft.facts.clone();
    for (name, value) in &settled {
        faults.extend(texts_in(name, value));
    }
    let (wrong, unknown) = facts::settle(entry, &mut settled);
    for name in unknown {
        // What came with it from elsewhere stays as it came.
        if before.and_then(|m| m.facts.get(&name)) != settled.get(&name) {
            let known = entry.facts.iter().chain(kind::COMMON).map(|f| f.name).collect::<Vec<_>>().join(", ");
            faults.push(fault(&name, format!("one of {known}"), "not a fact of this kind", "take it out"));
        }
    }
    for one in wrong {
        told.push(one.at.clone());
        faults.push(of_measure(one));
    }
    let id = before.map_or_else(|| new_id(entry.key, holding), |m| m.id.clone());
    (Some((Measure { id, option: draft.option, kind: entry.key.into(), year: draft.year, shape, line, facts: settled }, entry)), told, notes)
}

/// What its kind finds wrong with a measure, set among the others of the plan.
fn wrong_with(work: &Work, measure: &Measure, entry: &Entry) -> Result<Vec<ProblemFault>, Problem> {
    let ground = work.ground()?;
    let mut with = work.holding.clone();
    match with.measures.iter_mut().find(|m| m.id == measure.id) {
        Some(there) => *there = measure.clone(),
        None => with.measures.push(measure.clone()),
    }
    let context = Context::new(&with, work.guidance, &ground);
    Ok((entry.faults)(&context, measure).into_iter().map(of_measure).collect())
}

/// A fault of a measure in the words of the page.
pub fn of_measure(fault: kind::Fault) -> ProblemFault {
    // The page has fields and a pen, not flags.
    let hint = match fault.hint {
        hint if hint.contains("greyhen ") => String::new(),
        hint if hint.contains("--area") || hint.contains("--on") => "draw it on the ground".to_string(),
        hint => hint.replace("give it: ", "for example ").replace(&format!("--fact {}=", fault.at), "").replace("--fact ", ""),
    };
    ProblemFault { at: fault.at, needed: fault.needed, found: fault.found, hint }
}

/// Take measures out.
pub(super) fn drop_all(work: &mut Work, step: &mut Step, ids: &[String]) -> Result<(), Problem> {
    let mut faults = Vec::new();
    if ids.is_empty() {
        faults.push(fault("ids", "ids of measures", "none", "choose what is to go"));
    }
    for id in ids {
        if !step.remove::<Measure>(id).map_err(told)? {
            let shown: String = id.chars().take(60).collect();
            faults.push(fault("ids", "ids of measures of the plan", format!("`{shown}`"), "look at the plan anew"));
        }
    }
    all_well(faults)?;
    work.ids.extend(ids.iter().cloned());
    Ok(())
}

/// Lay what a job put forward.
pub(super) fn lay(work: &mut Work, step: &mut Step, job: u64) -> Result<(), Problem> {
    let Some((_, offered)) = work.offers.get(&job).filter(|(_, offered)| !offered.is_empty()) else {
        return all_well(vec![fault("job", "a job that put measures forward in this run of the desk", format!("job {job}"), "ask for measures again")]);
    };
    let mut faults = Vec::new();
    let mut laid: Vec<Measure> = Vec::new();
    for offer in offered {
        faults.extend(options::missing(&work.holding, "option", offer.option).filter(|_| laid.is_empty()));
        let id = new_id(&offer.kind, &work.holding);
        let measure = Measure { id, ..offer.clone() };
        // The next one's id is found beside this one's.
        work.holding.measures.push(measure.clone());
        laid.push(measure);
    }
    all_well(faults)?;
    for measure in laid {
        step.put(&measure).map_err(told)?;
        work.ids.push(measure.id);
    }
    Ok(())
}
