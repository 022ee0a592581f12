//! The time stamps a GeoPackage asks for. `SOURCE_DATE_EPOCH`, where set, stands in for the clock, so that files
//! made from the same input can be the same to the byte.

use chrono::DateTime;
use std::time::{SystemTime, UNIX_EPOCH};

/// Now, in the form GeoPackage wants: `YYYY-MM-DDTHH:MM:SS.SSSZ`, universal time.
pub(crate) fn now() -> String {
    let set = std::env::var("SOURCE_DATE_EPOCH").ok().and_then(|text| text.trim().parse::<i64>().ok());
    let millis = match set {
        Some(seconds) => seconds.saturating_mul(1000),
        None => SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |d| d.as_millis() as i64),
    };
    DateTime::from_timestamp_millis(millis).unwrap_or_default().format("%Y-%m-%dT%H:%M:%S%.3fZ").to_string()
}
