//! Edits: each is one step of the plan, can be taken back, and says which version of the plan it was made on.

use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use utoipa::ToSchema;

/// One thing done to the plan.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(tag = "do", rename_all = "snake_case", deny_unknown_fields)]
pub enum Edit {
    /// Add a measure, or change the one with its id. An id left out is given by the desk.
    PutMeasure(MeasureDraft),
    /// Take measures out.
    DropMeasures {
        /// Their ids.
        ids: Vec<String>,
    },
    /// Lay the measures a job put forward.
    Lay {
        /// The job.
        job: u64,
    },
    /// Add an option; its number is the next free one.
    AddOption {
        /// Name.
        name: String,
        /// An option whose measures are taken along.
        copy_of: Option<u32>,
    },
    /// Name an option anew.
    NameOption {
        /// Its number.
        number: u32,
        /// Name.
        name: String,
    },
    /// Take an option out with its measures.
    DropOption {
        /// Its number.
        number: u32,
    },
    /// Add a visit to a lek, or change the one with its id.
    PutVisit(VisitDraft),
    /// Take a visit out.
    DropVisit {
        /// Its id.
        id: String,
    },
    /// Change what is written of a feature of the survey: its columns of the plan file, by name. Shapes go with `geometry`.
    SetFeature {
        /// Layer of the plan file, such as `patches`; `sticks` and `probes` are its stick heights and peat probes.
        layer: String,
        /// Its id; an unknown id adds a feature.
        id: String,
        /// Columns by name, such as `height_cm`; null empties one.
        #[serde(default)]
        set: BTreeMap<String, serde_json::Value>,
        /// Its new shape as a GeoJSON geometry; left out: as it is.
        geometry: Option<serde_json::Value>,
    },
    /// Take a feature of the survey out.
    DropFeature {
        /// Layer of the plan file.
        layer: String,
        /// Its id.
        id: String,
    },
}

/// A measure as the page sends it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct MeasureDraft {
    /// Its id; left out: a new one.
    pub id: Option<String>,
    /// The option it is of.
    pub option: u32,
    /// Kind, such as `wood`.
    pub kind: String,
    /// Calendar year it begins; left out: the year after the plan's day.
    pub year: Option<i32>,
    /// Area or line as a GeoJSON geometry in the plan's coordinates; null where the kind needs none.
    pub geometry: Option<serde_json::Value>,
    /// Facts by name.
    #[serde(default)]
    pub facts: BTreeMap<String, serde_json::Value>,
}

/// A visit to a lek.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct VisitDraft {
    /// Its id; left out: a new one.
    pub id: Option<String>,
    /// Lek by id.
    pub lek: String,
    /// Day.
    pub date: chrono::NaiveDate,
    /// Clock time the count began, `HH:MM`.
    pub start: Option<String>,
    /// Displaying cocks.
    pub cocks: Option<u32>,
    /// Hens.
    pub hens: Option<u32>,
    /// Who counted.
    #[serde(default)]
    pub observer: String,
    /// Weather in words.
    #[serde(default)]
    pub weather: String,
    /// Note.
    #[serde(default)]
    pub note: String,
}

/// An edit with the version it was made on.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EditRequest {
    /// The version of the plan the page had.
    pub version: u64,
    /// What is done. Several go in one step, and are taken back together.
    #[schema(min_items = 1, max_items = 500)]
    pub edits: Vec<Edit>,
    /// A word of its own for this request, made by the page: sent twice, it is done once.
    #[schema(min_length = 1, max_length = 100)]
    pub once: Option<String>,
}

/// Take back, or do again.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Turn {
    /// The version of the plan the page had.
    pub version: u64,
}

/// What an edit did.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Edited {
    /// The version of the plan now.
    pub version: u64,
    /// What was done, in words: what `undo` takes back.
    pub label: String,
    /// Ids of what was added or changed.
    pub ids: Vec<String>,
    /// What is touched: `measures`, `options`, `survey`, `birds`.
    pub touched: Vec<Touched>,
    /// Where other windows changed the plan meanwhile without touching the same things: how many edits were theirs.
    pub others: u64,
    /// What was put right on the way, such as an outline that crossed itself.
    pub notes: Vec<String>,
}

/// A part of the plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum Touched {
    /// Measures.
    Measures,
    /// Options.
    Options,
    /// The ground as surveyed.
    Survey,
    /// Visits and broods.
    Birds,
    /// Facts about the plan, crews, rates.
    About,
}

/// What stands in the way of a request, every fault at once. Sent with every status of 400 and above as `application/problem+json`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Problem {
    /// What kind of trouble: `bad_request`, `no_key`, `forbidden`, `refused`, `not_found`, `wrong_method`, `wrong_type`, `changed`, `too_large`,
    /// `taken`, `failed`.
    pub kind: String,
    /// In one sentence.
    pub title: String,
    /// Every fault: what, where, needed, found, hint.
    pub faults: Vec<ProblemFault>,
    /// With `changed`: the version of the plan now.
    pub version: Option<u64>,
    /// With `changed`: what others changed of the same things, in words.
    pub theirs: Vec<String>,
}

/// One fault.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct ProblemFault {
    /// Where: a field, a fact, a row.
    pub at: String,
    /// What was needed.
    pub needed: String,
    /// What was found.
    pub found: String,
    /// What to do.
    pub hint: String,
}
