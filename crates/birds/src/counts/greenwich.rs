//! Starts that look like Greenwich time, though they are written as the clock's: an hour too early all over the file.

use crate::clock;
use crate::visits::{Window, minutes_after_sunrise, place_of};
use guidance::Guidance;
use holding::import::{Features, Imported};
use holding::{Holding, KnownTo, Lek, Visit};
use std::collections::HashMap;
use std::fmt;

/// Fewer visits tell nothing; the program's own limit.
const FEWEST: usize = 5;

/// Visits in summer time whose starts fit sunrise better with an hour added.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LooksGreenwich {
    /// Visits looked at: those in summer time with a day, a start and a place.
    pub visits: usize,
    /// Of these, begun within the hours of counting as they stand.
    pub in_hours: usize,
    /// Begun within them with an hour added.
    pub in_hours_later: usize,
}

impl fmt::Display for LooksGreenwich {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { visits, in_hours, in_hours_later } = self;
        write!(
            f,
            "starts look like Greenwich time: of {visits} in summer time {in_hours} lie within the hours of counting, with an hour added {in_hours_later}; \
             write GMT behind them where they are"
        )
    }
}

/// Look at the starts of visits. `place`: longitude and latitude of a lek by its id, degrees.
///
/// `None` where they do not look like Greenwich time: fewer than three quarters would be in time with an hour added, or
/// half are in time as they stand.
pub fn looks_greenwich<'v>(
    visits: impl Iterator<Item = &'v Visit>,
    place: impl Fn(&str) -> Option<(f64, f64)>,
    window: &Window,
) -> Option<LooksGreenwich> {
    let mut found = LooksGreenwich { visits: 0, in_hours: 0, in_hours_later: 0 };
    for visit in visits.filter(|v| v.known_to == KnownTo::Day) {
        let summer = visit.start.and_then(|start| clock::moment(visit.date.and_time(start))).is_some_and(clock::is_summer_time);
        let Some(after_min) = place(&visit.lek).filter(|_| summer).and_then(|place| minutes_after_sunrise(visit, place)) else { continue };
        found.visits += 1;
        found.in_hours += usize::from(window.in_hours(after_min));
        found.in_hours_later += usize::from(window.in_hours(after_min + 60));
    }
    let LooksGreenwich { visits, in_hours, in_hours_later } = found;
    (visits >= FEWEST && 2 * in_hours < visits && 4 * in_hours_later >= 3 * visits).then_some(found)
}

/// A word on visits of a file whose starts look like Greenwich time; the sun is known on the British grid.
pub fn greenwich(read: &Imported, holding: &Holding, guidance: &Guidance) -> Option<String> {
    let Features::Visits(visits) = &read.features else { return None };
    let leks: HashMap<&str, &Lek> = holding.leks.iter().map(|l| (l.id.as_str(), l)).collect();
    let place_of = place_of(holding);
    let place = |id: &str| leks.get(id).and_then(|lek| place_of(lek));
    let window = Window::of(guidance, holding.about.country).ok()?;
    looks_greenwich(visits.iter(), place, &window).map(|found| found.to_string())
}
