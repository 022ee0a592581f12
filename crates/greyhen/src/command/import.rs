//! `greyhen import`: one file of one kind into a plan.

use crate::fail::Fail;
use crate::{Ended, PlanFile, talk};
use holding::Word;
use holding::import::{self, Kind, MapTo, Mode, Options, Source};
use holding::plan::Plan;
use std::path::PathBuf;

/// Arguments.
#[derive(clap::Args)]
#[command(after_help = "\
Kinds: boundary, parcels, patches, woods, leks, visits (or counts), fences, ditches, watercourses, tracks,
services, buildings, areas, sticks, probes, stock.

Examples:
  greyhen import hill.gpkg patches survey.zip
  greyhen import hill.gpkg sticks sticks.csv --map height_cm=ht:cm --map grid_ref=where
  greyhen import hill.gpkg woods mapped.gpkg --layer plantations
  greyhen import hill.gpkg leks leks.csv --show-guess")]
pub struct Import {
    #[command(flatten)]
    plan: PlanFile,
    /// What the rows are
    #[arg(value_name = "KIND", value_parser = kind)]
    kind: Kind,
    /// The file: GeoPackage, GeoJSON, Shapefile (zipped or not), FlatGeobuf, CSV, XLSX or GPX
    #[arg(value_name = "SOURCE")]
    source: PathBuf,
    /// Which column is which field: field=column, with :unit where the unit is unclear; field=- leaves it out
    #[arg(long, value_name = "FIELD=COLUMN[:UNIT]", value_parser = MapTo::from_text)]
    map: Vec<MapTo>,
    /// Which layer or sheet
    #[arg(long)]
    layer: Option<String>,
    /// EPSG number of the file's coordinates, where it does not say
    #[arg(long)]
    epsg: Option<u32>,
    /// Take the place of what is there of this kind, instead of joining it
    #[arg(long)]
    replace: bool,
    /// Read the file and show how it would be understood; change nothing
    #[arg(long)]
    show_guess: bool,
}

fn kind(text: &str) -> Result<Kind, String> {
    Kind::from_word(text).ok_or_else(|| format!("needed one of {}", Kind::all_words()))
}

impl Import {
    /// Run it.
    pub fn run(self) -> Result<Ended, Fail> {
        let guidance = super::tables()?;
        let mode = if self.replace { Mode::Replace } else { Mode::Add };
        let options = Options { map: self.map, layer: self.layer, epsg: self.epsg, mode };
        let source = Source::path(&self.source);
        let tell = |read: &import::Imported| {
            talk::print(&read.mapping.to_string());
            for note in &read.notes.0 {
                talk::print(&format!("  note: {note}"));
            }
        };
        if self.show_guess {
            let holding = super::read(&self.plan.path)?;
            tell(&import::read(self.kind, &source, &options, &holding, &guidance)?);
            talk::print("Nothing was changed.");
            return Ok(Ended::Well);
        }
        let working = talk::Working::on("reading the plan");
        let mut plan = Plan::open(&self.plan.path)?;
        let mut holding = plan.holding()?;
        working.now("reading the file");
        let read = import::read(self.kind, &source, &options, &holding, &guidance)?;
        let count = read.count;
        let seen = read.clone();
        read.apply(&mut holding);
        working.now("saving");
        plan.save(&holding)?;
        drop(working);
        tell(&seen);
        talk::print(&format!("Imported {count} {} into {}", self.kind.word(), self.plan.path.display()));
        Ok(Ended::Well)
    }
}
