//! The year sheet: leks down, the seven seasons across, supply against need in every cell.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// Tenth, half and nine tenths of the draws.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Spread {
    /// Tenth.
    pub p10: f64,
    /// Half.
    pub p50: f64,
    /// Nine tenths.
    pub p90: f64,
}

/// One season of one lek.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct SeasonCell {
    /// Key of the season, in calendar order from display.
    pub season: String,
    /// Usable hectares.
    pub supply_ha: Spread,
    /// Hectares needed.
    pub need_ha: Spread,
    /// Supply over need.
    pub margin: Spread,
    /// Need less supply, draw by draw, hectares; nought in a draw that finds enough.
    pub missing_ha: Spread,
    /// Draws that are short, a share of all, 0 to 1.
    pub short: f64,
}

/// One lek's year.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct LekYear {
    /// Lek.
    pub lek: String,
    /// Seven seasons.
    pub seasons: Vec<SeasonCell>,
    /// Key of the season that is scarcest.
    pub pinch: String,
}

/// The year sheet of one course in one year.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct YearSheet {
    /// The version of the plan it was worked out of.
    pub version: u64,
    /// The option; null: as now, nothing done.
    pub option: Option<u32>,
    /// Years ahead; 0: as surveyed.
    pub year: u32,
    /// Calendar year, where the plan has a day.
    pub calendar: Option<i32>,
    /// Leks.
    pub leks: Vec<LekYear>,
    /// Titles of the seasons by key, in order: what the page calls them and when they are.
    pub seasons: Vec<SeasonTitle>,
    /// Draws.
    pub draws: usize,
    /// Milliseconds the desk took.
    pub took_ms: f64,
}

/// A season.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct SeasonTitle {
    /// Key.
    pub key: String,
    /// Title.
    pub title: String,
    /// Months, such as `Apr-May`.
    pub months: String,
    /// What birds seek then, one sentence.
    pub wants: String,
}
