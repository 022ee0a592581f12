//! The plan as a page first sees it.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// The plan that is open.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct PlanState {
    /// Name of the file, without its folder.
    pub file: String,
    /// Name of the plan.
    pub name: String,
    /// Country in words.
    pub country: String,
    /// EPSG number of its coordinates.
    pub epsg: u32,
    /// Definition of its coordinates for the map, well-known text or a proj string.
    pub projection: String,
    /// The day of the survey.
    pub as_at: Option<chrono::NaiveDate>,
    /// Version: rises with every edit.
    pub version: u64,
    /// False where the file can only be read.
    pub writable: bool,
    /// What should be told about how the file was opened.
    pub notice: Option<String>,
    /// West, south, east, north, metres.
    pub extent: [f64; 4],
    /// Leks, in the running order of the year sheet.
    pub leks: Vec<LekState>,
    /// Options.
    pub options: Vec<OptionState>,
    /// How many features each layer has.
    pub layers: Vec<LayerCount>,
    /// What taking back would take back, in words; null where there is nothing.
    pub undo: Option<String>,
    /// What doing again would do.
    pub redo: Option<String>,
    /// Edition of the guidance.
    pub guidance_edition: String,
    /// Draws of the ledger.
    pub draws: usize,
    /// Cell of the grids, metres.
    pub cell_m: f64,
    /// What the plan lacks for the ledger, in words, with what to do; empty where it can be worked out.
    pub lacks: Vec<String>,
}

/// A lek.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct LekState {
    /// Its id.
    pub id: String,
    /// Name.
    pub name: String,
    /// Easting and northing, metres.
    pub at: [f64; 2],
    /// Cocks the ground should carry.
    pub target_cocks: u32,
    /// Cocks of the latest valid count, and its year.
    pub last_count: Option<LastCount>,
}

/// A count.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct LastCount {
    /// Year.
    pub year: i32,
    /// Cocks.
    pub cocks: u32,
}

/// An option.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct OptionState {
    /// Its number.
    pub number: u32,
    /// Name.
    pub name: String,
    /// Note.
    pub note: String,
    /// Measures in it.
    pub measures: usize,
    /// Low, usual and high cost, pounds, undiscounted, grants not taken off.
    pub gbp: [f64; 3],
    /// What is wrong with its measures, in words.
    pub faults: Vec<String>,
}

/// How many features a layer has.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct LayerCount {
    /// Layer of the plan file.
    pub layer: String,
    /// Features.
    pub features: usize,
}

/// A measure with what it comes to.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct MeasureState {
    /// Its id.
    pub id: String,
    /// Option.
    pub option: u32,
    /// Kind.
    pub kind: String,
    /// Title of the kind, with its work.
    pub title: String,
    /// Calendar year it begins.
    pub year: Option<i32>,
    /// GeoJSON geometry in the plan's coordinates; null where it has none.
    pub geometry: Option<serde_json::Value>,
    /// Facts by name.
    pub facts: serde_json::Value,
    /// Area, hectares; null for lines.
    pub area_ha: Option<f64>,
    /// Length, metres; null for areas.
    pub length_m: Option<f64>,
    /// Low, usual and high cost, pounds.
    pub gbp: [f64; 3],
    /// When it may be done, in words.
    pub window: String,
    /// What it can harm.
    pub harm: Vec<String>,
    /// Cautions.
    pub cautions: Vec<String>,
    /// What is wrong with it.
    pub faults: Vec<String>,
}

/// A kind of measure.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct KindState {
    /// Key.
    pub key: String,
    /// Title.
    pub title: String,
    /// What it is, where it may go, in plain words.
    pub explain: String,
    /// What is drawn: `area`, `line`, `either` or `nothing` (it works on a named feature).
    pub draws: String,
    /// Whether a designer can put it forward.
    pub suggests: bool,
    /// Seconds the choice among places usually takes, at most; null where it takes what it takes.
    pub looks_s: Option<f64>,
    /// Facts it knows.
    pub facts: Vec<FactState>,
    /// Cautions.
    pub cautions: Vec<String>,
}

/// A fact a kind knows.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct FactState {
    /// Name.
    pub name: String,
    /// What it is, with its unit.
    pub what: String,
    /// `number`, `choice`, `text`, `table` (numbers by name), `feature` (the id of a feature of the layer it is named after).
    pub form: String,
    /// Least, for numbers.
    pub from: Option<f64>,
    /// Greatest, for numbers.
    pub to: Option<f64>,
    /// Choices, for choices.
    pub choices: Vec<String>,
    /// Usual value in words; empty where there is none.
    pub usual: String,
    /// Guidance key of the usual value, for `explain`; empty where it has none.
    pub usual_key: String,
    /// Whether it may be left out.
    pub may_be_left_out: bool,
}

/// A hit of a search through the plan, the figures, the rules and the help.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Hit {
    /// `feature`, `measure`, `lek`, `option`, `figure`, `rule`, `kind`.
    pub what: String,
    /// Layer, for features.
    pub layer: Option<String>,
    /// Id or key.
    pub id: String,
    /// What it is called.
    pub name: String,
    /// One line about it.
    pub words: String,
}

/// A finding of a rule.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct FindingState {
    /// The rule's key, for `explain`.
    pub rule: String,
    /// `must`, `should` or `consider`.
    pub severity: String,
    /// What is wrong, in words.
    pub what: String,
    /// The value here, with its unit.
    pub here: String,
    /// What is needed, with its unit.
    pub needed: String,
    /// Why it matters.
    pub why: String,
    /// What to do.
    pub hint: String,
    /// Sources in words, each once, with the figures that stand on it.
    pub sources: Vec<FindingSource>,
    /// The measure or feature it sits on; empty where it sits on the whole plan.
    pub on: String,
    /// Where on the ground, GeoJSON in the plan's coordinates.
    pub geometry: Option<serde_json::Value>,
}

/// What a finding stands on.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct FindingSource {
    /// Keys of the guidance figures, for `explain`.
    pub figures: Vec<String>,
    /// The source, where in it, and how good it is; of what has no source, that.
    pub words: String,
}
