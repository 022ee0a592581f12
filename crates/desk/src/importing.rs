//! Files brought into the plan: understood first, column by column, then put in whole as one step that can be taken back.

use crate::api::edit::{Problem, ProblemFault};
use crate::api::importing::{FieldGuess, ImportRequest, Imported, PreviewRow};
use crate::session::{Change, today};
use crate::snapshot::Snapshot;
use crate::state::Desk;
use crate::uploads::Kept;
use crate::work::shapes::geojson;
use holding::import::{self, Faults, Field, Form, Holds, ImportFault, Kind, MapTo, Mapping, Mode, Options, Sure, fields};
use holding::plan::Step;
use holding::{Holding, PlanError, Word};

/// Rows shown before they are in the plan.
const ROWS_SHOWN: usize = 8;

/// Columns a place can stand in, and what each is.
const PLACES: [(&str, &str); 6] = [
    ("easting", "easting (m)"),
    ("northing", "northing (m)"),
    ("grid_ref", "grid reference, such as NY 845 293"),
    ("lon", "longitude (degrees)"),
    ("lat", "latitude (degrees)"),
    ("wkt", "shape as well-known text"),
];

/// Look at a file, or bring it in.
///
/// # Errors
/// Where there is no such file or kind, or the plan changed. What is wrong with the file is told in the answer.
pub fn import(desk: &Desk, request: &ImportRequest) -> Result<Imported, Problem> {
    let kind = kind_of(&request.kind)?;
    let file = desk.uploads.get("upload", request.upload)?;
    let options = options(request, kind)?;
    let now = desk.snapshot();
    let read = match import::read(kind, &file.source(), &options, &now.holding, &now.guidance) {
        Ok(read) => read,
        Err(faults) => return Ok(not_taken(kind, &faults, request)),
    };
    let mut told = understood(kind, &read, &now, request);
    if request.look_only {
        return Ok(told);
    }
    match put_in(desk, request, kind, &file, &options, read, &now)? {
        Ok(version) => told.version = Some(version),
        Err(faults) => return Ok(not_taken(kind, &faults, request)),
    }
    Ok(told)
}

fn kind_of(said: &str) -> Result<Kind, Problem> {
    let wrong = |needed: String, hint: &str| {
        let found = said.chars().take(60).collect();
        Problem { faults: vec![ProblemFault { at: "kind".into(), needed, found, hint: hint.into() }], ..Problem::new("refused", "This cannot be brought in") }
    };
    match Kind::from_word(said) {
        Some(Kind::Measures) => Err(wrong("a kind of the survey".into(), "measures are drawn or put forward on the page; the command line brings files of them in")),
        Some(kind) => Ok(kind),
        None => Err(wrong(format!("one of {}", Kind::all_words()), "")),
    }
}

fn options(request: &ImportRequest, kind: Kind) -> Result<Options, Problem> {
    let mut faults = Vec::new();
    let mut map = Vec::new();
    for (field, column) in request.map.iter().filter(|(_, column)| !column.trim().is_empty()) {
        match MapTo::from_text(&format!("{field}={column}")) {
            Ok(to) => map.push(to),
            Err(found) => faults.push(ProblemFault { at: format!("map.{field}"), needed: "a column of the file".into(), found, hint: String::new() }),
        }
    }
    let counts = matches!(kind, Kind::Visits | Kind::Broods);
    for (at, wrong, needed) in [("make_leks", request.make_leks && kind != Kind::Visits, "visits"), ("leave_out", request.leave_out && !counts, "visits and broods")] {
        if wrong {
            faults.push(ProblemFault { at: at.into(), needed: format!("only for {needed}"), found: kind.word().into(), hint: "leave it out".into() });
        }
    }
    if !faults.is_empty() {
        return Err(Problem { faults, ..Problem::new("refused", "This is not how a file can be brought in") });
    }
    let mode = if request.replace { Mode::Replace } else { Mode::Add };
    let (make_leks, leave_out) = (request.make_leks, request.leave_out);
    Ok(Options { map, layer: request.layer.clone(), epsg: request.epsg, mode, today: today(), make_leks, leave_out })
}

/// Put what was read into the plan; the new version, or what keeps it out of the plan as it is by then.
fn put_in(desk: &Desk, request: &ImportRequest, kind: Kind, file: &Kept, options: &Options, read: import::Imported, seen: &Snapshot) -> Result<Result<u64, Faults>, Problem> {
    let mut refused = None;
    let refusing = &mut refused;
    let (guidance, before) = (seen.guidance.clone(), seen.holding.clone());
    let label = format!("{} {} brought in", read.count, if read.count == 1 { kind.word().trim_end_matches('s') } else { kind.word() });
    let mut layers = vec![kind.word()];
    if request.make_leks {
        layers.push(Kind::Leks.word());
    }
    let work = move |step: &mut Step, now: &Holding| {
        // Others may have changed the plan since the file was read for it.
        let read = if std::ptr::eq(now, &*before) { Ok(read) } else { import::read(kind, &file.source(), options, now, &guidance) };
        let read = read.map_err(|faults| {
            *refusing = Some(faults);
            PlanError::Faults(vec![])
        })?;
        let ids = read.features.ids();
        let mut holding = now.clone();
        read.apply(&mut holding);
        step.save(&holding)?;
        Ok(ids)
    };
    let change = Change { version: request.version, label, layers, once: request.once.clone(), work: Box::new(work) };
    let done = desk.change(change);
    match (done, refused) {
        (_, Some(faults)) => Ok(Err(faults)),
        (done, None) => done.map(|edited| Ok(edited.version)),
    }
}

/// What would come in.
fn understood(kind: Kind, read: &import::Imported, now: &Snapshot, request: &ImportRequest) -> Imported {
    let mut notes: Vec<String> = read.notes.0.iter().map(ToString::to_string).collect();
    notes.extend(read.left_out.iter().map(ToString::to_string));
    notes.extend(read.proposed.iter().map(|lek| format!("{}: {lek}", if lek.id.is_some() { "made" } else { "put forward" })));
    notes.extend(birds::counts::greenwich(read, &now.holding, &now.guidance));
    let row = |shown: holding::plan::shown::Shown| PreviewRow { values: shown.values, geometry: shown.geometry.map(geojson) };
    Imported {
        features: read.count,
        preview: read.features.shown(ROWS_SHOWN).into_iter().map(row).collect(),
        notes,
        ..told(kind, Some(&read.mapping), request)
    }
}

/// What was understood of a file that is kept out, and what keeps it out.
fn not_taken(kind: Kind, faults: &Faults, request: &ImportRequest) -> Imported {
    let notes = faults.proposed.iter().map(|lek| format!("put forward: {lek}")).collect();
    Imported { faults: kept_out(faults), notes, ..told(kind, faults.mapping.as_deref(), request) }
}

/// What keeps a file out.
pub fn kept_out(faults: &Faults) -> Vec<ProblemFault> {
    let mut all: Vec<ProblemFault> = faults.listed.iter().map(fault).collect();
    if faults.total > faults.listed.len() {
        all.push(ProblemFault { found: format!("and {} more", faults.total - faults.listed.len()), ..ProblemFault::default() });
    }
    all
}

fn fault(fault: &ImportFault) -> ProblemFault {
    let place = fault.place.map(|(east, north)| format!("E {east:.0}, N {north:.0}"));
    let column = fault.column.as_ref().map(|column| format!("column `{column}`"));
    let at: Vec<String> = [fault.row.clone(), place, column].into_iter().flatten().collect();
    // A hint may tell what to type: the page says it as it is done there.
    ProblemFault { at: at.join(", "), needed: fault.needed.clone(), found: fault.found.clone(), hint: fault.hint.clone() }
}

/// How the columns were understood.
fn told(kind: Kind, mapping: Option<&Mapping>, request: &ImportRequest) -> Imported {
    let guess = |field: &Field| {
        let matched = mapping.and_then(|m| m.of(&field.name));
        FieldGuess {
            field: field.name.clone(),
            what: kind.meaning(&field.name).unwrap_or_else(|| holds(field)),
            column: matched.map(|m| m.column.clone()),
            guessed: matched.is_some_and(|m| m.sure != Sure::Told),
            needed: field.required,
            measured: matches!(field.holds, Holds::Length(_) | Holds::Percent | Holds::Cover | Holds::Number),
        }
    };
    let mut guesses: Vec<FieldGuess> = fields(kind).iter().map(guess).collect();
    if kind.form() != Form::None {
        let place = |(field, what): (&str, &str)| FieldGuess { field: field.into(), what: what.into(), column: request.map.get(field).cloned(), guessed: false, needed: false, measured: false };
        guesses.extend(PLACES.into_iter().map(place));
    }
    Imported {
        fields: guesses,
        unused: mapping.map(|m| m.extra.clone()).unwrap_or_default(),
        columns: mapping.map(|m| m.columns.clone()).unwrap_or_default(),
        places: mapping.map(|m| m.geometry.clone()).unwrap_or_default(),
        preview: vec![],
        features: 0,
        notes: vec![],
        faults: vec![],
        version: None,
    }
}

/// What a field holds, in words.
fn holds(field: &Field) -> String {
    let unit = field.unit().map_or(String::new(), |unit| format!(" ({})", unit.sign()));
    let what = match field.holds {
        Holds::Text => "text",
        Holds::Word => "one word of a list",
        Holds::Length(_) => "a length",
        Holds::Percent => "a share",
        Holds::Cover => "a cover",
        Holds::Number => "a number",
        Holds::Count => "a whole number",
        Holds::Year => "a year",
        Holds::Date => "a day",
        Holds::Time => "a time of day",
        Holds::Flag => "yes or no",
    };
    format!("{what}{unit}")
}
