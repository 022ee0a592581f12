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
        let hurried = schedule(&ask, Limit { exact_tasks: 0, million_days: 0, ..Limit::default() }).unwrap();
        assert!(hurried.bound <= best.objective && best.objective <= hurried.objective, "seed {seed}: {hurried:?} {best:?}");
        met += usize::from(hurried.proven);
    }
    println!("the first orders meet the bound in {met} of 300");
    assert!(met > 50, "{met}");
}

/// Where two crews have more than three years of work, they decide when it ends, and the bound comes from their open days.
#[test]
fn crews_decide_the_end_of_many_tasks() {
    for seed in 0..3 {
        let mut ask = crowded(seed, 200, 2, 9);
        ask.tasks.iter_mut().for_each(|task| task.after.clear());
        ask.tasks.iter_mut().for_each(|task| task.earliest = None);
        let plan = made(&ask);
        keeps_to_everything(&ask, &plan, None);
        let gap = plan.gap_days().unwrap();
        println!("seed {seed}: {} days, bound {}, gap {gap}", plan.objective.finish_days, plan.bound.finish_days);
        assert!(gap * 5 <= plan.objective.finish_days, "{:?} {:?}", plan.objective, plan.bound);
    }
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

/// One kind of work for all crews: crews decide, not chains or seasons alone.
fn crowded(seed: u64, tasks: usize, crews: usize, years: i32) -> Ask {
    let mut ask = large(seed, tasks, crews, years);
    ask.tasks.iter_mut().for_each(|task| task.needs[0].kind = "fence".into());
    ask.crews.iter_mut().for_each(|crew| crew.kinds = ["fence".to_owned()].into());
    ask
}

/// `cargo test --release -p works --test suite how_long -- --ignored --nocapture`
#[test]
#[ignore = "for its time: run with --release"]
fn how_long_five_hundred_tasks_in_ten_years_take() {
    for (name, ask) in
        [("mixed", large(0, 500, 8, 10)), ("mixed", large(1, 500, 8, 10)), ("one kind", crowded(0, 500, 8, 10)), ("one kind", crowded(1, 500, 8, 10))]
    {
        for million_days in [0, Limit::default().million_days] {
            let began = std::time::Instant::now();
            let plan = schedule(&ask, Limit { million_days, ..Limit::default() }).unwrap();
            let took = began.elapsed();
            keeps_to_everything(&ask, &plan, None);
            let began = std::time::Instant::now();
            let slipped = slip(&ask, &plan, &plan.planned[20].task, Late::Days(60)).unwrap();
            println!(
                "{name}, {million_days} million days: {} ms; {:?}, bound {:?}, gap {:?} days; a slip {} ms, {} tasks move",
                took.as_millis(),
                plan.objective,
                plan.bound,
                plan.gap_days(),
                began.elapsed().as_millis(),
                slipped.moved.len()
            );
        }
    }
}

/// As above: how many programmes of so many tasks are proven the best within the limit.
#[test]
#[ignore = "for its time: run with --release"]
fn how_long_a_proof_takes() {
    for (tasks, crews) in [(8, 2), (10, 2), (12, 1), (12, 2), (12, 3), (14, 3)] {
        let (mut proven, mut longest) = (0, 0);
        for seed in 0..20 {
            let began = std::time::Instant::now();
            let plan = schedule(&crowded(seed, tasks, crews, 4), Limit::default()).unwrap();
            proven += usize::from(plan.proven);
            longest = longest.max(began.elapsed().as_millis());
        }
        println!("{tasks} tasks, {crews} crews: {proven} of 20 proven, the longest took {longest} ms");
    }
}
