//! `greyhen works`: an option as a programme of works: who does what when, what waits for what, what cannot be done, what slips, and what
//! it costs and brings in.

mod crews;
mod json;
mod money;
mod text;

use super::{none_there, write_new};
use crate::fail::Fail;
use crate::{Ended, PlanFile, talk};
use ::works::account::Account;
use ::works::programme::Limit;
use ::works::tasks::{self, Hands, Programmed, Settings, Slipped};
use chrono::{NaiveDate, NaiveTime};
use guidance::{Guidance, Row};
use handover::secrecy::Secrecy;
use holding::PlanOption;
use measures::kind;
use measures::rules::on_measures::season;
use measures::rules::on_measures::when::Window;
use measures::rules::{Context, OnMeasures};
use std::collections::BTreeSet;
use std::path::PathBuf;

/// The file of a calendar.
const CALENDAR: &str = "works.ics";

/// Arguments.
#[derive(clap::Args)]
#[command(after_help = "\
Examples:
  greyhen works hill.gpkg --option 1
  greyhen works hill.gpkg --option 1 --crews crews.csv --from 2027-01-04 --years 3
  greyhen works hill.gpkg --option 1 --rates quotes.csv
  greyhen works hill.gpkg --option 1 --to works        the calendar file too

Own rates are a CSV: item,rate,unit,note such as `stock fence,9.80,£/m,quoted in May`.

Crews are a CSV with columns name, kinds, people, from, to, off:
  Ann and sons,planting fencing digging,3,09-01,04-30,2027-12-20..2028-01-04
kinds: adviser planting fencing saws burning digging excavator tractor tracked stock farm. From and to are the season it can be
had in, month-day; off are days away, several with semicolons. docs/works.md tells how tasks, days and seasons come about.

It advises; it does not license. Windows and consents change: check the code in force.")]
pub struct Works {
    #[command(flatten)]
    plan: PlanFile,
    /// The option, by number
    #[arg(long, value_name = "N")]
    option: u32,
    /// Who can be had, a CSV; a usual team, one machine, an adviser and the farm when left out
    #[arg(long, value_name = "CSV")]
    crews: Option<PathBuf>,
    /// Your own rates, a CSV with columns item, rate, unit, note; they win over the tables (docs/accounts.md)
    #[arg(long, value_name = "CSV")]
    rates: Option<PathBuf>,
    /// First day, YYYY-MM-DD; the plan's day when left out, or today if that is later
    #[arg(long, value_name = "DATE")]
    from: Option<NaiveDate>,
    /// To the end of the so-manieth year after the first; the usual span of the tables when left out
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=50))]
    years: Option<u32>,
    /// Calendar days a task is late in what is told of slips
    #[arg(long, value_name = "DAYS", default_value_t = 30, value_parser = clap::value_parser!(u32).range(1..=3660))]
    late: u32,
    /// Folder to write works.ics into; made when it is not there
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
    settings: Settings,
    hands: Hands,
    made: Programmed,
    slips: Vec<Slipped>,
    late: u32,
    nesting: Window,
    /// What to mind, by kind of measure.
    cautions: Vec<(&'static str, Vec<String>)>,
    guidance: &'a Guidance,
    country: guidance::Country,
    secrecy: Secrecy,
    /// What it costs and brings in, or why that cannot be told.
    account: Result<Account, String>,
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
        let given = self.crews.as_deref().map(|csv| crews::read(csv, &mut faults));
        let own = self.rates.as_deref().map(|csv| money::own_rates(csv, &guidance, holding.about.country, &mut faults)).unwrap_or_default();
        let Some(option) = option.filter(|_| faults.is_empty()) else { return Err(Fail::all(faults)) };
        let assessed = super::ground_of(&holding, &guidance)?;
        let context = Context::new(&holding, &guidance, &assessed);
        let wrong = measures::option::faults(&context, option.number);
        if !wrong.is_empty() {
            return Err(Fail::all(wrong.iter().map(|f| format!("measure {}: {}", talk::name(&f.measure), f.fault))));
        }
        let country = holding.about.country;
        let first = self.from.unwrap_or_else(|| chrono::Local::now().date_naive().max(holding.about.as_at.unwrap_or(NaiveDate::MIN)));
        let years = self.years.map_or_else(|| guidance.number("kind.years", country).map(|y| y.round() as u32), Ok)?;
        let settings = Settings::years(first, years);
        let hands = Hands::of(&context, given)?;
        working.now("adding up");
        let account = money::account(&context, option.number, own)?;
        let seen = OnMeasures::new(context, option.number, None)?;
        working.now("putting the works on days");
        let jobs = tasks::jobs(&seen, settings, &hands)?;
        let made = tasks::programme(jobs, settings, &hands, Limit::default()).map_err(Fail::all)?;
        let slips = made.slips(self.late).map_err(Fail::all)?;
        let kinds: BTreeSet<&str> = seen.measures.iter().filter(|m| kind::done(m).is_none()).map(|m| m.kind.as_str()).collect();
        let entries = kind::all().iter().filter(|e| kinds.contains(e.key));
        let cautions = entries.map(|e| Ok((e.key, e.cautioned(&guidance, country)?))).collect::<Result<_, guidance::Unknown>>()?;
        let told = Told {
            option,
            plan: holding.about.name.clone(),
            settings,
            hands,
            made,
            slips,
            late: self.late,
            nesting: season::nesting(&seen)?,
            cautions,
            guidance: &guidance,
            country,
            secrecy: Secrecy::new(&holding, self.show_leks),
            account,
        };
        let mut written = Vec::new();
        if let Some(folder) = &self.to {
            let file = folder.join(CALENDAR);
            let now = self.from.map_or_else(|| chrono::Utc::now().naive_utc(), |day| day.and_time(NaiveTime::MIN));
            write_new(&file, told.calendar(now).as_bytes(), self.force)?;
            written.push(file.display().to_string());
        }
        drop(working);
        if self.json {
            talk::print_json(&told.json(path, &written));
        } else {
            talk::print(&told.text(&written));
        }
        Ok(Ended::Well)
    }

    /// Refuse to write over an earlier run, before any of the work.
    fn free(&self) -> Result<(), Fail> {
        self.to.as_ref().map_or(Ok(()), |folder| none_there(folder, &[CALENDAR], self.force))
    }
}

impl Told<'_> {
    /// Words as they may be told.
    fn words(&self, text: &str) -> String {
        self.secrecy.words(text)
    }

    /// The figures behind it, by key.
    fn figures(&self) -> Vec<&Row> {
        let jobs = &self.made.jobs;
        let keys: BTreeSet<&String> = jobs.jobs.iter().flat_map(|j| &j.keys).chain(jobs.later.iter().flat_map(|l| &l.keys)).collect();
        let row = |key: &&String| self.guidance.row(key, self.country).ok().or_else(|| self.guidance.rows_of(key).next());
        keys.iter().filter_map(row).collect()
    }

    /// Why days are open or shut, in words.
    fn why(&self, season: &season::Season) -> Vec<String> {
        let lek = |b: &season::Bound| match (&b.lek, self.secrecy.withheld()) {
            (Some((name, far_m)), false) => format!("{} ({name}, {far_m:.0} m)", b.words),
            _ => self.words(&b.words),
        };
        season.bounds.iter().map(lek).collect()
    }

    /// The first day on which the ground of a task is to be searched for nests first.
    fn nests(&self, done: &tasks::Done) -> Option<NaiveDate> {
        let on_ground = done.job.heavy || (done.job.stage >= tasks::Stage::Fence && done.job.days.is_some());
        tasks::in_nesting(done.planned, self.nesting).filter(|_| on_ground)
    }

    /// The calendar file.
    fn calendar(&self, made: chrono::NaiveDateTime) -> String {
        tasks::calendar(&self.made, &self.plan, self.option.number, made, &|done| self.lines(done).join("\n"), &|words| self.words(words))
    }
}
