//! `greyhen counts`: the dawn counts and what they say: visits in and out, what was found, the trend of numbers with its certainty,
//! what it takes to see a change, and what became of worked leks.

pub mod after;
mod edit;
mod found;
mod import;
mod list;
mod power;

use crate::fail::Fail;
use crate::{Ended, talk};
use birds::counts::{Ask as Reading, Report, Series, YearTable};
use birds::trend::limits::Limits;
use birds::trend::region::{RegionYear, beside};
use birds::trend::table::Table;
use birds::trend::words::{Words, chance, percent, share};
use birds::trend::{Ask, Trend, trend};
use birds::visits::of_every_lek;
use guidance::{Country, Guidance};
use holding::{Holding, Lek};
use serde_json::json;
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
  greyhen counts hill.gpkg after                   before and after at worked leks")]
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
    Trend(Ran),
    /// How many years, leks or visits it takes to see a change
    Power(power::Sees),
    /// What the visits and brood counts of a plan found, and what they probably missed
    Found(found::Finds),
    /// Before and after at the leks whose ground was worked, and what cannot be concluded
    After(after::After),
    /// Bring a file of dawn visits or brood counts into a plan
    Import(import::Import),
    /// Add a visit or a brood count by hand
    Add {
        #[command(subcommand)]
        what: edit::Add,
    },
    /// Change a visit or a brood count
    Change {
        #[command(subcommand)]
        what: edit::Change,
    },
    /// Take a visit or a brood count out
    Remove {
        #[command(subcommand)]
        what: edit::Remove,
    },
    /// List the visits and brood counts of a plan, and whether each counts
    List(list::List),
}

/// Settings of a trend.
#[derive(clap::Args)]
struct Ran {
    /// Limits the verdict stands on: poisson, quasi, profile, negbin, by-lek or by-year
    #[arg(long, default_value_t = Limits::default())]
    limits: Limits,
    /// Certainty of limits, per cent
    #[arg(long, value_name = "PERCENT", default_value_t = 90.0, value_parser = certainty)]
    certainty: f64,
    /// Year whose index is 1
    #[arg(long, value_name = "YEAR", allow_negative_numbers = true)]
    base: Option<i32>,
    /// First year taken in
    #[arg(long, value_name = "YEAR", allow_negative_numbers = true)]
    from: Option<i32>,
    /// Last year taken in
    #[arg(long, value_name = "YEAR", allow_negative_numbers = true)]
    to: Option<i32>,
    /// Years at which the line bends, instead of looking for them
    #[arg(long, value_name = "YEARS", value_delimiter = ',')]
    bends: Option<Vec<i32>>,
    /// A region's index to set the leks beside: a CSV with columns year and index
    #[arg(long, value_name = "CSV")]
    beside: Option<PathBuf>,
    /// Print one JSON document
    #[arg(long)]
    json: bool,
}

fn certainty(text: &str) -> Result<f64, String> {
    text.parse().ok().filter(|p| *p > 0.0 && *p < 100.0).ok_or_else(|| "needed per cent above 0 and below 100, such as 90".to_string())
}

/// The counts at hand.
struct Read {
    table: Table,
    country: Country,
    report: Option<Report>,
    /// Visits that count behind a figure, on average; `None` without a figure.
    visits_a_figure: Option<f64>,
}

impl Counts {
    /// Run it.
    pub fn run(self) -> Result<Ended, Fail> {
        let path = &self.path;
        match self.what {
            What::Trend(ran) => trended(path, &ran)?,
            What::Power(sees) => sees.run(path)?,
            What::Found(finds) => finds.run(path)?,
            What::After(after) => after.run(path)?,
            What::Import(import) => return import.run(path),
            What::Add { what } => what.run(path)?,
            What::Change { what } => what.run(path)?,
            What::Remove { what } => what.run(path)?,
            What::List(list) => list.run(path)?,
        }
        Ok(Ended::Well)
    }
}

/// The trend of the counts.
fn trended(path: &Path, ran: &Ran) -> Result<(), Fail> {
    let guidance = super::tables()?;
    let working = talk::Working::on("reading the counts");
    let read = read(path, &guidance)?;
    working.now("drawing the trend");
    let table = read.table.within(ran.from.unwrap_or(i32::MIN), ran.to.unwrap_or(i32::MAX));
    let ask = Ask { level: ran.certainty / 100.0, limits: ran.limits, base: ran.base, bends: ran.bends.clone(), smooth_df: None };
    let drawn = trend(&table, &ask).map_err(|e| told(path, &e))?;
    let words = Words::of(&guidance, read.country)?;
    let region = ran.beside.as_deref().map(index_of).transpose()?;
    let against = region.map(|r| beside(&table, &r, &ask)).transpose().map_err(|e| told(path, &e))?;
    drop(working);
    let verdict = words.verdict(&drawn);
    let against_words = against.as_ref().map(|b| words.beside(b, drawn.level));
    if ran.json {
        talk::print_json(&json!({
            "schema": "greyhen.counts.trend/1", "file": path.display().to_string(), "guidance_edition": guidance.edition(),
            "verdict": verdict, "leks": drawn.leks, "counts": drawn.counts, "visits": read.report.as_ref().map(|r| r.rows),
            "annual_change": drawn.annual_change, "falling": drawn.falling, "limits": drawn.limits, "level": drawn.level,
            "dispersion": drawn.dispersion, "dispersion_of_years": drawn.dispersion_of_years, "theta": drawn.theta,
            "by_kind": drawn.by_kind, "base": drawn.base, "index": drawn.index, "no_index": drawn.no_index, "smooth": drawn.smooth,
            "bends": drawn.bends, "split": drawn.split, "beside": against, "beside_verdict": against_words,
            "empty_leks": drawn.empty_leks.len(), "counted_once": drawn.once, "unlinked": drawn.unlinked.len(), "empty_years": drawn.empty_years,
            "odd": read.report.as_ref().map(|r| r.odd.clone()),
        }));
    } else {
        talk::print(&text(&drawn, &verdict, against_words.as_deref(), read.report.as_ref()));
    }
    Ok(())
}

fn told(path: &Path, why: &impl std::fmt::Display) -> Fail {
    Fail::one(format!("{}: {why}", path.display()))
}

/// A plan, where nothing but a plan will do.
fn plan(path: &Path, doing: &str) -> Result<Holding, Fail> {
    if is_table(path) {
        return Err(told(path, &format!("a table of visits; needed for `{doing}`: a plan file. Hint: greyhen new starts one, and greyhen counts FILE import brings the table in")));
    }
    super::read(path)
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
        let there: Vec<String> = all.iter().map(|l| talk::name(if l.name.is_empty() { &l.id } else { &l.name })).collect();
        let hint = if there.is_empty() { "the plan has none".to_string() } else { format!("the plan has {}", there.join(", ")) };
        Fail::one(format!("--lek: `{said}` is no lek of the plan; needed: its id or name. Hint: {hint}"))
    })
}

/// Longitude and latitude of leks, where the plan lies on the British grid.
pub fn place_of(holding: &Holding) -> impl Fn(&Lek) -> Option<(f64, f64)> + use<> {
    let on_grid = holding.about.epsg == 27700;
    move |lek| on_grid.then(|| holding::grid_ref::lonlat_from_grid(lek.at.x(), lek.at.y()).ok()).flatten()
}

/// The year figures of a plan, or of a file of visits.
fn read(path: &Path, guidance: &Guidance) -> Result<Read, Fail> {
    if is_table(path) {
        let bytes = std::fs::read(path).map_err(|e| Fail::file(path, "reading", &e))?;
        let many_birds = guidance.number("counts.many_birds", Country::GB)? as u32;
        let ask = Reading { map: Vec::new(), today: Some(chrono::Local::now().date_naive()), many_birds };
        let (series, report) = Series::read(&path.display().to_string(), &bytes, &ask).map_err(|f| Fail::file_faults(&f))?;
        let table = Table::of_years(&series.year_table());
        let visits_a_figure = mean(series.cocks.iter().flatten().count(), table.counts.len());
        return Ok(Read { table, country: Country::GB, report: Some(report), visits_a_figure });
    }
    let holding = super::read(path)?;
    let years = YearTable::of_plan(&holding, guidance, place_of(&holding))?;
    let figures = of_every_lek(&holding, guidance, place_of(&holding))?;
    let told = || figures.iter().flatten().filter(|f| f.cocks.is_some());
    let visits_a_figure = mean(told().map(|f| f.valid).sum(), told().count());
    Ok(Read { table: Table::of_years(&years), country: holding.about.country, report: None, visits_a_figure })
}

/// So many each of some; `None` of none.
fn mean(all: usize, of: usize) -> Option<f64> {
    (of > 0).then(|| all as f64 / of as f64)
}

/// A region's index: columns `year` and `index`; all faults of the file at once.
fn index_of(path: &Path) -> Result<Vec<RegionYear>, Fail> {
    let text = std::fs::read_to_string(path).map_err(|e| Fail::file(path, "reading", &e))?;
    let mut lines = text.trim_start_matches('\u{feff}').lines().enumerate();
    let head: Vec<String> = lines.next().map(|(_, l)| l.split(',').map(|c| c.trim().trim_matches('"').to_lowercase()).collect()).unwrap_or_default();
    let column = |word: &str| head.iter().position(|h| h == word);
    let (Some(year_at), Some(index_at)) = (column("year"), column("index")) else {
        return Err(told(path, &format!("needed columns `year` and `index`; found: {}", head.join(", "))));
    };
    let mut faults = Vec::new();
    let mut years: Vec<RegionYear> = Vec::new();
    for (at, line) in lines.filter(|(_, l)| !l.trim().is_empty()) {
        let cells: Vec<&str> = line.split(',').map(|c| c.trim().trim_matches('"')).collect();
        let cell = |at: usize| cells.get(at).copied().unwrap_or_default();
        match (cell(year_at).parse::<i32>(), cell(index_at).parse::<f64>()) {
            (Ok(year), Ok(index)) if index > 0.0 && index.is_finite() => match years.iter().any(|y| y.year == year) {
                true => faults.push(format!("{} line {}: the year {year} stands twice; needed: one index a year", path.display(), at + 1)),
                false => years.push(RegionYear { year, index }),
            },
            _ => faults.push(format!("{} line {}: found `{line}`; needed: a year and an index above 0", path.display(), at + 1)),
        }
    }
    if faults.is_empty() { Ok(years) } else { Err(Fail::all(faults)) }
}

fn text(t: &Trend, verdict: &str, against: Option<&str>, report: Option<&Report>) -> String {
    let mut all = vec![talk::wrapped(verdict, 100, "")];
    all.extend(against.map(|a| talk::wrapped(a, 100, "")));
    let limit = |v: Option<f64>| v.map_or("-".to_string(), |v| format!("{v:.2}"));
    let rows: Vec<Vec<String>> = t
        .index
        .iter()
        .map(|y| vec![y.year.to_string(), format!("{:.2}", y.value), limit(y.lo), limit(y.hi), y.leks.to_string(), y.counted.to_string(), format!("{:.0}", y.total)])
        .collect();
    match &t.no_index {
        None => all.push(format!("Index ({} is 1), {} limits; total: counted, and fitted where a lek was not visited\n{}", t.base, share(t.level), talk::table(&["year", "index", "from", "to", "leks", "cocks", "total"], &rows, &[1, 2, 3, 4, 5, 6]))),
        Some(why) => all.push(format!("No index by year: {why}.")),
    }
    let kinds: Vec<Vec<String>> = t
        .by_kind
        .iter()
        .map(|k| match (&k.annual_change, &k.why_not) {
            (Some(c), _) => vec![k.limits.to_string(), percent(c.value), percent(c.lo), percent(c.hi), k.limits.means().to_string()],
            (None, why) => vec![k.limits.to_string(), "-".into(), "-".into(), "-".into(), why.clone().unwrap_or_default()],
        })
        .collect();
    all.push(format!("Change a year, by what is taken for granted of the counts\n{}", talk::table(&["limits", "change", "from", "to", "taken for granted"], &kinds, &[1, 2, 3])));
    for b in &t.bends {
        let luck = b.chance.map_or(String::new(), |c| format!("; by luck alone: {}", chance(c)));
        all.push(format!("The line bends after {}: {} a year before, {} a year after{luck}.", b.year, percent(b.before.value), percent(b.after.value)));
    }
    let mut notes = Vec::new();
    if !t.empty_leks.is_empty() {
        notes.push(format!("{} never held a cock: no part of the trend, none in the totals.", talk::number(t.empty_leks.len(), "lek")));
    }
    if t.once > 0 {
        notes.push(format!("{} counted in one year only: no word on change.", talk::number(t.once, "lek")));
    }
    if !t.unlinked.is_empty() {
        notes.push(format!("{} left out: no year was counted at them and at the others.", talk::number(t.unlinked.len(), "lek")));
    }
    if !t.empty_years.is_empty() {
        notes.push(format!("No cock was seen anywhere in {}.", birds::trend::words::list_of_years(&t.empty_years)));
    }
    notes.extend(report.into_iter().flat_map(|r| r.odd.iter().map(ToString::to_string)));
    all.extend((!notes.is_empty()).then(|| notes.join("\n")));
    all.join("\n\n")
}
