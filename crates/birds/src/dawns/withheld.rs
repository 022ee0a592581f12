//! A plan told so that nobody can reckon from it how far a lek lies from a base, a stop or another lek: minutes are the upper ends of
//! bands, and clock times that hang on them are reckoned from those. Hours of counting and the sun stay as they are.

use super::reason::Reason;
use super::record::{DawnPlan, Outing};
use chrono::{NaiveDateTime, TimeDelta};

/// Upper ends of the bands of minutes; beyond the last, whole hours.
const BANDS_MIN: [u32; 6] = [15, 30, 60, 90, 120, 180];

/// The upper end of the band that minutes lie in; nought stays nought.
pub fn band_min(minutes: u32) -> u32 {
    if minutes == 0 { 0 } else { BANDS_MIN.into_iter().find(|end| minutes <= *end).unwrap_or_else(|| minutes.div_ceil(60) * 60) }
}

/// Put bands in place of every minute of a plan, and of the times that hang on them.
pub fn withhold(plan: &mut DawnPlan) {
    plan.mornings.iter_mut().flat_map(|morning| &mut morning.outings).for_each(outing);
    // Sums are of the bands told: rounded by themselves they would cut the bands finer.
    let travel: u32 = plan.mornings.iter().flat_map(|morning| &morning.outings).map(|o| o.driving_min + o.walking_min).sum();
    plan.bound.travel_min = if plan.bound.travel_min == plan.effort.travel_min { i64::from(travel) } else { 0 };
    plan.effort.travel_min = i64::from(travel);
    for missed in &mut plan.missed {
        match &mut missed.reason {
            Reason::WalkTooLong { walk_min, .. } => *walk_min = None,
            Reason::TooFar { way_min, .. } => *way_min = None,
            _ => {}
        }
    }
}

fn outing(outing: &mut Outing) {
    let min = |minutes: u32| TimeDelta::minutes(i64::from(minutes));
    let mut ended: Option<NaiveDateTime> = None;
    for visit in &mut outing.visits {
        visit.walk_back_min = band_min(visit.walk_back_min);
        visit.drive_min = band_min(visit.drive_min);
        visit.walk_min = band_min(visit.walk_min);
        // The first lek is watched as soon as hours are open, whatever the way; the others after the way from the one before.
        if let Some(ended) = ended {
            let (settling, watching) = (visit.watch_from - visit.arrive_by, visit.watch_until - visit.watch_from);
            let there = ended + min(visit.walk_back_min + visit.drive_min + visit.walk_min);
            visit.arrive_by = there.min(visit.hours_close - watching - settling);
            visit.watch_from = visit.arrive_by + settling;
            visit.watch_until = visit.watch_from + watching;
        }
        visit.park_at = visit.park_at.map(|_| visit.arrive_by - min(visit.walk_min));
        ended = Some(visit.watch_until);
    }
    if let Some(first) = outing.visits.first() {
        outing.leave_base = first.arrive_by - min(first.drive_min + first.walk_min);
    }
    let home = outing.visits.last().map_or((0, 0), |last| (last.walk_min, outing.visits.iter().map(|v| v.drive_min).max().unwrap_or_default()));
    outing.driving_min = outing.visits.iter().map(|v| v.drive_min).sum::<u32>() + home.1;
    outing.walking_min = outing.visits.iter().map(|v| v.walk_back_min + v.walk_min).sum::<u32>() + home.0;
    outing.back_at_base = ended.map_or(outing.back_at_base, |ended| ended + min(home.0 + home.1));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn minutes_are_the_upper_ends_of_bands() {
        assert_eq!([0, 1, 15, 16, 30, 31, 61, 121, 180, 181, 9285].map(band_min), [0, 15, 15, 30, 30, 60, 90, 180, 180, 240, 9300]);
    }
}
