//! The session: the one that writes the plan. Every edit is one step of the plan file, on the disk before it is answered, and can be
//! taken back. Pages work on a version; what others changed since is let by, unless it is the same things.

mod apply;
mod drafts;
mod meet;
mod options;
mod survey;
mod visits;
mod words;

pub(crate) use visits::today;

pub use drafts::{of_measure, understood};
pub(crate) use visits::judged;

use crate::api::edit::{Edit, EditRequest, Edited, Problem, ProblemFault, Touched, Turn};
use crate::api::live::ToPage;
use crate::hints::{for_a_page, typed};
use crate::place::Place;
use crate::snapshot::Snapshot;
use crate::state::{Desk, held};
use apply::Work;
use holding::plan::{Plan, Step, Turned};
use holding::{Holding, PlanError, PlanFault};
use meet::{Log, Thing};
use std::collections::{BTreeSet, HashMap, VecDeque};
use std::path::Path;

/// Edits one request may hold.
const EDITS_MAX: usize = 500;
/// Requests whose word of their own is remembered.
const ONCE_KEPT: usize = 2000;
/// Longest word of its own a request may have.
const ONCE_MAX: usize = 100;

/// Who writes the plan.
pub(crate) struct Writer {
    plan: Option<Plan>,
    place: Option<Place>,
    log: Log,
    once: HashMap<String, Edited>,
    once_in_order: VecDeque<String>,
}

impl Writer {
    pub(crate) fn new(version: u64) -> Writer {
        Writer { plan: None, place: None, log: Log::from(version), once: HashMap::new(), once_in_order: VecDeque::new() }
    }

    /// Whether it has this very file open.
    pub(crate) fn is_of(&self, path: &Path) -> bool {
        self.plan.as_ref().is_some_and(Plan::is_writable) && self.place.as_ref().is_some_and(|place| place.is_at(path) && place.holds())
    }

    /// Close a plan whose file was moved away: it can be opened where it is now.
    pub(crate) fn let_go_of_moved(&mut self) {
        drop(self.plan.take_if(|_| self.place.as_ref().is_some_and(|place| !place.holds())));
    }

    /// Write another plan from now on.
    pub(crate) fn take(&mut self, plan: Plan, version: u64) {
        *self = Writer { place: Some(Place::of(plan.path())), plan: Some(plan), ..Writer::new(version) };
    }

    fn remember(&mut self, once: Option<&String>, edited: &Edited) {
        let Some(once) = once else { return };
        self.once.insert(once.clone(), edited.clone());
        self.once_in_order.push_back(once.clone());
        if self.once_in_order.len() > ONCE_KEPT
            && let Some(oldest) = self.once_in_order.pop_front()
        {
            self.once.remove(&oldest);
        }
    }
}

/// A change of the plan by other means than an edit, such as an import.
pub struct Change<'a> {
    /// The version of the plan it was made on.
    pub version: u64,
    /// What is done, in words.
    pub label: String,
    /// Layers it writes whole: what others changed in them since stands in its way.
    pub layers: Vec<&'static str>,
    /// A word of its own: done twice, it is done once.
    pub once: Option<String>,
    /// The work. It is handed the plan as it is now, which may be newer than the version; what it returns are ids of what was added or changed.
    #[allow(clippy::type_complexity)]
    pub work: Box<dyn FnOnce(&mut Step, &Holding) -> Result<Vec<String>, PlanError> + Send + 'a>,
}

impl Desk {
    /// Do what a page asks for, all of it or nothing.
    ///
    /// # Errors
    /// `changed`, where others changed the same things since the page's version; else every fault.
    pub fn edit(&self, request: &EditRequest) -> Result<Edited, Problem> {
        sensible(request)?;
        let ground = request.edits.iter().any(|edit| matches!(edit, Edit::PutMeasure(_) | Edit::Lay { .. }));
        if ground {
            // Worked out before the others have to wait for it.
            self.snapshot().base()?;
        }
        let mut writer = held(&self.writer);
        if let Some(done) = request.once.as_ref().and_then(|once| writer.once.get(once)) {
            return Ok(done.clone());
        }
        let now = self.snapshot();
        let laid = |job: &u64| request.edits.iter().any(|edit| matches!(edit, Edit::Lay { job: of } if of == job));
        let offers: HashMap<_, _> = held(&self.offers).iter().filter(|(job, _)| laid(job)).map(|(job, offer)| (*job, offer.clone())).collect();
        let things: BTreeSet<Thing> = request.edits.iter().flat_map(|edit| meet::things(edit, &now.holding, &offers)).collect();
        let others = writer.log.meet(request.version, now.version, &things)?;
        let label = words::of_all(&request.edits, &now.holding, &offers);
        let mut work = Work::new(&now, &offers);
        let mut refused = None;
        let tables = writer.step(&label, &mut refused, |step| {
            let mut faults = Vec::new();
            for (at, edit) in request.edits.iter().enumerate() {
                match work.apply(edit, step) {
                    Ok(()) => step.reread(&mut work.holding).map_err(told)?,
                    Err(problem) if problem.kind == "refused" => {
                        let place = |fault: ProblemFault| ProblemFault { at: words::place(at, request.edits.len(), &fault.at), ..fault };
                        faults.extend(problem.faults.into_iter().map(place));
                    }
                    Err(problem) => return Err(problem),
                }
            }
            if faults.is_empty() { Ok(step.touched().collect()) } else { Err(Problem { faults, ..Problem::new("refused", "Nothing was changed") }) }
        })?;
        let Work { holding, ids, notes, .. } = work;
        Ok(self.done(&mut writer, &now, Done { holding, label, ids, notes, tables, things, others, once: request.once.as_ref() }))
    }

    /// Change the plan by other means than an edit. It is answered, told and taken back as an edit is.
    ///
    /// # Errors
    /// As [`Desk::edit`].
    pub fn change(&self, change: Change) -> Result<Edited, Problem> {
        let mut writer = held(&self.writer);
        if let Some(done) = change.once.as_ref().and_then(|once| writer.once.get(once)) {
            return Ok(done.clone());
        }
        let now = self.snapshot();
        let things: BTreeSet<Thing> = change.layers.iter().map(|layer| Thing::layer(layer)).collect();
        let others = writer.log.meet(change.version, now.version, &things)?;
        let mut holding = (*now.holding).clone();
        let mut ids = Vec::new();
        let mut refused = None;
        let tables = writer.step(&change.label, &mut refused, |step| {
            ids = (change.work)(step, &now.holding).map_err(told)?;
            step.reread(&mut holding).map_err(told)?;
            Ok(step.touched().collect())
        })?;
        Ok(self.done(&mut writer, &now, Done { holding, label: change.label, ids, notes: vec![], tables, things, others, once: change.once.as_ref() }))
    }

    /// Take the last step back.
    ///
    /// # Errors
    /// `changed`, where anything was changed since the page's version; `refused`, where there is nothing to take back.
    pub fn undo(&self, turn: Turn) -> Result<Edited, Problem> {
        self.turn(turn, "taken back", "There is nothing to take back", Plan::undo)
    }

    /// Do the step last taken back again.
    ///
    /// # Errors
    /// As [`Desk::undo`].
    pub fn redo(&self, turn: Turn) -> Result<Edited, Problem> {
        self.turn(turn, "done again", "There is nothing to do again", Plan::redo)
    }

    fn turn(
        &self,
        turn: Turn,
        how: &str,
        nothing: &str,
        work: fn(&mut Plan, &mut Holding) -> Result<Option<Turned>, PlanError>,
    ) -> Result<Edited, Problem> {
        let mut writer = held(&self.writer);
        let now = self.snapshot();
        writer.log.only_of(turn.version, now.version)?;
        let mut holding = (*now.holding).clone();
        let turned = work(writer.plan()?, &mut holding).map_err(told)?;
        let Some(Turned { label, rows }) = turned else { return Err(Problem::refused(nothing, [])) };
        let tables = rows.iter().map(|(table, _)| table.clone()).collect();
        let ids = rows.iter().map(|(_, id)| id.clone()).collect();
        let things = meet::of_rows(&rows, &now.holding, &holding);
        let label = format!("{how}: {label}");
        Ok(self.done(&mut writer, &now, Done { holding, label, ids, notes: vec![], tables, things, others: 0, once: None }))
    }

    /// Put the next version in place and tell everybody.
    fn done(&self, writer: &mut Writer, before: &Snapshot, mut done: Done) -> Edited {
        // How an entry from the field stands is nothing of the ground.
        done.tables.remove("field_entries");
        let survey = done.tables.iter().any(|table| !["measures", "options", "broods", "crews", "rates"].contains(&table.as_str()));
        let touched: BTreeSet<Touched> = done.tables.iter().map(|table| touched(table)).collect();
        // Nothing written is no new version.
        if done.tables.is_empty() {
            let edited = Edited { version: before.version, label: done.label, ids: done.ids, touched: vec![], others: done.others, notes: done.notes };
            writer.remember(done.once, &edited);
            return edited;
        }
        let now = before.next(done.holding, survey);
        let touched = touched.into_iter().collect();
        let edited = Edited { version: now.version, label: done.label, ids: done.ids, touched, others: done.others, notes: done.notes };
        let mut things = done.things;
        things.extend(edited.ids.iter().flat_map(|id| done.tables.iter().map(|table| Thing::new(table, id))));
        writer.log.note(now.version, things, &edited.label);
        writer.remember(done.once, &edited);
        if let Some(history) = writer.plan.as_ref().and_then(|plan| plan.history().ok()) {
            self.set_history(history);
        }
        self.set(now, None);
        self.tell(ToPage::Changed(edited.clone()));
        edited
    }
}

/// What was done.
struct Done<'a> {
    holding: Holding,
    label: String,
    ids: Vec<String>,
    notes: Vec<String>,
    tables: BTreeSet<String>,
    things: BTreeSet<Thing>,
    others: u64,
    once: Option<&'a String>,
}

impl Writer {
    /// The plan, where it can be written.
    pub(crate) fn plan(&mut self) -> Result<&mut Plan, Problem> {
        let plan = self.plan.as_mut().ok_or_else(|| Problem::refused("No plan is open", ["open a plan, or start a new one, first".to_string()]))?;
        if !plan.is_writable() {
            return Err(told(PlanError::ReadOnly(plan.path().to_path_buf())));
        }
        if self.place.as_ref().is_some_and(|place| !place.holds()) {
            return Err(moved(plan.path()));
        }
        Ok(plan)
    }

    /// Do one step of the plan; gives the tables written.
    fn step(
        &mut self,
        label: &str,
        refused: &mut Option<Problem>,
        work: impl FnOnce(&mut Step) -> Result<Vec<&'static str>, Problem>,
    ) -> Result<BTreeSet<String>, Problem> {
        let done = self.plan()?.step(label, |step| {
            work(step).map_err(|problem| {
                *refused = Some(problem);
                PlanError::Faults(vec![])
            })
        });
        match (done, refused.take()) {
            (_, Some(problem)) => Err(problem),
            (Ok(tables), None) => Ok(tables.into_iter().map(str::to_string).collect()),
            (Err(error), None) => Err(told(error)),
        }
    }
}

fn touched(table: &str) -> Touched {
    match table {
        "measures" => Touched::Measures,
        "options" => Touched::Options,
        "visits" | "broods" => Touched::Birds,
        "about" | "crews" | "rates" => Touched::About,
        _ => Touched::Survey,
    }
}

/// What a request must be before the plan is looked at.
fn sensible(request: &EditRequest) -> Result<(), Problem> {
    let mut faults = Vec::new();
    if request.edits.is_empty() || request.edits.len() > EDITS_MAX {
        faults.push(ProblemFault { at: "edits".into(), needed: format!("1 to {EDITS_MAX} edits"), found: request.edits.len().to_string(), hint: String::new() });
    }
    if request.once.as_ref().is_some_and(|once| once.is_empty() || once.len() > ONCE_MAX) {
        faults.push(ProblemFault { at: "once".into(), needed: format!("1 to {ONCE_MAX} letters"), found: "another".into(), hint: String::new() });
    }
    if faults.is_empty() { Ok(()) } else { Err(Problem::bad_request("The request could not be understood", faults)) }
}

/// The file is not where it was opened.
fn moved(path: &Path) -> Problem {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let fault = ProblemFault {
        at: "plan".into(),
        needed: format!("{name} where it was opened"),
        found: "it was moved, renamed, taken away or replaced by another file since".into(),
        hint: "open it where it is now; every edit that was answered before is in it".into(),
    };
    Problem { faults: vec![fault], ..Problem::new("refused", "Nothing was changed") }
}

/// What the plan said, as a problem.
pub fn told(error: PlanError) -> Problem {
    match error {
        PlanError::Faults(faults) => Problem { faults: faults.into_iter().map(of_plan).collect(), ..Problem::new("refused", "Nothing was changed") },
        PlanError::Taken { .. } => Problem::new("taken", one_line(&error)),
        PlanError::Missing(_) | PlanError::NoFolder(_) => Problem::new("not_found", one_line(&error)),
        PlanError::Engine { .. } | PlanError::System { .. } => Problem { faults: vec![refusing(&error)], ..Problem::new("failed", "The plan's file could not be used; nothing was changed") },
        _ => Problem::refused(one_line(&error), []),
    }
}

/// The disk refuses.
fn refusing(error: &PlanError) -> ProblemFault {
    ProblemFault {
        at: "plan".into(),
        needed: "a file and a folder that can be read and written, and room on the disk".into(),
        found: one_line(error),
        hint: "see to that and do it again; every edit that was answered before is in the plan".into(),
    }
}

fn one_line(error: &PlanError) -> String {
    for_a_page(&error.to_string()).split_whitespace().collect::<Vec<_>>().join(" ")
}

fn of_plan(fault: PlanFault) -> ProblemFault {
    let at = match (&fault.column, fault.table.as_str()) {
        (Some(column), _) => column.clone(),
        (None, table) => table.to_string(),
    };
    let hint = if typed(&fault.hint) { String::new() } else { fault.hint };
    ProblemFault { at, needed: fault.needed, found: fault.found, hint }
}
