//! Minutes of walking and driving where nobody has measured them.
//!
//! A straight line times a crookedness, at a speed. Walking takes Naismith's rule besides: an hour for 5 km and ten minutes for
//! every 100 m climbed, nothing for going down; in the dark it takes longer. The figures are `travel.*` of guidance, most of them
//! assumptions: a measured time is always better.
//!
//! Source: Naismith 1892, Scottish Mountaineering Club Journal 2:136 (from memory), in metres as hill walkers use it.

use super::ask::{LekSite, Minutes, Stop};
use guidance::{Country, Guidance, Unknown};

/// Speeds and crookedness.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pace {
    /// Walking on the level, km/h.
    pub walk_km_per_h: f64,
    /// More for climbing, minutes per 100 m.
    pub climb_min_per_100m: f64,
    /// Way walked against the straight line.
    pub walk_crookedness: f64,
    /// Minutes in the dark against minutes by day.
    pub dark: f64,
    /// Driving, km/h.
    pub drive_km_per_h: f64,
    /// Road against the straight line.
    pub drive_crookedness: f64,
}

impl Pace {
    /// The paces of a country.
    ///
    /// # Errors
    /// A key that guidance does not hold.
    pub fn of(guidance: &Guidance, country: Country) -> Result<Self, Unknown> {
        let number = |key| guidance.number(key, country);
        Ok(Self {
            walk_km_per_h: number("travel.walk.speed")?,
            climb_min_per_100m: number("travel.walk.climb")?,
            walk_crookedness: number("travel.walk.crookedness")?,
            dark: number("travel.walk.dark")?,
            drive_km_per_h: number("travel.drive.speed")?,
            drive_crookedness: number("travel.drive.crookedness")?,
        })
    }

    /// Minutes of walking a straight line of so many metres that climbs so many, by day, not rounded. Climbing below nought counts as none.
    pub fn day_walk_min(&self, straight_m: f64, climb_m: f64) -> f64 {
        self.walk_crookedness * straight_m / 1000.0 / self.walk_km_per_h * 60.0 + self.climb_min_per_100m * climb_m.max(0.0) / 100.0
    }

    /// Whole minutes of walking to a lek in the dark.
    pub fn walk_min(&self, straight_m: f64, climb_m: f64) -> u32 {
        up(self.dark * self.day_walk_min(straight_m, climb_m))
    }

    /// Whole minutes of driving.
    pub fn drive_min(&self, straight_m: f64) -> u32 {
        up(self.drive_crookedness * straight_m / 1000.0 / self.drive_km_per_h * 60.0)
    }

    /// Minutes between all places: bases (one for each observer) and stops by road, leks of one stop across the hill by day (as if
    /// level). The caller puts in what was measured.
    pub fn minutes(&self, bases: &[(f64, f64)], stops: &[Stop], leks: &[LekSite]) -> Minutes {
        let apart = |a: (f64, f64), b: (f64, f64)| (a.0 - b.0).hypot(a.1 - b.1);
        let road = |from: (f64, f64)| stops.iter().map(|to| self.drive_min(apart(from, to.at_m))).collect::<Vec<_>>();
        let across = |a: &LekSite, b: &LekSite| (a.stop == b.stop).then(|| up(self.day_walk_min(apart(a.at_m, b.at_m), 0.0)));
        Minutes {
            from_base: bases.iter().map(|base| road(*base)).collect(),
            between_stops: stops.iter().map(|stop| road(stop.at_m)).collect(),
            across: leks.iter().map(|a| leks.iter().map(|b| across(a, b)).collect()).collect(),
        }
    }
}

/// Whole minutes, up; a hair over a whole minute is that minute.
fn up(minutes: f64) -> u32 {
    (minutes - 1e-9).ceil().max(0.0) as u32
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pace() -> Pace {
        Pace::of(&Guidance::load().unwrap(), Country::GB).unwrap()
    }

    /// Naismith's own words (from memory): an hour for every three miles on the map, with an additional hour for every 2,000 feet of
    /// ascent. Six miles and 2,000 feet are three hours; the rule in metres is within 4 % of it.
    #[test]
    fn the_rule_in_metres_agrees_with_the_rule_in_miles() {
        let straight = Pace { walk_crookedness: 1.0, ..pace() };
        let minutes = straight.day_walk_min(6.0 * 1609.344, 2000.0 * 0.3048);
        assert!((minutes / 180.0 - 1.0).abs() < 0.04, "{minutes}");
    }

    #[test]
    fn going_down_takes_no_less_and_the_dark_takes_more() {
        let pace = pace();
        assert_eq!(pace.day_walk_min(1000.0, -200.0), pace.day_walk_min(1000.0, 0.0));
        assert_eq!(pace.walk_min(0.0, 0.0), 0);
        assert_eq!(f64::from(pace.walk_min(5000.0 / pace.walk_crookedness, 0.0)), 60.0 * pace.dark);
        assert_eq!(f64::from(pace.drive_min(1000.0 * pace.drive_km_per_h / pace.drive_crookedness)), 60.0);
    }

    #[test]
    fn only_leks_of_one_stop_are_reached_across_the_hill() {
        let stop = |id: &str, e| Stop { id: id.into(), name: id.into(), at_m: (e, 0.0) };
        let lek = |id: &str, e, stop| LekSite { id: id.into(), at_m: (e, 500.0), stop, ..LekSite::default() };
        let minutes = pace().minutes(&[(0.0, 0.0)], &[stop("s", 0.0), stop("t", 9000.0)], &[lek("a", 0.0, 0), lek("b", 800.0, 0), lek("c", 9000.0, 1)]);
        assert_eq!(minutes.across[0], [Some(0), Some(13), None]);
        assert_eq!(minutes.from_base, [[0, 17]]);
        assert_eq!(minutes.between_stops, [[0, 17], [17, 0]]);
    }
}
