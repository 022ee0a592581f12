//! The years ahead of a lek in words: what is in sight and where the pinch lies, year by year.

use crate::planned::Planned;
use crate::secrecy::Secrecy;
use serde::Serialize;

/// Years told in the table beside the curves, where they are in the forecast.
const TOLD: [u32; 6] = [0, 5, 10, 15, 20, 30];

/// The years ahead of one lek as printed.
#[derive(Clone, Debug, Serialize)]
pub struct AheadText {
    /// Name.
    pub name: String,
    /// Years told: `now`, `year 5`.
    pub years: Vec<String>,
    /// Rows: what, and a cell a year.
    pub rows: Vec<(String, Vec<String>)>,
}

pub(super) fn of(planned: &Planned, secrecy: &Secrecy) -> Vec<AheadText> {
    let (Some(now), Some(own)) = (planned.now(), planned.own()) else { return vec![] };
    let years = &now.forecast.years;
    let told: Vec<usize> = (0..years.len()).filter(|i| TOLD.contains(&years[*i].year)).collect();
    let told: Vec<usize> = if told.is_empty() { (0..years.len()).take(TOLD.len()).collect() } else { told };
    planned
        .base
        .assessment
        .leks
        .iter()
        .enumerate()
        .map(|(lek, ledger)| {
            let row = |what: &str, of: &dyn Fn(usize) -> String| (what.to_owned(), told.iter().map(|i| of(*i)).collect());
            let mut rows = vec![];
            for (path, name) in [(now, "as now"), (own, "option")] {
                let leks = |i: usize| path.forecast.years.get(i).and_then(|y| y.leks.get(lek));
                let sight = |share: Option<f64>| share.map_or_else(|| "no heights".to_owned(), |s| secrecy.share(s));
                rows.push(row(&format!("In sight, {name}"), &|i| leks(i).map_or_else(String::new, |l| sight(l.view_disc))));
                rows.push(row(&format!("Pinch, {name}"), &|i| leks(i).map_or_else(String::new, |l| l.pinch.name().to_owned())));
            }
            rows.swap(1, 2);
            AheadText { name: ledger.name.clone(), years: told.iter().map(|i| super::compared::year_words(now.forecast, *i)).collect(), rows }
        })
        .collect()
}
