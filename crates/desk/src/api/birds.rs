//! What was counted.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// A dawn visit to a lek.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct VisitState {
    /// Its id.
    pub id: String,
    /// Lek by id.
    pub lek: String,
    /// The lek as it is called.
    pub lek_name: String,
    /// Day; where only its month or year is known, the first of it.
    pub date: chrono::NaiveDate,
    /// How far the day is known: `day`, `month` or `year`.
    pub known_to: String,
    /// Clock time the count began, `HH:MM`.
    pub start: Option<String>,
    /// Cocks seen; null: visited, not counted.
    pub cocks: Option<u32>,
    /// Hens seen.
    pub hens: Option<u32>,
    /// Who counted.
    pub observer: String,
    /// Weather in words.
    pub weather: String,
    /// Note.
    pub note: String,
    /// Whether it counts towards the figure of its year.
    pub valid: bool,
    /// Why it does not, in words; empty where it does.
    pub why_not: String,
}
