//! How many years or leks it takes to see a change.

use super::{certainty, counts_of, told};
use crate::fail::Fail;
use crate::talk;
use birds::power::Design;
use birds::trend::limits::Limits;
use birds::trend::words::{chance, percent, share};
use birds::trend::{Ask, Trend, trend};
use guidance::Guidance;
use serde_json::json;
use std::path::Path;

/// Settings of a question of power.
#[derive(clap::Args)]
pub struct Sees {
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

fn change(text: &str) -> Result<f64, String> {
    let known = text.parse().ok().filter(|p: &f64| *p > -100.0 && *p <= 200.0 && *p != 0.0);
    known.ok_or_else(|| "needed per cent a year above -100 and up to 200, not 0, such as -5".to_string())
}

impl Sees {
    /// Run it.
    pub fn run(&self, path: &Path) -> Result<(), Fail> {
        let guidance = crate::command::tables()?;
        let working = talk::Working::on("reading the counts");
        let read = counts_of(path, &guidance)?;
        working.now("drawing the trend");
        let drawn = trend(&read.table, &Ask::default()).map_err(|e| told(path, &e))?;
        drop(working);
        power(path, self, &drawn, &guidance);
        Ok(())
    }
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
