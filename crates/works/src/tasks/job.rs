//! A job of the works: what, how much, with what, how long, after what, when.

use crate::programme::Lag;
use chrono::NaiveDate;
use measures::rules::on_measures::season::Season;
use serde::{Deserialize, Serialize};

/// Where a job stands in the run of works.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Stage {
    /// Looked at, probed, pegged out.
    Survey,
    /// Agreed with those whose stock or ground it is.
    Agree,
    /// Leave, licence, notice or opinion asked for.
    Consent,
    /// Trees and goods ordered.
    Order,
    /// Fences put up, marked or taken down.
    Fence,
    /// Ground made ready.
    Ground,
    /// The work itself.
    Work,
    /// What died planted again.
    BeatUp,
    /// Done again, kept up or kept away from, year by year.
    Keep,
    /// Looked at afterwards.
    Check,
}

impl Stage {
    /// The word of the stage in identities.
    pub fn word(self) -> &'static str {
        match self {
            Stage::Survey => "survey",
            Stage::Agree => "agree",
            Stage::Consent => "consent",
            Stage::Order => "order",
            Stage::Fence => "fence",
            Stage::Ground => "ground",
            Stage::Work => "work",
            Stage::BeatUp => "beat_up",
            Stage::Keep => "keep",
            Stage::Check => "check",
        }
    }
}

/// The kinds of work that crews do, as a table of crews names them.
pub const HANDS: [&str; 11] = ["adviser", "planting", "fencing", "saws", "burning", "digging", "excavator", "tractor", "tracked", "stock", "farm"];

/// A quantity of a job.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Amount {
    /// What, such as `birch`.
    pub what: String,
    /// How much.
    pub amount: f64,
    /// Unit in words, such as `trees`.
    pub unit: String,
}

/// Working days of a job at a work rate, whole days rounded up.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Days {
    /// At the quick, usual and slow end of the rate.
    pub low: u32,
    /// At the usual rate: what the programme takes.
    pub usual: u32,
    /// At the slow end of the rate.
    pub high: u32,
    /// Guidance keys of the rates.
    pub rates: Vec<String>,
}

/// What a job waits for.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Wait {
    /// The job, by identity.
    pub job: String,
    /// How long after its last day.
    pub lag: Lag,
    /// What the wait is, in words; empty where it is just done first.
    pub words: String,
}

/// A job.
#[derive(Clone, Debug, PartialEq)]
pub struct Job {
    /// Identity: measure, stage, and what tells it from others of them.
    pub id: String,
    /// The measures it serves, by id.
    pub measures: Vec<String>,
    /// Kind of those measures.
    pub kind: &'static str,
    /// Stage.
    pub stage: Stage,
    /// In plain words, with its quantity.
    pub what: String,
    /// Calendar year it is meant for.
    pub year: i32,
    /// Quantities.
    pub amounts: Vec<Amount>,
    /// Kind of work: what crews are asked for, one of [`HANDS`].
    pub hands: &'static str,
    /// People, or machines, it takes up.
    pub people: u32,
    /// Working days; `None`: not known.
    pub days: Option<Days>,
    /// What it waits for.
    pub after: Vec<Wait>,
    /// The days left to it in the year.
    pub season: Season,
    /// First day it may begin.
    pub earliest: NaiveDate,
    /// Day it should be done by.
    pub by: Option<NaiveDate>,
    /// Whether it is not done at all after that day, as what belongs to one year and comes again in the next.
    pub hard: bool,
    /// Whether its ground is searched for nests first where it falls in the nesting season.
    pub heavy: bool,
    /// What is to be told beside it.
    pub notes: Vec<String>,
    /// Guidance keys its figures come from.
    pub keys: Vec<String>,
}

/// Something past the end of a programme, or too far off to be put on a day.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Later {
    /// The measure.
    pub measure: String,
    /// In words.
    pub what: String,
    /// First and last calendar year it may fall due.
    pub years: (i32, i32),
    /// Guidance keys.
    pub keys: Vec<String>,
}
