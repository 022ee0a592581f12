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
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Replace what an earlier run wrote
    #[arg(long)]
    force: bool,
}

impl Demo {
    /// Run it.
    pub fn run(self) -> Result<Ended, Fail> {
        let working = talk::Working::on("inventing the ground");
        let holding = demo::holding(self.seed);
        std::fs::create_dir_all(&self.folder).map_err(|e| Fail::file(&self.folder, "making the folder", &e))?;
        let path = self.folder.join("demo.gpkg");
        working.now("writing the plan");
        let mut plan = Plan::create(&path, &holding, self.force)?;
        plan.set_guidance_edition(super::tables()?.edition())?;
        for (name, bytes) in demo::field_files() {
            write_new(&self.folder.join("field").join(name), &bytes, self.force)?;
        }
        drop(working);
        talk::print(&talk::wrapped(demo::story(), 96, ""));
        talk::print(&format!("\nWritten: {} and the field files in {}", path.display(), self.folder.join("field").display()));
        Ok(Ended::Well)
    }
}
