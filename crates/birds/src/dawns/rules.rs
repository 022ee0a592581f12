//! What a visit at dawn must keep to, in minutes, metres and days.

use chrono::NaiveDate;
use guidance::{Country, Guidance, Unknown};

/// The figures a plan is made by. [`Rules::of`] reads them from guidance; a caller may put its own in place of any.
#[derive(Clone, Debug, PartialEq)]
pub struct Rules {
    /// First and last day of the two windows, as month and day.
    pub windows: [[(u32, u32); 2]; 2],
    /// Hours of counting open so many minutes before sunrise.
    pub before_min: i64,
    /// Hours of counting close so many minutes after sunrise.
    pub after_min: i64,
    /// Watching at one lek, minutes.
    pub watch_min: i64,
    /// Sitting still after coming up to a lek, before watching begins, minutes.
    pub settle_min: i64,
    /// Least days between the two visits to a lek.
    pub apart_days: i64,
    /// Longest walk in the dark to a lek, minutes.
    pub walk_longest_min: u32,
    /// Longest way from base to the first lek, driving and walking, minutes.
    pub way_out_longest_min: u32,
    /// A vehicle stops at least so far from the edge of a lek, metres.
    pub vehicle_m: f64,
    /// A walker stays at least so far from the edge of a lek, metres.
    pub walker_m: f64,
    /// Watchers in a vehicle leave so long after dawn, hours.
    pub leave_hours: f64,
    /// Counts are not made in more wind, Beaufort.
    pub wind_most: u32,
    /// The most rain a count is made in, in words.
    pub rain_most: String,
    /// What anyone alone at dawn is told.
    pub cautions: Vec<String>,
}

impl Rules {
    /// The rules of a country.
    ///
    /// # Errors
    /// A key that guidance does not hold.
    pub fn of(guidance: &Guidance, country: Country) -> Result<Self, Unknown> {
        let number = |key| guidance.number(key, country);
        let whole = |key| number(key).map(|n| n.round() as i64);
        let hours = |key| number(key).map(|n| (n * 60.0).round() as i64);
        let day = |key| guidance.month_day(key, country);
        Ok(Self {
            windows: [
                [day("counts.visit_1.first")?, day("counts.visit_1.last")?],
                [day("counts.visit_2.first")?, day("counts.visit_2.last")?],
            ],
            before_min: hours("counts.hours_before_sunrise")?,
            after_min: hours("counts.hours_after_sunrise")?,
            watch_min: whole("counts.watch")?,
            settle_min: whole("counts.settle")?,
            apart_days: whole("counts.visits_apart")?,
            walk_longest_min: number("counts.walk_longest")? as u32,
            way_out_longest_min: number("counts.way_out_longest")? as u32,
            vehicle_m: number("disturbance.vehicle_distance")?,
            walker_m: number("disturbance.flush_distance.spring")?,
            leave_hours: number("disturbance.leave_after_dawn")?,
            wind_most: number("counts.wind_max")? as u32,
            rain_most: guidance.text("counts.rain_max", country)?.to_owned(),
            cautions: ["caution.lone_work", "caution.dawn", "caution.weather", "caution.ticks"]
                .into_iter()
                .map(|key| guidance.text(key, country).map(str::to_owned))
                .collect::<Result<_, _>>()?,
        })
    }

    /// First and last day of a window (0 or 1) in a year; 29 February of other years is the 28th.
    pub fn window(&self, year: i32, window: usize) -> [NaiveDate; 2] {
        let day = |month, day: u32| NaiveDate::from_ymd_opt(year, month, day).or_else(|| NaiveDate::from_ymd_opt(year, month, day.min(28)));
        self.windows[window].map(|(month, at)| day(month, at).unwrap_or_default())
    }
}
