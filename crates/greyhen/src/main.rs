//! The command line: arguments, messages, exit codes. The only place that prints.
//!
//! Exit 0: done. Exit 1: done, and findings that must be mended stand (`check` only). Exit 2: cannot run.

mod answers;
mod command;
mod fail;
mod memory;
mod talk;

use clap::{Parser, Subcommand};
use fail::Fail;
use std::path::PathBuf;
use std::process::ExitCode;

/// A planning desk for an upland conservation adviser: what black grouse ground lacks, season by season, and why.
#[derive(Parser)]
#[command(name = "greyhen", version, max_term_width = 100, after_help = "\
A first look:
  greyhen demo try                        write the invented demonstration holding into the folder try
  greyhen assess try/demo.gpkg            the bird's-year ledger of its leks
  greyhen desk try/demo.gpkg              the same on a page in a browser of this machine
  greyhen handover try/demo.gpkg --to out the plan on paper, the workbook, the map file

Your own ground:
  greyhen new hill.gpkg --boundary boundary.geojson --heights ny82.zip ny83.zip
  greyhen import hill.gpkg patches vegetation.zip
  greyhen import hill.gpkg leks leks.csv
  greyhen assess hill.gpkg

What to do about it:
  greyhen option hill.gpkg add trees
  greyhen suggest hill.gpkg wood --option 1
  greyhen spend hill.gpkg --budget 10000
  greyhen measure hill.gpkg add wood --option 1 --area gill.geojson
  greyhen ahead hill.gpkg --option 1
  greyhen compare hill.gpkg 1
  greyhen birds hill.gpkg --option 1
  greyhen works hill.gpkg --option 1
  greyhen handover hill.gpkg --to pack --option 1

It advises; it does not license. Check the law and the code in force where you are.")]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Write the invented demonstration holding and its field files into a folder
    Demo(command::demo::Demo),
    /// Start a plan from a boundary and a height model
    New(command::new::New),
    /// Bring a file of one kind of feature into a plan
    Import(command::import::Import),
    /// Show what a plan holds and what it lacks
    Show(command::show::Show),
    /// Work out the bird's-year ledger: which season is short, at which lek, by how much, how sure
    Assess(command::assess::Assess),
    /// Look ahead: the ledger in the coming thirty years, if nothing is done or under an option
    Ahead(command::ahead::Ahead),
    /// Compare options with as now and with each other, on the same draws
    Compare(command::compare::Compare),
    /// Check what is on the ground against the rules
    Check(command::check::Check),
    /// Put measures of a kind forward, and lay them in an option
    Suggest(command::suggest::Suggest),
    /// What the next pound buys most of, across all kinds of measure
    Spend(command::spend::Spend),
    /// Options weighed: named sets of measures
    Option(command::option::Options),
    /// Measures of an option: add, drop, list, or tell what each kind needs
    Measure(command::measure::Measures),
    /// What the dawn counts say: the trend with its certainty, and what it takes to see a change
    Counts(command::counts::Counts),
    /// Numbers of birds ahead, as now and under options, on the same luck; and the network of leks
    Birds(command::birds::Birds),
    /// An option as works: who does what when, what waits for what, what cannot be done, what slips
    Works(command::works::Works),
    /// The plan on a local page: see, draw, weigh and hand over in a browser
    Desk(command::desk::OnDesk),
    /// Write the hand-over: the plan on paper, workbooks, map files; of an option the works too
    Handover(command::handover::Handover),
    /// Say what a figure or a rule means, where it comes from and how good it is
    Explain(command::explain::Explain),
    /// List, show or check the tables of figures the program believes
    Guidance(command::guidance::Guide),
}

/// How a command ended when it did not fail.
pub(crate) enum Ended {
    /// Done.
    Well,
    /// Done, and findings that must be mended stand.
    WithMust,
}

/// A plan file named on the command line.
#[derive(clap::Args)]
pub(crate) struct PlanFile {
    /// The plan file
    #[arg(value_name = "FILE")]
    pub path: PathBuf,
}

/// Settings of an assessment.
#[derive(clap::Args)]
pub(crate) struct Draws {
    /// Seed of the draws
    #[arg(long, default_value_t = 1, allow_negative_numbers = true, value_parser = seed)]
    pub seed: u64,
    /// Number of draws
    #[arg(long, default_value_t = 200, allow_negative_numbers = true, value_parser = draws)]
    pub draws: usize,
    /// Cell of the grids in metres; the plan's own when left out
    #[arg(long, value_name = "METRES", allow_negative_numbers = true)]
    pub cell: Option<f64>,
}

/// A number of draws as it is typed.
fn draws(text: &str) -> Result<usize, String> {
    text.parse().ok().filter(|n| *n > 0).ok_or_else(|| "needed a whole number from 1 up".to_string())
}

/// A seed as it is typed.
pub(crate) fn seed(text: &str) -> Result<u64, String> {
    text.parse().map_err(|_| "needed a whole number from 0 up".to_string())
}

impl Draws {
    pub(crate) fn settings(&self) -> habitat::Settings {
        habitat::Settings { draws: self.draws, seed: self.seed, cell_m: self.cell }
    }
}

fn main() -> ExitCode {
    memory::give_back();
    let arguments = Arguments::parse();
    let result: Result<Ended, Fail> = match arguments.command {
        Command::Demo(c) => c.run(),
        Command::New(c) => c.run(),
        Command::Import(c) => c.run(),
        Command::Show(c) => c.run(),
        Command::Assess(c) => c.run(),
        Command::Ahead(c) => c.run(),
        Command::Compare(c) => c.run(),
        Command::Check(c) => c.run(),
        Command::Suggest(c) => c.run(),
        Command::Spend(c) => c.run(),
        Command::Option(c) => c.run(),
        Command::Measure(c) => c.run(),
        Command::Counts(c) => c.run(),
        Command::Birds(c) => c.run(),
        Command::Works(c) => c.run(),
        Command::Desk(c) => c.run(),
        Command::Handover(c) => c.run(),
        Command::Explain(c) => c.run(),
        Command::Guidance(c) => c.run(),
    };
    let result = result.and_then(|ended| match talk::lost() {
        Some(why) => Err(Fail::one(format!("the output could not be written: {why}"))),
        None => Ok(ended),
    });
    match result {
        Ok(Ended::Well) => ExitCode::SUCCESS,
        Ok(Ended::WithMust) => ExitCode::from(1),
        Err(fail) => {
            fail.tell();
            ExitCode::from(2)
        }
    }
}
