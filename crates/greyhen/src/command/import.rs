//! `greyhen import`: one file of one kind into a plan.

use crate::fail::Fail;
use crate::{Ended, PlanFile, talk};
use holding::{Holding, Word};
use holding::import::{self, Kind, MapTo, Mode, Options, Source};
use holding::plan::Plan;
use std::collections::HashSet;
use std::path::{Path, PathBuf};

/// Arguments.
#[derive(clap::Args)]
#[command(after_help = "\
Kinds: boundary, parcels, patches, woods, leks, visits (or counts), broods, fences, ditches, watercourses, tracks,
services, buildings, areas, sticks, probes, stock, measures.

Visits name their lek, or carry the place of the birds: birds near a lek of the plan are counted to it, others put a
lek forward, which --make-leks makes.

Measures need a column `kind`, may have `year`, and every other column is a fact of the kind: `greyhen measure FILE
kinds wood` tells which. Areas, lines, or a table without places where the kind needs none.

Examples:
  greyhen import hill.gpkg patches survey.zip
  greyhen import hill.gpkg sticks sticks.csv --map height_cm=ht:cm --map grid_ref=where
  greyhen import hill.gpkg woods mapped.gpkg --layer plantations
  greyhen import hill.gpkg leks leks.csv --show-guess
  greyhen import hill.gpkg measures drawn.geojson --option 1")]
pub struct Import {
    #[command(flatten)]
    plan: PlanFile,
    /// What the rows are
    #[arg(value_name = "KIND", value_parser = kind)]
    kind: Kind,
    /// The file: GeoPackage, GeoJSON, Shapefile (zipped or not), FlatGeobuf, CSV, XLSX or GPX
    #[arg(value_name = "SOURCE")]
    source: PathBuf,
    #[command(flatten)]
    how: How,
    /// Measures: which option they belong to, where no column `option` says it
    #[arg(long, value_name = "NUMBER")]
    option: Option<u32>,
}

/// How a file is read and taken in.
#[derive(clap::Args)]
pub struct How {
    /// Which column is which field: field=column, with :unit where the unit is unclear; field=- leaves it out
    #[arg(long, value_name = "FIELD=COLUMN[:UNIT]", value_parser = MapTo::from_text)]
    map: Vec<MapTo>,
    /// Which layer or sheet
    #[arg(long)]
    layer: Option<String>,
    /// EPSG number of the file's coordinates, where it does not say
    #[arg(long)]
    epsg: Option<u32>,
    /// Take the place of what is there of this kind (measures: of this option), instead of joining it
    #[arg(long)]
    replace: bool,
    /// Visits: make the leks that the places of the birds put forward
    #[arg(long)]
    make_leks: bool,
    /// Visits, broods: leave out rows that cannot be used, and say how many and why, instead of refusing the file
    #[arg(long)]
    leave_out: bool,
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
        if self.option.is_some() && self.kind != Kind::Measures {
            return Err(Fail::one(format!("--option is for measures; found: {}. Hint: leave it out", self.kind.word())));
        }
        self.how.take_in(&self.plan.path, self.kind, &self.source, self.option)
    }
}

impl How {
    /// Bring a file of one kind into a plan; measures into an option.
    pub fn take_in(&self, path: &Path, kind: Kind, source: &Path, option: Option<u32>) -> Result<Ended, Fail> {
        let guidance = super::tables()?;
        let measures = kind == Kind::Measures;
        if measures && self.replace && option.is_none() {
            return Err(Fail::one("--replace of measures without an option; needed: --option NUMBER, whose measures are replaced"));
        }
        if self.make_leks && kind != Kind::Visits {
            return Err(Fail::one(format!("--make-leks is for visits; found: {}. Hint: leave it out", kind.word())));
        }
        if self.leave_out && !matches!(kind, Kind::Visits | Kind::Broods) {
            return Err(Fail::one(format!("--leave-out is for visits and broods; found: {}. Hint: leave it out", kind.word())));
        }
        // Measures of another option are never replaced: those of this one are taken out first, and the new ones join.
        let cleared = |mut holding: Holding| {
            if measures && self.replace {
                holding.measures.retain(|m| Some(m.option) != option);
            }
            holding
        };
        let mode = if self.replace && !measures { Mode::Replace } else { Mode::Add };
        let today = Some(chrono::Local::now().date_naive());
        let (make_leks, leave_out) = (self.make_leks, self.leave_out);
        let options = Options { map: self.map.clone(), layer: self.layer.clone(), epsg: self.epsg, mode, today, make_leks, leave_out };
        let source = Source::path(source);
        let understand = |holding: &Holding| -> Result<(import::Imported, Vec<String>), Fail> {
            let mut read = import::read(kind, &source, &options, holding, &guidance).map_err(|f| refused(&f))?;
            let mut notes = super::measure::settle(&mut read, option, holding, &guidance)?;
            notes.extend(birds::counts::greenwich(&read, holding, &guidance));
            Ok((read, notes))
        };
        let tell = |read: &import::Imported, notes: &[String]| {
            talk::print(&read.mapping.to_string());
            for note in read.notes.0.iter().map(ToString::to_string).chain(notes.iter().cloned()) {
                talk::print(&format!("  note: {note}"));
            }
            for left in &read.left_out {
                talk::print(&format!("  {left}"));
            }
            for lek in &read.proposed {
                talk::print(&format!("  {}: {lek}", if lek.id.is_some() { "made" } else { "put forward" }));
            }
        };
        if self.show_guess {
            let (read, notes) = understand(&cleared(super::read(path)?))?;
            tell(&read, &notes);
            talk::print("Nothing was changed.");
            return Ok(Ended::Well);
        }
        let working = talk::Working::on("reading the plan");
        // The file is judged before the plan is taken hold of, so that a fault leaves every byte of the plan as it was.
        let seen = super::read(path)?;
        working.now("reading the file");
        let (mut read, mut notes) = understand(&cleared(seen.clone()))?;
        let mut plan = Plan::open(path)?;
        let mut holding = plan.holding()?;
        if super::changed(&seen, &holding) {
            (read, notes) = understand(&cleared(holding.clone()))?;
        }
        holding = cleared(holding);
        let count = read.count;
        let seen = read.clone();
        let before = (lost_visits(&holding), lost_stock(&holding));
        read.apply(&mut holding);
        working.now("saving");
        plan.save(&holding)?;
        drop(working);
        tell(&seen, &notes);
        let left = |was: usize, now: usize, text: &str| {
            if now > was {
                talk::print(&format!("  note: {text}: {now}"));
            }
        };
        left(before.0, lost_visits(&holding), "visits left whose lek is gone, which count for nothing (import the leks with the ids they had, or the visits again)");
        left(before.1, lost_stock(&holding), "stock rows left whose parcel is gone, which count for nothing (import the parcels with the ids they had, or the stock again)");
        let word = if kind == Kind::Stock { "stock rows" } else { kind.word() };
        let word = if count == 1 { word.strip_suffix('s').unwrap_or(word) } else { word };
        talk::print(&format!("Imported {count} {word} into {}", path.display()));
        Ok(Ended::Well)
    }
}

/// How the columns were understood, as far as it came, and the faults.
fn refused(faults: &import::Faults) -> Fail {
    if let Some(mapping) = &faults.mapping {
        talk::print(&mapping.to_string());
    }
    for lek in &faults.proposed {
        talk::print(&format!("  put forward: {lek}"));
    }
    Fail::file_faults(faults).ending("Nothing was imported; the plan is as it was.")
}

fn lost_visits(h: &Holding) -> usize {
    let leks: HashSet<&str> = h.leks.iter().map(|l| l.id.as_str()).collect();
    h.visits.iter().filter(|v| !leks.contains(v.lek.as_str())).count()
}

fn lost_stock(h: &Holding) -> usize {
    let parcels: HashSet<&str> = h.parcels.iter().map(|p| p.id.as_str()).collect();
    h.stock.iter().filter(|s| !parcels.contains(s.parcel.as_str())).count()
}
