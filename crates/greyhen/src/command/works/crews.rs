//! Crews given in a CSV, or kept in the plan.

use crate::command::counts::columns::{Row, rows};
use crate::talk;
use ::works::programme::{Crew, Days, MonthDay, Window};
use ::works::tasks::HANDS;
use chrono::NaiveDate;
use holding::{HiredCrew, Holding};
use std::collections::BTreeSet;
use std::path::Path;

/// The crews of a file, as the plan keeps them; what is wrong with the file itself goes to `faults`.
pub fn read(path: &Path, faults: &mut Vec<String>) -> Vec<(String, HiredCrew)> {
    let hint = "one crew a row, such as Ann and sons,planting fencing,3,09-01,04-30,";
    let before = faults.len();
    let mut all = Vec::new();
    let columns = ["name", "kinds", "people", "from", "to", "off"];
    let phones: Vec<String> = phones(path);
    for (n, Row { place, cells: [name, kinds, people, season_from, season_to, off] }) in rows(path, columns, hint, faults).into_iter().enumerate() {
        let name = name.split_whitespace().collect::<Vec<_>>().join(" ");
        let people = people.parse::<u32>().ok().filter(|n| (1..=1000).contains(n)).unwrap_or_else(|| {
            faults.push(format!("{place}: found `{people}` people; needed: a whole number from 1 to 1000. Hint: of a machine, how many there are"));
            1
        });
        let phone = phones.get(n).cloned().unwrap_or_default();
        all.push((place, HiredCrew { id: format!("crew-{}", n + 1), name, kinds, people, season_from, season_to, off, phone }));
    }
    if all.is_empty() && faults.len() == before {
        faults.push(format!("{}: no crews; needed: one a row. Hint: {hint}", path.display()));
    }
    all
}

/// Telephone numbers by row, where the file has a column for them.
fn phones(path: &Path) -> Vec<String> {
    rows(path, ["phone"], "", &mut vec![]).into_iter().map(|Row { cells: [phone], .. }| phone).collect()
}

/// The crews of a plan, each with its place for messages.
pub fn kept(holding: &Holding) -> Vec<(String, HiredCrew)> {
    holding.crews.iter().map(|crew| (format!("crew {} of the plan", talk::name(&crew.id)), crew.clone())).collect()
}

/// Crews as works are planned with; everything wrong with them goes to `faults`.
pub fn understood(given: &[(String, HiredCrew)], faults: &mut Vec<String>) -> Vec<Crew> {
    let mut all: Vec<Crew> = Vec::new();
    for (place, crew) in given {
        let HiredCrew { name, kinds, people, season_from, season_to, off, .. } = crew;
        if name.is_empty() || all.iter().any(|c| c.id.eq_ignore_ascii_case(name)) {
            faults.push(format!("{place}: found the name `{name}`; needed: a name of its own. Hint: give each crew once, with all its kinds of work"));
        }
        let said: BTreeSet<String> = kinds.split([' ', ';', ',']).map(str::trim).filter(|k| !k.is_empty()).map(str::to_lowercase).collect();
        let strange: Vec<&str> = said.iter().map(String::as_str).filter(|k| !HANDS.contains(k)).collect();
        if said.is_empty() || !strange.is_empty() {
            faults.push(format!("{place}: found the kinds `{kinds}`; needed: some of {}. Hint: several with spaces between", HANDS.join(", ")));
        }
        let there = season(place, season_from, season_to, faults);
        let away = off.split([';', ',']).map(str::trim).filter(|d| !d.is_empty()).filter_map(|d| days(place, d, faults)).collect();
        all.push(Crew { id: name.clone(), kinds: said, capacity: *people, there, away });
    }
    all
}

fn season(place: &str, from: &str, to: &str, faults: &mut Vec<String>) -> Vec<Window> {
    if from.is_empty() && to.is_empty() {
        return vec![];
    }
    let day = |text: &str| {
        let (month, day) = text.split_once('-')?;
        Some(MonthDay { month: month.trim().parse().ok()?, day: day.trim().parse().ok()? }).filter(|d| d.exists())
    };
    match (day(from), day(to)) {
        (Some(first), Some(last)) => vec![Window { first, last }],
        _ => {
            faults.push(format!("{place}: found the season `{from}` to `{to}`; needed: two days as MM-DD, or neither. Hint: such as 09-01 and 04-30; it may run over the new year"));
            vec![]
        }
    }
}

fn days(place: &str, text: &str, faults: &mut Vec<String>) -> Option<Days> {
    let (first, last) = text.split_once("..").unwrap_or((text, text));
    match (first.trim().parse::<NaiveDate>(), last.trim().parse::<NaiveDate>()) {
        (Ok(first), Ok(last)) if first <= last => Some(Days { first, last }),
        _ => {
            faults.push(format!(
                "{place}: found `{text}` off; needed: YYYY-MM-DD or FROM..TO. Hint: such as 2027-12-20..2028-01-04, several with semicolons"
            ));
            None
        }
    }
}
