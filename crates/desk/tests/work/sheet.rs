//! The page's year sheet is the ledger's.

use crate::support::start;
use desk::work::courses::Courses;
use desk::work::sheet;
use habitat::Season;
use habitat::ahead::{Course, forecast};
use measures::option;

#[test]
fn the_sheet_as_surveyed_is_the_assessment() {
    let start = start();
    let page = sheet::surveyed(&start, 7);
    assert_eq!((page.version, page.year, page.option, page.calendar), (7, 0, None, Some(2026)));
    assert_eq!(page.leks.len(), start.holding.leks.len());
    for (lek, told) in page.leks.iter().zip(&start.base.assessment.leks) {
        assert_eq!((&lek.lek, lek.pinch.as_str()), (&told.id, told.pinch.key()));
        for (cell, season) in lek.seasons.iter().zip(&told.seasons) {
            assert_eq!(cell.season, season.season.key());
            assert_eq!((cell.supply_ha.p10, cell.supply_ha.p50, cell.supply_ha.p90), (season.supply_ha.p10, season.supply_ha.p50, season.supply_ha.p90));
            assert_eq!((cell.need_ha.p50, cell.margin.p50, cell.short), (season.need_ha.p50, season.margin.p50, season.short_fraction));
            assert_eq!((cell.missing_ha.p50, cell.missing_ha.p90), (season.missing_ha.p50, season.missing_ha.p90));
            // Where the middle draw is short, something is missing in it.
            assert!(cell.missing_ha.p50 > 0.0 || cell.margin.p50 >= 1.0);
            assert!(cell.missing_ha.p10 <= cell.missing_ha.p50 && cell.missing_ha.p50 <= cell.missing_ha.p90 && cell.missing_ha.p90 <= cell.need_ha.p90);
        }
    }
    let titles: Vec<&str> = page.seasons.iter().map(|s| s.key.as_str()).collect();
    assert_eq!(titles, Season::ALL.map(Season::key));
    assert!(page.seasons.iter().all(|s| !s.title.is_empty() && !s.months.is_empty() && s.wants.ends_with('.')));
}

#[test]
fn a_sheet_ahead_is_the_forecast() {
    let start = start();
    let (_, _, course) = Courses::default().under(|| Ok((1, start.clone())), Some(1), 12).unwrap();
    let c = desk::work::courses::context(&start);
    let (with, programme) = (option::holding_with(&c, 1).unwrap(), option::programme(&c, 1).unwrap());
    let look = |years: &[u32]| forecast(&start.base, &start.holding, &start.guidance, Course { holding: &with, programme: &programme }, years).unwrap();
    let whole = look(&[1, 5, 12, 30]);
    for (i, year) in [1u32, 5, 12, 30].into_iter().enumerate() {
        let alone = look(&[year]);
        assert_eq!(course.year(year).unwrap().ledger, alone.years[0]);
        let page = sheet::ahead(&start, 1, Some(1), &course.year(year).unwrap().ledger);
        assert_eq!((page.year, page.calendar), (year, Some(2026 + year as i32)));
        for ((lek, told), among) in page.leks.iter().zip(&alone.years[0].leks).zip(&whole.years[i].leks) {
            assert_eq!(lek.pinch, told.pinch.key());
            for ((cell, season), among) in lek.seasons.iter().zip(&told.seasons).zip(&among.seasons) {
                assert_eq!((cell.supply_ha.p50, cell.margin.p10, cell.short), (season.supply_ha.p50, season.margin.p10, season.short_fraction));
                // Told among other years, hectares move from facet to facet in single precision on the way.
                assert!((cell.supply_ha.p50 - among.supply_ha.p50).abs() <= 1e-3 * among.supply_ha.p50, "{:?} of year {year}", season.season);
            }
        }
    }
    assert!(course.year(31).is_err());
}
