//! The planner of dawns against plain enumeration, written here without its code, and against what any plan must keep to.

#![allow(clippy::unwrap_used, reason = "a test may stop")]

mod dawns {
    pub mod cases;
    pub mod enumeration;
    pub mod keeping;
}

use birds::dawns::withheld::withhold;
use birds::dawns::{Ask, DawnPlan, Effort, Limit, Names, Reason, Rules, calendar, plan, words};
use chrono::{Datelike, NaiveDate};
use dawns::cases::{landscape, nearer, rules, small};
use dawns::enumeration::least;
use dawns::keeping::keeps_to_everything;

fn planned(ask: &Ask, rules: &Rules) -> DawnPlan {
    plan(ask, rules, Limit::default(), &|| false).unwrap_or_else(|faults| panic!("{faults:?}"))
}

/// Every way of sharing the visits out to mornings and observers, best kept: see `dawns/enumeration.rs`.
#[test]
fn two_hundred_small_springs_are_planned_as_well_as_by_enumeration() {
    let (mut missing, mut crowded, mut together) = (0, 0, 0);
    for seed in 0..200 {
        let (ask, rules) = small(seed);
        let plan = planned(&ask, &rules);
        keeps_to_everything(&ask, &rules, &plan);
        assert_eq!(plan.effort, least(&ask, &rules), "seed {seed}");
        assert!(plan.proven && plan.bound == plan.effort, "seed {seed}: {:?} of {:?}", plan.bound, plan.effort);
        missing += usize::from(plan.effort.missed > 0);
        crowded += usize::from(plan.missed.iter().any(|m| matches!(m.reason, Reason::Crowded { .. })));
        together += usize::from(plan.effort.outings < 2 * ask.leks.len() as i64 - plan.effort.missed);
    }
    // The cases are worth something only if leks are missed, crowded out and taken together in many of them.
    assert!(missing > 30 && crowded > 20 && together > 50, "{missing} with visits missing, {crowded} crowded, {together} with leks taken together");
}

#[test]
fn middling_springs_keep_to_everything_and_the_bound_is_never_above_the_plan() {
    for seed in 0..12 {
        let (ask, rules) = (landscape(seed, 8 + seed as usize % 5, 1 + seed as usize % 3), rules());
        let plan = planned(&ask, &rules);
        keeps_to_everything(&ask, &rules, &plan);
        assert!(plan.bound <= plan.effort && plan.proven == (plan.bound == plan.effort), "seed {seed}");
        assert_eq!(planned(&ask, &rules), plan, "the same question has the same plan");
    }
}

/// Run with `--nocapture` to see times.
#[test]
fn twenty_five_leks_and_three_observers_are_planned_and_proven() {
    let quick = Rules { watch_min: 10, settle_min: 5, ..rules() };
    for (name, share, rules) in [("wide", 1.0, rules()), ("half as wide", 0.5, rules()), ("short watches", 0.35, quick)] {
        for seed in 0..3 {
            let ask = nearer(landscape(seed, 25, 3), share);
            let begun = std::time::Instant::now();
            let plan = planned(&ask, &rules);
            println!("{name}, seed {seed}: {:?}, {:.2?}", plan.effort, begun.elapsed());
            keeps_to_everything(&ask, &rules, &plan);
            assert!(plan.proven, "seed {seed}: {:?} of {:?}", plan.bound, plan.effort);
        }
    }
}

#[test]
fn twenty_five_leks_and_observers_who_are_away_on_days_of_their_own_are_planned_and_proven() {
    for seed in 0..3 {
        let (mut ask, rules) = (nearer(landscape(seed, 25, 3), 0.5), rules());
        let mornings: Vec<_> = ask.mornings.iter().copied().collect();
        for (i, observer) in ask.observers.iter_mut().enumerate() {
            observer.away = mornings.iter().copied().filter(|day| (7 * day.ordinal() as usize + 5 * i) % 11 < 4).collect();
        }
        let begun = std::time::Instant::now();
        let plan = planned(&ask, &rules);
        println!("seed {seed}: {:?}, {:.2?}", plan.effort, begun.elapsed());
        keeps_to_everything(&ask, &rules, &plan);
        assert!(plan.proven, "seed {seed}: {:?} of {:?}", plan.bound, plan.effort);
    }
}

/// Few mornings for many leks, some too near to each other for both visits.
#[test]
fn twenty_five_leks_on_five_mornings_a_window_keep_to_everything() {
    let (mut ask, rules) = (landscape(7, 25, 3), rules());
    let days = |month, days: &[u32]| days.iter().map(|d| NaiveDate::from_ymd_opt(2027, month, *d).unwrap()).collect::<Vec<_>>();
    ask.mornings = days(4, &[10, 11, 12, 17, 18, 19, 20, 24, 25, 26]).into_iter().collect();
    let begun = std::time::Instant::now();
    let plan = planned(&ask, &rules);
    println!("{:?}, bound {:?}, {:.2?}", plan.effort, plan.bound, begun.elapsed());
    keeps_to_everything(&ask, &rules, &plan);
}

/// Mornings on either side of the border of the windows and people away: the two windows get in each other's way, and the search ends
/// at its limit.
#[test]
fn twenty_five_leks_at_the_border_of_the_windows_keep_to_everything() {
    let (mut ask, rules) = (nearer(landscape(1, 25, 3), 0.7), rules());
    ask.mornings = (11..=25).map(|d| NaiveDate::from_ymd_opt(2027, 4, d).unwrap()).collect();
    let mornings: Vec<_> = ask.mornings.iter().copied().collect();
    for (i, observer) in ask.observers.iter_mut().enumerate() {
        observer.away = mornings.iter().copied().filter(|day| (day.day() as usize + i).is_multiple_of(3)).collect();
    }
    let plan = plan(&ask, &rules, Limit { million_sums: 200 }, &|| false).unwrap();
    keeps_to_everything(&ask, &rules, &plan);
    assert!(!plan.proven && plan.bound < plan.effort && plan.effort.missed < 10, "{:?} of {:?}", plan.effort, plan.bound);
}

#[test]
fn a_search_that_is_stopped_says_so_and_still_keeps_to_everything() {
    let (ask, rules) = (landscape(3, 12, 2), rules());
    let plan = plan(&ask, &rules, Limit { million_sums: 0 }, &|| false).unwrap();
    keeps_to_everything(&ask, &rules, &plan);
    assert!(!plan.proven && plan.bound < plan.effort);
}

fn one_lek(change: impl FnOnce(&mut Ask)) -> (Ask, Rules) {
    let mut ask = landscape(1, 3, 1);
    change(&mut ask);
    (ask, rules())
}

fn why(ask: &Ask, rules: &Rules, lek: &str) -> Vec<(u8, Reason)> {
    let plan = planned(ask, rules);
    keeps_to_everything(ask, rules, &plan);
    assert_eq!(plan.effort.missed, plan.missed.len() as i64);
    plan.missed.into_iter().filter(|m| m.lek_id == lek).map(|m| (m.visit, m.reason)).collect()
}

#[test]
fn a_lek_that_cannot_be_reached_is_said_so_and_the_others_are_planned() {
    let (ask, rules) = one_lek(|ask| ask.leks[1].walk_min = 95);
    let reason = Reason::WalkTooLong { walk_min: Some(95), allowed_min: 90 };
    assert_eq!(why(&ask, &rules, "L1"), [(1, reason.clone()), (2, reason.clone())]);
    assert_eq!(reason.to_string(), "the walk in the dark is 1 h 35 min, longer than 90 minutes");
    assert!(why(&ask, &rules, "L0").is_empty() && why(&ask, &rules, "L2").is_empty());

    let (ask, rules) = one_lek(|ask| {
        let stop = ask.leks[1].stop;
        ask.minutes.from_base[0][stop] = 160;
        ask.minutes.between_stops.iter_mut().flatten().for_each(|m| *m = 100);
    });
    let way_min = Some(160 + ask.leks[1].walk_min);
    assert_eq!(why(&ask, &rules, "L1")[0], (1, Reason::TooFar { way_min, allowed_min: 150 }));

    let (ask, rules) = one_lek(|ask| ask.mornings.retain(|day| *day < NaiveDate::from_ymd_opt(2027, 4, 19).unwrap()));
    let [first, last] = [(4, 19), (5, 15)].map(|(m, d)| NaiveDate::from_ymd_opt(2027, m, d).unwrap());
    assert_eq!(why(&ask, &rules, "L1"), [(2, Reason::NoMorning { first, last })]);

    let (ask, rules) = one_lek(|ask| ask.leks[1].lon_lat_deg = (19.0, -89.9));
    assert_eq!(why(&ask, &rules, "L1").last(), Some(&(2, Reason::NoSunrise)));

    let (ask, rules) = one_lek(|_| ());
    let rules = Rules { watch_min: 121, ..rules };
    assert_eq!(why(&ask, &rules, "L1")[0], (1, Reason::HoursTooShort { watch_min: 121, open_min: 120 }));

    let (ask, rules) = one_lek(|ask| {
        ask.minutes.between_stops.iter_mut().flatten().for_each(|m| *m = 100);
        ask.minutes.across.iter_mut().flatten().for_each(|m| *m = None);
        ask.leks.iter_mut().enumerate().for_each(|(i, lek)| (lek.stop, lek.walk_min) = (i, 30));
        ask.mornings = [(4, 18), (4, 20), (4, 26), (4, 27)].map(|(m, d)| NaiveDate::from_ymd_opt(2027, m, d).unwrap()).into();
    });
    let plan = planned(&ask, &rules);
    keeps_to_everything(&ask, &rules, &plan);
    assert_eq!((plan.effort.missed, plan.effort.mornings), (2, 4), "one morning, then three: two leks are missed once");
    assert!(plan.missed.iter().all(|m| m.visit == 1 && m.reason == Reason::Crowded { apart_days: 7 }), "{:?}", plan.missed);
}

#[test]
fn visits_of_the_two_windows_keep_their_days_apart() {
    let (mut ask, rules) = (landscape(1, 1, 1), rules());
    let day = |m, d| NaiveDate::from_ymd_opt(2027, m, d).unwrap();
    ask.mornings = [day(4, 18), day(4, 24)].into();
    assert_eq!(planned(&ask, &rules).effort.missed, 1, "six days are too few");
    ask.mornings = [day(4, 18), day(4, 25)].into();
    assert_eq!(planned(&ask, &rules).missed, []);
}

#[test]
fn people_who_are_away_do_not_go_out() {
    let (mut ask, rules) = (landscape(5, 6, 2), rules());
    let all: Vec<_> = ask.mornings.iter().copied().collect();
    ask.observers[0].away = all.iter().copied().step_by(2).collect();
    ask.observers[1].away = all.iter().copied().skip(1).step_by(2).collect();
    let plan = planned(&ask, &rules);
    keeps_to_everything(&ask, &rules, &plan);
    assert!(plan.mornings.iter().all(|m| m.outings.len() == 1));
    ask.observers.iter_mut().for_each(|o| o.away = all.iter().copied().collect());
    let nobody = planned(&ask, &rules);
    assert_eq!((nobody.mornings.len(), nobody.missed.len()), (0, 12));
    assert!(nobody.missed.iter().all(|m| matches!(m.reason, Reason::NoMorning { .. })) && nobody.proven);
}

#[test]
fn an_empty_question_has_an_empty_plan() {
    let (mut ask, rules) = (landscape(5, 6, 2), rules());
    ask.leks.clear();
    ask.minutes.across.clear();
    let plan = planned(&ask, &rules);
    assert_eq!((plan.effort, plan.proven), (Effort { travel_min: Some(0), ..Effort::default() }, true));
    assert_eq!(plan.spare.len(), 56, "21 March to 15 May");
}

/// 100 m from the edge: the birdwatchers' code of the north Pennines (`disturbance.vehicle_distance`).
#[test]
fn a_stop_too_near_to_a_lek_is_told() {
    let (mut ask, rules) = (landscape(5, 6, 2), rules());
    let lek = &ask.leks[2];
    let at = lek.at_m;
    ask.stops[0].at_m = (at.0 + lek.radius_m + 99.0, at.1);
    let near = planned(&ask, &rules).stops_too_near;
    assert_eq!(near.len(), 1);
    assert!((near[0].metres - 99.0).abs() < 1e-6 && near[0].needed_m == 100.0 && near[0].lek_id == "L2", "{near:?}");
    ask.stops[0].at_m.0 += 1.5;
    assert!(planned(&ask, &rules).stops_too_near.is_empty());
}

#[test]
fn everything_wrong_with_a_question_is_said_at_once() {
    let (mut ask, rules) = (landscape(5, 3, 2), rules());
    ask.leks[1].id = "L0".into();
    ask.leks[2].stop = 99;
    ask.leks[0].lon_lat_deg = (f64::NAN, 56.0);
    ask.minutes.from_base.pop();
    ask.mornings.insert(NaiveDate::from_ymd_opt(2026, 4, 1).unwrap());
    let faults = plan(&ask, &Rules { watch_min: 0, ..rules }, Limit::default(), &|| false).unwrap_err();
    let all: Vec<String> = faults.iter().map(ToString::to_string).collect();
    for part in ["lek `L0`: needed an identity", "stop 99", "longitude -180", "minutes from base: needed 2 rows", "days of 2027, found 2026-04-01", "watching of a minute"] {
        assert!(all.iter().any(|fault| fault.contains(part)), "{part} in {all:?}");
    }
    assert_eq!(faults.len(), 6);
}

#[test]
fn a_plan_goes_through_json_and_back() {
    let (ask, rules) = (landscape(2, 6, 2), rules());
    let plan = planned(&ask, &rules);
    let text = serde_json::to_string(&plan).unwrap();
    assert_eq!(serde_json::from_str::<DawnPlan>(&text).unwrap(), plan);
    assert!(text.contains("\"arrive_by\":\"2027-03-21T"), "{text}");
}

/// Who visits what on which morning, in which order, and why anything is missed, without minutes.
fn structure(plan: &DawnPlan) -> String {
    let mut plan = plan.clone();
    withhold(&mut plan);
    let outings = plan.mornings.iter().flat_map(|m| m.outings.iter().map(move |o| (m.date, o)));
    let visits: Vec<_> = outings.map(|(date, o)| (date, &o.observer, o.visits.iter().map(|v| &v.lek_id).collect::<Vec<_>>())).collect();
    format!("{visits:?} {:?}", plan.missed)
}

#[test]
fn a_withheld_plan_is_the_same_wherever_in_its_neighbourhood_a_lek_lies() {
    let (mut alike, mut together) = (0, 0);
    for seed in 0..12 {
        let (here, rules) = (nearer(landscape(seed, 6 + seed as usize % 5, 1 + seed as usize % 3), 0.5), rules());
        // Leks some way on: every walk a little longer or shorter, each by its own.
        let mut there = here.clone();
        for (i, lek) in there.leks.iter_mut().enumerate() {
            lek.at_m.0 += 60.0;
            lek.lon_lat_deg.0 += 0.001;
            lek.walk_min = (lek.walk_min + i as u32 % 4).max(2) - 1;
        }
        for (i, across) in there.minutes.across.iter_mut().flatten().flatten().enumerate() {
            *across += i as u32 % 3;
        }
        let [mut here, mut there] = [planned(&here, &rules), planned(&there, &rules)];
        if structure(&here) != structure(&there) {
            continue;
        }
        assert_ne!(here, there, "the exact plans differ");
        let exact = here.clone();
        together += here.mornings.iter().flat_map(|m| &m.outings).filter(|o| o.visits.len() > 1).count();
        withhold(&mut here);
        withhold(&mut there);
        // Whoever keeps to what is told is in place early enough and watches within hours.
        let visits = |plan: &DawnPlan| plan.mornings.iter().flat_map(|m| &m.outings).map(|o| o.visits[0].clone()).collect::<Vec<_>>();
        for (told, exact) in visits(&here).iter().zip(visits(&exact)) {
            assert!(told.arrive_by <= exact.arrive_by && told.watch_from >= exact.watch_from && told.hours_close <= exact.hours_close, "{told:?}");
            assert_eq!(told.watch_until.unwrap() - told.watch_from.unwrap(), exact.watch_until.unwrap() - exact.watch_from.unwrap());
        }
        assert_eq!(serde_json::to_string(&here).unwrap(), serde_json::to_string(&there).unwrap(), "seed {seed}");
        assert_eq!((words::takes(&here), words::proof(&here)), (words::takes(&there), words::proof(&there)));
        let made = NaiveDate::from_ymd_opt(2027, 1, 1).unwrap().and_hms_opt(0, 0, 0).unwrap();
        assert_eq!(calendar(&here, made, Names::Withheld), calendar(&there, made, Names::Withheld));
        alike += 1;
    }
    assert!(alike > 4 && together > 10, "{alike} alike, {together} outings of several leks");
}
