//! One measure while its jobs are written down: its facts, quantities, year, and the shapes a job takes.

use super::job::{Amount, Days, Job, Later, Stage, Wait};
use super::{Hands, Settings};
use crate::programme::Lag;
use chrono::NaiveDate;
use guidance::Unknown;
use holding::Measure;
use measures::kind::facts::Facts;
use measures::kind::{self, Entry, Quantity, cost};
use measures::rules::on_measures::season::{self, Nature, Season};
use measures::rules::words;
use measures::rules::{Context, OnMeasures};

/// A measure and the jobs written down so far.
pub struct Of<'a> {
    /// The option.
    pub o: &'a OnMeasures<'a>,
    /// The measure.
    pub measure: &'a Measure,
    /// Its kind.
    pub entry: &'static Entry,
    /// Its facts.
    pub facts: Facts<'a>,
    /// Its quantities.
    pub quantities: Vec<Quantity>,
    /// Its year.
    pub year: i32,
    /// First and last day of the programme.
    pub settings: Settings,
    /// Crews at hand.
    pub hands: &'a Hands,
    /// Jobs.
    pub jobs: Vec<Job>,
    /// What comes later.
    pub later: Vec<Later>,
    /// Jobs the site work of this measure waits for: consents.
    pub consents: Vec<Wait>,
}

impl<'a> Of<'a> {
    /// A measure before any of its jobs.
    pub fn new(o: &'a OnMeasures<'a>, measure: &'a Measure, entry: &'static Entry, settings: Settings, hands: &'a Hands) -> Result<Of<'a>, Unknown> {
        let mut quantities = (entry.quantities)(&o.context, measure)?;
        if let Some(veil) = o.context.veil {
            quantities.iter_mut().for_each(|q| q.amount = veil.amount(&measure.id, q.unit, q.amount));
        }
        Ok(Of {
            facts: o.facts(measure),
            quantities,
            year: kind::calendar_year(&o.context, measure).unwrap_or_else(|| settings.first_year()),
            o,
            measure,
            entry,
            settings,
            hands,
            jobs: Vec::new(),
            later: Vec::new(),
            consents: Vec::new(),
        })
    }

    /// What it is called in a sentence.
    pub fn name(&self) -> String {
        self.o.name(self.measure)
    }

    /// How much of something the measure comes to, by its own quantities.
    pub fn amount(&self, what: &str) -> f64 {
        self.quantities.iter().find(|q| q.what == what).map_or(0.0, |q| q.amount)
    }

    /// A quantity of the measure as a job carries it.
    pub fn own(&self, what: &str) -> Vec<Amount> {
        let own = self.quantities.iter().filter(|q| q.what == what && q.amount > 0.0);
        own.map(|q| Amount { what: q.what.clone(), amount: q.amount, unit: q.unit.to_string() }).collect()
    }

    /// A figure of the guidance.
    pub fn number(&self, key: &str) -> Result<f64, Unknown> {
        self.o.number(key)
    }

    /// The days left to a work of the measure.
    pub fn season(&self, nature: Nature, own: bool) -> Result<Season, Unknown> {
        season::of(self.o, self.measure, nature, own)
    }

    /// A job on paper: an adviser's, of one letter, at any time.
    pub fn paper(&self, stage: Stage, what: String) -> Result<Job, Unknown> {
        let mut job = self.job(stage, "", what, "adviser");
        job.days = Some(self.at_days_each("works.paper", 1.0, 1)?);
        Ok(job)
    }

    /// A job of the measure, of its year, of one person, days not known, waiting for its consents unless it is survey or agreement.
    pub fn job(&self, stage: Stage, tail: &str, what: String, hands: &'static str) -> Job {
        let tail = if tail.is_empty() { String::new() } else { format!("/{tail}") };
        Job {
            id: format!("{}/{}{tail}", self.measure.id, stage.word()),
            measures: vec![self.measure.id.clone()],
            kind: self.entry.key,
            stage,
            what,
            year: self.year,
            amounts: Vec::new(),
            hands,
            people: 1,
            days: None,
            after: self.before(stage),
            season: Season::default(),
            earliest: self.settings.first,
            by: None,
            hard: false,
            heavy: false,
            notes: Vec::new(),
            keys: Vec::new(),
        }
    }

    /// What every job of a stage waits for: consents, and the survey.
    fn before(&self, stage: Stage) -> Vec<Wait> {
        let site = (Stage::Order..=Stage::Work).contains(&stage);
        let surveyed = self.jobs.iter().filter(|j| site && j.stage == Stage::Survey).map(|j| done(&j.id));
        let consents = self.consents.iter().filter(|_| site || stage == Stage::Keep).cloned();
        surveyed.chain(consents).collect()
    }

    /// The 1st of January of a year, or the first day of the programme if that is later.
    pub fn year_begins(&self, year: i32) -> NaiveDate {
        NaiveDate::from_ymd_opt(year, 1, 1).unwrap_or(self.settings.first).max(self.settings.first)
    }

    /// A job of one year that comes again in the next: from its first day to its last, and not at all after it.
    pub fn in_year(&self, job: &mut Job, year: i32) {
        job.year = year;
        job.earliest = self.year_begins(year);
        job.by = NaiveDate::from_ymd_opt(year, 12, 31);
        job.hard = true;
    }

    /// Days of an amount at a rate by the day (times so many people, where it is a rate a person).
    pub fn at_rate(&self, key: &str, amount: f64, people: u32) -> Result<Days, Unknown> {
        at_rate(&self.o.context, key, amount, people)
    }

    /// Days of an amount at so many days, or days of one person, each.
    pub fn at_days_each(&self, key: &str, amount: f64, people: u32) -> Result<Days, Unknown> {
        let people = f64::from(people.max(1));
        Ok(whole(cost::spread(&self.o.context, key)?.map(|each| amount * each / people), key))
    }

    /// People of a figure of the guidance; the larger number where it is a range.
    pub fn people(&self, key: &str) -> Result<u32, Unknown> {
        Ok(cost::spread(&self.o.context, key)?[1].round().max(1.0) as u32)
    }

    /// How many more than are used are ordered.
    pub fn spare(&self, used: f64) -> Result<f64, Unknown> {
        Ok((used * self.number("works.spare")? / 100.0).ceil())
    }

    /// A lag of months, rounded up to whole ones, with its range in words.
    pub fn months(&self, key: &str) -> Result<(Lag, String), Unknown> {
        let [low, usual, high] = cost::spread(&self.o.context, key)?;
        let words = if low < high { format!("{low:.0} to {high:.0} months") } else { format!("{usual:.0} months") };
        Ok((Lag::Months(usual.ceil() as u32), words))
    }

    /// Years in which a yearly work is done: its own to the last of `years` or of the programme.
    pub fn each_year(&self, every: u32, years: f64) -> Vec<i32> {
        let last = (self.year + (years.round().max(1.0) as i32) - 1).min(self.settings.last_year());
        (self.year..=last).step_by(every.max(1) as usize).filter(|y| *y >= self.settings.first_year()).collect()
    }

    /// Something too far off for a day.
    pub fn later(&mut self, what: String, key: &str, after: f64) -> Result<(), Unknown> {
        let [low, _, high] = cost::spread(&self.o.context, key)?;
        let years = (self.year + (low + after).round() as i32, self.year + (high + after).round() as i32);
        self.later.push(Later { measure: self.measure.id.clone(), what, years, keys: vec![key.to_string()] });
        Ok(())
    }

    /// Write a job down; gives its identity.
    pub fn put(&mut self, mut job: Job) -> String {
        let keys = job.season.bounds.iter().flat_map(|b| b.keys.iter().map(|k| (*k).to_string()));
        let rates = job.days.iter().flat_map(|d| d.rates.clone());
        let all: Vec<String> = job.keys.drain(..).chain(rates).chain(keys).collect();
        for key in all {
            if !job.keys.contains(&key) {
                job.keys.push(key);
            }
        }
        let mut waits: Vec<Wait> = Vec::new();
        for wait in job.after.drain(..) {
            if !waits.iter().any(|w| w.job == wait.job) {
                waits.push(wait);
            }
        }
        job.after = waits;
        let id = job.id.clone();
        self.jobs.push(job);
        id
    }
}

/// Whole days of low, usual and high days at the rate of a key; at least one.
fn whole(days: [f64; 3], key: &str) -> Days {
    let up = |d: f64| if d.is_finite() { (d - 1e-9).ceil().clamp(1.0, 1e6) as u32 } else { 1 };
    Days { low: up(days[0]), usual: up(days[1]), high: up(days[2]), rates: vec![key.to_string()] }
}

/// Days of an amount at a rate by the day (times so many people, where it is a rate a person).
///
/// # Errors
/// A figure the tables lack.
pub fn at_rate(c: &Context, key: &str, amount: f64, people: u32) -> Result<Days, Unknown> {
    let people = f64::from(people.max(1));
    let [low, usual, high] = cost::spread(c, key)?;
    // A quick day's work makes few days.
    Ok(whole([high, usual, low].map(|rate| amount / (rate * people)), key))
}

/// Done before, with nothing to wait for.
pub fn done(job: &str) -> Wait {
    Wait { job: job.to_string(), lag: Lag::Days(0), words: String::new() }
}

/// A whole number of things in words: `1,300 trees`.
pub fn count(amount: f64, unit: &str) -> String {
    let whole = format!("{amount:.0}");
    let mut out = String::new();
    for (i, digit) in whole.chars().enumerate() {
        if i > 0 && (whole.len() - i) % 3 == 0 {
            out.push(',');
        }
        out.push(digit);
    }
    let unit = if amount == 1.0 { unit.trim_end_matches('s') } else { unit };
    format!("{out} {unit}")
}

/// Hectares in words.
pub fn ha(amount: f64) -> String {
    format!("{} ha", words::number(amount))
}
