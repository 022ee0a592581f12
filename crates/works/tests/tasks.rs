//! Tasks of an option: seasons by law and lek distance, quantities, lead times and work rates, on an invented moor and on the demonstration holding.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test may stop")]

mod all_kinds;
mod moor;
mod seasons;

use chrono::NaiveDate;
use guidance::Guidance;
use habitat::Settings as Assessing;
use holding::Holding;
use measures::rules::{Context, OnMeasures};
use works::programme::{Crew, Limit};
use works::tasks::{Hands, Jobs, Programmed, Settings, jobs, programme};

pub fn date(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

/// Option 1 of a holding looked at.
pub fn with<T>(holding: &Holding, look: impl FnOnce(&OnMeasures) -> T) -> T {
    let guidance = Guidance::load().unwrap();
    let assessed = habitat::assess(holding, &guidance, Assessing { draws: 2, seed: 1, cell_m: Some(50.0) }).unwrap();
    look(&OnMeasures::new(Context::new(holding, &guidance, &assessed), 1, None).unwrap())
}

/// The tasks of option 1, and their programme, from a day for so many years.
pub fn put_on_days(o: &OnMeasures, from: &str, years: u32, crews: Option<Vec<Crew>>) -> Programmed {
    let settings = Settings::years(date(from), years);
    let hands = Hands::of(&o.context, crews).unwrap();
    let all: Jobs = jobs(o, settings, &hands).unwrap();
    programme(all, settings, &hands, Limit { million_days: 1, proof_million_days: 1, ..Limit::default() }).unwrap()
}
