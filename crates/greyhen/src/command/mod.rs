//! One command a file.

pub mod ahead;
pub mod assess;
pub mod birds;
pub mod check;
pub mod compare;
pub mod counts;
pub mod course;
pub mod demo;
pub mod desk;
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

pub use ::birds::visits::place_of;

use crate::fail::Fail;
use ::guidance::Guidance;
use ::holding::Holding;
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

/// Refuse to write over what an earlier run wrote, before any of the work.
pub fn none_there(folder: &Path, names: &[&str], force: bool) -> Result<(), Fail> {
    let there = names.iter().map(|name| folder.join(name)).filter(|p| !force && p.exists());
    let taken: Vec<String> = there.map(|p| format!("{} is there already; needed: a new folder. Hint: --force replaces it", p.display())).collect();
    if taken.is_empty() { Ok(()) } else { Err(Fail::all(taken)) }
}

/// Write a file of its own, never over another unless forced, and whole or not at all.
pub fn write_new(path: &Path, bytes: &[u8], force: bool) -> Result<(), Fail> {
    write_all(&[(path.to_path_buf(), bytes)], force)
}

/// Write files of their own, never over others unless forced, all of them or none: each is written beside its place, and when all are
/// written they are put there in their order.
pub fn write_all(files: &[(PathBuf, &[u8])], force: bool) -> Result<(), Fail> {
    let taken: Vec<String> = files
        .iter()
        .filter_map(|(path, _)| match () {
            () if path.is_dir() => Some(format!("{} is a folder; needed: a name for a file", path.display())),
            () if path.exists() && !force => Some(format!("{} is there already; needed: a new name. Hint: --force replaces it", path.display())),
            () => None,
        })
        .collect();
    if !taken.is_empty() {
        return Err(Fail::all(taken));
    }
    let part = |path: &Path| {
        let mut part = path.as_os_str().to_owned();
        part.push(".part");
        PathBuf::from(part)
    };
    let undone = |fail: Fail| {
        for (path, _) in files {
            let _ = std::fs::remove_file(part(path));
        }
        fail
    };
    for (path, bytes) in files {
        make_folder(path).map_err(undone)?;
        std::fs::write(part(path), bytes).map_err(|e| undone(Fail::file(path, "writing", &e)))?;
    }
    for (path, _) in files {
        std::fs::rename(part(path), path).map_err(|e| undone(Fail::file(path, "writing", &e)))?;
    }
    Ok(())
}

/// Make the folder of a file, where it is not there.
fn make_folder(path: &Path) -> Result<(), Fail> {
    let Some(folder) = path.parent().filter(|f| !f.as_os_str().is_empty()) else { return Ok(()) };
    if folder.exists() && !folder.is_dir() {
        return Err(Fail::one(format!("{} is a file; needed: a folder to write into", folder.display())));
    }
    std::fs::create_dir_all(folder).map_err(|e| Fail::file(folder, "making the folder", &e))
}
