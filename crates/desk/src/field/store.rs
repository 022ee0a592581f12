//! Entries from the field and the plan: each is taken in once, goes into the plan as a step that can be taken back, or waits.

use super::judge::{Becomes, Verdict, counted, judge};
use crate::api::edit::{Problem, ProblemFault};
use crate::api::field::{Choice, Decision, Entry, EntryState, Received, What};
use crate::api::live::ToPage;
use crate::session::{Change, told};
use crate::state::{Desk, held};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use chrono::{DateTime, SecondsFormat, Utc};
use geo_types::Point;
use holding::Holding;
use holding::field::{FieldEntry, FieldKind, FieldState};
use holding::grid_ref::grid_from_lonlat;
use holding::words::Word;

/// Largest photograph, bytes.
const JPEG_MAX: usize = 400_000;
/// Longest text of an entry.
const TEXT_MAX: usize = 4_000;
/// Longest name in an entry.
const NAME_MAX: usize = 200;
/// Why an entry waits that was in the plan and was taken back.
const TAKEN_BACK: &str = "it was in the plan and was taken back at the desk";

impl Desk {
    /// Take an entry in. The same id again changes nothing, and tells how it stands.
    pub(super) fn receive(&self, device: &str, entry: &Entry) -> Result<Received, Problem> {
        let jpeg = sensible(entry)?;
        let row = first(entry, device, &self.snapshot().holding);
        let found = {
            let mut writer = held(&self.writer);
            let plan = writer.plan()?;
            let work = |step: &mut holding::plan::Step| match step.field_entry(&row.id)? {
                None => step.receive(&row, jpeg.as_deref()).map(|()| None),
                there => Ok(there),
            };
            plan.step("taking in what came from the field", work).map_err(told)?
        };
        if found.as_ref().is_some_and(|there| there.said != row.said) {
            return Err(Problem::refused("The desk has this entry already, written otherwise", ["what it has stays; write a new entry".to_owned()]));
        }
        let row = match found {
            Some(there) if there.state != FieldState::Waiting || !there.why.is_empty() => return Ok(received(&there)),
            // It was taken in, and the desk stopped before it was in the plan.
            Some(there) => there,
            None => row,
        };
        let settled = self.settle(row, entry, None)?;
        self.tell_field();
        Ok(received(&settled))
    }

    /// Bring an entry into the plan, or note why it waits.
    fn settle(&self, row: FieldEntry, entry: &Entry, decided: Option<Choice>) -> Result<FieldEntry, Problem> {
        let now = self.snapshot();
        let mut settled = row.clone();
        let label = format!("{}, from {}", words(entry, &now.holding), row.device);
        let work = |step: &mut holding::plan::Step, holding: &Holding| {
            match judge(entry, row.at, decided, holding, &now.guidance) {
                Verdict::Merge(becomes) => {
                    let id = becomes.id().to_owned();
                    // What undo puts back.
                    step.amend_field_entry(&FieldEntry { state: FieldState::Waiting, why: TAKEN_BACK.into(), became: String::new(), ..row.clone() })?;
                    match &becomes {
                        Becomes::Visit(visit) => step.put(visit.as_ref())?,
                        Becomes::Stick(stick) => step.put(stick)?,
                        Becomes::Probe(probe) => step.put(probe)?,
                    }
                    settled = FieldEntry { state: FieldState::Merged, why: String::new(), became: id.clone(), ..row.clone() };
                    step.put(&settled)?;
                    return Ok(vec![id]);
                }
                Verdict::There(id) => settled = FieldEntry { state: FieldState::Merged, why: String::new(), became: id, ..row.clone() },
                Verdict::Keep => settled = FieldEntry { state: FieldState::Kept, why: String::new(), ..row.clone() },
                Verdict::Look(why) => settled = FieldEntry { state: FieldState::Waiting, why, ..row.clone() },
            }
            step.amend_field_entry(&settled)?;
            Ok(vec![])
        };
        self.change(Change { version: now.version, label, layers: vec![], once: None, work: Box::new(work) })?;
        Ok(settled)
    }

    /// Do with an entry what a person decided.
    pub(crate) fn decide(&self, id: &str, decision: &Decision) -> Result<EntryState, Problem> {
        let mut row = self.entry(id)?;
        let holding = self.snapshot().holding.clone();
        if row.state == FieldState::Merged && is_there(&row, &holding) {
            return Err(Problem::refused("It is in the plan already", ["take the step back, or change the visit or reading itself".to_owned()]));
        }
        if decision.choice == Choice::PutAside {
            row = FieldEntry { state: FieldState::Aside, why: String::new(), ..row };
            let mut writer = held(&self.writer);
            writer.plan()?.step("putting an entry aside", |step| step.amend_field_entry(&row)).map_err(told)?;
        } else {
            let mut entry = said(&row)?;
            if let (Some(told), What::Visit { lek, .. }) = (&decision.lek, &mut entry.what) {
                lek.clone_from(told);
            }
            if let Some([east, north]) = decision.at {
                let fits = east.is_finite() && north.is_finite();
                row.at = fits.then(|| Point::new(east, north)).or(row.at);
            }
            row = self.settle(row, &entry, Some(decision.choice))?;
            if row.state == FieldState::Waiting {
                return Err(Problem::refused("It cannot go into the plan as it is", [row.why]));
            }
        }
        self.tell_field();
        Ok(shown(&row, &self.snapshot().holding))
    }

    /// Every entry of the plan, the newest first; none, where no plan is open for writing.
    pub(crate) fn entries(&self) -> Result<Vec<EntryState>, Problem> {
        let rows = self.entry_rows()?;
        let holding = self.snapshot().holding.clone();
        Ok(rows.iter().rev().map(|row| shown(row, &holding)).collect())
    }

    /// The photograph of an entry.
    pub(crate) fn photo(&self, id: &str) -> Result<Vec<u8>, Problem> {
        let found = held(&self.writer).plan()?.field_photo(id).map_err(told)?;
        found.ok_or_else(|| Problem::not_found("There is no such photograph"))
    }

    fn entry(&self, id: &str) -> Result<FieldEntry, Problem> {
        self.entry_rows()?.into_iter().find(|row| row.id == id).ok_or_else(|| Problem::not_found("There is no such entry"))
    }

    fn entry_rows(&self) -> Result<Vec<FieldEntry>, Problem> {
        match held(&self.writer).plan() {
            Ok(plan) => plan.field_entries().map_err(told),
            Err(_) => Ok(Vec::new()),
        }
    }

    /// Tell the pages how many wait.
    fn tell_field(&self) {
        let waiting = self.entry_rows().map_or(0, |rows| rows.iter().filter(|row| row.state == FieldState::Waiting).count());
        self.tell(ToPage::Field { waiting });
    }
}

fn received(row: &FieldEntry) -> Received {
    Received { id: row.id.clone(), state: row.state.word().into(), why: row.why.clone() }
}

/// An entry as it is first taken in.
fn first(entry: &Entry, device: &str, holding: &Holding) -> FieldEntry {
    let (kind, state) = match &entry.what {
        What::Visit { .. } => (FieldKind::Visit, FieldState::Waiting),
        What::Stick { .. } => (FieldKind::Stick, FieldState::Waiting),
        What::Probe { .. } => (FieldKind::Probe, FieldState::Waiting),
        What::Note { .. } => (FieldKind::Note, FieldState::Kept),
        What::Photo { .. } => (FieldKind::Photo, FieldState::Kept),
    };
    let mut kept = entry.clone();
    if let What::Photo { jpeg, .. } = &mut kept.what {
        jpeg.clear();
    }
    let said = match serde_json::to_value(&kept) {
        Ok(serde_json::Value::Object(said)) => said.into_iter().collect(),
        _ => holding::Extra::new(),
    };
    let stamp = |at: DateTime<Utc>| at.to_rfc3339_opts(SecondsFormat::Secs, true);
    FieldEntry {
        id: entry.id.clone(),
        kind,
        at: place(entry, holding.about.epsg),
        device: device.into(),
        made_at: stamp(entry.made_at),
        received_at: stamp(DateTime::from(std::time::SystemTime::now())),
        state,
        why: String::new(),
        became: String::new(),
        said,
    }
}

/// Where the phone was, in the plan's metres, to a decimetre.
fn place(entry: &Entry, epsg: u32) -> Option<Point<f64>> {
    let fix = entry.place.filter(|_| epsg == 27700)?;
    let rounded = |v: f64| (v * 10.0).round() / 10.0;
    grid_from_lonlat(fix.lon, fix.lat).ok().map(|(east, north)| Point::new(rounded(east), rounded(north)))
}

fn said(row: &FieldEntry) -> Result<Entry, Problem> {
    let value = serde_json::to_value(&row.said).and_then(serde_json::from_value);
    value.map_err(|error| Problem::refused("The entry cannot be read any more", [error.to_string()]))
}

/// Whether what an entry became is still in the plan.
fn is_there(row: &FieldEntry, holding: &Holding) -> bool {
    match row.kind {
        FieldKind::Visit => holding.visits.iter().any(|visit| visit.id == row.became),
        FieldKind::Stick => holding.sticks.iter().any(|stick| stick.id == row.became),
        FieldKind::Probe => holding.probes.iter().any(|probe| probe.id == row.became),
        FieldKind::Note | FieldKind::Photo => true,
    }
}

fn shown(row: &FieldEntry, holding: &Holding) -> EntryState {
    let entry = said(row).ok();
    let reading = matches!(row.kind, FieldKind::Visit | FieldKind::Stick | FieldKind::Probe);
    let gone = row.state == FieldState::Merged && !is_there(row, holding);
    let open = reading && (gone || row.state != FieldState::Merged);
    let same = entry.as_ref().is_some_and(|entry| match &entry.what {
        What::Visit { lek, date, .. } => holding.visits.iter().any(|v| v.lek == *lek && v.date == *date && holding::words::loose(&v.observer) == holding::words::loose(&entry.observer)),
        _ => false,
    });
    let choices = [(Choice::Add, open), (Choice::Replace, open && same), (Choice::PutAside, row.state == FieldState::Waiting || row.state == FieldState::Kept)];
    EntryState {
        id: row.id.clone(),
        kind: row.kind.word().into(),
        state: row.state.word().into(),
        words: entry.as_ref().map(|entry| words(entry, holding)).unwrap_or_default(),
        why: if gone { "it was in the plan and is not there any more".into() } else { row.why.clone() },
        device: row.device.clone(),
        made_at: row.made_at.clone(),
        received_at: row.received_at.clone(),
        at: row.at.map(|at| [at.x(), at.y()]),
        can: choices.into_iter().filter(|(_, can)| *can).map(|(choice, _)| choice).collect(),
        photo: (row.kind == FieldKind::Photo).then(|| format!("/api/field/entries/{}/photo", row.id)),
        became: row.became.clone(),
        said: serde_json::to_value(&row.said).unwrap_or_default(),
    }
}

/// An entry in one line.
fn words(entry: &Entry, holding: &Holding) -> String {
    let cut = |text: &str| -> String { text.chars().filter(|c| !c.is_control()).take(60).collect() };
    match &entry.what {
        What::Visit { lek, date, cocks, hens, .. } => {
            let name = holding.leks.iter().find(|known| known.id == *lek).map_or(lek.as_str(), |lek| lek.called());
            format!("count of {date} at {}: {}", cut(name), counted(*cocks, *hens))
        }
        What::Stick { height_cm, .. } => format!("height of {height_cm} cm"),
        What::Probe { depth_cm, .. } => format!("peat of {depth_cm} cm"),
        What::Note { text } => format!("note: {}", cut(text)),
        What::Photo { text, .. } if text.is_empty() => "photograph".into(),
        What::Photo { text, .. } => format!("photograph: {}", cut(text)),
    }
}

/// Whether an entry can be taken in at all; gives its photograph.
fn sensible(entry: &Entry) -> Result<Option<Vec<u8>>, Problem> {
    let mut faults = Vec::new();
    let mut fault = |at: &str, needed: &str, found: String, hint: &str| {
        faults.push(ProblemFault { at: at.into(), needed: needed.into(), found, hint: hint.into() });
    };
    if !is_uuid(&entry.id) {
        fault("id", "a UUID in small letters", "another".into(), "make one with crypto.randomUUID");
    }
    let mut texts = vec![("observer", entry.observer.as_str(), NAME_MAX)];
    let mut numbers = Vec::new();
    let mut jpeg = None;
    match &entry.what {
        What::Visit { lek, start, weather, note, .. } => {
            texts.extend([("lek", lek.as_str(), NAME_MAX), ("weather", weather, NAME_MAX), ("note", note, TEXT_MAX)]);
            texts.extend(start.as_deref().map(|start| ("start", start, 8)));
        }
        What::Stick { height_cm, note, .. } => {
            texts.push(("note", note, TEXT_MAX));
            numbers.push(("height_cm", *height_cm));
        }
        What::Probe { depth_cm, .. } => numbers.push(("depth_cm", *depth_cm)),
        What::Note { text } => texts.push(("text", text, TEXT_MAX)),
        What::Photo { text, jpeg: told } => {
            texts.push(("text", text, TEXT_MAX));
            match STANDARD.decode(told) {
                Ok(bytes) if bytes.len() <= JPEG_MAX && is_jpeg(&bytes) => jpeg = Some(bytes),
                Ok(bytes) if is_jpeg(&bytes) => fault("jpeg", "400 kB at most", format!("{} kB", bytes.len() / 1000), "make the picture smaller"),
                _ => fault("jpeg", "a JPEG picture in base64", "another".into(), "take the picture again"),
            }
        }
    }
    for (at, text, most) in texts {
        let letters = text.chars().count();
        if letters > most {
            fault(at, &format!("{most} letters at most"), format!("{letters} letters"), "shorten it");
        } else if text.contains('\0') {
            fault(at, "text", "a character that no text has".into(), "type it anew");
        }
    }
    for (at, number) in numbers {
        if !(number.is_finite() && number >= 0.0) {
            fault(at, "centimetres, 0 or more", number.to_string(), "read it again");
        }
    }
    if let Some(fix) = entry.place
        && !((-180.0..=180.0).contains(&fix.lon) && (-90.0..=90.0).contains(&fix.lat) && fix.accuracy_m.is_none_or(|off| off >= 0.0))
    {
        fault("place", "longitude and latitude in degrees", format!("{}, {}", fix.lon, fix.lat), "let the phone find its place again");
    }
    if faults.is_empty() { Ok(jpeg) } else { Err(Problem::bad_request("The entry cannot be taken in", faults)) }
}

/// Eight, four, four, four and twelve figures of base sixteen (RFC 9562, section 4).
fn is_uuid(text: &str) -> bool {
    let parts: Vec<&str> = text.split('-').collect();
    parts.iter().map(|part| part.len()).eq([8, 4, 4, 4, 12]) && parts.concat().bytes().all(|b| matches!(b, b'0'..=b'9' | b'a'..=b'f'))
}

/// Start and end of a picture (ITU-T T.81, annex B).
fn is_jpeg(bytes: &[u8]) -> bool {
    bytes.starts_with(&[0xff, 0xd8, 0xff]) && bytes.ends_with(&[0xff, 0xd9])
}
