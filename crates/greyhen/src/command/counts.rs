//! `greyhen counts`: what the dawn counts say: the trend of numbers with its certainty, and what it takes to see a change.

use crate::fail::Fail;
use crate::{Ended, talk};
use birds::counts::{Ask as Reading, Report, Series, YearTable};
use birds::power::Design;
use birds::trend::limits::Limits;
use birds::trend::region::{RegionYear, beside};
use birds::trend::table::Table;
use birds::trend::words::{Words, chance, percent, share};
use birds::trend::{Ask, Trend, trend};
use guidance::{Country, Guidance};
use serde_json::json;
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
    Trend(Ran),
    /// How many years or leks it takes to see a change
    Power(Sees),
}

/// Settings of a trend.
#[derive(clap::Args)]
struct Ran {
    /// Limits the verdict stands on: poisson, quasi, profile, negbin, by-lek or by-year
    #[arg(long, default_value_t = Limits::default())]
    limits: Limits,
    /// Certainty of limits, per cent; as in guidance (trend.certainty) when left out
    #[arg(long, value_name = "PERCENT", value_parser = certainty)]
    certainty: Option<f64>,
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

/// Settings of a question of power.
#[derive(clap::Args)]
struct Sees {
    /// Change in a year, per cent: -5 is a fall by a twentieth every year
    #[arg(long, value_name = "PERCENT", allow_negative_numbers = true, default_value_t = -5.0, value_parser = change)]
    change: f64,
    /// Power wanted, per cent
    #[arg(long, value_name = "PERCENT", default_value_t = 80.0, value_parser = certainty)]
    power: f64,
    /// Certainty of the limits that must exclude no change, per cent
    #[arg(long, value_name = "PERCENT", default_value_t = 90.0, value_parser = certainty)]
    certainty: f64,
    /// Limits: poisson, quasi, profile, negbin, by-lek or by-year
    #[arg(long, default_value_t = Limits::default())]
    limits: Limits,
    /// Print one JSON document
    #[arg(long)]
    json: bool,
}

fn certainty(text: &str) -> Result<f64, String> {
    text.parse().ok().filter(|p| *p > 0.0 && *p < 100.0).ok_or_else(|| "needed per cent above 0 and below 100, such as 90".to_string())
}

fn change(text: &str) -> Result<f64, String> {
    let known = text.parse().ok().filter(|p: &f64| *p > -100.0 && *p <= 200.0 && *p != 0.0);
    known.ok_or_else(|| "needed per cent a year above -100 and up to 200, not 0, such as -5".to_string())
}

/// The counts at hand.
struct Read {
    table: Table,
    country: Country,
    report: Option<Report>,
}

impl Counts {
    /// Run it.
    pub fn run(self) -> Result<Ended, Fail> {
        let guidance = super::tables()?;
        let working = talk::Working::on("reading the counts");
        let read = read(&self.path, &guidance)?;
        working.now("drawing the trend");
        match self.what {
            What::Trend(ran) => {
                let table = read.table.within(ran.from.unwrap_or(i32::MIN), ran.to.unwrap_or(i32::MAX));
                let usual = Ask::usual(&guidance, read.country)?;
                let level = ran.certainty.map_or(usual.level, |certainty| certainty / 100.0);
                let ask = Ask { level, limits: ran.limits, base: ran.base, bends: ran.bends.clone(), ..usual };
                let drawn = trend(&table, &ask).map_err(|e| told(&self.path, &e))?;
                let words = Words::of(&guidance, read.country)?;
                let region = ran.beside.as_deref().map(index_of).transpose()?;
                let against = region.map(|r| beside(&table, &r, &ask)).transpose().map_err(|e| told(&self.path, &e))?;
                drop(working);
                let verdict = words.verdict(&drawn);
                let against_words = against.as_ref().map(|b| words.beside(b, drawn.level));
                if ran.json {
                    talk::print_json(&json!({
                        "schema": "greyhen.counts.trend/1", "file": self.path.display().to_string(), "guidance_edition": guidance.edition(),
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
            }
            What::Power(sees) => {
                let drawn = trend(&read.table, &Ask::usual(&guidance, read.country)?).map_err(|e| told(&self.path, &e))?;
                drop(working);
                power(&self.path, &sees, &drawn, &guidance);
            }
        }
        Ok(Ended::Well)
    }
}

fn told(path: &Path, why: &impl std::fmt::Display) -> Fail {
    Fail::one(format!("{}: {why}", path.display()))
}

/// The year figures of a plan, or of a file of visits.
fn read(path: &Path, guidance: &Guidance) -> Result<Read, Fail> {
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
    all.extend(t.looked.map(|l| talk::wrapped(&l.to_string(), 100, "")));
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

/// The design that the counts at hand come to, and what it would take.
fn power(path: &Path, sees: &Sees, t: &Trend, guidance: &Guidance) {
    let years = (t.span.1 - t.span.0 + 1) as u32;
    // An index year's total is over all leks used.
    let cocks = t.index.last().map_or(1.0, |y| y.total / t.leks as f64).max(0.1);
    // Counts that scatter less than chance would have it did so by luck: the next years need not.
    let dispersion = t.dispersion.unwrap_or(1.0).max(1.0);
    // Years scatter by single counts' scatter and by what they share: the second grows with the cocks counted in a year.
    let a_year = t.index.iter().map(|y| y.counted as f64).sum::<f64>() / t.index.len().max(1) as f64;
    let swing = t.dispersion_of_years.map_or(0.0, |of_years| ((of_years - dispersion).max(0.0) / a_year.max(1.0)).sqrt());
    let design = Design { leks: t.leks as u32, years, cocks, dispersion, swing };
    let (change, level, wanted) = (sees.change / 100.0, sees.certainty / 100.0, sees.power / 100.0);
    let now = design.power_by(sees.limits, change, level).map(|p| p.two_sided);
    let years_needed = design.years_needed(sees.limits, change, level, wanted);
    let leks_needed = design.leks_needed(sees.limits, change, level, wanted);
    if sees.json {
        talk::print_json(&json!({
            "schema": "greyhen.counts.power/1", "file": path.display().to_string(), "guidance_edition": guidance.edition(), "design": design,
            "change": change, "level": level, "wanted": wanted, "limits": sees.limits, "power": now, "years_needed": years_needed, "leks_needed": leks_needed,
        }));
        return;
    }
    let needed = |n: Option<u32>, what: &str| n.map_or(format!("no number of {what} would do"), |n| format!("{n} {what}"));
    let said = [
        format!(
            "Counts like these: {} over {years} years, {cocks:.1} cocks at each in the last year, {:.1} times the scatter of chance alone, good and bad years shared by all leks {:.0} % either way.",
            talk::number(t.leks, "lek"),
            dispersion,
            100.0 * swing
        ),
        format!(
            "A change of {} a year from now on would be seen over as many years with a chance of {} ({} limits, {}).",
            percent(change),
            now.map_or("none that can be told".to_string(), chance),
            share(level),
            sees.limits.means()
        ),
        format!("For a chance of {}: with these leks {}; in {years} years {}.", share(wanted), needed(years_needed, "years"), needed(leks_needed, "leks")),
        "Years shared by all leks set a floor that more leks do not lower; more years do.".to_string(),
    ];
    talk::print(&said.iter().map(|s| talk::wrapped(s, 100, "")).collect::<Vec<_>>().join("\n"));
}
