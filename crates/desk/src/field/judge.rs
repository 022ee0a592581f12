//! Whether an entry from the field can go into the plan as it is, or a person has to look at it.

use crate::api::edit::{ProblemFault, VisitDraft};
use crate::api::field::{Choice, Entry, What};
use crate::session::judged;
use geo::Intersects;
use geo_types::Point;
use guidance::Guidance;
use holding::words::loose;
use holding::{Holding, Probe, Stick, Visit};

/// What an entry becomes.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Becomes {
    Visit(Box<Visit>),
    Stick(Stick),
    Probe(Probe),
}

impl Becomes {
    pub(super) fn id(&self) -> &str {
        match self {
            Becomes::Visit(visit) => &visit.id,
            Becomes::Stick(stick) => &stick.id,
            Becomes::Probe(probe) => &probe.id,
        }
    }
}

/// What is to be done with an entry.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Verdict {
    /// It goes into the plan.
    Merge(Becomes),
    /// The same is in the plan already, under this id.
    There(String),
    /// It is kept as it came.
    Keep,
    /// A person has to look, and why.
    Look(String),
}

/// Judge an entry at a place of the plan; what a person decided of it goes before what the rules say.
pub(super) fn judge(entry: &Entry, at: Option<Point<f64>>, decided: Option<Choice>, holding: &Holding, guidance: &Guidance) -> Verdict {
    let id = format!("field-{}", entry.id);
    match &entry.what {
        What::Note { .. } | What::Photo { .. } => Verdict::Keep,
        What::Visit { .. } => visit(id, entry, decided, holding, guidance),
        What::Stick { height_cm, date, note } => match placed(entry, at, decided, holding, guidance) {
            Ok(_) if holding.sticks.iter().any(|stick| stick.id == id) => Verdict::There(id),
            Ok(at) => Verdict::Merge(Becomes::Stick(Stick { id, at, height_cm: *height_cm, date: Some(*date), note: note.clone() })),
            Err(why) => Verdict::Look(why),
        },
        What::Probe { depth_cm, date } => match placed(entry, at, decided, holding, guidance) {
            Ok(_) if holding.probes.iter().any(|probe| probe.id == id) => Verdict::There(id),
            Ok(at) => Verdict::Merge(Becomes::Probe(Probe { id, at, depth_cm: *depth_cm, date: Some(*date) })),
            Err(why) => Verdict::Look(why),
        },
    }
}

/// Where a reading was taken, or why that cannot be said.
fn placed(entry: &Entry, at: Option<Point<f64>>, decided: Option<Choice>, holding: &Holding, guidance: &Guidance) -> Result<Point<f64>, String> {
    let at = at.ok_or_else(|| match (entry.place, holding.about.epsg) {
        (Some(_), epsg) if epsg != 27700 => format!("its longitude and latitude cannot be turned into the plan's metres (EPSG:{epsg}): give its place"),
        (Some(_), _) => "its longitude and latitude lie off the national grid: give its place".to_owned(),
        (None, _) => "the phone knew no place: give it".to_owned(),
    })?;
    if decided.is_some() {
        return Ok(at);
    }
    // A place that may be off by more does not say which patch it lies in.
    let sure_to_m = guidance.number("monitoring.place.within", holding.about.country).map_err(|unknown| unknown.to_string())?;
    if let Some(off) = entry.place.and_then(|place| place.accuracy_m).filter(|off| *off > sure_to_m) {
        return Err(format!("the phone was sure of its place to {off:.0} m only"));
    }
    let within = holding.boundary.iter().chain(holding.patches.iter().map(|p| &p.shape)).chain(holding.parcels.iter().map(|p| &p.shape));
    let mut shapes = within.peekable();
    if shapes.peek().is_some() && !shapes.any(|shape| shape.intersects(&at)) {
        return Err("its place lies outside the land of the plan".to_owned());
    }
    Ok(at)
}

fn visit(id: String, entry: &Entry, decided: Option<Choice>, holding: &Holding, guidance: &Guidance) -> Verdict {
    let What::Visit { lek, date, start, cocks, hens, weather, note } = &entry.what else { return Verdict::Keep };
    if holding.visits.iter().any(|visit| visit.id == id) {
        return Verdict::There(id);
    }
    let same = holding.visits.iter().find(|v| v.lek == *lek && v.date == *date && loose(&v.observer) == loose(&entry.observer));
    match (same, decided) {
        (Some(same), None) if (same.cocks, same.hens) == (*cocks, *hens) => return Verdict::There(same.id.clone()),
        (Some(same), None) => return Verdict::Look(format!("the plan already has a count of that day by the same observer: {}", counted(same.cocks, same.hens))),
        (None, Some(Choice::Replace)) => return Verdict::Look("there is no count it could stand in place of".to_owned()),
        _ => {}
    }
    let replaced = same.filter(|_| decided == Some(Choice::Replace));
    let draft = VisitDraft {
        id: replaced.map(|visit| visit.id.clone()),
        lek: lek.clone(),
        date: *date,
        start: start.clone(),
        cocks: *cocks,
        hens: *hens,
        observer: entry.observer.clone(),
        weather: weather.clone(),
        note: note.clone(),
    };
    if !holding.leks.iter().any(|known| known.id == *lek) {
        return Verdict::Look("its lek is not in the plan any more: say which it is of".to_owned());
    }
    let mut faults = Vec::new();
    match judged(&draft, replaced, holding, guidance, &mut faults) {
        Some((read, _)) if faults.is_empty() => {
            let own = Visit { id, weather: draft.weather, note: draft.note, observer: draft.observer, ..read };
            let merged = match replaced {
                Some(old) => Visit { id: old.id.clone(), wind_beaufort: old.wind_beaufort, rain: old.rain, extra: old.extra.clone(), ..own },
                None => own,
            };
            Verdict::Merge(Becomes::Visit(Box::new(merged)))
        }
        _ => Verdict::Look(in_words(&faults)),
    }
}

fn in_words(faults: &[ProblemFault]) -> String {
    let one = |fault: &ProblemFault| format!("{}: needed {}, found {}", fault.at, fault.needed, fault.found);
    faults.iter().map(one).collect::<Vec<_>>().join("; ")
}

/// A count in words.
pub(super) fn counted(cocks: Option<u32>, hens: Option<u32>) -> String {
    let of = |count: Option<u32>, one: &str| match count {
        None => format!("{one}s not counted"),
        Some(1) => format!("1 {one}"),
        Some(n) => format!("{n} {one}s"),
    };
    format!("{}, {}", of(cocks, "cock"), of(hens, "hen"))
}
