//! Files brought in: looked at first, understood column by column, put in whole or not at all.

use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use utoipa::ToSchema;

/// A file that was sent, not yet in the plan.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct Upload {
    /// Its number in this run of the desk.
    pub id: u64,
    /// Its name as sent.
    pub name: String,
    /// Size, bytes.
    pub bytes: usize,
    /// Format in words; empty where it was not recognised.
    pub format: String,
    /// Layers or sheets in it.
    pub layers: Vec<String>,
}

/// How a file would be understood.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ImportRequest {
    /// The upload.
    pub upload: u64,
    /// Kind of feature, such as `patches`.
    pub kind: String,
    /// Layer or sheet of the file; left out: its only one.
    pub layer: Option<String>,
    /// Columns by field, over what was guessed; `-` leaves a field out, and `column:unit` says the unit.
    #[serde(default)]
    pub map: BTreeMap<String, String>,
    /// EPSG number of the file's coordinates, where it does not say.
    pub epsg: Option<u32>,
    /// Take the place of what is there of this kind, instead of joining it.
    #[serde(default)]
    pub replace: bool,
    /// Visits: make the leks that the places of the birds put forward.
    #[serde(default)]
    pub make_leks: bool,
    /// Visits, broods: leave out rows that cannot be used, instead of refusing the file.
    #[serde(default)]
    pub leave_out: bool,
    /// Only look: tell what would come in and leave the plan as it is.
    #[serde(default)]
    pub look_only: bool,
    /// The version of the plan the page had.
    pub version: u64,
    /// A word of its own for this request, made by the page: sent twice, it is done once.
    pub once: Option<String>,
}

/// What an import would do, or did.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct Imported {
    /// How every field was understood.
    pub fields: Vec<FieldGuess>,
    /// Columns that are not used; they are kept with the features.
    pub unused: Vec<String>,
    /// Every column of the file.
    pub columns: Vec<String>,
    /// Where the places come from and in which coordinates, in words; empty where there are none.
    pub places: String,
    /// The first rows as they would stand in the plan, shown on the ground.
    pub preview: Vec<PreviewRow>,
    /// How many features.
    pub features: usize,
    /// What was put right, and what to know.
    pub notes: Vec<String>,
    /// Everything that keeps it out; empty where it can come in.
    pub faults: Vec<super::edit::ProblemFault>,
    /// The version of the plan after; null where it was only looked at or kept out.
    pub version: Option<u64>,
}

/// How a field was understood.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct FieldGuess {
    /// Field.
    pub field: String,
    /// What it is, with its unit.
    pub what: String,
    /// Column of the file; null: none.
    pub column: Option<String>,
    /// Whether it was guessed, rather than told.
    pub guessed: bool,
    /// Whether it must be there.
    pub needed: bool,
    /// Whether it is measured, so that its column may be in another unit.
    pub measured: bool,
}

/// A row as it would stand in the plan.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct PreviewRow {
    /// Values by field, in words.
    pub values: BTreeMap<String, String>,
    /// Where, GeoJSON in the plan's coordinates.
    pub geometry: Option<serde_json::Value>,
}

/// A new plan.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NewPlan {
    /// Name of the file in the desk's folder, without folders, such as `hill`.
    pub file: String,
    /// Name of the holding.
    pub name: String,
    /// Country.
    pub country: String,
    /// Upload of the boundary.
    pub boundary: u64,
    /// Uploads of the heights.
    pub heights: Vec<u64>,
    /// The day of the survey; left out: today.
    pub as_at: Option<chrono::NaiveDate>,
    /// EPSG number of the plan's coordinates, projected, metres; left out: the national grid.
    pub epsg: Option<u32>,
    /// Layer of the boundary's file; left out: its only one.
    pub layer: Option<String>,
}

/// A plan to be opened.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct OpenPlan {
    /// Name of the file in the desk's folder.
    pub file: String,
}

/// A plan in the desk's folder.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct PlanFile {
    /// Name of the file.
    pub file: String,
    /// Name of the plan; empty where it could not be read.
    pub name: String,
    /// Whether it is the one that is open.
    pub open: bool,
    /// Why it cannot be opened; empty where it can.
    pub trouble: String,
}
