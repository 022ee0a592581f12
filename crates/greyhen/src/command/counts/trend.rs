//! How numbers ran over the years, and how sure that is.

use super::columns::{Row, rows};
use super::{Read, certainty, counts_of, counts_of_plan, level};
use crate::command::course::Start;
use crate::fail::Fail;
use crate::talk;
use birds::counts::Report;
use birds::trend::limits::Limits;
use birds::trend::region::{Beside, RegionYear, beside};
use birds::trend::words::{Words, chance, percent, share};
use birds::trend::{Ask, NoTrend, Trend, trend};
use desk::Progress;
use guidance::Guidance;
use serde_json::{Value, json};
use std::path::{Path, PathBuf};

/// Settings of a trend.
#[derive(clap::Args)]
#[command(after_help = "\
Examples:
  greyhen counts hill.gpkg trend
  greyhen counts hill.gpkg trend --from 2010 --limits by-lek --json
  greyhen counts region.csv.gz trend --beside index.csv")]
pub struct Ran {
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

/// A trend with its words.
struct Drawn {
    trend: Trend,
    verdict: String,
    beside: Option<(Beside, String)>,
    report: Option<Report>,
}

/// The trend of a plan as usual, for programs.
pub fn document(start: &Start, progress: &dyn Progress) -> Result<Value, Fail> {
    let usual = Ran { limits: Limits::default(), certainty: None, base: None, from: None, to: None, bends: None, beside: None, json: true };
    let file = &start.holding.about.name;
    let drawn = usual.draw(file, counts_of_plan(&start.holding, &start.guidance)?, &start.guidance, progress)?;
    Ok(drawn.json(file, start.guidance.edition()))
}

impl Ran {
    /// Run it.
    pub fn run(&self, path: &Path) -> Result<(), Fail> {
        if let (Some(from), Some(to)) = (self.from, self.to)
            && from > to
        {
            return Err(Fail::one(format!("--from {from} --to {to}: the first year lies after the last; needed: the other way round. Hint: --from {to} --to {from}")));
        }
        let guidance = crate::command::tables()?;
        let working = talk::Working::on("reading the counts");
        let read = counts_of(path, &guidance)?;
        let file = path.display().to_string();
        let drawn = self.draw(&file, read, &guidance, &working)?;
        drop(working);
        if self.json {
            talk::print_json(&drawn.json(&file, guidance.edition()));
        } else {
            talk::print(&text(&drawn.trend, &drawn.verdict, drawn.beside.as_ref().map(|b| b.1.as_str()), drawn.report.as_ref()));
        }
        Ok(())
    }

    /// The trend of counts that stand in `file`.
    fn draw(&self, file: &str, read: Read, guidance: &Guidance, progress: &dyn Progress) -> Result<Drawn, Fail> {
        talk::step(progress, "drawing the trend")?;
        let told = |why: &dyn std::fmt::Display| Fail::one(format!("{file}: {why}"));
        let table = read.table.within(self.from.unwrap_or(i32::MIN), self.to.unwrap_or(i32::MAX));
        let usual = Ask::usual(guidance, read.country)?;
        let level = level(self.certainty, guidance, read.country)?;
        let ask = Ask { level, limits: self.limits, base: self.base, bends: self.bends.clone(), ..usual };
        let drawn = trend(&table, &ask).map_err(|e| told(&Failed(e, read.report.as_ref())))?;
        let words = Words::of(guidance, read.country)?;
        let region = self.beside.as_deref().map(index_of).transpose()?;
        let against = region.map(|r| beside(&table, &r, &ask)).transpose().map_err(|e| told(&e))?;
        let mut verdict = words.verdict(&drawn);
        verdict.extend(read.report.as_ref().and_then(unused));
        let beside = against.map(|b| {
            let words = words.beside(&b, drawn.level);
            (b, words)
        });
        Ok(Drawn { trend: drawn, verdict, beside, report: read.report })
    }
}

impl Drawn {
    /// For programs.
    fn json(&self, file: &str, edition: &str) -> Value {
        let drawn = &self.trend;
        let (against, against_words) = self.beside.as_ref().map(|(b, words)| (b, words)).unzip();
        json!({
            "schema": "greyhen.counts.trend/1", "file": file, "guidance_edition": edition,
            "verdict": self.verdict, "leks": drawn.leks, "counts": drawn.counts, "visits": self.report.as_ref().map(|r| r.rows),
            "annual_change": drawn.annual_change, "falling": drawn.falling, "limits": drawn.limits, "widened": drawn.widened, "level": drawn.level,
            "dispersion": drawn.dispersion, "dispersion_of_years": drawn.dispersion_of_years, "theta": drawn.theta,
            "by_kind": drawn.by_kind, "base": drawn.base, "index": drawn.index, "no_index": drawn.no_index, "smooth": drawn.smooth,
            "bends": drawn.bends, "split": drawn.split, "beside": against, "beside_verdict": against_words,
            "empty_leks": drawn.empty_leks.len(), "counted_once": drawn.once, "unlinked": drawn.unlinked.len(), "empty_lek_names": drawn.empty_leks, "unlinked_names": drawn.unlinked, "empty_years": drawn.empty_years,
            "odd": self.report.as_ref().map(|r| r.odd.clone()),
        })
    }
}

/// What the verdict does not stand on, where rows of the file could not be used.
fn unused(report: &Report) -> Option<String> {
    let rows: usize = report.odd.iter().filter(|odd| odd.what.spoils()).map(|odd| odd.count).sum();
    (rows > 0).then(|| format!(" {rows} of the {} of the file could not be used, for the reasons below: the verdict holds for the others alone.", talk::number(report.rows, "row")))
}

/// Why there is no trend, with what was odd in the file: what was left out may be why.
struct Failed<'a>(NoTrend, Option<&'a Report>);

impl std::fmt::Display for Failed<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}", self.0)?;
        self.1.into_iter().flat_map(|r| &r.odd).try_for_each(|odd| write!(f, "\n  {odd}"))
    }
}

/// A region's index: columns `year` and `index`; all faults of the file at once.
fn index_of(path: &Path) -> Result<Vec<RegionYear>, Fail> {
    let mut faults = Vec::new();
    let mut years: Vec<RegionYear> = Vec::new();
    for Row { place, cells: [year, index] } in rows(path, ["year", "index"], "one year a row, such as 2015,1.04", &mut faults) {
        match (year.parse::<i32>(), index.parse::<f64>()) {
            (Ok(year), Ok(index)) if index > 0.0 && index.is_finite() => match years.iter().any(|y| y.year == year) {
                true => faults.push(format!("{place}: the year {year} stands twice; needed: one index a year")),
                false => years.push(RegionYear { year, index }),
            },
            _ => faults.push(format!("{place}: found `{year},{index}`; needed: a year and an index above 0")),
        }
    }
    if faults.is_empty() { Ok(years) } else { Err(Fail::all(faults)) }
}

/// Leks named on a screen; the rest of a region's are only counted there, and named in JSON.
const NAMED: usize = 20;

fn named(leks: &[String]) -> String {
    let first: Vec<String> = leks.iter().take(NAMED).map(|l| talk::name(l)).collect();
    let more = leks.len() - first.len();
    if more > 0 { format!("{} and {more} more, named with --json", first.join(", ")) } else { first.join(", ") }
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
            (Some(c), _) => vec![k.limits.to_string(), percent(c.value), percent(c.lo), percent(c.hi)],
            (None, _) => vec![k.limits.to_string(), "-".into(), "-".into(), "-".into()],
        })
        .collect();
    let granted: Vec<String> = t.by_kind.iter().map(|k| talk::wrapped(&format!("{}: {}", k.limits, k.why_not.as_deref().unwrap_or(k.limits.means())), 100, "  ")).collect();
    all.push(format!(
        "Change a year, by what is taken for granted of the counts\n{}\n{}",
        talk::table(&["limits", "change", "from", "to"], &kinds, &[1, 2, 3]),
        granted.join("\n")
    ));
    for b in &t.bends {
        let luck = b.chance.map_or(String::new(), |c| format!("; by luck alone: {}", chance(c)));
        all.push(format!("The line bends after {}: {} a year before, {} a year after{luck}.", b.year, percent(b.before.value), percent(b.after.value)));
    }
    all.extend(t.looked.map(|l| talk::wrapped(&l.to_string(), 100, "")));
    let mut notes = Vec::new();
    if !t.empty_leks.is_empty() {
        notes.push(format!("{} never held a cock: no part of the trend, none in the totals ({}).", talk::number(t.empty_leks.len(), "lek"), named(&t.empty_leks)));
    }
    if t.once > 0 {
        notes.push(format!("{} counted in one year only: no word on change.", talk::number(t.once, "lek")));
    }
    if !t.unlinked.is_empty() {
        notes.push(format!("{} left out: no year was counted at them and at the others ({}).", talk::number(t.unlinked.len(), "lek"), named(&t.unlinked)));
    }
    if !t.empty_years.is_empty() {
        notes.push(format!("No cock was seen anywhere in {}.", birds::trend::words::list_of_years(&t.empty_years)));
    }
    notes.extend(report.into_iter().flat_map(|r| r.odd.iter().map(ToString::to_string)));
    all.extend((!notes.is_empty()).then(|| notes.iter().map(|n| talk::wrapped(n, 100, "")).collect::<Vec<_>>().join("\n")));
    all.join("\n\n")
}
