//! The bound, and many tasks.

use super::cases::{large, small};
use super::keeping::keeps_to_everything;
use super::made;
use works::programme::*;

#[test]
fn the_bound_is_never_above_the_best() {
    let mut met = 0;
    for seed in 200..500 {
        let ask = small(seed);
        let best = made(&ask);
        assert!(best.proven);
        let hurried = schedule(&ask, Limit { exact_tasks: 0, million_days: 0, seed: 1 }).unwrap();
        assert!(hurried.bound <= best.objective && best.objective <= hurried.objective, "seed {seed}: {hurried:?} {best:?}");
        met += usize::from(hurried.proven);
    }
    println!("the first orders meet the bound in {met} of 300");
    assert!(met > 50, "{met}");
}

#[test]
fn many_tasks_end_near_the_bound() {
    let ask = large(1, 120, 6, 8);
    let plan = made(&ask);
    keeps_to_everything(&ask, &plan, None);
    assert_eq!(plan.objective.left_out, 0);
    let gap = plan.gap_days().unwrap();
    println!("{} days, bound {}, gap {gap}", plan.objective.finish_days, plan.bound.finish_days);
    assert!(gap * 4 <= plan.objective.finish_days, "{:?} {:?}", plan.objective, plan.bound);
}

/// More looking never makes it worse.
#[test]
fn more_search_is_no_worse() {
    let ask = large(2, 80, 4, 8);
    let found = [0, 2, 10].map(|million_days| schedule(&ask, Limit { million_days, ..Limit::default() }).unwrap().objective);
    assert!(found.is_sorted_by(|a, b| a >= b), "{found:?}");
}

/// `cargo test --release -p works --test suite five_hundred -- --ignored --nocapture`
#[test]
#[ignore = "for its time: run with --release"]
fn five_hundred_tasks_in_ten_years() {
    for seed in 0..3 {
        let ask = large(seed, 500, 8, 10);
        for million_days in [0, Limit::default().million_days] {
            let began = std::time::Instant::now();
            let plan = schedule(&ask, Limit { million_days, ..Limit::default() }).unwrap();
            let took = began.elapsed();
            keeps_to_everything(&ask, &plan, None);
            let began = std::time::Instant::now();
            let slipped = slip(&ask, &plan, &plan.planned[20].task, Late::Days(60)).unwrap();
            println!(
                "seed {seed}, {million_days} million days: {} ms; left out {}, finish {} days, bound {}, gap {:?}; a slip {} ms, {} tasks move",
                took.as_millis(), plan.objective.left_out, plan.objective.finish_days, plan.bound.finish_days, plan.gap_days(), began.elapsed().as_millis(), slipped.moved.len()
            );
        }
    }
}
