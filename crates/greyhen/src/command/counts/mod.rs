//! `greyhen counts`: the dawn counts and what they say: visits in and out, what was found, the trend of numbers with its certainty,
//! what it takes to see a change, and what became of worked leks.

pub mod after;
pub(crate) mod columns;
pub mod dawns;
mod edit;
pub mod found;
mod import;
mod list;
mod power;
pub mod trend;

use super::place_of;
use crate::fail::Fail;
use crate::{Ended, talk};
use birds::counts::{Ask as Reading, Report, Series, YearTable};
use birds::trend::table::Table;
use birds::visits::of_every_lek;
use guidance::{Country, Guidance, Unknown};
use holding::{Holding, Lek};
use std::path::{Path, PathBuf};

/// Arguments.
#[derive(clap::Args)]
#[command(after_help = "\
Examples:
  greyhen counts hill.gpkg import notebook.xlsx    visits of a notebook
  greyhen counts hill.gpkg add visit --lek L1 --date 2026-04-14 --start 05:10 --cocks 7
  greyhen counts hill.gpkg found                   what visits found and probably missed
  greyhen counts hill.gpkg trend                   the leks of a plan
  greyhen counts region.csv.gz trend               a file of visits to many leks, no plan
  greyhen counts hill.gpkg trend --beside i.csv    against a region's index (year, index)
  greyhen counts hill.gpkg power --change -5       how long until -5 % a year would be seen
  greyhen counts hill.gpkg power --visits 3        the same with three visits a spring
  greyhen counts hill.gpkg after                   before and after at worked leks
  greyhen counts hill.gpkg dawns --base NY845293   who goes where on which dawn next spring")]
pub struct Counts {
    /// The plan file, or a CSV (.csv, .csv.gz) of visits with a column for lek, day or year, and cocks
    #[arg(value_name = "FILE")]
    path: PathBuf,
    #[command(subcommand)]
    what: What,
}

#[derive(clap::Subcommand)]
enum What {
    /// How numbers ran over the years, and how sure that is
    Trend(trend::Ran),
    /// How many years, leks or visits it takes to see a change
    Power(power::Sees),
    /// What the visits and brood counts of a plan found, and what they probably missed
    Found(found::Finds),
    /// Before and after at the leks whose ground was worked, and what cannot be concluded
    After(after::After),
    /// Bring a file of dawn visits or brood counts into a plan
    Import(import::Import),
    /// Add a visit or a brood count by hand
    #[command(after_help = "\
Examples:
  greyhen counts hill.gpkg add visit --lek L1 --date 2026-04-14 --start 05:10 --cocks 7
  greyhen counts hill.gpkg add broods --date 2026-08-12 --hens 10 --with-broods 6 --young 17")]
    Add {
        #[command(subcommand)]
        what: edit::Add,
    },
    /// Change a visit or a brood count
    #[command(after_help = "\
Examples:
  greyhen counts hill.gpkg change visit visit-3 --cocks 8
  greyhen counts hill.gpkg change broods brood-1 --young 19")]
    Change {
        #[command(subcommand)]
        what: edit::Change,
    },
    /// Take a visit or a brood count out
    #[command(after_help = "\
Examples:
  greyhen counts hill.gpkg remove visit visit-3
  greyhen counts hill.gpkg remove broods brood-1")]
    Remove {
        #[command(subcommand)]
        what: edit::Remove,
    },
    /// List the visits and brood counts of a plan, and whether each counts
    List(list::List),
    /// Plan next season's visits: who is where on which dawn, as text, calendar and printed sheet
    Dawns(dawns::Dawns),
}

impl Counts {
    /// Run it.
    pub fn run(self) -> Result<Ended, Fail> {
        let path = &self.path;
        match self.what {
            What::Trend(ran) => ran.run(path)?,
            What::Power(sees) => sees.run(path)?,
            What::Found(finds) => finds.run(path)?,
            What::After(after) => after.run(path)?,
            What::Import(import) => return import.run(path),
            What::Add { what } => what.run(path)?,
            What::Change { what } => what.run(path)?,
            What::Remove { what } => what.run(path)?,
            What::List(list) => list.run(path)?,
            What::Dawns(dawns) => dawns.run(path)?,
        }
        Ok(Ended::Well)
    }
}

fn certainty(text: &str) -> Result<f64, String> {
    text.parse().ok().filter(|p| (1.0..=99.9).contains(p)).ok_or_else(|| "needed per cent from 1 to 99.9, such as 90".to_string())
}

/// Certainty of limits, 0 to 1; as usual where nothing was said.
fn level(said: Option<f64>, guidance: &Guidance, country: Country) -> Result<f64, Unknown> {
    Ok(said.map_or_else(|| guidance.number("trend.certainty", country), Ok)? / 100.0)
}

fn told(path: &Path, why: &impl std::fmt::Display) -> Fail {
    Fail::one(format!("{}: {why}", path.display()))
}

/// A plan, where nothing but a plan will do.
fn plan(path: &Path, doing: &str) -> Result<Holding, Fail> {
    no_table(path, doing)?;
    super::read(path)
}

/// Refuse a table of visits where a plan is needed.
fn no_table(path: &Path, doing: &str) -> Result<(), Fail> {
    let hint = "greyhen new starts one, and greyhen counts FILE import brings the table in";
    if is_table(path) { Err(told(path, &format!("a table of visits; needed for `{doing}`: a plan file. Hint: {hint}"))) } else { Ok(()) }
}

/// Whether a file is a table of visits, by its name.
fn is_table(path: &Path) -> bool {
    let name = path.file_name().unwrap_or_default().to_string_lossy().to_lowercase();
    name.ends_with(".csv") || name.ends_with(".csv.gz") || name.ends_with(".txt")
}

/// The lek of an id or a name.
fn lek<'a>(holding: &'a Holding, said: &str) -> Result<&'a Lek, Fail> {
    let all = &holding.leks;
    let named = || all.iter().find(|l| !l.name.is_empty() && l.name.eq_ignore_ascii_case(said));
    all.iter().find(|l| l.id == said).or_else(named).ok_or_else(|| {
        let there: Vec<String> = all.iter().map(|l| talk::name(l.called())).collect();
        let hint = if there.is_empty() { "the plan has none".to_string() } else { format!("the plan has {}", there.join(", ")) };
        Fail::one(format!("--lek: `{said}` is no lek of the plan; needed: its id or name. Hint: {hint}"))
    })
}

/// The counts at hand.
struct Read {
    table: Table,
    country: Country,
    report: Option<Report>,
    /// Visits that count behind a figure, on average; `None` without a figure.
    visits_a_figure: Option<f64>,
}

/// The year figures of a plan, or of a file of visits.
fn counts_of(path: &Path, guidance: &Guidance) -> Result<Read, Fail> {
    if is_table(path) {
        let bytes = std::fs::read(path).map_err(|e| Fail::file(path, "reading", &e))?;
        let birds = |key| Ok::<_, Unknown>(guidance.number(key, Country::GB)? as u32);
        let (many_birds, most_birds) = (birds("counts.many_birds")?, birds("counts.most_birds")?);
        let ask = Reading { map: Vec::new(), today: Some(chrono::Local::now().date_naive()), many_birds, most_birds };
        let (series, report) = Series::read(&path.display().to_string(), &bytes, &ask).map_err(|f| Fail::file_faults(&f))?;
        let table = Table::of_years(&series.year_table());
        let visits_a_figure = mean(series.dawns_counted(), table.counts.len());
        return Ok(Read { table, country: Country::GB, report: Some(report), visits_a_figure });
    }
    counts_of_plan(&super::read(path)?, guidance)
}

/// The year figures of a plan.
fn counts_of_plan(holding: &Holding, guidance: &Guidance) -> Result<Read, Fail> {
    let figures = of_every_lek(holding, guidance, place_of(holding))?;
    let years = YearTable::of_figures(holding, &figures);
    let told = || figures.iter().flatten().filter(|f| f.cocks.is_some());
    let visits_a_figure = mean(told().map(|f| f.valid).sum(), told().count());
    Ok(Read { table: Table::of_years(&years), country: holding.about.country, report: None, visits_a_figure })
}

/// So many each of some; `None` of none.
fn mean(all: usize, of: usize) -> Option<f64> {
    (of > 0).then(|| all as f64 / of as f64)
}
