//! Visits to leks, judged as a row of a file of counts is.

use super::apply::{Work, all_well, fault, name_fault, text_fault};
use super::told;
use crate::api::edit::{Problem, ProblemFault, VisitDraft};
use chrono::{DateTime, NaiveDate, NaiveTime};
use holding::import::{self, Features, Kind, MapTo, Mode, Options, Source};
use holding::plan::Step;
use holding::{Holding, Visit};

/// Today by the clock of the country.
pub(crate) fn today() -> Option<NaiveDate> {
    let since = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH).ok()?;
    Some(holding::clock::local(DateTime::from_timestamp(i64::try_from(since.as_secs()).ok()?, 0)?).date())
}

/// Add or change one. What a draft does not know of a visit, such as the wind, stays as it is.
pub(super) fn put(work: &mut Work, step: &mut Step, draft: &VisitDraft) -> Result<(), Problem> {
    let old = draft.id.as_ref().and_then(|id| work.holding.visits.iter().find(|v| v.id == *id)).cloned();
    let mut faults: Vec<ProblemFault> = [text_fault("note", &draft.note), text_fault("weather", &draft.weather), name_fault("observer", &draft.observer)].into_iter().flatten().collect();
    if let (Some(id), None) = (&draft.id, &old) {
        let shown: String = id.chars().take(60).collect();
        faults.push(fault("id", "the id of a visit of the plan, or none for a new one", format!("`{shown}`"), "look at the plan anew"));
    }
    if !work.holding.leks.iter().any(|lek| lek.id == draft.lek) {
        let leks: Vec<&str> = work.holding.leks.iter().map(|lek| lek.id.as_str()).take(12).collect();
        faults.push(fault("lek", "the id of a lek", format!("`{}`", draft.lek.chars().take(60).collect::<String>()), format!("the plan has {}", leks.join(", "))));
    }
    let start = draft.start.as_deref().map(str::trim).filter(|start| !start.is_empty());
    let start = start.map(|start| NaiveTime::parse_from_str(start, "%H:%M").or_else(|_| NaiveTime::parse_from_str(start, "%H:%M:%S")));
    if let Some(Err(_)) = start {
        faults.push(fault("start", "a time of a morning, HH:MM", "another", "such as 05:10; leave it out where it is not known"));
    }
    let judged = if faults.is_empty() { judged(draft, old.as_ref(), &work.holding, work.guidance, &mut faults) } else { None };
    all_well(faults)?;
    let Some((read, notes)) = judged else { return Ok(()) };
    let visit = match old {
        // The day is known by what was told before, unless it is told anew.
        Some(old) => Visit { known_to: if old.date == draft.date { old.known_to } else { read.known_to }, wind_beaufort: old.wind_beaufort, rain: old.rain, extra: old.extra, id: old.id, ..read },
        None => read,
    };
    // To the letter, as the page sent it.
    let visit = Visit { start: start.and_then(Result::ok), observer: draft.observer.clone(), weather: draft.weather.clone(), note: draft.note.clone(), ..visit };
    step.put(&visit).map_err(told)?;
    work.ids.push(visit.id);
    work.notes.extend(notes);
    Ok(())
}

/// Read the draft as the one row of a file: days, numbers and doubles are judged there.
fn judged(draft: &VisitDraft, old: Option<&Visit>, holding: &Holding, guidance: &guidance::Guidance, faults: &mut Vec<ProblemFault>) -> Option<(Visit, Vec<String>)> {
    let number = |n: Option<u32>| n.map(|n| n.to_string()).unwrap_or_default();
    let row = [
        ("lek", draft.lek.clone()),
        ("date", draft.date.to_string()),
        ("start", draft.start.clone().unwrap_or_default()),
        ("cocks", number(draft.cocks)),
        ("hens", number(draft.hens)),
    ];
    let line = |cells: Vec<&str>| cells.iter().map(|c| format!("\"{}\"", c.replace('"', "\"\""))).collect::<Vec<_>>().join(",");
    let text = format!("{}\n{}\n", line(row.iter().map(|(name, _)| *name).collect()), line(row.iter().map(|(_, said)| said.as_str()).collect()));
    let map = row.iter().map(|(name, _)| MapTo { field: (*name).into(), column: (*name).into(), unit: None }).collect();
    let mode = if old.is_some() { Mode::Replace } else { Mode::Add };
    let options = Options { map, mode, today: today(), ..Options::default() };
    // A visit that is changed is set beside the others, not beside itself.
    let others = Holding { heights: None, visits: holding.visits.iter().filter(|v| old.is_none_or(|o| o.id != v.id)).cloned().collect(), ..holding.clone() };
    match import::read(Kind::Visits, &Source::bytes("visit.csv", text), &options, &others, guidance) {
        Ok(read) => {
            let notes = read.notes.0.iter().map(|note| note.text.clone()).collect();
            match read.features {
                Features::Visits(mut visits) if !visits.is_empty() => Some((visits.remove(0), notes)),
                _ => {
                    faults.push(fault("date", "a visit that is not in the plan yet", "one alike in everything", "change the one that is there"));
                    None
                }
            }
        }
        Err(wrong) => {
            let at = |column: &Option<String>| column.clone().unwrap_or_else(|| "date".into());
            let hint = |hint: &str| if hint.contains("--") { String::new() } else { hint.to_string() };
            faults.extend(wrong.listed.iter().map(|f| fault(&at(&f.column), f.needed.clone(), f.found.clone(), hint(&f.hint))));
            None
        }
    }
}

/// Take one out.
pub(super) fn drop_one(work: &mut Work, step: &mut Step, id: &str) -> Result<(), Problem> {
    if !step.remove::<Visit>(id).map_err(told)? {
        let shown: String = id.chars().take(60).collect();
        return all_well(vec![fault("id", "the id of a visit of the plan", format!("`{shown}`"), "look at the plan anew")]);
    }
    work.ids.push(id.to_string());
    Ok(())
}
