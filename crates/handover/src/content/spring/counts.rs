//! What was counted and how numbers ran, in words.

use super::{About, Trust, lek};
use crate::pack::Pack;
use crate::secrecy::Secrecy;
use crate::spring::Spring;
use crate::words;
use birds::found::LekYear;
use birds::power::{Design, Question};
use birds::trend::Trend;
use birds::trend::limits::Limits;
use birds::trend::words::{chance, list_of_years, percent, share};
use serde::Serialize;

/// Keys of what was found.
pub(super) const KEYS: &[&str] = &[
    "counts.visit_1.first",
    "counts.visit_1.last",
    "counts.visit_2.first",
    "counts.visit_2.last",
    "counts.hours_before_sunrise",
    "counts.hours_after_sunrise",
    "counts.attendance.april",
    "counts.attendance.correlation",
];
/// Keys of the words of a trend.
pub(super) const TREND_KEYS: &[&str] = &["trend.words.sure", "trend.words.likely", "trend.words.leaning", "trend.certainty", "trend.power", "trend.change"];
/// Latest years of figures of a lek on paper; all of them are in the workbook.
const YEARS: usize = 5;
/// Latest years of the index on paper.
const INDEX_YEARS: usize = 30;

/// What was counted, as printed.
#[derive(Clone, Debug, Serialize)]
pub struct CountsText {
    /// What the latest figures come to.
    pub verdict: Vec<String>,
    /// Lek, year, visits that count of those made, cocks, probably, missed.
    pub rows: Vec<[String; 6]>,
    /// What of it is in the workbook alone; empty where all is here.
    pub more: String,
    /// Certainty of limits.
    pub level: String,
    /// What cannot be said.
    pub cannot: Vec<String>,
    /// Figures behind it.
    pub trust: Vec<Trust>,
}

/// How numbers ran, as printed.
#[derive(Clone, Debug, Serialize)]
pub struct TrendText {
    /// The verdict, or why there is none.
    pub verdict: String,
    /// Whether there is a chart.
    pub drawn: bool,
    /// Whether there is a chart of the trend taken apart.
    pub split: bool,
    /// Head of the index.
    pub index_head: String,
    /// Year, index, limits, leks, cocks, total.
    pub index: Vec<[String; 6]>,
    /// Kind of limits, change with its limits.
    pub kinds: Vec<[String; 2]>,
    /// Bends.
    pub bends: Vec<String>,
    /// What it takes to see a change.
    pub power: Vec<String>,
    /// What was left out and why.
    pub notes: Vec<String>,
    /// What cannot be said.
    pub cannot: Vec<String>,
    /// Figures behind it.
    pub trust: Vec<Trust>,
}

pub(super) fn found(pack: &Pack, spring: &Spring, about: &About) -> CountsText {
    let leks = &spring.found.leks;
    let later = |l: &LekYear| leks.iter().filter(|other| other.lek == l.lek && other.figure.year > l.figure.year).count();
    let shown: Vec<&LekYear> = leks.iter().filter(|l| later(l) < YEARS).collect();
    let mut last = "";
    let rows = shown.iter().map(|l| {
        let name = if l.lek == last { String::new() } else { lek(pack, &l.lek) };
        last = &l.lek;
        row(name, l)
    });
    CountsText {
        rows: rows.collect(),
        verdict: latest(pack, spring),
        more: if shown.len() < leks.len() { "Earlier years are in the workbook.".to_owned() } else { String::new() },
        level: share(spring.question.level),
        cannot: vec![
            "Cocks that never come to a lek, and leks that nobody knows of, are in no count.".into(),
            "How many were missed is worked out from how often cocks were found at their lek elsewhere, and from an assumption that they come and go together; it was not measured here.".into(),
            "Hens at a lek come for a few mornings; their number there says little of how many there are.".into(),
        ],
        trust: about(KEYS),
    }
}

/// A lek in a year: what it is called, year, visits, cocks, probably, missed.
pub(crate) fn row(name: String, l: &LekYear) -> [String; 6] {
    let f = &l.figure;
    let probably = match &l.cocks {
        None => "-".to_owned(),
        Some(Err(why)) => why.to_string(),
        Some(Ok(c)) => format!("{:.0} ({} to {})", c.mean, c.low, c.high),
    };
    let missed = l.missed().map_or_else(|| "-".to_owned(), |m| format!("{} ({:.0} to {:.0} %)", words::percent(m.value), 100.0 * m.low, 100.0 * m.high));
    [name, f.year.to_string(), format!("{} of {}", f.valid, f.visits), f.cocks.map_or_else(|| "none that counts".to_owned(), |n| n.to_string()), probably, missed]
}

/// The latest figure of every lek, a sentence each.
fn latest(pack: &Pack, spring: &Spring) -> Vec<String> {
    let of = |id: &str| -> String {
        let name = lek(pack, id);
        let Some(l) = spring.found.leks.iter().rev().find(|l| l.lek == id && l.figure.cocks.is_some()) else { return format!("{name} has no figure: no dawn visit that counts.") };
        let cocks = l.figure.cocks.unwrap_or_default();
        let seen = format!("{name}: {cocks} {} in {}, on {}", if cocks == 1 { "cock" } else { "cocks" }, l.figure.year, words::things(l.figure.valid, "visit that counts", "visits that count"));
        match &l.cocks {
            Some(Ok(c)) => format!("{seen}; it probably had {} to {}.", c.low, c.high),
            Some(Err(why)) => format!("{seen}; how many it had cannot be told: {why}."),
            None => format!("{seen}."),
        }
    };
    pack.holding.leks.iter().map(|l| of(&l.id)).collect()
}

pub(super) fn trend(spring: &Spring, secrecy: &Secrecy, about: &About) -> TrendText {
    let mut cannot = vec!["A trend says that numbers changed, not why: ground, weather, foxes and neighbours all work at once.".to_owned()];
    let t = match &spring.trend {
        Ok(t) => t,
        Err(why) => {
            cannot.push("Without a trend nothing can be said of how numbers ran; counts of the same leks year after year would tell.".into());
            let why = why.to_string();
            // What to type is no word for paper.
            let why = why.split(". Hint:").next().unwrap_or_default();
            return TrendText {
                verdict: words::capital(&format!("{why}.")),
                drawn: false,
                split: false,
                index_head: String::new(),
                index: vec![],
                kinds: vec![],
                bends: vec![],
                power: vec![],
                notes: vec![],
                cannot,
                trust: about(TREND_KEYS),
            };
        }
    };
    if t.limits != Limits::default() {
        cannot.push("There are too few years to see how much good and bad years swing, so that the limits are narrower than they ought to be.".into());
    }
    cannot.push("Leks that were found or given up as numbers ran make a trend of counts differ from that of the birds.".into());
    let skip = t.index.len().saturating_sub(INDEX_YEARS);
    TrendText {
        verdict: spring.verdict.clone(),
        drawn: !t.index.is_empty(),
        split: t.split.leks.is_some() || t.split.cocks_a_lek.is_some(),
        index_head: format!("{} is 1; {} limits. Total: counted, and fitted where a lek was not visited.{}", t.base, share(t.level), if skip > 0 { " Earlier years are in the workbook." } else { "" }),
        index: t
            .index
            .iter()
            .skip(skip)
            .map(|y| {
                let limits = y.lo.zip(y.hi).map_or_else(|| "-".to_owned(), |(lo, hi)| format!("{lo:.2} to {hi:.2}"));
                [y.year.to_string(), format!("{:.2}", y.value), limits, y.leks.to_string(), y.counted.to_string(), format!("{:.0}", y.total)]
            })
            .collect(),
        kinds: t
            .by_kind
            .iter()
            .map(|k| {
                let said = match (&k.annual_change, &k.why_not) {
                    (Some(c), _) => format!("{} ({} to {})", percent(c.value), percent(c.lo), percent(c.hi)),
                    (None, why) => why.clone().unwrap_or_default(),
                };
                [words::capital(k.limits.means()), said]
            })
            .collect(),
        bends: t
            .bends
            .iter()
            .map(|b| {
                let luck = b.chance.map_or_else(String::new, |c| format!("; by luck alone: {}", chance(c)));
                format!("The line bends after {}: {} a year before, {} a year after{luck}.", b.year, percent(b.before.value), percent(b.after.value))
            })
            .collect(),
        power: power(t, &spring.question),
        notes: notes(t).iter().map(|n| secrecy.words(n)).collect(),
        cannot,
        trust: about(TREND_KEYS),
    }
}

/// What it takes to see a change with counts like these.
fn power(t: &Trend, asked: &Question) -> Vec<String> {
    let design = Design::of(t);
    let answer = asked.answer(&design);
    let needed = |n: Option<u32>, what: &str| n.map_or_else(|| format!("no number of {what} would do"), |n| format!("{n} {what}"));
    vec![
        format!(
            "Counts like these ({} over {} years, {:.1} cocks at each): a change of {} a year would be seen over as many years with a chance of {}.",
            words::things(t.leks, "lek", "leks"),
            design.years,
            design.cocks,
            percent(asked.change),
            answer.power.map(chance).unwrap_or_else(|| "none that can be told".into())
        ),
        format!(
            "For a chance of {}: with these leks {}; in {} years {}. Good and bad years that all leks share set a floor that more leks do not lower; more years do.",
            share(asked.wanted),
            needed(answer.years, "years"),
            design.years,
            needed(answer.leks, "leks")
        ),
    ]
}

fn notes(t: &Trend) -> Vec<String> {
    let leks = |n: usize| words::capital(&words::things(n, "lek", "leks"));
    let mut notes = vec![];
    if let Some(why) = &t.no_index {
        notes.push(format!("No index by year: {why}."));
    }
    if !t.empty_leks.is_empty() {
        notes.push(format!("{} never held a cock: no part of the trend, none in the totals.", leks(t.empty_leks.len())));
    }
    if t.once > 0 {
        notes.push(format!("{} counted in one year only: no word on change.", leks(t.once)));
    }
    if !t.unlinked.is_empty() {
        notes.push(format!("{} left out: no year was counted at them and at the others.", leks(t.unlinked.len())));
    }
    if !t.empty_years.is_empty() {
        notes.push(format!("No cock was seen anywhere in {}.", list_of_years(&t.empty_years)));
    }
    notes
}
