//! `greyhen works`: an option as a programme of works: who does what when, what waits for what, what cannot be done, what slips, and what
//! it costs and brings in.

mod crews;
mod json;
mod money;
mod text;

use super::course::Start;
use super::{none_there, write_new};
use crate::fail::Fail;
use crate::{Ended, PlanFile, talk};
use ::works::tasks::{Hands, Settings};
use chrono::{NaiveDate, NaiveTime};
use desk::Progress;
use guidance::Guidance;
use handover::content::works::Telling;
use handover::secrecy::Secrecy;
use handover::{Asked, NoWorks, Works as OfOption};
use holding::{HiredCrew, Holding, PlanOption};
use measures::rules::Context;
use serde_json::Value;
use std::path::{Path, PathBuf};

/// The file of a calendar.
const CALENDAR: &str = "works.ics";

/// The file of a sheet of the board, from 1.
fn sheet(number: usize) -> String {
    format!("board-{number}.svg")
}

/// Calendar days a task is late in what is told of slips, unless others are asked for.
const LATE_DAYS: u32 = 30;

/// Who does the works, when, at what rates: the same for a programme and a hand-over.
#[derive(clap::Args)]
pub struct When {
    /// Who can be had, a CSV; those kept in the plan when left out, else a usual team, one machine, an adviser and the farm
    #[arg(long, value_name = "CSV")]
    crews: Option<PathBuf>,
    /// Your own rates, a CSV with columns item, rate, unit, note; they win over the tables (docs/accounts.md); those kept in the plan when left out
    #[arg(long, value_name = "CSV")]
    rates: Option<PathBuf>,
    /// First day of the works, YYYY-MM-DD; the plan's day when left out, or today if that is later
    #[arg(long, value_name = "DATE")]
    from: Option<NaiveDate>,
    /// Works to the end of the so-manieth year after the first; the usual span of the tables when left out
    #[arg(long = "years", value_name = "N", value_parser = clap::value_parser!(u32).range(1..=50))]
    works_years: Option<u32>,
    /// Calendar days a task is late in what is told of slips
    #[arg(long, value_name = "DAYS", default_value_t = LATE_DAYS, value_parser = clap::value_parser!(u32).range(1..=3660))]
    late: u32,
}

/// Crews and own rates, of files or of the plan.
pub struct Given {
    crews: Option<Vec<::works::programme::Crew>>,
    own_rates: Vec<::works::account::OwnRate>,
    /// Crews of a file, as a plan keeps them.
    hired: Vec<HiredCrew>,
}

impl When {
    /// As usual from a day, with the crews and rates of the plan.
    pub fn usual(from: Option<NaiveDate>) -> When {
        When { crews: None, rates: None, from, works_years: None, late: LATE_DAYS }
    }

    /// What is given in files, else kept in the plan; everything wrong with it goes to `faults`.
    pub fn given(&self, holding: &Holding, guidance: &Guidance, faults: &mut Vec<String>) -> Given {
        let of_file = self.crews.as_deref().map(|csv| crews::read(csv, faults));
        let hired = of_file.clone().unwrap_or_default().into_iter().map(|(_, crew)| crew).collect();
        let rows = of_file.unwrap_or_else(|| crews::kept(holding));
        Given {
            crews: (self.crews.is_some() || !rows.is_empty()).then(|| crews::understood(&rows, faults)),
            own_rates: match &self.rates {
                Some(csv) => money::own_rates(csv, guidance, holding.about.country, faults),
                None => money::kept_rates(holding, guidance, faults),
            },
            hired,
        }
    }

    /// Keep what is given in files in the plan, in place of what it held.
    fn keep(&self, path: &Path, given: &Given, holding: &Holding) -> Result<(), Fail> {
        let rates = money::to_keep(&given.own_rates);
        super::take(path, holding)?.step("keeping crews and rates", |step| {
            if self.crews.is_some() {
                step.replace(&given.hired)?;
            }
            if self.rates.is_some() {
                step.replace(&rates)?;
            }
            Ok(())
        })?;
        Ok(())
    }

    /// The day given as the first of the works.
    pub fn from(&self) -> Option<NaiveDate> {
        self.from
    }

    /// What is asked of the works of an option.
    pub fn asked(&self, context: &Context, option: u32, given: Given, today: NaiveDate) -> Result<Asked, guidance::Unknown> {
        let holding = context.holding;
        let first = self.from.unwrap_or_else(|| today.max(holding.about.as_at.unwrap_or(NaiveDate::MIN)));
        let years = self.works_years.map_or_else(|| context.guidance.number("kind.years", holding.about.country).map(|y| y.round() as u32), Ok)?;
        let settings = Settings::years(first, years);
        Ok(Asked { option, settings, hands: Hands::of(context, given.crews)?, own_rates: given.own_rates, late_days: self.late, gain: None, usable_ha: None })
    }
}

/// Refuse an option whose measures have wrong facts, all at once.
pub fn sound(context: &Context, option: u32) -> Result<(), Fail> {
    let wrong = measures::option::faults(context, option);
    if wrong.is_empty() { Ok(()) } else { Err(Fail::all(wrong.iter().map(|f| format!("measure {}: {}", talk::name(&f.measure), f.fault)))) }
}

impl From<NoWorks> for Fail {
    fn from(why: NoWorks) -> Self {
        match why {
            NoWorks::Guidance(unknown) => unknown.into(),
            NoWorks::Programme(faults) => Fail::all(faults),
        }
    }
}

/// Arguments.
#[derive(clap::Args)]
#[command(after_help = "\
Examples:
  greyhen works hill.gpkg --option 1
  greyhen works hill.gpkg --option 1 --crews crews.csv --from 2027-01-04 --years 3
  greyhen works hill.gpkg --option 1 --rates quotes.csv
  greyhen works hill.gpkg --option 1 --crews crews.csv --rates quotes.csv --keep     and keep both in the plan
  greyhen works hill.gpkg --option 1 --to works        the calendar file and the board of months too

Own rates are a CSV: item,rate,unit,note such as `stock fence,9.80,£/m,quoted in May`.

Crews are a CSV with columns name, kinds, people, from, to, off:
  Ann and sons,planting fencing digging,3,09-01,04-30,2027-12-20..2028-01-04
kinds: adviser planting fencing saws burning digging excavator tractor tracked stock farm. From and to are the season it can be
had in, month-day; off are days away, several with semicolons; a column phone, if there is one, is kept for who to ring. docs/works.md tells how tasks, days and seasons come about.

It advises; it does not license. Windows and consents change: check the code in force.")]
pub struct Works {
    #[command(flatten)]
    plan: PlanFile,
    /// The option, by number
    #[arg(long, value_name = "N")]
    option: u32,
    #[command(flatten)]
    when: When,
    /// Keep the crews and rates given in the plan, in place of those it holds
    #[arg(long)]
    keep: bool,
    /// Folder to write works.ics and the board of months (board-1.svg, ...) into; made when it is not there
    #[arg(long, value_name = "DIR")]
    to: Option<PathBuf>,
    /// Replace what an earlier run wrote
    #[arg(long, requires = "to")]
    force: bool,
    /// Name the lek that shuts a window, and how far off it is
    #[arg(long)]
    show_leks: bool,
    /// Print one JSON document
    #[arg(long)]
    json: bool,
}

/// A programme of works and all it is told with.
struct Told<'a> {
    option: &'a PlanOption,
    plan: String,
    works: &'a OfOption,
    guidance: &'a Guidance,
    country: guidance::Country,
    secrecy: &'a Secrecy,
    telling: Telling<'a>,
}

impl Works {
    /// Run it.
    pub fn run(self) -> Result<Ended, Fail> {
        let path = &self.plan.path;
        self.free()?;
        let guidance = super::tables()?;
        let working = talk::Working::on("reading the plan");
        let holding = super::read(path)?;
        let mut faults: Vec<String> = Vec::new();
        let option = super::option::find(&holding, self.option).map_err(|f| faults.push(f)).ok();
        let given = self.when.given(&holding, &guidance, &mut faults);
        if self.keep && self.when.crews.is_none() && self.when.rates.is_none() {
            faults.push("--keep: found neither --crews nor --rates; needed: a file to keep. Hint: --crews crews.csv --keep".to_string());
        }
        let Some(option) = option.filter(|_| faults.is_empty()) else { return Err(Fail::all(faults)) };
        if self.keep {
            self.when.keep(path, &given, &holding)?;
        }
        let secrecy = Secrecy::new(&holding, self.show_leks);
        let assessed = super::ground_of(&holding, &guidance)?;
        let context = Context::new(&holding, &guidance, &assessed);
        let works = planned(context, option.number, &self.when, given, &secrecy, &working)?;
        let told = Told::of(&context, option, &works, &secrecy);
        let mut written = Vec::new();
        if let Some(folder) = &self.to {
            let file = folder.join(CALENDAR);
            let now = self.when.from().map_or_else(|| chrono::Utc::now().naive_utc(), |day| day.and_time(NaiveTime::MIN));
            let boards = told.boards();
            let sheets: Vec<String> = (1..=boards.len()).map(sheet).collect();
            none_there(folder, &sheets.iter().map(String::as_str).collect::<Vec<_>>(), self.force)?;
            write_new(&file, told.telling.calendar(&told.plan, now).as_bytes(), self.force)?;
            written.push(file.display().to_string());
            for (name, svg) in sheets.iter().zip(boards) {
                let file = folder.join(name);
                write_new(&file, svg.as_bytes(), self.force)?;
                written.push(file.display().to_string());
            }
            // Sheets of an earlier, longer board would be taken for this one's.
            for old in (sheets.len() + 1..).map(|n| folder.join(sheet(n))).take_while(|old| self.force && old.exists()) {
                std::fs::remove_file(&old).map_err(|e| Fail::file(&old, "taking away an old sheet", &e))?;
            }
        }
        drop(working);
        if self.json {
            talk::print_json(&told.json(&path.display().to_string(), &written));
        } else {
            talk::print(&told.text(&written));
        }
        Ok(Ended::Well)
    }

    /// Refuse to write over an earlier run, before any of the work.
    fn free(&self) -> Result<(), Fail> {
        self.to.as_ref().map_or(Ok(()), |folder| none_there(folder, &[CALENDAR, &sheet(1)], self.force))
    }
}

/// The works of an option.
fn planned(context: Context, option: u32, when: &When, given: Given, secrecy: &Secrecy, progress: &dyn Progress) -> Result<OfOption, Fail> {
    sound(&context, option)?;
    talk::step(progress, "putting the works on days")?;
    let asked = when.asked(&context, option, given, chrono::Local::now().date_naive())?;
    Ok(OfOption::new(context, asked, secrecy)?)
}

/// The works of an option from a day, for programs, leks shown; nothing is written.
pub fn document(start: &Start, option: u32, from: Option<NaiveDate>, progress: &dyn Progress) -> Result<Value, Fail> {
    let (when, mut faults) = (When::usual(from), Vec::new());
    let of = super::option::find(&start.holding, option).map_err(|f| faults.push(f)).ok();
    let given = when.given(&start.holding, &start.guidance, &mut faults);
    let Some(of) = of.filter(|_| faults.is_empty()) else { return Err(Fail::all(faults)) };
    let secrecy = Secrecy::new(&start.holding, true);
    let context = start.context();
    let works = planned(context, option, &when, given, &secrecy, progress)?;
    Ok(Told::of(&context, of, &works, &secrecy).json(&start.holding.about.name, &[]))
}

impl<'a> Told<'a> {
    fn of(context: &Context<'a>, option: &'a PlanOption, works: &'a OfOption, secrecy: &'a Secrecy) -> Told<'a> {
        let holding = context.holding;
        Told { option, plan: holding.about.name.clone(), guidance: context.guidance, country: holding.about.country, secrecy, telling: Telling::of(works, secrecy), works }
    }
}

impl Told<'_> {
    /// Words as they may be told.
    fn words(&self, text: &str) -> String {
        self.telling.words(text)
    }

    /// The board of months, a picture a sheet.
    fn boards(&self) -> Vec<String> {
        let title = self.words(&format!("Works of option {}, {}, at {}: {} to {}", self.option.number, self.option.name, self.plan, handover::words::day(self.works.asked.settings.first), handover::words::day(self.works.asked.settings.last)));
        handover::chart::board::board(self.works, &self.telling, &title)
    }
}
