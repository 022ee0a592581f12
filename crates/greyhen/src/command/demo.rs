//! `greyhen demo`: the invented demonstration holding.

use super::write_new;
use crate::fail::Fail;
use crate::{Ended, talk};
use holding::plan::Plan;
use std::path::PathBuf;

/// Arguments.
#[derive(clap::Args)]
pub struct Demo {
    /// Folder to write into; made when it is not there
    #[arg(value_name = "DIR")]
    folder: PathBuf,
    /// Seed of the invented ground
    #[arg(long, default_value_t = 1, allow_negative_numbers = true, value_parser = crate::seed)]
    seed: u64,
    /// Replace the plan an earlier run wrote
    #[arg(long)]
    force: bool,
}

impl Demo {
    /// Run it.
    pub fn run(self) -> Result<Ended, Fail> {
        let working = talk::Working::on("inventing the ground");
        let holding = demo::holding(self.seed);
        if self.folder.exists() && !self.folder.is_dir() {
            return Err(Fail::one(format!("{} is a file; needed: a folder to write into", self.folder.display())));
        }
        std::fs::create_dir_all(&self.folder).map_err(|e| Fail::file(&self.folder, "making the folder", &e))?;
        let path = self.folder.join("demo.gpkg");
        let field = self.folder.join("field");
        let files: Vec<(PathBuf, Vec<u8>)> = demo::field_files().into_iter().map(|(name, bytes)| (field.join(name), bytes)).collect();
        // What somebody wrote or changed there is theirs, forced or not.
        let theirs: Vec<String> = files
            .iter()
            .filter(|(file, bytes)| file.exists() && !std::fs::read(file).is_ok_and(|there| there == *bytes))
            .map(|(file, _)| format!("{} is there already and is not as the demonstration writes it; it stays. Hint: another folder, or move it away", file.display()))
            .collect();
        if !theirs.is_empty() {
            return Err(Fail::all(theirs));
        }
        working.now("writing the plan");
        let mut plan = Plan::create(&path, &holding, self.force)?;
        plan.set_guidance_edition(super::tables()?.edition())?;
        for (file, bytes) in files.iter().filter(|(file, _)| !file.exists()) {
            write_new(file, bytes, false)?;
        }
        drop(working);
        talk::print(&talk::wrapped(demo::story(), 96, ""));
        talk::print(&format!("\nWritten: {} and the field files in {}", path.display(), field.display()));
        Ok(Ended::Well)
    }
}
