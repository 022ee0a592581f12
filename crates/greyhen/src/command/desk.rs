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

  greyhen desk hill.gpkg --field

It prints the address to open in a browser of this machine; the key in it is new at every start. Nothing leaves the machine, and no
other machine reaches the page. Ctrl-C ends it; what was done is in the plan.

With --field, phones on the same network that you pair can send counts and readings; they are told the names and kilometre squares of
leks and nothing else of the plan.")]
pub struct OnDesk {
    /// A plan file, or a folder whose plans can be opened on the page
    #[arg(value_name = "FILE|FOLDER", default_value = ".")]
    path: PathBuf,
    /// Port to listen at; 7373 where it is free, else any, when left out
    #[arg(long)]
    port: Option<u16>,
    #[command(flatten)]
    field: OnField,
}

/// The field page.
#[derive(clap::Args)]
#[command(next_help_heading = "The field page, for phones on the same network")]
struct OnField {
    /// Serve it, over HTTPS; phones are paired by a code on the desk's screen
    #[arg(long)]
    field: bool,
    /// Address of this machine it listens at; every network of its own when left out
    #[arg(long, value_name = "ADDRESS", requires = "field")]
    field_at: Option<std::net::IpAddr>,
    /// Port it listens at; 7374 where it is free, else any, when left out
    #[arg(long, value_name = "PORT", requires = "field")]
    field_port: Option<u16>,
    /// Give phones that are paired the exact places of leks, not their kilometre squares
    #[arg(long, requires = "field")]
    field_leks: bool,
    /// Folder of the desk's own certificate authority and its paired phones; greyhen/field in your settings when left out
    #[arg(long, value_name = "FOLDER", requires = "field")]
    field_keep: Option<PathBuf>,
}

impl OnField {
    /// Bind it, where it is asked for.
    fn bind(&self) -> Result<Option<desk::field::BoundField>, Fail> {
        if !self.field {
            return Ok(None);
        }
        let folder = self.field_keep.clone().or_else(settings).ok_or_else(|| Fail::one("no folder for your settings is known. Hint: name one with --field-keep".to_owned()))?;
        let options = desk::field::FieldOptions { folder, at: self.field_at, port: self.field_port, exact_leks: self.field_leks };
        desk::field::bind(&options).map(Some).map_err(Fail::one)
    }
}

/// Where a person's own settings are kept.
fn settings() -> Option<PathBuf> {
    let of = |name: &str| std::env::var_os(name).filter(|value| !value.is_empty()).map(PathBuf::from);
    let folder = of("XDG_CONFIG_HOME").or_else(|| of("APPDATA")).or_else(|| of("HOME").map(|home| home.join(".config")));
    folder.map(|folder| folder.join("greyhen").join("field"))
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
        let field = self.field.bind()?;
        // Ready before the page asks.
        let first = desk.clone();
        std::thread::spawn(move || first.snapshot().base().is_ok());
        drop(working);
        if let Some(notice) = desk.file().notice {
            talk::say(&notice);
        }
        talk::print(&format!("Open {}", bound.address().to_open()));
        if let Some(field) = &field {
            for address in field.field().addresses() {
                talk::print(&format!("Phones open {address}"));
            }
            talk::print(&format!("Their certificate: {}", field.field().authority_address()));
            talk::print(&format!("Its fingerprint (SHA-256): {}", field.field().fingerprint()));
        }
        talk::print("Ctrl-C ends the desk; what was done is in the plan.");
        bound.run(desk, field).map_err(|error| Fail::one(format!("the desk stopped: {error}")))?;
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
