//! A plan told so that nobody can reckon from it how far a lek lies from a base, a stop or another lek. Minutes of a way, along a
//! straight line at a pace that is printed, draw a ring round a stop; bands of minutes only make it broader, and several of them meet.
//! So no way is told at all, nor any time that hangs on one:
//!
//! - who goes where on which morning is told, and when the first lek of an outing is watched, which hangs on nothing but the sun;
//! - at a later lek, when hours of counting close;
//! - times that follow from the sun, to five minutes.
//!
//! What is left is the plan itself: that leks share an outing, or that one cannot be reached, says that a way keeps within the limits
//! of the rules, or does not.

use super::reason::Reason;
use super::record::{DawnPlan, DawnVisit};
use chrono::{NaiveDateTime, TimeDelta, Timelike};

/// Times of day are told to so many minutes.
const ROUND_MIN: u32 = 5;

/// Take every way out of a plan, and every time that hangs on one.
pub fn withhold(plan: &mut DawnPlan) {
    for outing in plan.mornings.iter_mut().flat_map(|morning| &mut morning.outings) {
        (outing.leave_base, outing.back_at_base, outing.driving_min, outing.walking_min) = (None, None, None, None);
        outing.visits.iter_mut().enumerate().for_each(|(place, visit)| withhold_visit(visit, place == 0));
    }
    (plan.effort.travel_min, plan.bound.travel_min) = (None, None);
    for missed in &mut plan.missed {
        match &mut missed.reason {
            Reason::WalkTooLong { walk_min: min, .. } | Reason::TooFar { way_min: min, .. } => *min = None,
            Reason::NoMorning { .. } | Reason::NoSunrise | Reason::HoursTooShort { .. } | Reason::Crowded { .. } => {}
        }
    }
}

fn withhold_visit(visit: &mut DawnVisit, first: bool) {
    (visit.walk_back_min, visit.drive_min, visit.walk_min, visit.park_at) = (None, None, None, None);
    let watch = visit.watch_until.zip(visit.watch_from).map(|(until, from)| until - from);
    // Rounded so that whoever keeps to them is in place early enough, and watches within hours.
    visit.hours_close = earlier(visit.hours_close);
    visit.sunrise = earlier(visit.sunrise + TimeDelta::minutes(i64::from(ROUND_MIN / 2)));
    visit.arrive_by = visit.arrive_by.filter(|_| first).map(earlier);
    visit.watch_from = visit.watch_from.filter(|_| first).map(|from| earlier(from + TimeDelta::minutes(i64::from(ROUND_MIN) - 1)));
    visit.watch_until = visit.watch_from.zip(watch).map(|(from, watch)| from + watch);
}

/// The five minutes a time falls in.
fn earlier(time: NaiveDateTime) -> NaiveDateTime {
    time - TimeDelta::minutes(i64::from(time.minute() % ROUND_MIN))
}
