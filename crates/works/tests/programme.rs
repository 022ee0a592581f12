//! Programmes against a fixture of closed seasons (tests/data/schedule.json, exhaustive search of the reference library), against plain
//! enumeration written here without their code, and against what any programme must keep to.

#![allow(clippy::unwrap_used, reason = "a test may stop")]

mod bounds;
pub mod cases;
pub mod enumeration;
pub mod keeping;
mod last_season;
mod season;
mod slipping;
mod told;
mod years;

use cases::{date, large, shared, small};
use keeping::keeps_to_everything;
use proptest::prelude::*;
use works::programme::*;

pub fn made(ask: &Ask) -> Schedule {
    schedule(ask, Limit::default()).unwrap_or_else(|faults| panic!("{faults:?}"))
}

fn as_good_as_by_enumeration(ask: &Ask, plan: &Schedule, seed: u64) {
    keeps_to_everything(ask, plan, None);
    assert!(plan.proven, "seed {seed}");
    let weight = |told: &Impossible| ask.tasks.iter().find(|task| task.id == told.task).map_or(0, |task| u64::from(task.weight));
    let found = Objective { left_out: plan.impossible.len(), left_out_weight: plan.impossible.iter().map(weight).sum(), ..plan.objective };
    assert_eq!(found, enumeration::best(ask), "seed {seed}");
}

/// Every task on every day with every crew, or left out, best kept: see `programme/enumeration.rs`.
#[test]
fn two_hundred_small_programmes_are_as_good_as_by_enumeration() {
    let (mut left_out, mut late, mut hindered) = (0, 0, 0);
    for seed in 0..200 {
        let ask = small(seed);
        let plan = made(&ask);
        as_good_as_by_enumeration(&ask, &plan, seed);
        left_out += usize::from(plan.objective.left_out > 0);
        late += usize::from(plan.objective.late_weighted_days > 0);
        hindered += usize::from(schedule(&ask, Limit { exact_tasks: 0, million_days: 0, ..Limit::default() }).unwrap().objective > plan.objective);
    }
    println!("of 200: {left_out} with tasks crowded out, {late} with tasks late, {hindered} where the first order is not the best");
    assert!(left_out >= 5 && late >= 10 && hindered >= 3, "{left_out} {late} {hindered}");
}

/// As above; the proof begins from the first order, so that it has to find what is better by itself.
#[test]
fn six_hundred_programmes_of_shared_crews_are_as_good_as_by_enumeration() {
    let mut hindered = 0;
    for seed in 2300..2900 {
        let ask = shared(seed);
        let limit = Limit { million_days: 0, ..Limit::default() };
        let plan = schedule(&ask, limit).unwrap();
        as_good_as_by_enumeration(&ask, &plan, seed);
        hindered += usize::from(schedule(&ask, Limit { exact_tasks: 0, ..limit }).unwrap().objective > plan.objective);
    }
    println!("in {hindered} of 600 the first order is not the best");
    assert!(hindered >= 100, "{hindered}");
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(128) })]

    #[test]
    fn every_programme_keeps_to_everything_and_is_the_same_again(seed: u64, tasks in 1..60_usize, crews in 1..9_usize) {
        let limit = Limit { million_days: 1, proof_million_days: 3, ..Limit::default() };
        for ask in [small(seed), large(seed, tasks, crews, 3)] {
            let plan = schedule(&ask, limit).unwrap();
            keeps_to_everything(&ask, &plan, None);
            prop_assert_eq!(&plan, &schedule(&ask, limit).unwrap());
        }
    }
}

#[test]
fn nothing_asked_is_nothing_planned() {
    let ask = Ask { first: date("2027-01-01"), last: date("2027-12-31"), calendar: Calendar::default(), crews: vec![], tasks: vec![] };
    let plan = made(&ask);
    assert!(plan.planned.is_empty() && plan.impossible.is_empty() && plan.finish.is_none() && plan.proven);
}
