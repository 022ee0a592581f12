//! A plan of dawns as it is handed over. Times are clock times in Great Britain ([`crate::clock`]). What is `None` by
//! [`super::withheld`] is not told.

use super::reason::Reason;
use chrono::{NaiveDate, NaiveDateTime};
use serde::{Deserialize, Serialize};

/// A spring's dawns.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct DawnPlan {
    /// What it is of.
    pub of: String,
    /// The year.
    pub year: i32,
    /// Mornings, in order.
    pub mornings: Vec<Morning>,
    /// Visits that could not be planned.
    pub missed: Vec<Missed>,
    /// Usable mornings of the windows that are left for bad weather.
    pub spare: Vec<NaiveDate>,
    /// How much it takes.
    pub effort: Effort,
    /// No plan takes less; the figures after the first that differs from `effort` are not worked out and stand at nought.
    pub bound: Effort,
    /// No plan takes less than this one.
    pub proven: bool,
    /// How to come up to a lek without putting the birds up.
    pub quiet: Vec<String>,
    /// Stops that are too near to a lek.
    pub stops_too_near: Vec<StopTooNear>,
    /// What anyone alone at dawn is told.
    pub cautions: Vec<String>,
}

/// What a plan takes; one plan takes less than another when the first of these that differs is less.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Effort {
    /// Visits that are not made, of two to each lek.
    pub missed: i64,
    /// Dates on which anyone goes out.
    pub mornings: i64,
    /// Mornings of one observer.
    pub outings: i64,
    /// Driving and walking, minutes; `None` where ways are withheld.
    pub travel_min: Option<i64>,
}

/// A date on which someone goes out.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Morning {
    /// The date.
    pub date: NaiveDate,
    /// Who goes out.
    pub outings: Vec<Outing>,
}

/// One observer's morning.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Outing {
    /// Who.
    pub observer: String,
    /// From where and back to.
    pub base: String,
    /// Leave base at; `None` where ways are withheld.
    pub leave_base: Option<NaiveDateTime>,
    /// Visits in their order.
    pub visits: Vec<DawnVisit>,
    /// Back at base at, if nobody stays on; `None` where ways are withheld.
    pub back_at_base: Option<NaiveDateTime>,
    /// Driving of the whole outing, minutes; `None` where ways are withheld.
    pub driving_min: Option<u32>,
    /// Walking of the whole outing, minutes; `None` where ways are withheld.
    pub walking_min: Option<u32>,
}

impl Outing {
    /// When it begins, as far as it is told: on leaving base, else in place at the first lek.
    pub fn begins(&self) -> Option<NaiveDateTime> {
        self.leave_base.or_else(|| self.visits.first()?.arrive_by)
    }
}

/// One visit.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct DawnVisit {
    /// The lek's id.
    pub lek_id: String,
    /// The lek's name.
    pub lek: String,
    /// First or second visit: 1 or 2.
    pub visit: u8,
    /// The stop's name.
    pub stop: String,
    /// Minutes of walking back from the lek before to the vehicle; `None` where ways are withheld.
    pub walk_back_min: Option<u32>,
    /// Minutes of driving to the stop; `None` where ways are withheld.
    pub drive_min: Option<u32>,
    /// Park at; `None` where the way is on foot from the lek before, or ways are withheld.
    pub park_at: Option<NaiveDateTime>,
    /// Minutes of walking to the lek; `None` where ways are withheld.
    pub walk_min: Option<u32>,
    /// In place by; `None` at a later lek where ways are withheld, as the two times that follow.
    pub arrive_by: Option<NaiveDateTime>,
    /// Watch from.
    pub watch_from: Option<NaiveDateTime>,
    /// Watch until.
    pub watch_until: Option<NaiveDateTime>,
    /// Sunrise at the lek, to the minute.
    pub sunrise: NaiveDateTime,
    /// Hours of counting close there.
    pub hours_close: NaiveDateTime,
}

/// A visit that could not be planned.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Missed {
    /// The lek's id.
    pub lek_id: String,
    /// The lek's name.
    pub lek: String,
    /// First or second visit: 1 or 2.
    pub visit: u8,
    /// Why.
    pub reason: Reason,
}

/// A stop from which a vehicle would be too near to a lek.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct StopTooNear {
    /// The stop's name.
    pub stop: String,
    /// The lek's id.
    pub lek_id: String,
    /// The lek's name.
    pub lek: String,
    /// From the stop to the edge of the lek, metres; nought inside it.
    pub metres: f64,
    /// Least allowed, metres.
    pub needed_m: f64,
}
