//! What visits and brood counts found: put together from parts that have their own published checks.

#![allow(clippy::unwrap_used, reason = "a test may stop")]

use birds::detection::attendance::Attendance;
use birds::detection::mixture::Refusal;
use birds::found::{Found, found, hens_needed};
use birds::productivity::{Fault, Standing, share, standard_error};
use chrono::NaiveDate;
use geo_types::Point;
use guidance::{Country, Guidance};
use holding::{BroodCount, Holding, Lek, Visit};
use rand::SeedableRng;
use rand_distr::{Binomial, Distribution, Gamma, Poisson};
use rand_pcg::Pcg64;

fn day(year: i32, month: u32, day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(year, month, day).unwrap()
}

fn visit(lek: &str, date: NaiveDate, cocks: Option<u32>) -> Visit {
    Visit { id: format!("{lek} {date}"), lek: lek.into(), date, cocks, ..Visit::default() }
}

fn of(leks: usize, visits: Vec<Visit>, broods: Vec<BroodCount>) -> Found {
    let leks = (0..leks).map(|n| Lek::new(n.to_string(), String::new(), Point::new(0.0, 0.0))).collect();
    let mut holding = Holding { leks, visits, broods, ..Holding::default() };
    holding.about.country = Country::England;
    let guidance = Guidance::load().unwrap();
    let draws = guidance.draws(1, 200, Country::England);
    found(&holding, &guidance, &draws, |_| None, 0.9).unwrap()
}

#[test]
fn a_figure_tells_what_it_probably_missed() {
    let all = of(1, vec![visit("0", day(2024, 4, 10), Some(9)), visit("0", day(2024, 4, 28), Some(7)), visit("0", day(2024, 7, 1), Some(3)), visit("0", day(2023, 4, 10), None)], vec![]);
    assert_eq!(all.leks.iter().map(|l| (l.figure.year, l.figure.cocks, l.figure.valid)).collect::<Vec<_>>(), [(2023, None, 0), (2024, Some(9), 2)]);
    assert!(all.leks[0].cocks.is_none() && all.leks[0].missed().is_none(), "no figure, nothing to tell");
    let cocks = all.attendance.cocks(9, 2, 0.9).unwrap();
    assert_eq!(all.leks[1].cocks, Some(Ok(cocks.clone())));
    let missed = all.leks[1].missed().unwrap();
    assert_eq!((missed.low, missed.high), (1.0 - 9.0 / f64::from(cocks.low), 1.0 - 9.0 / f64::from(cocks.high)));
    assert!(missed.low <= missed.value && missed.value <= missed.high);
    assert_eq!(all.attendance, Attendance::together(&Guidance::load().unwrap(), Country::England).unwrap());
}

/// One dawn written down twice makes nothing surer than once; a lone cock seen five times was hardly missed, and the share expected lies
/// within its limits.
#[test]
fn a_dawn_twice_is_a_dawn_and_shares_lie_in_their_limits() {
    let twice = || vec![Visit { id: "a".into(), ..visit("0", day(2024, 4, 10), Some(9)) }, Visit { id: "b".into(), ..visit("0", day(2024, 4, 10), Some(8)) }];
    let (one, two) = (of(1, vec![visit("0", day(2024, 4, 10), Some(9))], vec![]), of(1, twice(), vec![]));
    assert_eq!((one.leks[0].cocks.clone(), 1), (two.leks[0].cocks.clone(), two.leks[0].figure.valid));
    assert_eq!(two.repeated[0].fit, one.repeated[0].fit);
    let often = of(1, [5, 10, 15, 20, 25].map(|d| visit("0", day(2024, 4, d), Some(1))).to_vec(), vec![]);
    let missed = often.leks[0].missed().unwrap();
    assert!(missed.high == 0.0 && (missed.low..=missed.high).contains(&missed.value), "{missed:?}");
}

/// Forty leks whose cocks are negative binomial, each seen with a chance of 0.7 on its own on two visits: the mixture's limits hold the
/// truth, and a lone spring of two leks is refused for want of places.
#[test]
fn repeated_visits_tell_where_there_are_enough_of_them() {
    let mut rng = Pcg64::seed_from_u64(4);
    let mut visits = Vec::new();
    for lek in 0..40 {
        let cocks = Poisson::new(Gamma::new(2.0, 4.0).unwrap().sample(&mut rng)).unwrap().sample(&mut rng) as u64;
        for date in [day(2024, 4, 10), day(2024, 4, 28)] {
            let seen = if cocks == 0 { 0 } else { Binomial::new(cocks, 0.7).unwrap().sample(&mut rng) };
            visits.push(visit(&lek.to_string(), date, Some(seen as u32)));
        }
    }
    visits.push(visit("0", day(2023, 4, 10), Some(4)));
    visits.push(visit("1", day(2023, 4, 10), Some(4)));
    let all = of(40, visits, vec![]);
    assert_eq!(all.repeated.iter().map(|r| (r.year, r.places)).collect::<Vec<_>>(), [(None, 42), (Some(2023), 2), (Some(2024), 40)]);
    assert_eq!(all.repeated[1].fit, Err(Refusal::TooFewPlaces { places: 0, needed: 6 }));
    let fit = all.repeated[2].fit.as_ref().unwrap();
    let (mean, chance) = (fit.mean(0.9), fit.chance(0.9));
    assert!(mean.low < 8.0 && mean.high > 8.0 && chance.low < 0.7 && chance.high > 0.7, "{mean:?} {chance:?}");
}

#[test]
fn broods_are_pooled_by_summer_and_what_lacks_is_told() {
    let count = |date, hens, with, young| BroodCount { id: format!("{date}"), date, hens, hens_with_brood: with, young, ..BroodCount::default() };
    let all = of(
        1,
        vec![],
        vec![
            count(day(2022, 8, 1), Some(20), Some(4), Some(6)),
            count(day(2022, 8, 9), Some(15), Some(2), Some(3)),
            count(day(2023, 9, 30), Some(8), Some(6), None),
        ],
    );
    assert_eq!(all.summers.iter().map(|s| (s.year, s.counts, s.unfit, s.out_of_season.len())).collect::<Vec<_>>(), [(None, 2, 0, 1), (Some(2022), 2, 0, 0), (Some(2023), 0, 0, 1)]);
    let found = all.summers[1].found.as_ref().unwrap();
    assert_eq!((found.hens, found.young, found.with_broods), (35, 9, Some(share(6, 35, 0.9))));
    assert_eq!(all.summers[1].verdict.unwrap().standing, Standing::Below);
    assert_eq!(all.summers[2].found, Err(vec![Fault::NoHens]));
    assert_eq!((all.summers[2].with_broods_alone, all.summers[1].with_broods_alone, all.summers[2].out_of_season.as_slice()), (None, None, &[day(2023, 9, 30)][..]));
    let all = of(1, vec![], vec![count(day(2023, 8, 20), Some(8), Some(6), None)]);
    assert_eq!((all.summers[0].with_broods_alone, all.summers[0].unfit), (Some(share(6, 8, 0.9)), 1));
}

/// The table of guidance is the closed form, in whole per cent.
#[test]
fn hens_needed_are_those_of_the_closed_form() {
    for (hens, error) in hens_needed(&Guidance::load().unwrap(), Country::GB).unwrap() {
        assert_eq!((100.0 * standard_error(0.5, hens as u32)).round(), error);
    }
}
