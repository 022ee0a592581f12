//! The sheet of dawn counts, one a lek.

use super::sources::Sources;
use super::{Column, day_of_year, named, next_window};
use crate::pack::{Fault, Pack};
use crate::secrecy::Secrecy;
use birds::dawns::{Rules, words as said};
use chrono::{Days, NaiveDate};
use geo_types::Point;
use holding::{Lek, Rain, Word};
use serde::Serialize;

/// Years of counts printed beside.
const YEARS: usize = 6;
/// Days between the sunrises printed.
const EVERY_DAYS: u64 = 7;

/// The table to write in, and the columns of the file it becomes. What has no column of its own in a plan is kept beside the visit.
pub const COLUMNS: [Column; 14] = [
    Column { head: "Date", goes: "date", mm: 18.0 },
    Column { head: "Observer", goes: "observer", mm: 22.0 },
    Column { head: "In place", goes: "in_place", mm: 15.0 },
    Column { head: "Start", goes: "start", mm: 15.0 },
    Column { head: "End", goes: "end", mm: 15.0 },
    Column { head: "Wind, Bft", goes: "wind_beaufort", mm: 21.0 },
    Column { head: "Rain", goes: "rain", mm: 17.0 },
    Column { head: "Cloud, /8", goes: "cloud", mm: 14.0 },
    Column { head: "Sight, km", goes: "visibility", mm: 15.0 },
    Column { head: "Cocks displaying", goes: "displaying", mm: 18.0 },
    Column { head: "Cocks in all", goes: "cocks", mm: 16.0 },
    Column { head: "Hens", goes: "hens", mm: 13.0 },
    Column { head: "Put up by", goes: "disturbance", mm: 25.0 },
    Column { head: "Notes", goes: "note", mm: 0.0 },
];

/// What the sheets say.
#[derive(Debug, Serialize)]
pub struct Dawn {
    columns: Vec<Column>,
    limits: Vec<String>,
    quiet: Vec<String>,
    leks: Vec<Sheet>,
    sources: Vec<String>,
}

/// The sheet of one lek.
#[derive(Debug, Serialize)]
struct Sheet {
    lek: String,
    /// What stands in the column `lek` of the file.
    id: String,
    reference: String,
    past: Vec<[String; 2]>,
    /// Day, hours open, sunrise, hours close.
    suns: Vec<[String; 4]>,
}

/// The sheets of every lek.
///
/// # Errors
/// A figure that guidance does not hold.
pub fn of(pack: &Pack, secrecy: &Secrecy, rules: &Rules) -> Result<Dawn, Fault> {
    let mut sources = Sources::new(pack.guidance, pack.holding.about.country);
    let limits = limits(rules, &mut sources)?;
    let mark = sources.mark(&["disturbance.vehicle_distance", "disturbance.flush_distance.spring", "counts.settle", "disturbance.leave_after_dawn"])?;
    let mut quiet = said::quiet(rules);
    if let Some(last) = quiet.last_mut() {
        last.push_str(&format!(" {mark}"));
    }
    let leks = pack.holding.leks.iter().map(|lek| sheet(pack, secrecy, rules, lek)).collect();
    Ok(Dawn { columns: COLUMNS.to_vec(), limits, quiet, leks, sources: sources.into_list() })
}

fn limits(rules: &Rules, sources: &mut Sources) -> Result<Vec<String>, Fault> {
    let windows = rules.windows.map(|[first, last]| format!("{} to {}", day_of_year(first), day_of_year(last)));
    let season = sources.mark(&["counts.visit_1.first", "counts.visit_1.last", "counts.visit_2.first", "counts.visit_2.last"])?;
    let hours = sources.mark(&["counts.hours_before_sunrise", "counts.hours_after_sunrise"])?;
    let apart = sources.mark(&["counts.visits_apart"])?;
    let watch = sources.mark(&["counts.settle", "counts.watch"])?;
    let weather = sources.mark(&["counts.wind_max", "counts.rain_max"])?;
    Ok(vec![
        format!("Two visits: {}, and {} {season}, {} days apart or more {apart}.", windows[0], windows[1], rules.apart_days),
        format!("It counts when it starts from {} min before sunrise to {} min after {hours}.", rules.before_min, rules.after_min),
        format!("Sit still {} min, then watch {} min {watch}.", rules.settle_min, rules.watch_min),
        format!("Wind {} Beaufort at most; rain {} {weather}: yours to judge.", rules.wind_most, rules.rain_most),
        format!("Rain, one word: {}.", Rain::all_words()),
        "Cocks in all: displaying or not, the most seen at once. Leave it empty, not 0, where you could not count.".to_owned(),
    ])
}

fn sheet(pack: &Pack, secrecy: &Secrecy, rules: &Rules, lek: &Lek) -> Sheet {
    let counts = pack.counts.iter().filter(|c| c.lek == lek.id).flat_map(|c| &c.years);
    let mut past: Vec<[String; 2]> = counts.map(|y| [y.year.to_string(), y.cocks.map_or_else(|| secrecy.words(&y.not_valid()), |n| n.to_string())]).collect();
    past.drain(..past.len().saturating_sub(YEARS));
    Sheet { lek: named(lek.called()), id: named(&lek.id), reference: secrecy.reference(lek.at), past, suns: suns(pack, secrecy.point(lek.at), rules) }
}

/// Sunrise at a place through the season ahead, by the clock; empty where the place is not on the national grid or the sun does not rise.
fn suns(pack: &Pack, at: Point<f64>, rules: &Rules) -> Vec<[String; 4]> {
    let place = (pack.holding.about.epsg == 27700).then(|| holding::grid_ref::lonlat_from_grid(at.x(), at.y()).ok()).flatten();
    let Some((lon_deg, lat_deg)) = place else { return vec![] };
    let [first, last] = next_window(pack.today, [rules.windows[0][0], rules.windows[1][1]]);
    let mut days: Vec<NaiveDate> = first.iter_days().step_by(EVERY_DAYS as usize).take_while(|d| *d + Days::new(EVERY_DAYS / 2) <= last).collect();
    days.push(last);
    let row = |day: NaiveDate| {
        let sunrise = holding::clock::local(birds::sun::times(day, lon_deg, lat_deg).sunrise?);
        let at = |minutes: i64| (sunrise + chrono::Duration::minutes(minutes)).format("%H:%M").to_string();
        Some([day.format("%-d %b").to_string(), at(-rules.before_min), at(0), at(rules.after_min)])
    };
    days.into_iter().filter_map(row).collect()
}
