//! Clock time in Great Britain: Greenwich time in winter, one hour ahead in summer.
//!
//! Variant: summer time runs from the last Sunday of March to the last Sunday of October, both at 01:00 universal time.
//! That has been the rule since 1998 (Summer Time Act 1972 as amended by order, from memory); earlier years ended on other
//! Sundays of October and are treated by the same rule.

use chrono::{DateTime, Datelike, Duration, NaiveDate, NaiveDateTime, NaiveTime, Utc};

/// One o'clock universal time on the last Sunday of a month of 31 days.
fn change(year: i32, month: u32) -> NaiveDateTime {
    let last = NaiveDate::from_ymd_opt(year, month, 31).unwrap_or_default();
    let sunday = last - Duration::days(i64::from(last.weekday().num_days_from_sunday()));
    sunday.and_time(NaiveTime::MIN) + Duration::hours(1)
}

/// True while clocks are an hour ahead of universal time.
pub fn is_summer_time(moment: DateTime<Utc>) -> bool {
    let at = moment.naive_utc();
    (change(at.year(), 3)..change(at.year(), 10)).contains(&at)
}

/// What the clock shows at a moment.
pub fn local(moment: DateTime<Utc>) -> NaiveDateTime {
    moment.naive_utc() + Duration::hours(i64::from(is_summer_time(moment)))
}

/// The moment at which the clock shows a time.
///
/// `None` for the hour that is skipped in March. Of the hour that comes twice in October, the first.
pub fn moment(local_time: NaiveDateTime) -> Option<DateTime<Utc>> {
    [1, 0].into_iter().map(|ahead| (local_time - Duration::hours(ahead)).and_utc()).find(|&m| local(m) == local_time)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(y: i32, m: u32, d: u32, hour: u32, minute: u32) -> NaiveDateTime {
        NaiveDate::from_ymd_opt(y, m, d).and_then(|date| date.and_hms_opt(hour, minute, 0)).unwrap()
    }

    /// Dates of clock changes as published on gov.uk for these years (from memory).
    #[test]
    fn clocks_change_on_the_published_days() {
        for (year, march, october) in [(2023, 26, 29), (2024, 31, 27), (2025, 30, 26), (2026, 29, 25)] {
            assert_eq!(change(year, 3), at(year, 3, march, 1, 0));
            assert_eq!(change(year, 10), at(year, 10, october, 1, 0));
        }
    }

    #[test]
    fn the_clock_jumps_at_one_and_falls_back_at_one() {
        assert_eq!(local(at(2025, 3, 30, 0, 59).and_utc()), at(2025, 3, 30, 0, 59));
        assert_eq!(local(at(2025, 3, 30, 1, 0).and_utc()), at(2025, 3, 30, 2, 0));
        assert_eq!(local(at(2025, 10, 26, 0, 59).and_utc()), at(2025, 10, 26, 1, 59));
        assert_eq!(local(at(2025, 10, 26, 1, 0).and_utc()), at(2025, 10, 26, 1, 0));
    }

    #[test]
    fn a_clock_time_comes_back_as_its_moment() {
        assert_eq!(moment(at(2025, 4, 20, 6, 0)), Some(at(2025, 4, 20, 5, 0).and_utc()));
        assert_eq!(moment(at(2025, 1, 20, 6, 0)), Some(at(2025, 1, 20, 6, 0).and_utc()));
        assert_eq!(moment(at(2025, 3, 30, 1, 30)), None);
        assert_eq!(moment(at(2025, 10, 26, 1, 30)), Some(at(2025, 10, 26, 0, 30).and_utc()));
    }
}
