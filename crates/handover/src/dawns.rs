//! The dawns of a spring on paper: what it comes to and a strip of the mornings, then one block a morning and observer to carry in the
//! pocket, with lines to write the count on.

use crate::words;
use birds::dawns::words as said;
use birds::dawns::{DawnPlan, DawnVisit, Outing, Rules};
use chrono::{NaiveDate, NaiveDateTime};
use serde::Serialize;

/// Everything the sheet is made from. Names and places are printed as they stand: whoever makes it withholds what must be.
pub struct Sheet<'a> {
    /// The plan.
    pub plan: &'a DawnPlan,
    /// What it keeps to.
    pub rules: &'a Rules,
    /// Stops, each with the names of its leks.
    pub stops: Vec<(String, String)>,
    /// What minutes and stops rest on.
    pub rests_on: &'a [String],
    /// What is not told where ways are withheld.
    pub coarse: Option<String>,
    /// Who goes out on mornings running.
    pub running: Vec<String>,
    /// Who covers spare mornings.
    pub cover: String,
    /// Stops too near to leks, in words.
    pub near: Vec<String>,
    /// Whether places are given only to the kilometre.
    pub withheld: bool,
    /// Edition of the figures.
    pub edition: &'a str,
    /// The day printed on it.
    pub today: NaiveDate,
}

/// What the pages say.
#[derive(Debug, Serialize)]
struct Content {
    of: String,
    year: i32,
    takes: String,
    proof: String,
    rows: Vec<[String; 5]>,
    missed: Vec<String>,
    coarse: Option<String>,
    running: Vec<String>,
    spare: Vec<[String; 2]>,
    weather: String,
    stops: Vec<(String, String)>,
    near: Vec<String>,
    quiet: Vec<String>,
    cautions: Vec<String>,
    rests_on: Vec<String>,
    cards: Vec<Card>,
    withheld: bool,
    edition: String,
    today: String,
}

/// A morning of one observer.
#[derive(Debug, Serialize)]
struct Card {
    day: String,
    who: String,
    window: u8,
    /// When to leave, and from where.
    leave: Option<[String; 2]>,
    back: String,
    travel: String,
    visits: Vec<Visit>,
}

#[derive(Debug, Serialize)]
struct Visit {
    lek: String,
    visit: u8,
    /// How to get there, step by step: when, what.
    steps: Vec<[String; 2]>,
    close: String,
}

impl Sheet<'_> {
    fn content(&self) -> Content {
        let p = self.plan;
        let windows = [0, 1].map(|w| self.rules.window(p.year, w));
        let outings = || p.mornings.iter().flat_map(|m| m.outings.iter().map(move |o| (m.date, o)));
        Content {
            of: p.of.clone(),
            year: p.year,
            takes: said::takes(p),
            proof: said::proof(p),
            rows: outings().map(|(date, o)| row(date, o)).collect(),
            missed: p.missed.iter().map(|m| format!("{}, visit {}: {}.", m.lek, m.visit, m.reason)).collect(),
            spare: windows.into_iter().enumerate().map(|(w, window)| [format!("Visit {}, {}", w + 1, range(window)), said::spare(p, window)]).collect(),
            coarse: self.coarse.clone(),
            running: self.running.clone(),
            weather: format!("{} {}", said::weather(self.rules), self.cover),
            stops: self.stops.clone(),
            near: self.near.clone(),
            quiet: p.quiet.clone(),
            cautions: p.cautions.iter().map(|c| format!("{}.", words::capital(c.trim_end_matches('.')))).collect(),
            rests_on: self.rests_on.to_vec(),
            cards: outings().map(|(date, o)| card(date, o)).collect(),
            withheld: self.withheld,
            edition: self.edition.to_owned(),
            today: words::day(self.today),
        }
    }

    /// The pages as a PDF.
    ///
    /// # Errors
    /// What the page engine says.
    pub fn pages(&self) -> Result<Vec<u8>, crate::Fault> {
        let windows = [0, 1].map(|w| self.rules.window(self.plan.year, w));
        let strip = crate::chart::dawns::draw(self.plan, &windows, 174.0);
        let set = crate::pdf::set_dawns(&self.content(), vec![("strip.svg".to_owned(), strip)], self.today);
        crate::pdf::forget();
        set.map_err(crate::Fault::Pages)
    }
}

fn range([first, last]: [NaiveDate; 2]) -> String {
    format!("{} to {}", said::days(&[first]), said::days(&[last]))
}

fn weekday(date: NaiveDate) -> String {
    format!("{} {}", date.format("%A"), said::days(&[date]))
}

/// A clock time; one of the evening before says so.
fn at(time: NaiveDateTime, date: NaiveDate) -> String {
    if time.date() == date { time.format("%H:%M").to_string() } else { format!("{} on {}", time.format("%H:%M"), said::days(&[time.date()])) }
}

fn row(date: NaiveDate, outing: &Outing) -> [String; 5] {
    let leks: Vec<String> = outing.visits.iter().map(|v| format!("{} ({})", v.lek, v.visit)).collect();
    let sunrise = outing.visits.first().map_or(String::new(), |v| at(v.sunrise, date));
    [weekday(date), outing.observer.clone(), outing.begins().map_or(String::new(), |time| at(time, date)), leks.join(", "), sunrise]
}

fn card(date: NaiveDate, outing: &Outing) -> Card {
    let ways = outing.driving_min.zip(outing.walking_min);
    Card {
        day: weekday(date),
        who: outing.observer.clone(),
        window: outing.visits.first().map_or(1, |v| v.visit),
        leave: outing.leave_base.map(|leave| [at(leave, date), outing.base.clone()]),
        back: outing.back_at_base.map_or(String::new(), |back| format!("Back {}", at(back, date))),
        travel: ways.map_or(String::new(), |(driving, walking)| format!("{} driving, {} walking", said::minutes(driving.into()), said::minutes(walking.into()))),
        visits: outing.visits.iter().map(|v| visit(date, v)).collect(),
    }
}

fn visit(date: NaiveDate, v: &DawnVisit) -> Visit {
    let mut steps = Vec::new();
    if let Some(back_min) = v.walk_back_min.filter(|min| *min > 0) {
        steps.push([String::new(), format!("walk {back_min} min back to the vehicle")]);
    }
    let walking = v.walk_min.map_or(String::new(), |min| format!("; {min} min walking"));
    match (v.park_at, v.drive_min, v.walk_min) {
        (Some(park_at), Some(drive_min), _) => steps.push([at(park_at, date), format!("parked at {}; {drive_min} min driving", v.stop)]),
        (None, _, Some(_)) => steps.push([String::new(), "on foot from the lek before".to_owned()]),
        _ => {}
    }
    match (v.arrive_by, v.watch_from, v.watch_until) {
        (Some(arrive), Some(from), Some(until)) => {
            steps.push([at(arrive, date), format!("in place and still{walking}")]);
            steps.push([at(from, date), format!("watch until {}; sunrise {}", at(until, date), at(v.sunrise, date))]);
        }
        _ => steps.push([String::new(), format!("after the lek before; sunrise {}", at(v.sunrise, date))]),
    }
    Visit { lek: v.lek.clone(), visit: v.visit, steps, close: at(v.hours_close, date) }
}
