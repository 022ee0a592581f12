//! Sun times against independent ephemerides.

#![allow(clippy::unwrap_used, reason = "a test may stop")]

use birds::sun::{SunTimes, times};
use chrono::{DateTime, NaiveDate, NaiveTime, Utc};

fn rows(text: &'static str) -> impl Iterator<Item = Vec<&'static str>> {
    text.lines().skip(1).filter(|l| !l.is_empty()).map(|l| l.split(',').collect())
}

/// Seconds between a moment and a printed time of the same day.
fn apart(found: Option<DateTime<Utc>>, date: NaiveDate, printed: &str) -> i64 {
    let wanted = date.and_time(printed.parse::<NaiveTime>().unwrap()).and_utc();
    (found.unwrap() - wanted).num_seconds().abs()
}

fn place(row: &[&str]) -> (NaiveDate, f64, f64) {
    (row[3].parse().unwrap(), row[2].parse().unwrap(), row[1].parse().unwrap())
}

/// Skyfield 1.55 with the DE421 ephemeris, five British sites by eight days: sunrise, sunset and civil twilight
/// (tests/data/sun_times_utc.csv); SPA (Reda & Andreas 2004, pvlib 0.16.1) for sunrise and sunset.
#[test]
fn times_at_five_sites_on_eight_days_are_within_five_seconds() {
    let mut n = 0;
    for row in rows(include_str!("data/sun_times_utc.csv")) {
        let (date, lon, lat) = place(&row);
        let sun = times(date, lon, lat);
        for (found, column) in [(sun.civil_dawn, 4), (sun.sunrise, 5), (sun.sunset, 6), (sun.civil_dusk, 7), (sun.sunrise, 12), (sun.sunset, 13)] {
            assert!(apart(found, date, row[column]) <= 5, "{row:?} column {column}: {found:?}");
            n += 1;
        }
    }
    assert_eq!(n, 240);
}

/// Four further places and days in the same ephemeris (tests/data/sunrise_utc_expected.csv, last column).
#[test]
fn sunrise_at_four_places_is_within_five_seconds() {
    let mut n = 0;
    for row in rows(include_str!("data/sunrise_utc_expected.csv")) {
        let (date, lon, lat) = place(&row);
        assert!(apart(times(date, lon, lat).sunrise, date, row[6]) <= 5, "{row:?}");
        n += 1;
    }
    assert_eq!(n, 16);
}

/// The worked day of Reda & Andreas 2004: 17 October 2003 at 39.742476 N, 105.1786 W; sunrise 06:12:43, sunset 17:20:19,
/// seven hours behind universal time (the times from memory and from pvlib 0.16.1). Their day is the universal one: the
/// sunset printed falls at 00:20:19 on the 17th, which by the clock there is the evening of the 16th.
#[test]
fn the_worked_day_far_from_greenwich_is_within_five_seconds() {
    let date = NaiveDate::from_ymd_opt(2003, 10, 17).unwrap();
    let sun = |date| times(date, -105.1786, 39.742_476);
    assert!(apart(sun(date).sunrise, date, "13:12:43") <= 5, "{:?}", sun(date).sunrise);
    let evening_before = sun(date.pred_opt().unwrap()).sunset;
    assert!(apart(evening_before, date, "00:20:19") <= 5, "{evening_before:?}");
}

/// At 56.7 N, 3.9 W on 20 April 2025 the 50-minute rule gives 04:55:07 and 6 degrees gives 04:12:46 (Skyfield, DE421).
#[test]
fn the_altitude_rule_is_fifty_minutes_of_arc() {
    let date = NaiveDate::from_ymd_opt(2025, 4, 20).unwrap();
    let sun = times(date, -3.9, 56.7);
    assert!(apart(sun.sunrise, date, "04:55:07") <= 2);
    assert!(apart(sun.civil_dawn, date, "04:12:46") <= 2);
}

#[test]
fn where_the_sun_does_not_cross_the_altitude_there_is_no_time() {
    let at = |m, d, lat| times(NaiveDate::from_ymd_opt(2025, m, d).unwrap(), 19.0, lat);
    let none = |s: &SunTimes| (s.civil_dawn.is_none(), s.sunrise.is_none(), s.sunset.is_none(), s.civil_dusk.is_none());
    assert_eq!(none(&at(6, 21, 70.0)), (true, true, true, true), "midnight sun");
    assert_eq!(none(&at(12, 21, 70.0)), (false, true, true, false), "noon twilight");
    assert_eq!(none(&at(12, 21, 80.0)), (true, true, true, true), "polar night");
    // At midsummer the sun goes down to -6.06 degrees at 60.5 N and to -5.56 at 61 N: the last place with a civil night.
    assert_eq!(none(&at(6, 21, 60.5)), (false, false, false, false));
    assert_eq!(none(&at(6, 21, 61.0)), (true, false, false, true));
    assert_eq!(none(&at(6, 21, f64::NAN)), (true, true, true, true));
}

#[test]
fn the_events_of_a_day_come_in_order_wherever_they_happen() {
    for lon in (-180..=180).step_by(30) {
        for lat in (-60..=60).step_by(10) {
            for month in 1..=12 {
                let s = times(NaiveDate::from_ymd_opt(2026, month, 15).unwrap(), f64::from(lon), f64::from(lat));
                let order = [s.civil_dawn.unwrap(), s.sunrise.unwrap(), s.noon, s.sunset.unwrap(), s.civil_dusk.unwrap()];
                assert!(order.is_sorted(), "{lon} {lat} {month} {order:?}");
                assert!(order[4] - order[0] < chrono::Duration::hours(24));
            }
        }
    }
}
