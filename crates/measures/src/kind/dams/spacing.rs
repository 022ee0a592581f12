//! How far apart dams stand: one for each drop of the ground, never nearer and never farther than a clamp.
//!
//! Source: Scottish Rural Priorities, "Peat Dam": one dam for each 20 cm of fall, 25 m apart on average, never more than 50 m;
//! number of dams on a graded channel L (Si - Se) / h as on a public page of stormwater practice. Figures are the caller's.

use super::profile::Profile;

/// How dams are spaced.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spacing {
    /// Fall of the ground from one dam to the next, metres.
    pub fall_m: f64,
    /// Least distance, metres.
    pub least_m: f64,
    /// Greatest distance, metres.
    pub greatest_m: f64,
    /// Places are pegged to whole multiples of this, metres; 0: not at all.
    pub peg_m: f64,
}

impl Spacing {
    /// Evenly so many metres apart, whatever the fall.
    pub fn even(apart_m: f64, peg_m: f64) -> Spacing {
        Spacing { fall_m: f64::INFINITY, least_m: apart_m, greatest_m: apart_m, peg_m }
    }

    /// Distance to the next dam below one on ground that falls evenly, metres on the map.
    ///
    /// `slope` — fall, metres a metre.
    pub fn on_slope(&self, slope: f64) -> f64 {
        map_spacing_m(self.fall_m, slope).max(self.least_m).min(self.greatest_m)
    }

    /// Place of the next dam below one at `last_m`.
    pub fn next(&self, profile: &Profile, last_m: f64) -> f64 {
        // A billionth of a metre: heights that have fallen enough but for rounding have fallen enough.
        const TOUCH: f64 = 1e-9;
        let by_fall = profile.falls_to(last_m, profile.at(last_m) - self.fall_m + TOUCH).unwrap_or(f64::INFINITY);
        let next = by_fall.max(last_m + self.least_m).min(last_m + self.greatest_m);
        if self.peg_m <= 0.0 || !next.is_finite() {
            return next;
        }
        let pegged = ((next - TOUCH) / self.peg_m).ceil() * self.peg_m;
        if pegged > last_m + self.greatest_m + TOUCH { (next / self.peg_m).floor() * self.peg_m } else { pegged }
    }
}

/// Distance on the map over which even ground falls by so much, metres; infinite on level ground.
pub fn map_spacing_m(fall_m: f64, slope: f64) -> f64 {
    if slope > 0.0 { fall_m / slope } else { f64::INFINITY }
}

/// The same along the ground.
pub fn ground_spacing_m(fall_m: f64, slope: f64) -> f64 {
    if slope > 0.0 { fall_m / slope.atan().sin() } else { f64::INFINITY }
}

/// Places of dams along a profile, metres from its top, the first at the top end.
pub fn place(profile: &Profile, spacing: &Spacing) -> Vec<f64> {
    let mut places = vec![0.0];
    let mut last = 0.0;
    loop {
        let next = spacing.next(profile, last);
        if !(next > last && next <= profile.length_m() + 1e-9) {
            return places;
        }
        places.push(next);
        last = next;
    }
}

/// Dams needed to hold a channel to a lesser slope: length times (slope - slope kept) over height of dam.
pub fn on_graded_channel(length_m: f64, slope: f64, slope_kept: f64, dam_m: f64) -> f64 {
    if dam_m > 0.0 { length_m * (slope - slope_kept).max(0.0) / dam_m } else { f64::INFINITY }
}
