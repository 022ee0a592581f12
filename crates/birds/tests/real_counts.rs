//! The trend of a real region: 2,415 leks of another grouse over 68 years (Wyoming Game & Fish Department, CC BY 4.0), beside
//! statsmodels 0.14 or later (ConditionalPoisson on the same yearly maxima; `benches/trend.py` runs both).

#![allow(clippy::unwrap_used, clippy::print_stderr, reason = "a test may stop and says where it steps aside")]

use birds::counts::{Ask as Reading, Series};
use birds::trend::table::Table;
use birds::trend::{Ask, trend};
use guidance::{Country, Guidance};
use std::path::Path;

#[test]
fn the_trend_of_a_region_is_the_same_elsewhere() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../shared/data/lek_counts_wyoming/lek.csv.gz");
    let Ok(bytes) = std::fs::read(&path) else {
        eprintln!("the region's counts are not at {}: stepping aside", path.display());
        return;
    };
    let (series, _) = Series::read("lek.csv.gz", &bytes, &Reading { map: Vec::new(), today: None, many_birds: 200, most_birds: 2000 }).unwrap();
    let drawn = trend(&Table::of_years(&series.year_table()), &Ask::usual(&Guidance::load().unwrap(), Country::GB).unwrap()).unwrap();
    let slope = drawn.by_kind[0].slope.unwrap();
    assert!((slope.value - SLOPE).abs() < 1e-6, "{} is not {SLOPE}", slope.value);
    assert!((slope.se - ERROR).abs() < 1e-6, "{} is not {ERROR}", slope.se);
    assert_eq!(drawn.leks + drawn.empty_leks.len(), 2_415);
    // Nothing is missing of so many counts: every kind of limits, each year's index, the curve from end to end.
    assert!(drawn.by_kind.iter().all(|k| k.slope.is_some()), "{:?}", drawn.by_kind);
    assert_eq!((drawn.counts, drawn.index.len(), drawn.no_index), (37_946, 63, None));
    assert_eq!(drawn.smooth.len() as i32, drawn.span.1 - drawn.span.0 + 1);
    // More of the index's ups and downs are the curve's than are left over.
    let mean = drawn.index.iter().map(|y| y.value.ln()).sum::<f64>() / drawn.index.len() as f64;
    let curve = |year: i32| drawn.smooth.iter().find(|s| s.year == year).unwrap().total.ln();
    let (left, all) = drawn.index.iter().fold((0.0, 0.0), |(left, all), y| (left + (y.total.ln() - curve(y.year)).powi(2), all + (y.value.ln() - mean).powi(2)));
    assert!(left < all / 2.0, "{left} of {all}");
}

/// statsmodels' slope, log scale, a year.
const SLOPE: f64 = -0.018_439_027_6;
/// Its standard error.
const ERROR: f64 = 0.000_118_240_2;
