//! The hours of a lek on a morning: when counting opens and closes and when the observer must be in place.
//!
//! Hours are those of [`Rules::before_min`] and [`Rules::after_min`] round sunrise at the place ([`crate::sun`]), cut to whole minutes
//! inwards. An observer is in place the settling time before hours open or civil dawn, whichever is earlier: cocks come to a lek in
//! the last of the dark, and one who walks up once it is light puts them up. In Britain hours open before civil dawn all through the
//! windows; far north civil dawn comes first.

use super::rules::Rules;
use crate::sun;
use chrono::NaiveDate;

/// Minutes since 1 January 1970, universal time.
pub(super) type Minute = i64;

/// The hours of one lek on one morning.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Hours {
    /// In place by, when it is the first lek of the morning.
    pub(super) in_place: Minute,
    /// Hours open.
    pub(super) open: Minute,
    /// Sunrise, cut to the minute.
    pub(super) sunrise: Minute,
    /// Hours close.
    pub(super) close: Minute,
}

/// The hours at a place given as (longitude, latitude) in degrees; `None` where the sun does not rise.
pub(super) fn hours(date: NaiveDate, lon_lat_deg: (f64, f64), rules: &Rules) -> Option<Hours> {
    let sun = sun::times(date, lon_lat_deg.0, lon_lat_deg.1);
    let sunrise_s = sun.sunrise?.timestamp();
    let open_s = sunrise_s - 60 * rules.before_min;
    let light_s = sun.civil_dawn.map_or(open_s, |dawn| dawn.timestamp().min(open_s));
    Some(Hours {
        in_place: light_s.div_euclid(60) - rules.settle_min,
        open: (open_s + 59).div_euclid(60),
        sunrise: sunrise_s.div_euclid(60),
        close: (sunrise_s + 60 * rules.after_min).div_euclid(60),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use guidance::{Country, Guidance};

    /// At 56.7 N, 3.9 W on 20 April 2025 sunrise is 04:55:07 and civil dawn 04:12:46 universal time (Skyfield 1.55, DE421).
    #[test]
    fn hours_are_an_hour_either_side_and_in_place_is_before_them() {
        let rules = Rules::of(&Guidance::load().unwrap(), Country::GB).unwrap();
        let date = NaiveDate::from_ymd_opt(2025, 4, 20).unwrap();
        let found = hours(date, (-3.9, 56.7), &rules).unwrap();
        let at = |h, m| date.and_hms_opt(h, m, 0).unwrap().and_utc().timestamp() / 60;
        assert_eq!((found.open, found.sunrise, found.close), (at(3, 56), at(4, 55), at(5, 55)));
        assert_eq!(found.in_place, at(3, 55) - rules.settle_min);
        let narrow = hours(date, (-3.9, 56.7), &Rules { before_min: 30, ..rules.clone() }).unwrap();
        assert_eq!(narrow.in_place, at(4, 12) - rules.settle_min, "civil dawn is before hours of half an hour");
        assert_eq!(hours(NaiveDate::from_ymd_opt(2025, 6, 21).unwrap(), (19.0, 70.0), &rules), None);
    }
}
