//! Which visits count. The season (21 March to 15 May) and the hour either side of sunrise are the survey rule of the
//! west Scotland counts, GBIF 10.15468/r1xoae; sunrise at the place is 04:55:07 UTC on 20 April 2025 (Skyfield, DE421).

#![allow(clippy::unwrap_used, reason = "a test may stop")]

use birds::visits::{Refusal, Window, by_year};
use chrono::{NaiveDate, NaiveTime};
use guidance::Guidance;
use birds::counts::looks_greenwich;
use holding::{Country, Holding, KnownTo, Visit};

const PLACE: (f64, f64) = (-3.9, 56.7);

fn visit(id: &str, date: (i32, u32, u32), start: Option<(u32, u32, u32)>, cocks: Option<u32>) -> Visit {
    Visit {
        id: id.into(),
        lek: "L1".into(),
        date: NaiveDate::from_ymd_opt(date.0, date.1, date.2).unwrap(),
        start: start.map(|(h, m, s)| NaiveTime::from_hms_opt(h, m, s).unwrap()),
        cocks,
        hens: None,
        weather: String::new(),
        note: String::new(),
        ..Visit::default()
    }
}

fn figures(visits: Vec<Visit>) -> Vec<birds::visits::YearFigure> {
    let mut holding = Holding { visits, ..Holding::default() };
    holding.about.country = Country::Scotland;
    by_year(&holding, "L1", &Guidance::load().unwrap(), Some(PLACE)).unwrap()
}

#[test]
fn the_figure_is_the_largest_of_the_visits_that_count() {
    let years = figures(vec![
        visit("c", (2025, 4, 28), Some((5, 30, 0)), Some(7)),
        visit("a", (2025, 4, 20), Some((5, 40, 0)), Some(5)),
        visit("b", (2025, 6, 1), Some((4, 30, 0)), Some(12)),
        visit("d", (2023, 5, 1), None, Some(4)),
        visit("e", (2024, 5, 1), Some((5, 20, 0)), None),
    ]);
    let short: Vec<_> = years.iter().map(|y| (y.year, y.cocks, y.visits, y.valid)).collect();
    assert_eq!(short, [(2023, Some(4), 1, 1), (2024, None, 1, 0), (2025, Some(7), 3, 2)]);
    assert_eq!(years[1].refused, [("e".to_string(), Refusal::NotCounted)]);
    assert_eq!(years[2].refused[0].0, "b");
    assert!(years[2].refused[0].1.to_string().contains("2025-03-21 to 2025-05-15"));
}

/// Two people wrote down one dawn: one visit, the higher; visits known to their year alone are of dawns that may differ.
#[test]
fn entries_of_one_dawn_are_one_visit() {
    let at = |id: &str, day, start, cocks| visit(id, (2025, 4, day), Some(start), Some(cocks));
    let year = |id: &str| Visit { known_to: KnownTo::Year, ..visit(id, (2024, 1, 1), None, Some(2)) };
    let years = figures(vec![at("a", 20, (5, 40, 0), 5), at("b", 20, (6, 10, 0), 6), at("c", 20, (9, 0, 0), 9), at("d", 28, (5, 40, 0), 4), year("e"), year("f")]);
    let short: Vec<_> = years.iter().map(|y| (y.year, y.cocks, y.visits, y.valid, y.windows)).collect();
    assert_eq!(short, [(2024, Some(2), 2, 2, [0, 0]), (2025, Some(6), 4, 2, [0, 2])]);
    assert_eq!(years[1].refused[0], ("a".to_string(), Refusal::SameDawn { visit: "b".to_string() }));
    assert!(years[1].refused[0].1.to_string().starts_with("the same dawn as b"));
    let alike = figures(vec![at("b", 20, (5, 40, 0), 5), at("a", 20, (5, 40, 0), 5)]);
    assert_eq!((alike[0].valid, alike[0].refused[0].0.as_str()), (1, "b"));
}

#[test]
fn the_hour_either_side_of_sunrise_is_measured_on_the_summer_clock() {
    // Sunrise is 05:55:07 by the clock; a second or two of our own sunrise is allowed for by keeping a minute off.
    let one = |start| figures(vec![visit("a", (2025, 4, 20), Some(start), Some(3))]).remove(0);
    assert_eq!(one((4, 56, 10)).valid, 1);
    assert_eq!(one((6, 54, 0)).valid, 1);
    assert_eq!(one((4, 53, 30)).refused[0].1, Refusal::TooEarly { before_min: 62, allowed_min: 60 });
    assert_eq!(one((6, 57, 0)).refused[0].1, Refusal::TooLate { after_min: 62, allowed_min: 60 });
}

#[test]
fn the_season_includes_its_first_and_last_day() {
    let on = |m, d| figures(vec![visit("a", (2025, m, d), None, Some(3))])[0].valid;
    assert_eq!([on(3, 20), on(3, 21), on(5, 15), on(5, 16)], [0, 1, 1, 0]);
}

#[test]
fn the_windows_visited_are_told() {
    let years = figures(vec![
        visit("a", (2025, 4, 18), None, Some(3)),
        visit("b", (2025, 4, 19), None, Some(5)),
        visit("c", (2025, 5, 15), None, Some(4)),
        visit("d", (2025, 3, 25), None, None),
        visit("e", (2025, 6, 1), None, Some(9)),
    ]);
    assert_eq!((years[0].visits, years[0].valid, years[0].windows), (5, 3, [1, 2]));
}

#[test]
fn counts_of_a_month_or_a_year_are_taken_as_in_season() {
    let known = |id: &str, date, known_to| Visit { known_to, ..visit(id, date, Some((9, 0, 0)), Some(8)) };
    let years = figures(vec![
        known("a", (1987, 1, 1), KnownTo::Year),
        known("b", (1988, 4, 1), KnownTo::Month),
        known("c", (1989, 6, 1), KnownTo::Month),
    ]);
    let short: Vec<_> = years.iter().map(|y| (y.year, y.cocks, y.windows)).collect();
    assert_eq!(short, [(1987, Some(8), [0, 0]), (1988, Some(8), [0, 0]), (1989, None, [0, 0])]);
}

/// Sunrise is 05:55 by the clock on 20 April: starts of 04:25 to 04:45 are Greenwich time for 05:25 to 05:45.
#[test]
fn starts_an_hour_early_look_like_greenwich_time() {
    let window = Window::of(&Guidance::load().unwrap(), Country::Scotland).unwrap();
    let starting = |hour| (0..6).map(|n| visit(&n.to_string(), (2025, 4, 20), Some((hour, 25 + 4 * n, 0)), Some(3))).collect::<Vec<_>>();
    let found = looks_greenwich(starting(4).iter(), |_| Some(PLACE), &window).unwrap();
    assert_eq!((found.visits, found.in_hours, found.in_hours_later), (6, 0, 6));
    assert!(found.to_string().contains("of 6 in summer time 0 lie within the hours of counting, with an hour added 6"));
    assert_eq!(looks_greenwich(starting(5).iter(), |_| Some(PLACE), &window), None);
    assert_eq!(looks_greenwich(starting(4).iter().take(4), |_| Some(PLACE), &window), None);
    assert_eq!(looks_greenwich(starting(4).iter(), |_| None, &window), None);
}

#[test]
fn a_lek_without_visits_has_no_figures() {
    assert!(figures(vec![]).is_empty());
}
