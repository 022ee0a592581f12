//! The field sheets: pages to carry out, write on with a pencil, and bring back into the plan.
//!
//! - [`year`]: what to measure in the year ahead, when, and how it gets back
//! - [`dawn`]: dawn counts, one sheet a lek
//! - [`sticks`], [`points`]: heights by stick: which stands, how many, where
//! - [`broods`]: the ground walk for broods
//! - [`sources`]: the sources printed at the foot of each sheet

pub mod broods;
pub mod dawn;
pub mod points;
pub mod sources;
pub mod sticks;
pub mod year;

use crate::map::Scene;
use crate::pack::{Fault, Pack};
use crate::words;
use birds::dawns::Rules;
use chrono::{Datelike, NaiveDate};
use serde::Serialize;

/// A column of a table to write in.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct Column {
    /// What stands over it.
    pub head: &'static str,
    /// The column of the file it becomes, as the importer takes it.
    pub goes: &'static str,
    /// Width on paper, millimetres; nought: what is left.
    pub mm: f64,
}

/// What all sheets say.
#[derive(Debug, Serialize)]
pub struct Content {
    of: String,
    today: String,
    edition: String,
    withheld: bool,
    leks: bool,
    year: year::Year,
    dawn: dawn::Dawn,
    sticks: sticks::Sticks,
    broods: broods::Broods,
}

/// What the sheets say, with their pictures by file name.
///
/// # Errors
/// A figure that guidance does not hold.
pub fn content(pack: &Pack) -> Result<(Content, Vec<(String, String)>), Fault> {
    let secrecy = pack.secrecy();
    let public = secrecy.public(pack.holding);
    let scene = Scene::new(&public, &secrecy);
    let rules = Rules::of(pack.guidance, pack.holding.about.country)?;
    let (sticks, mut pictures) = sticks::of(pack, &secrecy, &public, scene.as_ref())?;
    let (broods, maps) = broods::of(pack, &secrecy, scene.as_ref())?;
    pictures.extend(maps);
    let about = &pack.holding.about;
    let content = Content {
        of: if about.name.trim().is_empty() { "Unnamed holding".to_owned() } else { named(&about.name) },
        today: words::day(pack.today),
        edition: pack.guidance.edition().to_owned(),
        withheld: secrecy.withheld(),
        leks: !pack.holding.leks.is_empty(),
        year: year::of(pack, &secrecy, &rules, &sticks.header, sticks.stands())?,
        dawn: dawn::of(pack, &secrecy, &rules)?,
        sticks,
        broods,
    };
    Ok((content, pictures))
}

/// The field sheets as a PDF.
///
/// # Errors
/// A figure that guidance does not hold, or what the page engine says.
#[cfg(feature = "pdf")]
pub fn set(pack: &Pack) -> Result<Vec<u8>, Fault> {
    let (content, pictures) = content(pack)?;
    crate::pdf::set_monitoring(&content, pictures, pack.today).map_err(Fault::Pages)
}

/// Letters of a name that fit a line of a sheet.
const NAME_LETTERS: usize = 48;

/// A name of the plan fit for a heading: on one line, cut with an ellipsis where it is long, without marks that steer the run of text.
fn named(text: &str) -> String {
    let steers = |c: &char| c.is_control() || matches!(c, '\u{200E}' | '\u{200F}' | '\u{2028}'..='\u{202E}' | '\u{2066}'..='\u{2069}');
    let clean: String = text.chars().filter(|c| !steers(c)).collect();
    if clean.chars().count() <= NAME_LETTERS { clean } else { format!("{}…", clean.chars().take(NAME_LETTERS).collect::<String>().trim_end()) }
}

/// A day of any year: `21 March`.
fn day_of_year((month, day): (u32, u32)) -> String {
    // A leap year has every day there is.
    NaiveDate::from_ymd_opt(2000, month, day).map_or_else(String::new, |d| d.format("%-d %B").to_string())
}

/// The first and last day of a season that is not over yet; 29 February of other years is the 28th.
fn next_window(today: NaiveDate, [first, last]: [(u32, u32); 2]) -> [NaiveDate; 2] {
    let of = |year: i32, (month, day): (u32, u32)| NaiveDate::from_ymd_opt(year, month, day).or_else(|| NaiveDate::from_ymd_opt(year, month, day.min(28))).unwrap_or(today);
    let year = if of(today.year(), last) < today { today.year() + 1 } else { today.year() };
    [of(year, first), of(year, last)]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_season_is_the_next_that_is_not_over() {
        let day = |y, m, d| NaiveDate::from_ymd_opt(y, m, d).unwrap();
        let season = [(3, 21), (5, 15)];
        assert_eq!(next_window(day(2026, 11, 2), season), [day(2027, 3, 21), day(2027, 5, 15)]);
        assert_eq!(next_window(day(2026, 5, 15), season), [day(2026, 3, 21), day(2026, 5, 15)]);
        assert_eq!(next_window(day(2026, 5, 16), season)[0], day(2027, 3, 21));
        assert_eq!(day_of_year((2, 29)), "29 February");
    }
}
