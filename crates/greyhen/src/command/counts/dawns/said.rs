//! What is said on the command line of people, places, days and minutes; everything wrong with it at once.

use crate::command::counts::columns::{Row, rows};
use birds::dawns::{Measured, Person, Rules, Spot, Wanted, words};
use chrono::{Datelike, NaiveDate};
use holding::grid_ref::parse_grid_ref;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// What a grid reference of a stop must be as fine as, metres.
const STOP_SIZE_M: f64 = 100.0;

/// What a grid reference of a base must be as fine as, metres: a coarser one makes every way a guess.
const BASE_SIZE_M: f64 = 1000.0;

/// Who, where, when.
#[derive(clap::Args)]
pub struct Said {
    /// The spring; the next one when left out
    #[arg(long, value_name = "YEAR", value_parser = clap::value_parser!(i32).range(2000..=2099))]
    year: Option<i32>,
    /// Someone who counts; one to three
    #[arg(long, value_name = "NAME")]
    who: Vec<String>,
    /// Where observers start, a grid reference: one for all, or one each in the order of --who
    #[arg(long, value_name = "[NAME=]GRIDREF", required = true)]
    base: Vec<String>,
    /// Days on which somebody is away
    #[arg(long, value_name = "NAME=DAYS")]
    away: Vec<String>,
    /// Days on which nobody can go
    #[arg(long, value_name = "DAYS")]
    not_on: Vec<String>,
    /// Where a vehicle may be left; sought along the plan's roads and tracks when left out
    #[arg(long, value_name = "[NAME=]GRIDREF")]
    stop: Vec<String>,
    /// Measured minutes, a CSV with columns from, to, minutes; straight-line estimates stand in for the others
    #[arg(long, value_name = "CSV")]
    minutes: Option<PathBuf>,
    /// Only these leks, by id or name, with commas
    #[arg(long, value_name = "LEKS", value_delimiter = ',')]
    leks: Vec<String>,
}

impl Said {
    /// One observer from one base, or from nowhere that is known.
    pub fn one(base: Option<String>, year: Option<i32>) -> Said {
        Said { year, who: vec![], base: base.into_iter().collect(), away: vec![], not_on: vec![], stop: vec![], minutes: None, leks: vec![] }
    }

    /// Whether it is said where observers start.
    pub fn has_base(&self) -> bool {
        !self.base.is_empty()
    }

    /// What is wanted, and what is wrong with how it was said.
    pub fn wanted(&self, rules: &Rules, today: NaiveDate) -> (Wanted, Vec<String>) {
        let mut faults = Vec::new();
        let year = self.year.unwrap_or_else(|| today.year() + i32::from(rules.window(today.year(), 0)[0] < today));
        let people = self.people(year, &mut faults);
        let stops = self.stop.iter().filter_map(|said| spot("--stop", said, STOP_SIZE_M, &mut faults)).collect();
        let shut: BTreeSet<NaiveDate> = self.not_on.iter().flat_map(|said| days("--not-on", said, year, &mut faults)).collect();
        let [[first, _], [_, last]] = [0, 1].map(|w| rules.window(year, w));
        // In a spring that has begun only what is left of it is planned.
        let begin = if today.year() == year { first.max(today) } else { first };
        if last < today {
            let next = today.year() + i32::from(rules.window(today.year(), 1)[1] < today);
            faults.push(format!("--year: the spring of {year} was over on {}; needed: {next} or later. Hint: what was counted then goes in with greyhen counts FILE add visit", words::days(&[last])));
        }
        let mornings = begin.iter_days().take_while(|day| *day <= last).filter(|day| !shut.contains(day)).collect();
        let measured = self.minutes.as_deref().map(|path| measured(path, &mut faults)).unwrap_or_default();
        (Wanted { year, leks: self.leks.clone(), people, stops, mornings, measured }, faults)
    }

    fn people(&self, year: i32, faults: &mut Vec<String>) -> Vec<Person> {
        let bases: Vec<Option<Spot>> = self.base.iter().map(|said| spot("--base", said, BASE_SIZE_M, faults)).collect();
        let who: Vec<String> = match self.who.len() {
            0 if bases.len() <= 1 => vec!["Observer".to_owned()],
            0 => (1..=bases.len()).map(|n| format!("Observer {n}")).collect(),
            _ => self.who.iter().map(|name| name.split_whitespace().collect::<Vec<_>>().join(" ")).collect(),
        };
        for (i, name) in who.iter().enumerate() {
            if name.is_empty() || who[..i].iter().any(|other| same(other, name)) {
                faults.push(format!("--who: found `{name}`; needed: a name of their own for each. Hint: add an initial"));
            }
        }
        if bases.len() > 1 && bases.len() != who.len() {
            faults.push(format!("--base: found {} for {} observers; needed: one for all or one each. Hint: give them in the order of --who", bases.len(), who.len()));
        }
        let base = |i: usize| bases.get(if bases.len() == 1 { 0 } else { i }).cloned().flatten().unwrap_or_default();
        let mut people: Vec<Person> = who.iter().enumerate().map(|(i, name)| Person { name: name.clone(), base: base(i), away: BTreeSet::new() }).collect();
        for said in &self.away {
            let (name, when) = said.split_once('=').unwrap_or((said, ""));
            let away = days("--away", when, year, faults);
            match people.iter_mut().find(|p| same(&p.name, name.trim())) {
                Some(person) => person.away.extend(away),
                None => faults.push(format!("--away: found `{said}`; needed: NAME=DAYS with one of {}. Hint: such as {}={year}-04-03..{year}-04-11", who.join(", "), who[0])),
            }
        }
        people
    }
}

fn same(a: &str, b: &str) -> bool {
    a.to_lowercase() == b.to_lowercase()
}

/// A place as it is said: a grid reference, with a name before it or not.
fn spot(flag: &str, said: &str, coarsest_m: f64, faults: &mut Vec<String>) -> Option<Spot> {
    let (name, reference) = said.rsplit_once('=').unwrap_or(("", said));
    match parse_grid_ref(reference) {
        Ok(square) if square.size_m <= coarsest_m => Some(Spot { name: name.trim().to_owned(), at_m: square.middle() }),
        Ok(square) => {
            let figures = if coarsest_m < BASE_SIZE_M { "six" } else { "four" };
            faults.push(format!("{flag}: found `{said}`, a square of {} m; needed: {figures} figures or more. Hint: such as NY 845 293", square.size_m));
            None
        }
        Err(why) => {
            faults.push(format!("{flag}: {why}; needed: a grid reference, with NAME= before it or not. Hint: such as Home=NY845293"));
            None
        }
    }
}

/// Days as they are said: single ones and runs, with commas.
fn days(flag: &str, said: &str, year: i32, faults: &mut Vec<String>) -> BTreeSet<NaiveDate> {
    let mut all = BTreeSet::new();
    for part in said.split(',').map(str::trim) {
        let (from, to) = part.split_once("..").unwrap_or((part, part));
        match (from.trim().parse::<NaiveDate>(), to.trim().parse::<NaiveDate>()) {
            (Ok(from), Ok(to)) if from <= to && from.year() == year && to.year() == year => all.extend(from.iter_days().take_while(|day| *day <= to)),
            _ => faults.push(format!("{flag}: found `{part}`; needed: days of {year} as YYYY-MM-DD or FROM..TO. Hint: such as {year}-04-03..{year}-04-11")),
        }
    }
    all
}

/// Measured minutes; all faults of the file at once.
fn measured(path: &Path, faults: &mut Vec<String>) -> Vec<Measured> {
    let mut all = Vec::new();
    for Row { place, cells: [from, to, minutes] } in rows(path, ["from", "to", "minutes"], "one way a row, such as Ann,A,25", faults) {
        match minutes.parse::<u32>() {
            Ok(minutes) if minutes <= 24 * 60 => all.push(Measured { place, from, to, minutes }),
            _ => faults.push(format!("{place}: found `{minutes}` minutes; needed: a whole number from 0 to 1440. Hint: an hour and a quarter is 75")),
        }
    }
    all
}
