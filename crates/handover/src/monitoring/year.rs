//! The first page: what to measure in the year ahead, when, with what care, and how it gets back into the plan.

use super::sources::Sources;
use super::{broods, dawn, next_window};
use crate::content::next_visit;
use crate::pack::{Fault, Pack};
use crate::secrecy::Secrecy;
use crate::words;
use birds::dawns::{Rules, words as said};
use birds::found::brood_season;
use chrono::{Datelike, NaiveDate};
use holding::Word;
use holding::import::Kind;
use serde::Serialize;

/// Lines of what the plan lacks that fit the page.
const LACKS: usize = 6;

/// What the page says.
#[derive(Debug, Serialize)]
pub struct Year {
    /// When, what, how much, which sheet.
    rows: Vec<[String; 4]>,
    lacks: Vec<String>,
    more: String,
    back: Vec<[String; 2]>,
    quiet: Vec<String>,
    cautions: Vec<String>,
    sources: Vec<String>,
}

/// The page.
///
/// # Errors
/// A figure that guidance does not hold.
pub fn of(pack: &Pack, secrecy: &Secrecy, rules: &Rules, sticks: &str, stands: usize) -> Result<Year, Fault> {
    let mut sources = Sources::new(pack.guidance, pack.holding.about.country);
    let rows = rows(pack, rules, &mut sources, stands)?;
    let mut lacks = next_visit(pack, secrecy);
    let beyond = lacks.len().saturating_sub(LACKS);
    lacks.truncate(LACKS);
    let more = if beyond == 0 { String::new() } else { format!("And {beyond} more: see the page Next visit of plan.pdf.") };
    let mut quiet = if pack.holding.leks.is_empty() { vec![] } else { said::quiet(rules) };
    if let Some(last) = quiet.last_mut() {
        let mark = sources.mark(&["disturbance.vehicle_distance", "disturbance.flush_distance.spring", "counts.settle", "disturbance.leave_after_dawn"])?;
        last.push_str(&format!(" {mark}"));
    }
    let mut cautions = vec![];
    for key in ["caution.lone_work", "caution.dawn", "caution.weather", "caution.ticks"] {
        cautions.push(sources.sentence(key)?);
    }
    cautions.push("Leks, nests and broods are protected by law from being disturbed on purpose or without care: check the law and the code in force where you are.".to_owned());
    let import = |kind: Kind, file: &str| format!("greyhen import PLAN.gpkg {} {file}.csv", kind.word());
    let header = |columns: &[super::Column]| columns.iter().map(|c| c.goes).collect::<Vec<_>>().join(",");
    let mut back = vec![];
    if !pack.holding.leks.is_empty() {
        back.push([import(Kind::Visits, "dawns"), format!("lek,{}", header(&dawn::COLUMNS))]);
        back.push([import(Kind::Broods, "broods"), format!("{},observer", header(&broods::COLUMNS))]);
    }
    back.push([import(Kind::Sticks, "heights"), sticks.to_owned()]);
    Ok(Year { rows, lacks, more, back, quiet, cautions, sources: sources.into_list() })
}

/// What is to be done, in the order of its days.
fn rows(pack: &Pack, rules: &Rules, sources: &mut Sources, stands: usize) -> Result<Vec<[String; 4]>, Fault> {
    let (guidance, country) = (pack.guidance, pack.holding.about.country);
    let day = |key: &str| guidance.month_day(key, country);
    let leks = pack.holding.leks.len();
    let mut all: Vec<([NaiveDate; 2], String, String, &str)> = vec![];
    if leks > 0 {
        let each = words::things(leks, "lek", "leks");
        let quiet = sources.mark(&["practice.quiet.first", "practice.quiet.last"])?;
        all.push((next_window(pack.today, [day("practice.quiet.first")?, day("practice.quiet.last")?]), format!("Keep everything else away from leks {quiet}"), each.clone(), ""));
        for (i, window) in rules.windows.into_iter().enumerate() {
            let from = sources.mark(&[["counts.visit_1.first", "counts.visit_1.last"], ["counts.visit_2.first", "counts.visit_2.last"]][i])?;
            let apart = if i == 0 { String::new() } else { format!(", {} days after the first or more {}", rules.apart_days, sources.mark(&["counts.visits_apart"])?) };
            all.push((next_window(pack.today, window), format!("{} dawn count {from}{apart}", ["First", "Second"][i]), each.clone(), "Dawn count"));
        }
        let (least, from) = sources.number("counts.brood.hens_least")?;
        let season = sources.mark(&["counts.brood.first", "counts.brood.last"])?;
        all.push((next_window(pack.today, brood_season(guidance, country)?), format!("Brood ground walk {season}"), format!("{least:.0} hens or more in all {from}"), "Brood walk"));
    }
    if stands > 0 {
        let season = sources.mark(&["monitoring.height.first", "monitoring.height.last"])?;
        all.push((next_window(pack.today, [day("monitoring.height.first")?, day("monitoring.height.last")?]), format!("Stick heights {season}"), words::things(stands, "stand", "stands"), "Stick heights"));
    }
    all.sort_by_key(|row| row.0);
    Ok(all.into_iter().map(|([first, last], what, much, sheet)| [when(first, last), what, much, sheet.to_owned()]).collect())
}

/// `1 August to 30 September 2027`.
fn when(first: NaiveDate, last: NaiveDate) -> String {
    let first = if first.year() == last.year() { first.format("%-d %B").to_string() } else { words::day(first) };
    format!("{first} to {}", words::day(last))
}
