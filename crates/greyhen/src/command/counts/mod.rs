//! `greyhen counts`: what the dawn counts say: the trend of numbers with its certainty, and what it takes to see a change.

mod power;
mod trend;

use crate::Ended;
use crate::fail::Fail;
use birds::counts::{Ask as Reading, Report, Series, YearTable};
use birds::trend::table::Table;
use guidance::{Country, Guidance};
use std::path::{Path, PathBuf};

/// Arguments.
#[derive(clap::Args)]
#[command(after_help = "\
Examples:
  greyhen counts hill.gpkg trend                     the leks of a plan
  greyhen counts region.csv.gz trend                 a file of visits to many leks, without a plan
  greyhen counts hill.gpkg trend --beside index.csv  and against a region's index (columns year, index)
  greyhen counts hill.gpkg power --change -5         how long until a fall of 5 % a year would be seen")]
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
    /// How many years or leks it takes to see a change
    Power(power::Sees),
}

impl Counts {
    /// Run it.
    pub fn run(self) -> Result<Ended, Fail> {
        match self.what {
            What::Trend(ran) => ran.run(&self.path)?,
            What::Power(sees) => sees.run(&self.path)?,
        }
        Ok(Ended::Well)
    }
}

fn certainty(text: &str) -> Result<f64, String> {
    text.parse().ok().filter(|p| *p > 0.0 && *p < 100.0).ok_or_else(|| "needed per cent above 0 and below 100, such as 90".to_string())
}

fn told(path: &Path, why: &impl std::fmt::Display) -> Fail {
    Fail::one(format!("{}: {why}", path.display()))
}

/// The counts at hand.
struct Read {
    table: Table,
    country: Country,
    report: Option<Report>,
}

/// The year figures of a plan, or of a file of visits.
fn counts_of(path: &Path, guidance: &Guidance) -> Result<Read, Fail> {
    let name = path.file_name().unwrap_or_default().to_string_lossy().to_lowercase();
    if name.ends_with(".csv") || name.ends_with(".csv.gz") || name.ends_with(".txt") {
        let bytes = std::fs::read(path).map_err(|e| Fail::file(path, "reading", &e))?;
        let many_birds = guidance.number("counts.many_birds", Country::GB)? as u32;
        let ask = Reading { map: Vec::new(), today: Some(chrono::Local::now().date_naive()), many_birds };
        let (series, report) = Series::read(&path.display().to_string(), &bytes, &ask).map_err(|f| Fail::file_faults(&f))?;
        return Ok(Read { table: Table::of_years(&series.year_table()), country: Country::GB, report: Some(report) });
    }
    let holding = super::read(path)?;
    let place = |lek: &holding::Lek| (holding.about.epsg == 27700).then(|| holding::grid_ref::lonlat_from_grid(lek.at.x(), lek.at.y()).ok()).flatten();
    let years = YearTable::of_plan(&holding, guidance, place)?;
    Ok(Read { table: Table::of_years(&years), country: holding.about.country, report: None })
}
