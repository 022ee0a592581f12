//! `greyhen counts FILE add|change|remove`: a dawn visit or a brood count by hand.
//!
//! What is typed is read as a row of a file is, by the same rules: days and times in many forms, remarks beside figures kept.

use super::list::{brood_words, visit_words};
use crate::fail::Fail;
use crate::talk;
use chrono::NaiveTime;
use clap::Subcommand;
use guidance::Guidance;
use holding::import::said::{self, Clock};
use holding::import::{self, Features, Imported, Kind, MapTo, Mode, Options, Source};
use holding::{BroodCount, Holding, Visit};
use std::path::Path;

/// What is added.
#[derive(Subcommand)]
pub enum Add {
    /// A dawn visit to a lek
    #[command(override_usage = "greyhen counts <FILE> add visit --lek <LEK> --date <DATE> [OPTIONS]", after_help = "\
Example:
  greyhen counts hill.gpkg add visit --lek L1 --date 2026-04-14 --start 05:10 --cocks 7 --hens 2 --note \"one limping\"")]
    Visit(OfVisit),
    /// A brood count
    #[command(override_usage = "greyhen counts <FILE> add broods --date <DATE> [OPTIONS]", after_help = "\
Example:
  greyhen counts hill.gpkg add broods --date 2026-08-12 --hens 10 --with-broods 6 --young 17 --dogs yes")]
    Broods(OfBroods),
}

/// What is changed.
#[derive(Subcommand)]
pub enum Change {
    /// A dawn visit; what is not given stays, an empty text clears
    #[command(override_usage = "greyhen counts <FILE> change visit [OPTIONS] <ID>", after_help = "\
Example:
  greyhen counts hill.gpkg change visit visit-3 --cocks 8 --start \"\"    eight cocks, start not known")]
    Visit {
        /// Its id
        id: String,
        #[command(flatten)]
        of: OfVisit,
    },
    /// A brood count; what is not given stays, an empty text clears
    #[command(override_usage = "greyhen counts <FILE> change broods [OPTIONS] <ID>", after_help = "\
Example:
  greyhen counts hill.gpkg change broods brood-1 --young 19")]
    Broods {
        /// Its id
        id: String,
        #[command(flatten)]
        of: OfBroods,
    },
}

/// What is taken out.
#[derive(Subcommand)]
pub enum Remove {
    /// A dawn visit
    #[command(override_usage = "greyhen counts <FILE> remove visit <ID>", after_help = "\
Example:
  greyhen counts hill.gpkg remove visit visit-3")]
    Visit {
        /// Its id
        id: String,
    },
    /// A brood count
    #[command(override_usage = "greyhen counts <FILE> remove broods <ID>", after_help = "\
Example:
  greyhen counts hill.gpkg remove broods brood-1")]
    Broods {
        /// Its id
        id: String,
    },
}

/// What a visit tells.
#[derive(clap::Args)]
pub struct OfVisit {
    /// The lek, by id or name
    #[arg(long)]
    lek: Option<String>,
    /// The day, such as 2026-04-14 or 14 Apr 2026
    #[arg(long)]
    date: Option<String>,
    /// Start by the local clock, such as 05:10
    #[arg(long, allow_hyphen_values = true)]
    start: Option<String>,
    /// Cocks seen, displaying or not
    #[arg(long, allow_hyphen_values = true)]
    cocks: Option<String>,
    /// Hens seen
    #[arg(long, allow_hyphen_values = true)]
    hens: Option<String>,
    /// Who counted
    #[arg(long)]
    observer: Option<String>,
    /// Weather in a few words
    #[arg(long)]
    weather: Option<String>,
    /// Wind, Beaufort force or words
    #[arg(long, allow_hyphen_values = true)]
    wind: Option<String>,
    /// Rain, in a word
    #[arg(long)]
    rain: Option<String>,
    /// Anything to say about it
    #[arg(long)]
    note: Option<String>,
}

/// What a brood count tells.
#[derive(clap::Args)]
pub struct OfBroods {
    /// The day, such as 2026-08-12
    #[arg(long)]
    date: Option<String>,
    /// The lek it is held to belong to, by id or name
    #[arg(long)]
    lek: Option<String>,
    /// Hens found, with broods and without
    #[arg(long, allow_hyphen_values = true)]
    hens: Option<String>,
    /// Hens found with a brood
    #[arg(long, allow_hyphen_values = true)]
    with_broods: Option<String>,
    /// Young found
    #[arg(long, allow_hyphen_values = true)]
    young: Option<String>,
    /// Whether dogs found them: yes, no, or which
    #[arg(long)]
    dogs: Option<String>,
    /// Who counted
    #[arg(long)]
    observer: Option<String>,
    /// Anything to say about it
    #[arg(long)]
    note: Option<String>,
}

/// A field of a row: its name, the flag it is typed with, and what was typed.
type Typed<'a> = (&'static str, &'static str, Option<&'a str>);

impl OfVisit {
    fn typed(&self) -> [Typed<'_>; 10] {
        [
            ("lek", "lek", self.lek.as_deref()),
            ("date", "date", self.date.as_deref()),
            ("start", "start", self.start.as_deref()),
            ("cocks", "cocks", self.cocks.as_deref()),
            ("hens", "hens", self.hens.as_deref()),
            ("observer", "observer", self.observer.as_deref()),
            ("weather", "weather", self.weather.as_deref()),
            ("wind_beaufort", "wind", self.wind.as_deref()),
            ("rain", "rain", self.rain.as_deref()),
            ("note", "note", self.note.as_deref()),
        ]
    }
}

impl OfBroods {
    fn typed(&self) -> [Typed<'_>; 8] {
        [
            ("date", "date", self.date.as_deref()),
            ("lek", "lek", self.lek.as_deref()),
            ("hens", "hens", self.hens.as_deref()),
            ("hens_with_brood", "with-broods", self.with_broods.as_deref()),
            ("young", "young", self.young.as_deref()),
            ("dogs", "dogs", self.dogs.as_deref()),
            ("observer", "observer", self.observer.as_deref()),
            ("note", "note", self.note.as_deref()),
        ]
    }
}

/// Everything typed is as wrong as a file would be: nothing is written.
const UNCHANGED: &str = "Nothing was changed; the plan is as it was.";

/// Fields that must be typed and were not.
fn lacking(typed: &[Typed], must: &[(&str, &str)]) -> Vec<String> {
    let lacks = |field: &str| typed.iter().all(|(name, _, said)| *name != field || said.is_none());
    must.iter().filter(|(field, _)| lacks(field)).map(|(field, what)| format!("--{field}: nothing; needed: {what}")).collect()
}

/// What is wrong with a start that gives no time: in a file it is kept as written, by hand it is a slip that can be mended at once.
fn no_start(typed: &[Typed]) -> Option<String> {
    let said = typed.iter().find(|(field, ..)| *field == "start")?.2.map(str::trim).filter(|s| !s.is_empty())?;
    let unclear = match said::clock(said) {
        Ok(Clock::At(time, ..)) => time == NaiveTime::MIN,
        Ok(Clock::Unclear) => true,
        // Figures that are no time of day are a fault of any row.
        Err(_) => false,
    };
    unclear.then(|| format!("--start: needed a time of a morning such as 05:10, found `{said}`. Hint: leave it out where the start is not known; words go into --note"))
}

/// Read what was typed as the one row of a file.
fn read(kind: Kind, typed: &[Typed], mode: Mode, holding: &Holding, guidance: &Guidance) -> Result<Imported, Fail> {
    let line = |cells: Vec<String>| cells.iter().map(|c| format!("\"{}\"", c.replace('"', "\"\""))).collect::<Vec<_>>().join(",");
    let head = line(typed.iter().map(|(field, ..)| (*field).to_string()).collect());
    let row = line(typed.iter().map(|(.., said)| said.unwrap_or_default().to_string()).collect());
    let map = typed.iter().map(|(field, ..)| MapTo { field: (*field).to_string(), column: (*field).to_string(), unit: None }).collect();
    let options = Options { map, mode, today: Some(chrono::Local::now().date_naive()), ..Options::default() };
    let source = Source::bytes("typed.csv", format!("{head}\n{row}\n"));
    let no_start = no_start(typed);
    let read = import::read(kind, &source, &options, holding, guidance).map_err(|faults| {
        let flag = |column: &str| typed.iter().find(|(field, ..)| *field == column).map_or(column, |(_, flag, _)| flag).to_string();
        let told = faults.listed.iter().map(|f| {
            let at = f.column.as_deref().map_or(String::new(), |c| format!("--{}: ", flag(c)));
            let hint = if f.hint.is_empty() || f.hint.contains("--map") { String::new() } else { format!(". Hint: {}", f.hint) };
            format!("{at}needed {}, found {}{hint}", f.needed, f.found)
        });
        Fail::all(told.chain(no_start.clone())).ending(UNCHANGED)
    })?;
    no_start.map_or(Ok(read), |fault| Err(Fail::one(fault).ending(UNCHANGED)))
}

fn tell_notes(read: &Imported) {
    for note in &read.notes.0 {
        talk::print(&talk::wrapped(&format!("note: {}", note.text), 96, "  "));
    }
}

impl Add {
    /// Run it.
    pub fn run(&self, path: &Path) -> Result<(), Fail> {
        let seen = super::plan(path, "add")?;
        let guidance = super::super::tables()?;
        let there = |what: &str| Fail::one(format!("the plan has {what} alike in everything; nothing was added. Hint: greyhen counts FILE list tells its id"));
        match self {
            Add::Visit(of) => {
                let typed = of.typed();
                let lacks = lacking(&typed, &[("lek", "the lek, by id or name"), ("date", "the day of the visit")]);
                if !lacks.is_empty() {
                    return Err(Fail::all(lacks).ending(UNCHANGED));
                }
                let read = read(Kind::Visits, &typed, Mode::Add, &seen, &guidance)?;
                let Features::Visits(visits) = &read.features else { return Err(there("a visit")) };
                let visit = visits.first().ok_or_else(|| there("a visit"))?;
                super::super::take(path, &seen)?.step("adding a visit", |step| step.put(visit))?;
                tell_notes(&read);
                talk::print(&talk::wrapped(&format!("Added visit {}", visit_words(visit, &seen, &guidance)?), 96, ""));
            }
            Add::Broods(of) => {
                let typed = of.typed();
                let lacks = lacking(&typed, &[("date", "the day of the count")]);
                if !lacks.is_empty() {
                    return Err(Fail::all(lacks).ending(UNCHANGED));
                }
                let read = read(Kind::Broods, &typed, Mode::Add, &seen, &guidance)?;
                let Features::Broods(counts) = &read.features else { return Err(there("a brood count")) };
                let count = counts.first().ok_or_else(|| there("a brood count"))?;
                super::super::take(path, &seen)?.step("adding a brood count", |step| step.put(count))?;
                tell_notes(&read);
                talk::print(&talk::wrapped(&format!("Added brood count {}", brood_words(count, &seen, &guidance)?), 96, ""));
            }
        }
        Ok(())
    }
}

impl Change {
    /// Run it.
    pub fn run(&self, path: &Path) -> Result<(), Fail> {
        let seen = super::plan(path, "change")?;
        let guidance = super::super::tables()?;
        let nothing = || Fail::one("nothing to change; needed: what is to be changed, such as --cocks 8");
        let lost = || Fail::one("what was typed gives no count");
        match self {
            Change::Visit { id, of } => {
                let old = visit(&seen, id)?;
                let mut typed = of.typed();
                if typed.iter().all(|(.., said)| said.is_none()) {
                    return Err(nothing());
                }
                let given = |field: &str| of.typed().iter().any(|(name, _, said)| *name == field && said.is_some());
                // What is typed takes the place of the visit: it is set beside the others, and no other like it is looked for.
                let others = Holding { visits: seen.visits.iter().filter(|v| v.id != *id).cloned().collect(), ..seen.clone() };
                let date = old.date.to_string();
                typed[0].2 = typed[0].2.or(Some(&old.lek));
                typed[1].2 = typed[1].2.or(Some(&date));
                let read = read(Kind::Visits, &typed, Mode::Replace, &others, &guidance)?;
                let Features::Visits(visits) = &read.features else { return Err(lost()) };
                let told = visits.first().ok_or_else(lost)?;
                let mut new = old.clone();
                macro_rules! take {
                    ($($field:literal: $($name:ident),*;)*) => { $( if given($field) { $( new.$name = told.$name.clone(); )* } )* };
                }
                take!("lek": lek; "date": date, known_to; "start": start; "cocks": cocks; "hens": hens; "observer": observer; "weather": weather;);
                take!("wind_beaufort": wind_beaufort; "rain": rain; "note": note;);
                new.extra.extend(told.extra.clone());
                super::super::take(path, &seen)?.step("changing a visit", |step| step.put(&new))?;
                tell_notes(&read);
                talk::print(&talk::wrapped(&format!("Changed visit {}", visit_words(&new, &seen, &guidance)?), 96, ""));
            }
            Change::Broods { id, of } => {
                let old = broods(&seen, id)?;
                let mut typed = of.typed();
                if typed.iter().all(|(.., said)| said.is_none()) {
                    return Err(nothing());
                }
                let given = |field: &str| of.typed().iter().any(|(name, _, said)| *name == field && said.is_some());
                // The numbers are judged together, as a row is.
                let [date, hens, with, young] =
                    [Some(old.date.to_string()), old.hens.map(|n| n.to_string()), old.hens_with_brood.map(|n| n.to_string()), old.young.map(|n| n.to_string())];
                for (at, was) in [(0, &date), (2, &hens), (3, &with), (4, &young)] {
                    typed[at].2 = typed[at].2.or(was.as_deref());
                }
                let read = read(Kind::Broods, &typed, Mode::Replace, &seen, &guidance)?;
                let Features::Broods(counts) = &read.features else { return Err(lost()) };
                let told = counts.first().ok_or_else(lost)?;
                let mut new = old.clone();
                macro_rules! take {
                    ($($field:literal: $name:ident;)*) => { $( if given($field) { new.$name = told.$name.clone(); } )* };
                }
                take!("date": date; "lek": lek; "hens": hens; "hens_with_brood": hens_with_brood; "young": young; "dogs": dogs; "observer": observer; "note": note;);
                new.extra.extend(told.extra.clone());
                super::super::take(path, &seen)?.step("changing a brood count", |step| step.put(&new))?;
                tell_notes(&read);
                talk::print(&talk::wrapped(&format!("Changed brood count {}", brood_words(&new, &seen, &guidance)?), 96, ""));
            }
        }
        Ok(())
    }
}

impl Remove {
    /// Run it.
    pub fn run(&self, path: &Path) -> Result<(), Fail> {
        let seen = super::plan(path, "remove")?;
        match self {
            Remove::Visit { id } => {
                let told = visit_words(visit(&seen, id)?, &seen, &super::super::tables()?)?;
                super::super::take(path, &seen)?.step("removing a visit", |step| step.remove::<Visit>(id))?;
                talk::print(&talk::wrapped(&format!("Removed visit {told}"), 96, ""));
            }
            Remove::Broods { id } => {
                let told = brood_words(broods(&seen, id)?, &seen, &super::super::tables()?)?;
                super::super::take(path, &seen)?.step("removing a brood count", |step| step.remove::<BroodCount>(id))?;
                talk::print(&talk::wrapped(&format!("Removed brood count {told}"), 96, ""));
            }
        }
        Ok(())
    }
}

fn visit<'a>(holding: &'a Holding, id: &str) -> Result<&'a Visit, Fail> {
    holding.visits.iter().find(|v| v.id == id).ok_or_else(|| Fail::one(format!("visit `{id}`: not in the plan; needed: the id of a visit. Hint: greyhen counts FILE list tells them")))
}

fn broods<'a>(holding: &'a Holding, id: &str) -> Result<&'a BroodCount, Fail> {
    holding.broods.iter().find(|b| b.id == id).ok_or_else(|| Fail::one(format!("brood count `{id}`: not in the plan; needed: the id of a brood count. Hint: greyhen counts FILE list tells them")))
}
