//! From an option of a plan to its tasks: what is done, how much, with what, how long, after what, in which season.
//!
//! Quantities are the measures' own; windows are those the rules on measures hold; consents are those the rules find needed. Work
//! rates, lead times and usual crews come from the guidance, low, usual and high; the usual is planned with. Where no figure is held
//! the days are told as not known. `docs/works.md` has the running order and a worked example.
//!
//! - [`Job`], [`Stage`], [`Later`]: a task before it has a day
//! - one file a kind of measure, in one running order: survey, agreement, consent, order, fence, ground, work, beating up, upkeep, checks
//! - [`Hands`]: who does them
//! - [`programme`]: all of them on days, by [`crate::programme`]

mod calendar;
mod consent;
mod crews;
mod job;
mod of;
mod planting;
mod programmed;

mod conifer_edge;
mod fence;
mod grazing;
mod heather;
mod inbye;
mod lek_care;
mod water;
mod wood;

pub use calendar::calendar;
pub use consent::asked_of;
pub use crews::Hands;
pub use job::{Amount, Days, HANDS, Job, Later, Stage, Wait};
pub use programmed::{Done, Programmed, Refused, Slipped, in_nesting, programme};

use crate::programme::Lag;
use chrono::{Datelike, Days as Days64, Months, NaiveDate};
use guidance::Unknown;
use measures::kind;
use measures::rules::OnMeasures;
use of::Of;

/// First and last day of a programme of works.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Settings {
    /// First day.
    pub first: NaiveDate,
    /// Last day.
    pub last: NaiveDate,
}

impl Settings {
    /// From a day to the end of the so-manieth year after its own.
    pub fn years(first: NaiveDate, years: u32) -> Settings {
        Settings { first, last: NaiveDate::from_ymd_opt(first.year() + years as i32, 12, 31).unwrap_or(first) }
    }

    /// The year it begins in.
    pub fn first_year(&self) -> i32 {
        self.first.year()
    }

    /// The year it ends in.
    pub fn last_year(&self) -> i32 {
        self.last.year()
    }
}

/// The tasks of an option.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Jobs {
    /// Tasks, by measure in the order of the plan; consents first.
    pub jobs: Vec<Job>,
    /// What falls due later.
    pub later: Vec<Later>,
    /// Measures told as finished, with the year: nothing is planned for them.
    pub done: Vec<(String, i32)>,
    /// Measures nothing could be told of: their facts are wrong, or their kind is not known.
    pub nothing: Vec<String>,
}

/// The tasks of an option, each with its season, rates and what it waits for.
///
/// # Errors
/// A figure the tables lack.
pub fn jobs(o: &OnMeasures, settings: Settings, hands: &Hands) -> Result<Jobs, Unknown> {
    let mut out = Jobs::default();
    let open: Vec<_> = o.measures.iter().filter(|m| kind::done(m).is_none()).collect();
    out.done = o.measures.iter().filter_map(|m| Some((m.id.clone(), kind::done(m)?))).collect();
    let year_of = |id: &str| open.iter().find(|m| m.id == id).map(|m| kind::calendar_year(&o.context, m).unwrap_or(settings.first_year()));
    let needed = consent::needed(o)?;
    let mut answers: Vec<(Vec<String>, Wait)> = Vec::new();
    for (rule, year, all) in consent::by_year(&needed, &year_of) {
        let first = open.iter().find(|m| all[0].measures.contains(&m.id)).copied();
        let Some((measure, entry)) = first.and_then(|m| Some((*m, kind::find(&m.kind)?))) else { continue };
        let of = Of::new(o, measure, entry, settings, hands)?;
        let mut ids: Vec<&String> = all.iter().flat_map(|n| &n.measures).filter(|id| year_of(id).is_some()).collect();
        ids.dedup();
        let names: Vec<String> = open.iter().filter(|m| ids.contains(&&m.id)).map(|m| o.name(m)).collect();
        let (job, answer) = consent::job(&of, rule, &all, &names, year)?;
        answers.push((job.measures.clone(), answer));
        out.jobs.push(job);
    }
    for measure in &open {
        let Some(entry) = kind::find(&measure.kind) else { continue };
        let mut of = Of::new(o, measure, entry, settings, hands)?;
        of.consents = answers.iter().filter(|(measures, _)| measures.contains(&measure.id)).map(|(_, wait)| wait.clone()).collect();
        match entry.key {
            "wood" => wood::jobs(&mut of)?,
            "conifer_edge" => conifer_edge::jobs(&mut of)?,
            "grazing" => grazing::jobs(&mut of)?,
            "heather" => heather::jobs(&mut of)?,
            "water" => water::jobs(&mut of)?,
            "fence" => fence::jobs(&mut of)?,
            "inbye" => inbye::jobs(&mut of)?,
            "lek_care" => lek_care::jobs(&mut of)?,
            _ => {}
        }
        if of.jobs.is_empty() {
            out.nothing.push(of.name());
        }
        out.later.extend(of.later);
        out.jobs.extend(of.jobs);
    }
    heather::together(o, &mut out.jobs)?;
    // A request tells what the survey found.
    let surveys: Vec<(String, Vec<String>)> = out.jobs.iter().filter(|j| j.stage == Stage::Survey).map(|j| (j.id.clone(), j.measures.clone())).collect();
    for job in out.jobs.iter_mut().filter(|j| j.stage == Stage::Consent) {
        job.after = surveys.iter().filter(|(_, of)| of.iter().any(|m| job.measures.contains(m))).map(|(id, _)| of::done(id)).collect();
    }
    not_too_early(o, settings, &mut out.jobs)?;
    Ok(out)
}

/// Surveys, letters, orders and what is made ready are not done years before what waits for them: each begins so many months, by the
/// guidance, before it must be over for that to be done on its first day.
fn not_too_early(o: &OnMeasures, settings: Settings, jobs: &mut [Job]) -> Result<(), Unknown> {
    let ahead = Months::new(o.number("works.ahead")?.ceil() as u32);
    let prepares = |j: &Job| j.stage < Stage::Work && j.earliest <= settings.first;
    // The first day of what waits, less the wait; in as many rounds as a chain is long.
    let mut needed: Vec<Option<NaiveDate>> = jobs.iter().map(|j| (!prepares(j)).then_some(j.earliest)).collect();
    for _ in 0..jobs.len() {
        let before = needed.clone();
        for (i, job) in jobs.iter().enumerate().filter(|(_, j)| prepares(j)) {
            let waits = jobs.iter().zip(&before).flat_map(|(next, day)| next.after.iter().filter(|w| w.job == job.id).filter_map(|w| back((*day)?, w.lag)));
            needed[i] = waits.min();
        }
        if needed == before {
            break;
        }
    }
    for (job, needed) in jobs.iter_mut().zip(needed).filter(|(j, _)| prepares(j)) {
        let from = needed.and_then(|day| day.checked_sub_months(ahead));
        job.earliest = from.unwrap_or(settings.first).max(settings.first);
        if job.earliest > settings.first {
            job.keys.push("works.ahead".into());
        }
    }
    Ok(())
}

/// The day a wait must begin on to be over by another.
fn back(day: NaiveDate, lag: Lag) -> Option<NaiveDate> {
    match lag {
        Lag::Days(days) => day.checked_sub_days(Days64::new(u64::from(days))),
        Lag::Months(months) => day.checked_sub_months(Months::new(months)),
    }
}
