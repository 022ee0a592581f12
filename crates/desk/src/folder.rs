//! The desk's folder: the plans in it, and new ones. Plans go by their names; nothing outside the folder is opened or written.

use crate::api::edit::{Problem, ProblemFault};
use crate::api::importing::{NewPlan, PlanFile};
use crate::hints::{for_a_page, typed};
use crate::importing::kept_out;
use crate::keep::name_of;
use crate::session::today;
use crate::state::Desk;
use ground::heights::HeightsError;
use guidance::Country;
use holding::Holding;
use holding::begin::{Begin, CELL_M, CannotBegin, EPSG, MARGIN_M, begin};
use holding::import::Options;
use holding::plan::Plan;
use std::fs;
use std::iter::repeat;
use std::path::{Path, PathBuf};

/// Ending of plan files.
const ENDING: &str = ".gpkg";
/// Plans told at most.
const TOLD_MAX: usize = 200;
/// The demonstration's name, its seed, and how many of them may stand side by side.
const DEMO: &str = "demo";
const DEMO_SEED: u64 = 1;
const DEMOS_MAX: usize = 99;
/// Letters of the name of a holding.
const NAME_MAX: usize = 200;

/// The plans of the folder, by name.
pub fn plans(desk: &Desk) -> Result<Vec<PlanFile>, Problem> {
    let open = desk.file().path.canonicalize().ok();
    let entries = fs::read_dir(folder(desk)).map_err(|e| Problem::new("failed", format!("The folder cannot be read: {e}")))?;
    let plain = |entry: fs::DirEntry| {
        let name = entry.file_name().into_string().ok()?;
        let is_plan = name.to_ascii_lowercase().ends_with(ENDING) && !name.starts_with('.') && entry.file_type().is_ok_and(|kind| kind.is_file());
        is_plan.then_some(name)
    };
    let mut names: Vec<String> = entries.flatten().filter_map(plain).collect();
    names.sort_by_key(|name| name.to_lowercase());
    names.truncate(TOLD_MAX);
    Ok(names.into_iter().map(|file| told(desk, file, open.as_deref())).collect())
}

fn told(desk: &Desk, file: String, open: Option<&Path>) -> PlanFile {
    let path = folder(desk).join(&file);
    if open.is_some() && path.canonicalize().ok().as_deref() == open {
        // Never opened a second time: its lock would go with the second closing.
        return PlanFile { name: desk.snapshot().holding.about.name.clone(), file, open: true, trouble: String::new() };
    }
    match Plan::open_read_only(&path).and_then(|plan| plan.about()) {
        Ok(about) => PlanFile { file, name: about.name, open: false, trouble: String::new() },
        Err(error) => PlanFile { trouble: nameless(desk, &error.to_string()), file, name: String::new(), open: false },
    }
}

/// Words without the path of the folder.
fn nameless(desk: &Desk, words: &str) -> String {
    let folder = folder(desk);
    for_a_page(&words.replace(&format!("{}/", folder.display()), "").replace(&folder.display().to_string(), ""))
}

fn folder(desk: &Desk) -> PathBuf {
    if desk.folder.as_os_str().is_empty() { PathBuf::from(".") } else { desk.folder.clone() }
}

/// Open a plan of the folder in place of the one that is open.
pub fn open(desk: &Desk, file: &str) -> Result<(), Problem> {
    let file = name_of("file", file)?;
    let path = folder(desk).join(&file);
    let is_file = fs::symlink_metadata(&path).is_ok_and(|about| about.is_file());
    if !is_file || !file.to_ascii_lowercase().ends_with(ENDING) {
        return Err(Problem::not_found(format!("There is no plan {file} in the desk's folder")));
    }
    desk.open(&path)
}

/// Begin a new plan and open it; gives what to know of it.
pub fn begin_new(desk: &Desk, asked: &NewPlan) -> Result<Vec<String>, Problem> {
    let (path, file) = free(desk, &asked.file)?;
    let mut faults = Vec::new();
    let name = asked.name.trim();
    if name.is_empty() || name.chars().count() > NAME_MAX || name.chars().any(|c| c.is_control() || holding::words::turns(c)) {
        faults.push(format!("name: needed 1 to {NAME_MAX} letters on one line"));
    }
    let country: Option<Country> = asked.country.parse().map_err(|_| faults.push(format!("country: needed one of {}", Country::ALL.map(Country::name).join(", ")))).ok();
    let boundary = desk.uploads.get("boundary", asked.boundary)?;
    let heights = asked.heights.iter().map(|id| desk.uploads.get("heights", *id)).collect::<Result<Vec<_>, _>>()?;
    let as_at = asked.as_at.or_else(today);
    let (Some(country), Some(as_at), true) = (country, as_at, faults.is_empty()) else { return Err(Problem::refused("No plan was made", faults)) };
    let ask = Begin {
        name: name.to_string(),
        country,
        epsg: asked.epsg.unwrap_or(EPSG),
        cell_m: CELL_M,
        margin_m: MARGIN_M,
        as_at,
        boundary: boundary.source(),
        options: Options { layer: asked.layer.clone(), ..Options::default() },
        heights: heights.iter().map(|kept| (kept.path().to_path_buf(), kept.told.name.clone())).collect(),
    };
    let guidance = desk.snapshot().guidance.clone();
    let (holding, notes) = begin(&ask, &guidance, &|_| {}).map_err(told_of)?;
    write(desk, &path, &file, &holding)?;
    desk.open(&path)?;
    Ok(notes)
}

/// All that keeps a plan from beginning, each by its file.
fn told_of(CannotBegin { boundary, heights, other }: CannotBegin) -> Problem {
    let joined = |parts: &[&str]| parts.iter().copied().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(", ");
    let of_boundary = kept_out(&boundary).into_iter().zip(boundary.listed.iter().map(|f| f.file.as_str()).chain(repeat("")));
    let of_boundary = of_boundary.map(|(fault, file)| ProblemFault { at: joined(&[file, &fault.at]), ..fault });
    let of_heights = heights.into_iter().map(|HeightsError { file, place, what, needed, found, hint }| {
        let hint = if typed(&hint) { String::new() } else { hint };
        ProblemFault { at: joined(&[&file, &place, &what]), needed, found, hint }
    });
    let others = other.iter().map(|fault| ProblemFault { found: for_a_page(fault), ..ProblemFault::default() });
    Problem { faults: of_boundary.chain(of_heights).chain(others).collect(), ..Problem::new("refused", "No plan was made") }
}

/// A path in the folder for a plan that is not there yet.
fn free(desk: &Desk, said: &str) -> Result<(PathBuf, String), Problem> {
    let name = name_of("file", said)?;
    let file = if name.to_ascii_lowercase().ends_with(ENDING) { name } else { format!("{name}{ENDING}") };
    let path = folder(desk).join(&file);
    match fs::symlink_metadata(&path) {
        Ok(_) => Err(Problem::new("taken", format!("{file} is there already: choose another name; nothing is written over"))),
        Err(_) => Ok((path, file)),
    }
}

fn write(desk: &Desk, path: &Path, file: &str, holding: &Holding) -> Result<(), Problem> {
    let edition = desk.snapshot().guidance.edition().to_string();
    let made = Plan::create(path, holding, false).and_then(|mut plan| plan.set_guidance_edition(&edition));
    made.map_err(|error| Problem::new("failed", format!("{file} could not be written: {}", nameless(desk, &error.to_string()))))
}

/// Write the demonstration under a name that is free, its field files beside it where they are not there, and open it.
pub fn begin_demo(desk: &Desk) -> Result<(), Problem> {
    let name = |n: usize| if n == 1 { DEMO.to_string() } else { format!("{DEMO}-{n}") };
    let place = (1..=DEMOS_MAX).find_map(|n| free(desk, &name(n)).ok());
    let (path, file) = place.ok_or_else(|| Problem::new("taken", "There are too many demonstrations in the folder already: open one of them"))?;
    let failed = |e: std::io::Error| Problem::new("failed", format!("The field files could not be written: {e}"));
    let field = folder(desk).join("field");
    if fs::symlink_metadata(&field).is_err() {
        fs::create_dir(&field).map_err(failed)?;
        for (name, bytes) in demo::field_files() {
            fs::write(field.join(name), bytes).map_err(failed)?;
        }
    }
    write(desk, &path, &file, &demo::holding(DEMO_SEED))?;
    desk.open(&path)
}
