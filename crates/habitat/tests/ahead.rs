//! The years ahead as a whole: common draws, options that are the same, works that show.

#![allow(clippy::panic, reason = "a test may stop")]

use habitat::ahead::{Course, Doing, Forecast, Programme, Work, compare, forecast, forecasts};
use habitat::{Assessed, Season, Settings, assess};
use holding::{Holding, Tree, Wood};
use crate::scene::*;

fn ground() -> Holding {
    let mut h = strips(1500.0, &[(0.5, heath()), (0.5, grass())]);
    h.about.cell_m = 20.0;
    h
}

fn planting(h: &Holding) -> (Holding, Programme) {
    let area = rect(300_300.0, 500_300.0, 300_500.0, 500_500.0);
    let mut with = h.clone();
    with.woods.push(Wood::new("new", area.clone()));
    let doing = Doing::Plant { stems: vec![(Tree::Birch, 1000.0), (Tree::Rowan, 400.0)], open: 0.2, stock_out_yr: 12 };
    (with, Programme { works: vec![Work { id: "new".into(), year: 1, every: None, area, doing }], stock: vec![] })
}

fn base(h: &Holding, draws: usize) -> Assessed {
    assess(h, &guidance(), Settings { draws, ..Settings::default() }).unwrap()
}

fn ahead(base: &Assessed, surveyed: &Holding, holding: &Holding, programme: &Programme) -> Forecast {
    forecast(base, surveyed, &guidance(), Course { holding, programme }, &habitat::ahead::YEARS).unwrap()
}

#[test]
fn year_nought_is_the_assessment() {
    let h = ground();
    let base = base(&h, 20);
    let f = ahead(&base, &h, &h, &Programme::default());
    assert_eq!(f.years[0].year, 0);
    for (now, was) in f.supply[0].iter().flatten().flatten().zip(base.supply.iter().flatten().flatten()) {
        assert!((now - was).abs() <= 1e-9 * was.abs().max(1.0), "{now} {was}");
    }
    assert_eq!(f.years[0].leks[0].pinch, base.assessment.leks[0].pinch);
}

#[test]
fn options_that_are_the_same_differ_by_exactly_nothing() {
    let h = ground();
    let base = base(&h, 20);
    let (with, programme) = planting(&h);
    let (a, b) = (ahead(&base, &h, &with, &programme), ahead(&base, &h, &with, &programme));
    for d in compare(&base, &a, &b) {
        assert_eq!((d.margin.p10, d.margin.p50, d.margin.p90), (0.0, 0.0, 0.0));
        assert_eq!((d.better_fraction, d.worse_fraction), (0.0, 0.0));
    }
}

#[test]
fn pairing_narrows_the_interval_of_a_difference() {
    let h = ground();
    let base = base(&h, 200);
    let (with, programme) = planting(&h);
    let (now, wood) = (ahead(&base, &h, &h, &Programme::default()), ahead(&base, &h, &with, &programme));
    let all = compare(&base, &now, &wood);
    assert_eq!(all.len(), 11 * 7);
    let mut told = 0;
    for d in &all {
        let (paired, unpaired) = (d.margin.p90 - d.margin.p10, d.unpaired.p90 - d.unpaired.p10);
        assert!(paired < unpaired, "year {} {:?}: {paired} {unpaired}", d.year, d.season);
        told += (d.better_fraction > 0.9 || d.worse_fraction > 0.9) as usize;
    }
    assert!(told > 20, "{told}");
    // A birch wood gives snow food once it bears, and takes brood ground as it closes.
    let of = |year: u32, season: Season| all.iter().find(|d| d.year == year && d.season == season).unwrap();
    assert!(of(20, Season::Snowbound).margin.p10 > 0.0 && of(1, Season::Snowbound).margin.p50.abs() < of(20, Season::Snowbound).margin.p50);
    assert!(of(30, Season::Brood).margin.p90 < 0.0);
}

#[test]
fn ground_beyond_the_works_is_as_it_would_be() {
    let h = ground();
    let base = base(&h, 10);
    let (with, programme) = planting(&h);
    let (now, wood) = (ahead(&base, &h, &h, &Programme::default()), ahead(&base, &h, &with, &programme));
    let planted = wood.stands.last().unwrap();
    let n = now.stands[0].len();
    for (a, b) in now.stands.last().unwrap().iter().zip(&planted[..n]) {
        // No stock: stands do not lean on one another. Only the area planted is gone.
        assert_eq!(habitat::Stand { area_ha: 0.0, ..a.stand.clone() }, habitat::Stand { area_ha: 0.0, ..b.stand.clone() });
    }
    let ha: f64 = planted[n..].iter().map(|m| m.stand.area_ha).sum();
    assert!((ha - 4.0).abs() < 0.3, "{ha}");
    assert!(planted[n..].iter().all(|m| m.stand.wooded && m.stand.wood_age_yr > 20.0 && m.stand.canopy > 0.3));
}

#[test]
fn surveyed_heather_goes_on_from_where_it_stands() {
    let mut h = ground();
    for (i, p) in h.patches.iter_mut().enumerate().filter(|(_, p)| p.covers.of(holding::Plant::Heather).is_some_and(|c| c > 50.0)) {
        p.heather_age_yr = Some([4.0, 9.0, 16.0, 24.0, 25.0, 28.0][i % 6]);
        p.covers.set(holding::Plant::Heather, [30.0, 70.0, 75.0, 66.0, 90.0, 66.0][i % 6]);
    }
    let base = base(&h, 4);
    let f = ahead(&base, &h, &h, &Programme::default());
    for (now, next) in f.stands[0].iter().zip(&f.stands[1]) {
        let of = |m: &habitat::ahead::Moving| m.stand.covers[holding::Plant::Heather as usize];
        // A year is a year: even pioneer heather closes, and old heather opens, by less than a tenth of the ground.
        assert!((of(next) - of(now)).abs() < 0.1, "{} at {:?}: {} {}", now.stand.id, now.stand.heather_age_yr, of(now), of(next));
    }
}

/// Each course alone and beside the others tells the same, to within rounding.
fn the_same_alone(base: &Assessed, surveyed: &Holding, courses: &[(&Holding, &Programme)]) -> Vec<Forecast> {
    let all: Vec<Course> = courses.iter().map(|(holding, programme)| Course { holding, programme }).collect();
    let together = forecasts(base, surveyed, &guidance(), &all, &habitat::ahead::YEARS).unwrap();
    for ((holding, programme), told) in courses.iter().zip(&together) {
        let alone = ahead(base, surveyed, holding, programme);
        for (a, b) in alone.supply.iter().flatten().flatten().flatten().zip(told.supply.iter().flatten().flatten().flatten()) {
            assert!((a - b).abs() <= 1e-6 * a.abs() + 1e-6, "{a} alone, {b} beside the others");
        }
        for (a, b) in alone.years.iter().zip(&told.years).flat_map(|(a, b)| a.leks.iter().zip(&b.leks)) {
            assert_eq!((&a.id, a.pinch, a.view_disc, a.view_horizon), (&b.id, b.pinch, b.view_disc, b.view_horizon));
        }
    }
    together
}

#[test]
fn courses_side_by_side_are_as_each_alone() {
    let mut h = ground();
    // A lek that comes to see the planting; the first sees nothing of it.
    h.leks.push(holding::Lek::new("2", "Near lek", geo_types::Point::new(300_250.0, 500_400.0)));
    // A plantation in the corner where facets begin to be numbered.
    h.woods.push(spruce("old", rect(298_500.0, 501_000.0, 299_000.0, 501_500.0), 1980));
    let base = base(&h, 20);
    assert!(base.reaches.iter().all(|r| r.unmapped.iter().any(|ha| *ha > 0.0)), "some ground is not mapped");
    let (with, programme) = planting(&h);
    let none = Programme::default();
    let work = |id: &str, area: &geo_types::MultiPolygon<f64>, doing: Doing| Work { id: id.into(), year: 2, every: None, area: area.clone(), doing };
    let felled = Programme { works: vec![work("fell", &h.woods[0].shape, Doing::Fell)], stock: vec![] };
    // Nearly all that is in reach is planted.
    let wide = rect(298_550.0, 498_550.0, 301_450.0, 501_450.0);
    let mut forest = h.clone();
    forest.woods.push(Wood::new("forest", wide.clone()));
    let planted = Doing::Plant { stems: vec![(Tree::Birch, 1600.0)], open: 0.1, stock_out_yr: 12 };
    let filled = Programme { works: vec![work("forest", &wide, planted)], stock: vec![] };
    let together = the_same_alone(&base, &h, &[(&h, &none), (&with, &programme), (&h, &none), (&h, &felled), (&forest, &filled)]);
    assert_eq!(together[0].supply, together[2].supply);
    // The first may itself put new stands on the ground.
    the_same_alone(&base, &h, &[(&with, &programme), (&h, &none), (&h, &felled)]);
    let views = |course: usize, lek: usize| together[course].years.iter().map(|y| y.leks[lek].view_disc.unwrap()).collect::<Vec<f64>>();
    assert_eq!(views(0, 0), views(1, 0));
    assert_ne!(views(0, 1), views(1, 1), "the planting shows");
    // Before anything is done, nothing differs: rounding is no difference.
    for d in compare(&base, &together[0], &together[1]).iter().filter(|d| d.year == 0) {
        assert_eq!((d.better_fraction, d.worse_fraction, d.margin.p50), (0.0, 0.0, 0.0), "{d:?}");
    }
}

#[test]
fn hectares_that_move_are_told_of_the_facets_they_move_between() {
    let base = base(&ground(), 4);
    let facet_of = &base.layout.facet_of;
    let none = habitat::layout::NO_FACET;
    let within = |facet: u32| facet_of.iter().enumerate().filter(|(_, f)| **f == facet).map(|(cell, _)| cell as u32).max().unwrap();
    let other = facet_of.iter().copied().filter(|f| *f != none && *f != 0).max().unwrap();
    for (from, to) in [(other, 0), (0, other), (other, none), (none, 0)] {
        let cell = within(if from == none { 0 } else { from });
        let told = base.kernels.shifts(&[habitat::layout::Moved { cell, from, to }]);
        let of = |facet: u32| told[0].iter().find(|(f, _)| *f == facet).map(|(_, ha)| ha.iter().sum::<f64>()).unwrap();
        assert!(of(to) > 0.0 && of(to) == -of(from), "{from} to {to}: {:?}", told[0]);
        assert_eq!(told[0].len(), 2);
    }
}
