//! Numbers ahead in words, option against option.

use super::{About, Trust, course};
use crate::pack::Pack;
use crate::secrecy::Secrecy;
use crate::spring::Ahead;
use crate::words;
use birds::project::birds::{Projection, YearBirds};
use serde::Serialize;

/// Years of the table of all leks, and of each, where they are looked at.
const SUMMED: [u32; 7] = [0, 1, 5, 10, 15, 20, 30];
const EACH: [u32; 4] = [5, 10, 20, 30];

/// The year of the verdict, where it is looked at: before luck has emptied small leks in many draws.
const VERDICT: u32 = 10;

/// A table of numbers: its title, heads, and rows.
#[derive(Clone, Debug, Serialize)]
pub struct Numbers {
    /// Whose.
    pub title: String,
    /// What is counted, course by course.
    pub heads: Vec<String>,
    /// Year, cocks by course, chance of few by course.
    pub rows: Vec<Vec<String>>,
}

/// Numbers ahead, as printed.
#[derive(Clone, Debug, Serialize)]
pub struct AheadText {
    /// What every option changes, or where numbers go as now.
    pub verdict: Vec<String>,
    /// What it is.
    pub words: String,
    /// All leks, then each.
    pub tables: Vec<Numbers>,
    /// What the table holds.
    pub table_words: String,
    /// Every option against as now, year by year.
    pub differences: Vec<(String, Vec<String>)>,
    /// Whether there is a chart of the differences.
    pub compared: bool,
    /// Pictures of leks one by one.
    pub pages: usize,
    /// What the birds' own figures make of ground that stays.
    pub held: String,
    /// What numbers hang on.
    pub hangs_on: String,
    /// What limits the answer on this plan.
    pub limits: Vec<String>,
    /// What was taken for granted.
    pub assumptions: Vec<String>,
    /// Where young hens come from.
    pub round: &'static str,
    /// Figures behind it.
    pub trust: Vec<Trust>,
}

pub(super) fn of(pack: &Pack, ahead: &Ahead, secrecy: &Secrecy, about: &About) -> AheadText {
    let p = &ahead.projection;
    let careful = |lines: &[String]| lines.iter().map(|l| secrecy.words(l)).collect::<Vec<_>>();
    let differences: Vec<(String, Vec<String>)> =
        p.courses.iter().filter(|c| c.option.is_some()).map(|c| (words::capital(&course(pack, secrecy, c.option)), differences(p, c.option))).collect();
    let leks = p.courses.first().map_or(0, |c| c.leks.len());
    let mut tables: Vec<Numbers> = (leks > 1).then(|| numbers(pack, p, None, "All leks counted".to_owned())).into_iter().collect();
    tables.extend((0..leks).map(|l| numbers(pack, p, Some(l), p.courses[0].leks[l].name.clone())));
    let keys: Vec<&str> = p.evidence.iter().chain(&ahead.ground_keys).copied().collect();
    let g = &p.growth;
    AheadText {
        verdict: verdict(pack, p, secrecy),
        words: words::capital(p.words),
        table_words: format!(
            "Cocks in spring by years from now: middle, and the range of eight draws in ten. Few: draws in which there were fewer than {:.0} cocks in that year or any before.",
            p.few_cocks
        ),
        tables,
        compared: !differences.is_empty(),
        differences,
        pages: crate::chart::birds_ahead::pages(p),
        held: secrecy.words(&ahead.held),
        hangs_on: format!(
            "Numbers hold at {:.1} young per hen in August, {:.1} with snow winters made good; in the field {:.1} is said. Taken as the mean here: {:.1}.",
            g.break_even_young_per_hen, g.break_even_with_snow, g.steady_young_per_hen, g.mean_young_per_hen
        ),
        limits: careful(&ahead.limits),
        assumptions: careful(&p.assumptions),
        round: p.neighbours.words(),
        trust: about(&keys),
    }
}

/// The years of a table that the projection holds, and its last.
fn told(years: &[YearBirds], wanted: &[u32]) -> Vec<usize> {
    (0..years.len()).filter(|i| wanted.contains(&years[*i].year) || i + 1 == years.len()).collect()
}

fn range(y: &YearBirds) -> String {
    format!("{:.0} ({:.0} to {:.0})", y.cocks.p50, y.cocks.p10, y.cocks.p90)
}

fn numbers(pack: &Pack, p: &Projection, lek: Option<usize>, title: String) -> Numbers {
    let of: Vec<&[YearBirds]> = p.courses.iter().map(|c| lek.map_or(c.total.as_slice(), |l| c.leks[l].years.as_slice())).collect();
    let short = |option: Option<u32>| option.map_or_else(|| "as now".to_owned(), |n| format!("option {n}"));
    let heads = p.courses.iter().map(|c| format!("Cocks, {}", short(c.option))).chain(p.courses.iter().map(|c| format!("Few, {}", short(c.option)))).collect();
    let calendar = |year: u32| match (year, pack.holding.about.as_at) {
        (0, _) => "now".to_owned(),
        (year, Some(day)) => format!("year {year} ({})", chrono::Datelike::year(&day) + year as i32),
        (year, None) => format!("year {year}"),
    };
    let row = |i: usize| {
        let mut row = vec![calendar(of[0][i].year)];
        row.extend(of.iter().map(|years| range(&years[i])));
        row.extend(of.iter().map(|years| words::percent(years[i].few_by_fraction)));
        row
    };
    let rows = told(of[0], if lek.is_none() { &SUMMED } else { &EACH }).into_iter().map(row).collect();
    Numbers { title, heads, rows }
}

/// One option against as now in the years told, all leks and then each in the last year.
fn differences(p: &Projection, option: Option<u32>) -> Vec<String> {
    let of = |lek: Option<&str>| p.differences.iter().filter(|d| d.first.is_none() && d.second == option && d.lek.as_deref() == lek).collect::<Vec<_>>();
    let all = of(None);
    if all.iter().all(|d| d.more_fraction == 0.0 && d.fewer_fraction == 0.0) {
        return vec!["The same number of cocks in every draw and year.".to_owned()];
    }
    let mut out: Vec<String> = all.iter().filter(|d| EACH.contains(&d.year)).map(|d| format!("Year {}: {}.", d.year, d.in_words())).collect();
    let leks = p.courses.first().map(|c| c.leks.as_slice()).unwrap_or_default();
    let by_lek: Vec<String> = leks.iter().filter(|_| leks.len() > 1).filter_map(|l| Some(format!("{} {}", l.name, of(Some(&l.id)).last()?.mean_in_words()))).collect();
    out.extend(all.last().filter(|_| !by_lek.is_empty()).map(|d| format!("Lek by lek in year {}, cocks more on average: {}.", d.year, by_lek.join(", "))));
    out
}

/// What every option changes; where none is told, where numbers go as now.
fn verdict(pack: &Pack, p: &Projection, secrecy: &Secrecy) -> Vec<String> {
    let Some(now) = p.courses.first() else { return vec![] };
    let (Some(first), Some(last)) = (now.total.first(), now.total.last()) else { return vec![] };
    let mut out: Vec<String> = p
        .courses
        .iter()
        .filter_map(|c| {
            let told = || p.differences.iter().filter(|d| c.option.is_some() && d.first.is_none() && d.second == c.option && d.lek.is_none());
            let d = told().find(|d| d.year == VERDICT).or_else(|| told().max_by_key(|d| d.year))?;
            let few = |of: &[YearBirds]| words::percent(of.iter().find(|y| y.year == d.year).map_or(0.0, |y| y.few_by_fraction));
            let name = words::capital(&course(pack, secrecy, c.option));
            if d.more_fraction == 0.0 && d.fewer_fraction == 0.0 {
                return Some(format!("{name}: in year {} as many cocks as with nothing done, in every draw.", d.year));
            }
            Some(format!(
                "{name}, year {}, against nothing done: {}. Fewer than {:.0} cocks in some year by then: {} of draws, against {} as now.",
                d.year,
                d.in_words(),
                p.few_cocks,
                few(&c.total),
                few(&now.total)
            ))
        })
        .collect();
    if out.is_empty() {
        out.push(format!("With nothing done, {:.0} cocks now come to {} in year {}; the level itself is not sure, and is told to be compared with.", first.cocks.p50, range(last), last.year));
    }
    out
}
