//! Young in words: what broods give beside what would hold numbers steady.

use super::{About, Trust};
use crate::spring::Spring;
use crate::words;
use birds::found::Summer;
use birds::trend::words::share;
use serde::Serialize;

/// Keys of the break-even and of brood counts.
pub(super) const KEYS: &[&str] = &[
    "projection.adult_hen_survival",
    "projection.juvenile_survival",
    "rates.sex_ratio_young",
    "counts.brood.certain",
    "counts.brood.first",
    "counts.brood.last",
    "counts.brood.hens_least",
    "counts.brood.clumping",
];

/// Young, as printed.
#[derive(Clone, Debug, Serialize)]
pub struct BroodsText {
    /// The verdict, or why there is none.
    pub verdict: String,
    /// Whether there is a chart.
    pub drawn: bool,
    /// Summer, counts, hens, with broods, young, young per hen, how it stands.
    pub rows: Vec<[String; 7]>,
    /// What must be known of the counts.
    pub notes: Vec<String>,
    /// Certainty of limits.
    pub level: String,
    /// What cannot be said.
    pub cannot: Vec<String>,
    /// Figures behind it.
    pub trust: Vec<Trust>,
}

pub(super) fn of(spring: &Spring, about: &About) -> BroodsText {
    let (summers, even) = (&spring.found.summers, &spring.found.break_even);
    let steady = format!("about {:.1} young per hen in August ({:.1} to {:.1}) would hold numbers steady, snow winters aside", even.value, even.low, even.high);
    let verdict = match summers.first() {
        None => format!("No brood count is in the plan; {steady}. A count in August, by people licensed and trained for it, would tell more than any figure here."),
        Some(s) => match (&s.verdict, &s.found) {
            (Some(v), _) => format!("{}.", words::capital(&v.to_string())),
            (None, Ok(_)) => format!("{}.", words::capital(&steady)),
            (None, Err(faults)) => format!("Nothing can be said of young per hen: {}; {steady}.", faults.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ")),
        },
    };
    let mut notes: Vec<String> = summers.first().and_then(|s| s.found.as_ref().ok()).and_then(|f| f.dispersion).map(|d| format!("{}.", words::capital(&d.to_string()))).into_iter().collect();
    for s in summers.iter().filter(|s| s.year.is_some()) {
        let year = s.year.unwrap_or_default();
        if s.unfit > 0 {
            notes.push(format!("{year}: {} without hens or young: left out.", words::things(s.unfit, "count", "counts")));
        }
        if !s.out_of_season.is_empty() {
            notes.push(format!("{year}: {} made before or after the season of brood counts, left out ({}).", words::things(s.out_of_season.len(), "count", "counts"), birds::dawns::words::days(&s.out_of_season)));
        }
    }
    BroodsText {
        verdict,
        drawn: summers.iter().any(|s| s.found.is_ok()),
        rows: summers.iter().map(row).collect(),
        notes,
        level: share(spring.question.level),
        cannot: vec![
            "One summer says little: wet Junes take broods whatever the ground. What counts is the mean of many summers.".into(),
            "Hens without a brood may be missed more often than those with one; then counts give too many young per hen.".into(),
        ],
        trust: about(KEYS),
    }
}

fn row(s: &Summer) -> [String; 7] {
    let year = s.year.map_or_else(|| "All".to_owned(), |y| y.to_string());
    let with = |i: Option<birds::detection::Interval>| i.map_or_else(|| "-".to_owned(), |i| format!("{} ({:.0} to {:.0} %)", words::percent(i.value), 100.0 * i.low, 100.0 * i.high));
    let dash = || "-".to_owned();
    match &s.found {
        Ok(f) => {
            let w = f.widened;
            let stands = s.verdict.map_or_else(String::new, |v| if v.too_few_hens() { "too few hens".to_owned() } else { format!("{:.0} of 100", 100.0 * v.above) });
            [year, s.counts.to_string(), f.hens.to_string(), with(f.with_broods), f.young.to_string(), format!("{:.1} ({:.1} to {:.1})", w.value, w.low, w.high), stands]
        }
        Err(_) => [year, s.counts.to_string(), dash(), with(s.with_broods_alone), dash(), dash(), dash()],
    }
}
