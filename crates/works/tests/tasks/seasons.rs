//! Seasons by law, by lek distance and by the measure's own months, held day by day; chains of what waits; whatever is asked.

use super::moor::{line, measure, moor, rect};
use super::{date, put_on_days, with};
use crate::programme::keeping::keeps_to_everything;
use chrono::{Datelike, NaiveDate};
use guidance::Country;
use holding::{Holding, Measure};
use proptest::prelude::*;
use serde_json::json;
use works::programme::{Crew, Days, Window};
use works::tasks::{Programmed, Stage};

/// A hectare and a half with its near edge so far east of the lek.
fn wood(east_m: f64, facts: &[(&str, serde_json::Value)]) -> Measure {
    let x = 1000.0 + east_m;
    let all = [&[("stems_per_ha", json!(1000)), ("mix", json!({"birch": 60, "rowan": 40}))], facts].concat();
    measure("wood-1", "wood", 2027, rect(x, 925.0, x + 100.0, 1075.0), &all)
}

fn with_measures(country: Country, measures: Vec<Measure>) -> Holding {
    Holding { measures, ..moor(country) }
}

fn days_of(p: &Programmed, id: &str) -> (NaiveDate, NaiveDate) {
    let planned = p.schedule.planned(id).unwrap_or_else(|| panic!("{id}: {:?} {:?}", p.refused, p.beyond));
    (planned.first, planned.last)
}

/// Worked by hand from the guidance: trees 9 to 18 months ahead (13.5, so 14 are taken), 105 trees a person a day with tubes (four people:
/// 1,500 trees in 4 days), planting November to April, no work within 750 m of a lek March to May.
#[test]
fn a_lek_moved_by_300_m_moves_the_planting_into_another_season() {
    let plant = |h: &Holding| with(h, |o| days_of(&put_on_days(o, "2027-01-04", 6, None), "wood-1/work/plant"));
    let mut h = with_measures(Country::England, vec![wood(900.0, &[])]);
    assert_eq!(plant(&h), (date("2028-03-06"), date("2028-03-09")));
    h.leks[0].at = geo_types::Point::new(1300.0, 1000.0);
    assert_eq!(plant(&h), (date("2028-11-01"), date("2028-11-06")));
}

/// The whole chain of a wood, by hand: probed on the first day at 3 points (one for each 5,000 m², a probe speaking for 50 m), trees ordered
/// the day after, ground made ready from August, planted when the trees have come, beaten up in the next two winters: 15 % and what is left of
/// 22.5 % of 1,500; looked at in five years.
#[test]
fn a_wood_is_probed_ordered_prepared_planted_beaten_up_and_checked() {
    let h = with_measures(Country::England, vec![wood(900.0, &[])]);
    with(&h, |o| {
        let p = put_on_days(o, "2027-01-04", 8, None);
        let expected = [
            ("wood-1/survey", "2027-01-04"),
            ("wood-1/order", "2027-01-05"),
            ("wood-1/ground", "2027-08-02"),
            ("wood-1/work/plant", "2028-03-06"),
            ("wood-1/check/1", "2028-09-11"),
            ("wood-1/beat_up/1", "2028-11-01"),
            ("wood-1/check/2", "2029-09-10"),
            ("wood-1/beat_up/2", "2029-11-01"),
        ];
        for (id, first) in expected {
            assert_eq!(days_of(&p, id).0, date(first), "{id}");
        }
        let trees = |id: &str| p.job(id).unwrap().amounts.iter().filter(|a| a.unit == "trees").map(|a| a.amount).sum::<f64>();
        assert_eq!((trees("wood-1/beat_up/1"), trees("wood-1/beat_up/2")), (225.0, 113.0));
        // 1,500 trees, 5 % of them spare, 338 to beat up with.
        assert_eq!(trees("wood-1/order"), 1500.0 + 75.0 + 338.0);
        let days = p.job("wood-1/work/plant").unwrap().days.clone().unwrap();
        assert_eq!((days.low, days.usual, days.high), (3, 4, 5));
        assert_eq!(p.jobs.later.iter().map(|l| l.years).collect::<Vec<_>>(), [(2039, 2047)]);
        let late = p.slips(30).unwrap();
        let order = late.iter().find(|s| s.job == "wood-1/order").unwrap();
        let moved = order.moved.iter().find(|m| m.task == "wood-1/work/plant").unwrap();
        // 4 February and 14 months: 5 April, when bare-root plants are out of the ground no more but cell-grown ones may go in.
        assert_eq!((moved.now.0, moved.other_season), (date("2028-04-05"), false));
    });
}

/// Heather and Grass etc. Burning (England) Regulations 2021, reg 2 (uplands, 1 October to 15 April); the regulations of Wales of 2008 (1 October
/// to 31 March); in Scotland the Act of 2011 (1 October to 15 April) and that of 2024 (15 September to 31 March) both.
#[test]
fn burning_lies_in_the_season_of_the_country_and_waits_for_the_notice() {
    for (country, last) in [(Country::England, (4, 15)), (Country::Wales, (3, 31)), (Country::Scotland, (3, 31))] {
        let burn = |id: &str, year: i32| measure(id, "heather", year, rect(100.0, 100.0, 200.0, 180.0), &[("work", json!("burn"))]);
        let h = with_measures(country, (0..3).map(|i| burn(&format!("heather-{i}"), 2027 + i)).collect());
        with(&h, |o| {
            for from in ["2027-02-01", "2027-04-10", "2027-06-01"] {
                let p = put_on_days(o, from, 4, None);
                let burns: Vec<_> = p.on_days().filter(|d| d.job.hands == "burning").collect();
                assert_eq!(burns.len(), 3, "{:?}", p.refused);
                for day in burns.iter().flat_map(|d| &d.planned.worked) {
                    let at = (day.month(), day.day());
                    assert!(at >= (10, 1) || at <= last, "{country}: {day}");
                }
                assert!(burns.iter().all(|d| d.job.people == 4 && d.job.after.iter().any(|w| w.job.starts_with("consent_burning"))));
                if country == Country::Scotland {
                    // Seven days' notice (Wildlife Management and Muirburn Act 2024, s.19).
                    let notice = p.schedule.planned("consent_burning/2027").unwrap().last;
                    assert!(burns.iter().all(|d| d.job.year > 2027 || (d.planned.first - notice).num_days() > 7));
                }
            }
        });
    }
}

/// What a season leaves nothing of is told, with all that waits for it, and the rest is planned.
#[test]
fn what_has_no_day_left_is_told_with_what_waits_for_it() {
    let h = with_measures(
        Country::England,
        vec![wood(500.0, &[("month", json!("Apr"))]), measure("heather-1", "heather", 2027, rect(100.0, 100.0, 200.0, 200.0), &[])],
    );
    with(&h, |o| {
        let p = put_on_days(o, "2027-01-04", 6, None);
        let why = |id: &str| p.refused.iter().find(|r| r.job == id).map(|r| r.why.clone()).unwrap_or_default();
        assert!(
            why("wood-1/work/plant").contains("a lek is within 750 m") && why("wood-1/work/plant").contains("the measure says April"),
            "{:?}",
            p.refused
        );
        assert!(why("wood-1/beat_up/1").contains("waits for wood-1/work/plant"), "{:?}", p.refused);
        assert_eq!(days_of(&p, "heather-1/work/2027"), (date("2027-01-04"), date("2027-01-04")));
        assert_eq!(p.jobs.jobs.len(), p.schedule.planned.len() + p.refused.len() + p.beyond.len());
    });
}

/// What belongs to a year and comes again in the next is not put off into it: display is kept quiet March to May (common practice).
#[test]
fn a_spring_that_is_over_is_told_and_the_next_ones_are_kept_quiet() {
    let quiet = measure(
        "lek_care-1",
        "lek_care",
        2027,
        geo_types::MultiPolygon(vec![]),
        &[("work", json!("quiet")), ("lek", json!("L1")), ("years", json!(3))],
    );
    with(&with_measures(Country::England, vec![quiet]), |o| {
        let p = put_on_days(o, "2027-06-01", 4, None);
        assert_eq!(p.refused.iter().map(|r| r.job.as_str()).collect::<Vec<_>>(), ["lek_care-1/keep/2027"]);
        assert!(p.refused[0].why.contains("no day in 2027"), "{:?}", p.refused);
        assert_eq!(days_of(&p, "lek_care-1/keep/2028").0, date("2028-03-01"));
        assert_eq!(days_of(&p, "lek_care-1/keep/2029").0, date("2029-03-01"));
    });
}

/// Protected ground waits for the consent of four months (gov.uk, sites of special scientific interest), the survey before it.
#[test]
fn a_protected_site_is_asked_for_first_and_nothing_is_done_before_the_answer() {
    let mut h = with_measures(Country::England, vec![wood(900.0, &[])]);
    let mut site = holding::Area::new("A", rect(1900.0, 1000.0, 2000.0, 1100.0));
    site.kind = holding::AreaKind::Sssi;
    h.areas = vec![site];
    with(&h, |o| {
        let p = put_on_days(o, "2027-01-04", 6, None);
        assert_eq!(days_of(&p, "consent_protected/2027"), (date("2027-01-05"), date("2027-01-05")));
        // From 6 January four months.
        assert_eq!(days_of(&p, "wood-1/order").0, date("2027-05-06"));
        for job in p.jobs.jobs.iter().filter(|j| (Stage::Order..=Stage::Work).contains(&j.stage)) {
            assert!(job.after.iter().any(|w| w.job == "consent_protected/2027"), "{}", job.id);
        }
    });
}

/// Letters of a measure years ahead are not written now: half a year before they must be over.
#[test]
fn what_is_years_ahead_is_not_ordered_today() {
    let mut m = wood(900.0, &[]);
    m.year = Some(2032);
    with(&with_measures(Country::England, vec![m]), |o| {
        let p = put_on_days(o, "2027-01-04", 8, None);
        // Planting from 1 January 2032, trees 14 months before that, and half a year: pegged out then, ordered the day after.
        assert_eq!(days_of(&p, "wood-1/survey").0, date("2030-05-01"));
        assert_eq!(days_of(&p, "wood-1/order").0, date("2030-05-02"));
        assert_eq!(days_of(&p, "wood-1/work/plant").0.year(), 2032);
    });
}

fn crews() -> impl Strategy<Value = Option<Vec<Crew>>> {
    let one = (1..6_u32, 0..3_u32, 1..28_u32).prop_map(|(people, season, day)| {
        let crew = |id: &str, kinds: &[&str], capacity| Crew {
            id: id.into(),
            kinds: kinds.iter().map(|k| (*k).into()).collect(),
            capacity,
            there: vec![],
            away: vec![],
        };
        let there = [vec![], vec![Window::new((9, 1), (4, 30))], vec![Window::new((6, 1), (10, 31))]][season as usize].clone();
        let off = NaiveDate::from_ymd_opt(2027, 11, day).unwrap();
        vec![
            Crew {
                there,
                away: vec![Days { first: off, last: off + chrono::Days::new(9) }],
                ..crew("Ann", &["planting", "fencing", "burning", "saws"], people)
            },
            crew("Bob", &["adviser", "farm", "stock"], 1),
            crew("digger", &["excavator", "tractor"], 1),
        ]
    });
    proptest::option::of(one)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    /// Whatever the lek's place, the measures' years and months, the crews and the first day: every day worked lies in the season told, none
    /// within 750 m of a lek March to May, none before what it waits for, and every task is planned, told as not to be done, or told as coming later.
    #[test]
    fn every_day_lies_in_the_season_told(
        east in 300.0..1400.0_f64, lek in 200.0..1800.0_f64, years in prop::array::uniform4(2026..2031_i32), month in 0..13_usize, begin in 0..900_u64,
        country in prop::sample::select(vec![Country::England, Country::Scotland, Country::Wales, Country::GB]), crews in crews(), burn in any::<bool>(),
    ) {
        let names = ["", "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov-Feb", "Sep-Mar"];
        let mut heather = vec![("work", json!(if burn { "burn" } else { "cut" })), ("every", json!(2))];
        heather.extend((month > 0).then(|| ("month", json!(names[month]))));
        let x = 300.0 + east / 2.0;
        let mut fence = measure("fence-1", "fence", years[2], geo_types::MultiPolygon(vec![]), &[("work", json!("new")), ("marking", json!("netting"))]);
        fence.line = line(&[(x, 200.0), (x + 400.0, 200.0)]);
        let mut h = with_measures(country, vec![
            measure("wood-1", "wood", years[0], rect(x, 925.0, x + 100.0, 1075.0), &[("protection", json!("fence"))]),
            measure("heather-1", "heather", years[1], rect(x, 1100.0, x + 50.0, 1200.0), &heather),
            fence,
            measure("water-1", "water", years[3], geo_types::MultiPolygon(vec![]), &[("work", json!("block")), ("ditch", json!("D"))]),
        ]);
        h.leks[0].at = geo_types::Point::new(lek, 1000.0);
        let first = date("2026-11-26") + chrono::Days::new(begin);
        with(&h, |o| {
            let p = put_on_days(o, &first.to_string(), 5, crews.clone());
            keeps_to_everything(&p.ask, &p.schedule, None);
            assert_eq!(p.jobs.jobs.len(), p.schedule.planned.len() + p.refused.len() + p.beyond.len());
            for done in p.on_days() {
                let near = done.job.season.bounds.iter().any(|b| b.lek.is_some());
                for day in done.planned.worked.iter().chain([&done.planned.first]) {
                    let at = (day.month(), day.day());
                    assert!(done.job.season.all_year() || done.job.season.left.iter().any(|w| w.holds(at)), "{} on {day}", done.job.id);
                    assert!(!(near && (3..=5).contains(&at.0)), "{} on {day} near a lek", done.job.id);
                }
            }
            let far = |kind: &str| {
                let place = measures::rules::on_measures::work_in_season::place_of(o, o.measures.iter().find(|m| m.kind == kind).unwrap());
                geo::Distance::distance(&geo::Euclidean, &geo_types::Geometry::Point(o.holding().leks[0].at), &place)
            };
            for (kind, id) in [("wood", "wood-1/work/plant"), ("fence", "fence-1/fence/up"), ("water", "water-1/work")] {
                for job in p.jobs.jobs.iter().filter(|j| j.id.starts_with(id)) {
                    assert_eq!(job.season.bounds.iter().any(|b| b.lek.is_some()), far(kind) < 750.0, "{} at {}", job.id, far(kind));
                }
            }
        });
    }
}
