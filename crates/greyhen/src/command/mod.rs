//! One command a file.

pub mod ahead;
pub mod assess;
pub mod birds;
pub mod check;
pub mod compare;
pub mod counts;
pub mod course;
pub mod demo;
pub mod explain;
pub mod guidance;
pub mod handover;
pub mod import;
pub mod measure;
pub mod new;
pub mod option;
pub mod show;
pub mod spend;
pub mod spring;
pub mod suggest;
pub mod works;

use crate::fail::Fail;
use ::guidance::Guidance;
use ::holding::{Holding, Lek};
use ::holding::plan::Plan;
use std::path::{Path, PathBuf};

/// The tables of figures, whole.
pub fn tables() -> Result<Guidance, Fail> {
    Ok(Guidance::load()?)
}

/// The holding of a plan, read without taking hold of the file.
pub fn read(path: &Path) -> Result<Holding, Fail> {
    let plan = Plan::open_read_only(path)?;
    if let Some(notice) = plan.notice() {
        crate::talk::say(notice);
    }
    Ok(plan.holding()?)
}

/// Refuse an output that is one of the inputs: writing it would destroy what is read.
pub fn not_an_input(output: &Path, inputs: &[PathBuf]) -> Result<(), Fail> {
    let Ok(written) = output.canonicalize() else { return Ok(()) };
    match inputs.iter().find(|i| i.canonicalize().is_ok_and(|i| i == written)) {
        Some(input) => Err(Fail::one(format!("{} is also read ({}); needed: a plan file of its own. Hint: choose another name", output.display(), input.display()))),
        None => Ok(()),
    }
}

/// Take hold of a plan that was read before, if nobody has written it since.
pub fn take(path: &Path, seen: &Holding) -> Result<Plan, Fail> {
    let plan = Plan::open(path)?;
    if changed(seen, &plan.holding()?) {
        return Err(Fail::one(format!("{} was changed by somebody else just now; nothing was written. Hint: run it again", path.display())));
    }
    Ok(plan)
}

/// Whether somebody wrote the plan since it was read. Heights are no part of this: a missing one never equals itself.
pub fn changed(seen: &Holding, now: &Holding) -> bool {
    let bare = |h: &Holding| Holding { heights: None, ..h.clone() };
    bare(seen) != bare(now)
}

/// The ground of a plan as measures are judged against it: one draw is enough, as no figure of it is told.
pub fn ground_of(holding: &Holding, guidance: &Guidance) -> Result<habitat::Assessed, Fail> {
    Ok(habitat::assess(holding, guidance, habitat::Settings { draws: 1, seed: 1, cell_m: None })?)
}

/// Longitude and latitude of leks, where the plan lies on the British grid: there the sun is known.
pub fn place_of(holding: &Holding) -> impl Fn(&Lek) -> Option<(f64, f64)> + use<> {
    let on_grid = holding.about.epsg == 27700;
    move |lek| on_grid.then(|| ::holding::grid_ref::lonlat_from_grid(lek.at.x(), lek.at.y()).ok()).flatten()
}

/// Refuse to write over what an earlier run wrote, before any of the work.
pub fn none_there(folder: &Path, names: &[&str], force: bool) -> Result<(), Fail> {
    let there = names.iter().map(|name| folder.join(name)).filter(|p| !force && p.exists());
    let taken: Vec<String> = there.map(|p| format!("{} is there already; needed: a new folder. Hint: --force replaces it", p.display())).collect();
    if taken.is_empty() { Ok(()) } else { Err(Fail::all(taken)) }
}

/// Write a file of its own, never over another unless forced, and whole or not at all.
pub fn write_new(path: &Path, bytes: &[u8], force: bool) -> Result<(), Fail> {
    if path.exists() && !force {
        return Err(Fail::one(format!("{} is there already; needed: a new name. Hint: --force replaces it", path.display())));
    }
    if let Some(folder) = path.parent().filter(|f| !f.as_os_str().is_empty()) {
        if folder.exists() && !folder.is_dir() {
            return Err(Fail::one(format!("{} is a file; needed: a folder to write into", folder.display())));
        }
        std::fs::create_dir_all(folder).map_err(|e| Fail::file(folder, "making the folder", &e))?;
    }
    let mut part = path.as_os_str().to_owned();
    part.push(".part");
    let part = PathBuf::from(part);
    std::fs::write(&part, bytes).and_then(|()| std::fs::rename(&part, path)).map_err(|e| {
        let _ = std::fs::remove_file(&part);
        Fail::file(path, "writing", &e)
    })
}
