//! `greyhen desk`: the plan on a local page.

use crate::answers::ByCommand;
use crate::fail::Fail;
use crate::{Ended, talk};
use desk::Desk;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Arguments.
#[derive(clap::Args)]
#[command(after_help = "\
Examples:
  greyhen desk hill.gpkg
  greyhen desk plans/

It prints the address to open in a browser of this machine; the key in it is new at every start. Nothing leaves the machine, and no
other machine reaches the page. Ctrl-C ends it; what was done is in the plan.")]
pub struct OnDesk {
    /// A plan file, or a folder whose plans can be opened on the page
    #[arg(value_name = "FILE|FOLDER", default_value = ".")]
    path: PathBuf,
    /// Port to listen at; 7373 where it is free, else any, when left out
    #[arg(long)]
    port: Option<u16>,
}

impl OnDesk {
    /// Run it.
    pub fn run(self) -> Result<Ended, Fail> {
        let working = talk::Working::on("reading the plan");
        let guidance = Arc::new(super::tables()?);
        let is_folder = self.path.is_dir();
        let folder = if is_folder { self.path.clone() } else { folder_of(&self.path) };
        let desk = Arc::new(Desk::new(folder, guidance, Arc::new(ByCommand)));
        if !is_folder {
            desk.open(&self.path).map_err(|problem| Fail::all(said(problem)))?;
        }
        let bound = desk::serve::bind(self.port).map_err(|error| cannot_listen(self.port, &error))?;
        // Ready before the page asks.
        let first = desk.clone();
        std::thread::spawn(move || first.snapshot().base().is_ok());
        drop(working);
        if let Some(notice) = desk.file().notice {
            talk::say(&notice);
        }
        talk::print(&format!("Open {}", bound.address().to_open()));
        talk::print("Ctrl-C ends the desk; what was done is in the plan.");
        bound.run(desk).map_err(|error| Fail::one(format!("the desk stopped: {error}")))?;
        Ok(Ended::Well)
    }
}

fn folder_of(file: &Path) -> PathBuf {
    file.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new(".")).to_path_buf()
}

fn said(problem: desk::api::edit::Problem) -> Vec<String> {
    let fault = |f: desk::api::edit::ProblemFault| {
        let hint = if f.hint.is_empty() { String::new() } else { format!(". Hint: {}", f.hint) };
        if f.needed.is_empty() { f.found } else { format!("{}: needed {}, found {}{hint}", f.at, f.needed, f.found) }
    };
    let faults: Vec<String> = problem.faults.into_iter().map(fault).collect();
    if faults.is_empty() { vec![problem.title] } else { faults }
}

fn cannot_listen(port: Option<u16>, error: &std::io::Error) -> Fail {
    let at = port.map_or("no port".to_string(), |port| format!("port {port}"));
    Fail::one(format!("{at} cannot be listened at: {error}; needed: a free port. Hint: leave --port out, or name another"))
}
