//! Options beside as now: needs met, cost, what each helps and harms. All on the same draws.

use super::jobs::pounds;
use crate::planned::{Path, Planned};
use crate::secrecy::Secrecy;
use crate::words;
use habitat::ahead::{Change, Forecast, Way, changes, compare};
use habitat::assess::quantiles;
use habitat::Quantiles;
use serde::Serialize;

/// Years put side by side, where they are told.
const SUMMED: [u32; 3] = [0, 10, 20];

/// As now or an option, as printed.
#[derive(Clone, Debug, Serialize)]
pub struct PathText {
    /// What it is called.
    pub name: String,
    /// Needs met in the years compared, with interval.
    pub met: Vec<String>,
    /// Cost in words.
    pub cost: String,
    /// What it helps against as now, one line a lek.
    pub helps: Vec<String>,
    /// What it harms against as now, one line a lek.
    pub harms: Vec<String>,
    /// How often it is told apart from as now.
    pub apart: String,
    /// Whether it is the option handed over.
    pub own: bool,
    /// Whether it is as now.
    pub now: bool,
}

/// The years put side by side, as places in the forecast.
pub(super) fn summed(forecast: &Forecast) -> Vec<usize> {
    let years = &forecast.years;
    let found: Vec<usize> = (0..years.len()).filter(|i| SUMMED.contains(&years[*i].year)).collect();
    if found.is_empty() { (0..years.len()).collect() } else { found }
}

/// A year ahead in words: `year 10 (2036)`.
pub(super) fn year_words(forecast: &Forecast, index: usize) -> String {
    let y = &forecast.years[index];
    match (y.year, y.calendar) {
        (0, _) => "now".to_owned(),
        (year, Some(calendar)) => format!("year {year} ({calendar})"),
        (year, None) => format!("year {year}"),
    }
}

pub(super) fn heads(planned: &Planned) -> Vec<String> {
    planned.now().map(|now| summed(now.forecast).into_iter().map(|i| year_words(now.forecast, i)).collect()).unwrap_or_default()
}

/// Needs met in one year, draw by draw: every season of every lek counts its supply over need, to one at most.
fn met(planned: &Planned, forecast: &Forecast, index: usize) -> Vec<f64> {
    let of_draw = |d: usize| -> f64 {
        let leks = forecast.supply[index].iter().zip(&planned.base.need);
        leks.flat_map(|(supply, need)| supply.iter().zip(need)).map(|(s, n)| (s[d] / n[d].max(1e-9)).min(1.0)).sum()
    };
    (0..planned.base.settings.draws).map(of_draw).collect()
}

/// The change a path makes to the needs met against as now, paired draw by draw, in the years compared but the first: year in words
/// and interval.
pub fn met_change(planned: &Planned, path: &Path) -> Vec<(String, Quantiles)> {
    let Some(now) = planned.now() else { return vec![] };
    let later = |i: &usize| now.forecast.years[*i].year > 0 && path.forecast.years.get(*i).is_some_and(|y| y.year == now.forecast.years[*i].year);
    let paired = |i: usize| -> Vec<f64> { met(planned, now.forecast, i).iter().zip(met(planned, path.forecast, i)).map(|(a, b)| b - a).collect() };
    summed(now.forecast).into_iter().filter(later).map(|i| (year_words(now.forecast, i), quantiles(&paired(i)))).collect()
}

/// What a path gains against as now in the last of the years compared, paired draw by draw: needs met, and usable hectares in the
/// pinch seasons of all leks together; low, usual and high. `None` where no later year is compared.
pub fn gains(planned: &Planned, path: &Path) -> Option<([f64; 3], [f64; 3])> {
    let now = planned.now()?;
    let last = *summed(now.forecast).last()?;
    let same = path.forecast.years.get(last)?.year == now.forecast.years[last].year && now.forecast.years[last].year > 0;
    let pinch: Vec<usize> = planned.base.assessment.leks.iter().map(|l| habitat::Season::ALL.iter().position(|s| *s == l.pinch).unwrap_or(0)).collect();
    let usable = |forecast: &Forecast, d: usize| -> f64 { forecast.supply[last].iter().zip(&pinch).map(|(supply, s)| supply[*s][d]).sum() };
    let usable: Vec<f64> = (0..planned.base.settings.draws).map(|d| usable(path.forecast, d) - usable(now.forecast, d)).collect();
    let needs = met_change(planned, path).pop()?.1;
    let three = |q: Quantiles| [q.p10, q.p50, q.p90];
    same.then(|| (three(needs), three(quantiles(&usable))))
}

/// As now and every option in words. Where places are withheld money is to two figures: an exact sum could tell what a measure at a lek
/// is told coarsely for.
pub(super) fn of(planned: &Planned, secrecy: &Secrecy) -> Vec<PathText> {
    let Some(now) = planned.now() else { return vec![] };
    planned
        .paths
        .iter()
        .map(|path| {
            let own = path.option == Some(planned.number);
            let told = summed(path.forecast).into_iter().map(|i| {
                let q = quantiles(&met(planned, path.forecast, i));
                format!("{:.2} ({:.2} to {:.2})", q.p50, q.p10, q.p90)
            });
            let differences = if path.option.is_none() { vec![] } else { compare(planned.base, now.forecast, path.forecast) };
            let leks: Vec<&str> = planned.base.assessment.leks.iter().map(|l| l.id.as_str()).collect();
            let changes = changes(&leks, &differences);
            let lines = |way: Way| -> Vec<String> {
                planned
                    .base
                    .assessment
                    .leks
                    .iter()
                    .filter_map(|lek| {
                        let said: Vec<String> = changes.iter().filter(|c| c.way == way && c.lek == lek.id).map(Change::words).collect();
                        (!said.is_empty()).then(|| format!("{}: {}", lek.name, said.join("; ")))
                    })
                    .collect()
            };
            let apart = differences.iter().filter(|d| d.way().is_some()).count();
            PathText {
                name: secrecy.words(&path.name),
                met: told.collect(),
                cost: if path.option.is_none() { "none".to_owned() } else { pounds(path.gbp, if secrecy.withheld() { 2 } else { 0 }) },
                helps: lines(Way::Better),
                harms: lines(Way::Worse),
                apart: if path.option.is_none() { String::new() } else { format!("told apart from as now in {apart} of {} seasons, leks and years", words::grouped(differences.len() as f64)) },
                own,
                now: path.option.is_none(),
            }
        })
        .collect()
}
