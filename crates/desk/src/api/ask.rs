//! Questions that may take a while: asked as a job, told how far it is, stopped at will.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// A question. Its answer is the document of the same name that the command line prints with `--json`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(tag = "ask", rename_all = "snake_case", deny_unknown_fields)]
pub enum Ask {
    /// The ledger of a year ahead under an option, whole: reasons, losses, composition, evidence.
    Assess {
        /// The option; left out: as now.
        option: Option<u32>,
        /// Years ahead; left out: as surveyed, and ten years ahead under an option.
        year: Option<u32>,
    },
    /// The ledger by year.
    Ahead {
        /// The option; left out: nothing done.
        option: Option<u32>,
        /// Years told; left out: the usual ones up to thirty.
        #[serde(default)]
        years: Vec<u32>,
    },
    /// Options beside as now and each other, on the same draws.
    Compare {
        /// Options; as now is always compared with.
        options: Vec<u32>,
    },
    /// What the rules find: on the ground as surveyed and, where an option is given, on its measures.
    Check {
        /// The option.
        option: Option<u32>,
    },
    /// Measures of a kind put forward.
    Suggest(Suggest),
    /// What the next pound buys most of.
    Spend {
        /// Pounds.
        budget_gbp: f64,
    },
    /// The works of an option: tasks, days, crews, money.
    Works {
        /// The option.
        option: u32,
        /// First day of the works; left out: the plan's day or today, whichever is later.
        from: Option<chrono::NaiveDate>,
    },
    /// Numbers of birds ahead and the network of leks.
    Birds {
        /// Options beside as now; none named: every option of the plan; 0 alone: as now only.
        #[serde(default)]
        options: Vec<u32>,
    },
    /// What the dawn counts say.
    Trend {},
    /// Next spring's dawns.
    Dawns {
        /// Where the observers start from, a grid reference; left out: nothing is said of the way.
        base: Option<String>,
        /// The spring; left out: the next one.
        season: Option<i32>,
    },
    /// What the visits found and probably missed.
    Found {},
    /// Before and after at leks whose ground was worked.
    After {},
    /// A figure or a rule: method, source, grade.
    Explain {
        /// Key of a figure, a rule or a kind of measure.
        of: String,
    },
    /// The hand-over, written as files of the job.
    Handover {
        /// The option handed over; left out: the ground alone.
        option: Option<u32>,
        /// Give lek places exactly.
        #[serde(default)]
        show_leks: bool,
        /// First day of the works.
        from: Option<chrono::NaiveDate>,
    },
}

/// Seconds a choice usually takes at most: a designer stops then with the best it has.
pub const LOOKS_S: f64 = 10.0;

/// What is asked of a designer.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Suggest {
    /// `wood`, `heather`, `grazing`, `water` or `fence`.
    pub kind: String,
    /// The option the measures are meant for.
    pub option: u32,
    /// The most ground, hectares (wood).
    pub ha: Option<f64>,
    /// The most money, pounds (wood, water, fence).
    pub budget_gbp: Option<f64>,
    /// Years planned (heather).
    pub years: Option<u32>,
    /// The most measures (water, fence).
    pub most: Option<usize>,
    /// Cut with a tracked machine (heather).
    #[serde(default)]
    pub tracked: bool,
    /// Seconds the choice may take; left out: what is usual (wood, heather).
    pub seconds: Option<f64>,
}

/// How a job stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum JobState {
    /// Others are before it.
    Waiting,
    /// It is being worked on.
    Working,
    /// Done: `answer` holds the document.
    Done,
    /// It could not be done: `faults` say why.
    Failed,
    /// Somebody stopped it.
    Stopped,
}

/// A job.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct Job {
    /// Its number in this run of the desk.
    pub id: u64,
    /// What was asked.
    pub ask: Ask,
    /// How it stands.
    pub state: JobState,
    /// What is being done now, in a few words.
    pub now: String,
    /// Seconds it has taken so far.
    pub seconds: f64,
    /// The version of the plan it was asked of.
    pub version: u64,
    /// Why it failed.
    pub faults: Vec<String>,
    /// The document, once it is done.
    pub answer: Option<serde_json::Value>,
    /// Measures put forward, to be laid with an edit `lay` that names this job.
    pub measures: usize,
    /// Files made, fetched at `/api/jobs/ID/files/NAME`.
    pub files: Vec<JobFile>,
}

/// A file a job made.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct JobFile {
    /// Its name, such as `gis/measures.gpkg`.
    pub name: String,
    /// Its size, bytes.
    pub bytes: usize,
}

/// Keep the files of a job.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Keep {
    /// Name of the new folder, beside the plan.
    pub folder: String,
}

/// Files that were kept.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Kept {
    /// The folder, beside the plan.
    pub folder: String,
    /// What is in it.
    pub files: Vec<JobFile>,
}
