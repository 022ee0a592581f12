//! What goes over the socket at `/api/live`: the pen moves, the year sheet answers; the plan changes, every page hears.

use super::ask::Job;
use super::edit::{Edited, MeasureDraft, ProblemFault};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// From the page.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(tag = "say", rename_all = "snake_case", deny_unknown_fields)]
pub enum FromPage {
    /// The measure under the pen. The newest stroke alone is answered; older ones that wait are dropped.
    Stroke {
        /// Rises with every stroke; comes back with the answer.
        stroke: u64,
        /// Year the sheet shows.
        year: u32,
        /// The measure as it would be. With an id, in place of the one in the plan.
        measure: MeasureDraft,
    },
    /// The pen is lifted or the stroke given up.
    Lifted {},
}

/// To the page.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
#[serde(tag = "say", rename_all = "snake_case")]
pub enum ToPage {
    /// The year sheet with the stroke, at the middle of every figure; the spread comes when the measure is laid.
    Stroked {
        /// The stroke answered.
        stroke: u64,
        /// Supply of leks and seasons at the middle, usable hectares, in the order of the year sheet.
        supply_ha: Vec<[f64; 7]>,
        /// The same as the plan stands, before the stroke: what the sheet shows moves by the difference of the two.
        without_ha: Vec<[f64; 7]>,
        /// Need at the middle, hectares.
        need_ha: Vec<[f64; 7]>,
        /// Area of what is drawn, hectares.
        area_ha: Option<f64>,
        /// Length of what is drawn, metres.
        length_m: Option<f64>,
        /// Usual cost, pounds.
        gbp: f64,
        /// What the sheet cannot show of it, in words.
        note: Option<String>,
        /// What is wrong with it as drawn.
        faults: Vec<ProblemFault>,
        /// Milliseconds the desk took.
        took_ms: f64,
    },
    /// The plan changed, here or in another window.
    Changed(Edited),
    /// A job went on.
    Job(Job),
    /// Something came from the field page.
    Field {
        /// Entries waiting to be looked at.
        waiting: usize,
    },
    /// The stroke could not be answered.
    Trouble {
        /// The stroke.
        stroke: u64,
        /// Every fault.
        faults: Vec<ProblemFault>,
    },
}
