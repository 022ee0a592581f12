//! What comes of a late task.

use super::cases::{date, large, small};
use super::keeping::keeps_to_everything;
use super::made;
use proptest::prelude::*;
use std::collections::BTreeSet;
use works::programme::*;

fn need(kind: &str) -> Vec<Need> {
    vec![Need { kind: kind.into(), units: 1 }]
}

fn after(task: &str) -> Vec<After> {
    vec![After { task: task.into(), lag: Lag::Days(0) }]
}

/// A fence is taken down, then ground is planted by the end of April; the fencers then go to mark another fence.
fn job() -> Ask {
    let fence = Task { windows: vec![Window::new((8, 1), (3, 31))], needs: need("fencing"), ..Task::new("fence", 10) };
    let plant = Task { windows: vec![Window::new((11, 1), (4, 30))], after: after("fence"), needs: need("planting"), ..Task::new("plant", 20) };
    let mark = Task { needs: need("fencing"), after: after("fence"), ..Task::new("mark", 5) };
    let report = Task { after: after("plant"), latest: Some(Deadline { date: date("2027-05-31"), hard: true }), ..Task::new("report", 5) };
    let visit = Task { earliest: Some(date("2027-06-01")), ..Task::new("visit", 1) };
    let crew = |id: &str, kind: &str| Crew { id: id.into(), kinds: BTreeSet::from([kind.to_owned()]), capacity: 1, there: vec![], away: vec![] };
    let mut fence = fence;
    fence.earliest = Some(date("2027-03-01"));
    Ask {
        first: date("2027-01-04"),
        last: date("2028-12-29"),
        calendar: Calendar::default(),
        crews: vec![crew("A", "fencing"), crew("B", "planting")],
        tasks: vec![fence, plant, mark, report, visit],
    }
}

fn of<'a>(slip: &'a Slip, task: &str) -> &'a Moved {
    slip.moved.iter().find(|moved| moved.task == task).unwrap_or_else(|| panic!("{task} does not move: {slip:?}"))
}

#[test]
fn a_week_late_moves_what_waits() {
    let ask = job();
    let plan = made(&ask);
    let first = |task: &str| plan.planned(task).unwrap().first.to_string();
    // 1 March 2027 is a Monday: two weeks of fencing, four of planting until 9 April.
    assert_eq!(["fence", "plant", "mark", "report"].map(first), ["2027-03-01", "2027-03-15", "2027-03-15", "2027-04-12"]);
    assert_eq!(plan.planned("fence").unwrap().slack_days, 0);
    assert_eq!(plan.planned("report").unwrap().slack_days, 43, "25 May to Monday 31 May are five working days; from 12 April");
    let slip = slip(&ask, &plan, "fence", Late::Days(7)).unwrap();
    keeps_to_everything(&ask, &slip.now, None);
    let moved: Vec<(&str, i64, bool)> = slip.moved.iter().map(|m| (m.task.as_str(), m.begins_later_days, m.other_season)).collect();
    assert_eq!(moved, [("fence", 7, false), ("plant", 7, false), ("mark", 7, false), ("report", 7, false)]);
    assert!(slip.lost.is_empty() && slip.outside_window.is_empty());
    assert_eq!(slip.finish_later_days, 0, "the visit in June ends last");
}

#[test]
fn too_late_for_the_season_falls_to_the_next_and_loses_what_has_a_deadline() {
    let ask = job();
    let plan = made(&ask);
    // Two weeks of fencing begun on 17 March end on the 30th; 20 days of planting would end on 27 April.
    let still = slip(&ask, &plan, "fence", Late::Begins(date("2027-03-17"))).unwrap();
    assert_eq!(of(&still, "plant").now, (date("2027-03-31"), date("2027-04-27")));
    // From the 22nd they would end on 2 April, past the 31st: the fence comes down in August.
    let next = slip(&ask, &plan, "fence", Late::Begins(date("2027-03-22"))).unwrap();
    keeps_to_everything(&ask, &next.now, None);
    assert_eq!((of(&next, "fence").now.0, of(&next, "fence").other_season), (date("2027-08-02"), true));
    assert_eq!((of(&next, "plant").now.0, of(&next, "plant").other_season), (date("2027-11-01"), true));
    assert!(!of(&next, "mark").other_season);
    assert_eq!(next.lost, [("report".to_owned(), Reason::TooLate { done: Some(date("2027-12-03")), latest: date("2027-05-31") })]);
    assert_eq!(next.finish_later_days, (date("2027-11-26") - date("2027-06-01")).num_days());
}

#[test]
fn an_overrun_keeps_its_crew_and_is_told_where_it_leaves_its_window() {
    let ask = job();
    let plan = made(&ask);
    let slip = slip(&ask, &plan, "fence", Late::DoneBy(date("2027-04-06"))).unwrap();
    keeps_to_everything(&ask, &slip.now, Some("fence"));
    assert_eq!(of(&slip, "fence").now, (date("2027-03-01"), date("2027-04-06")));
    assert_eq!(slip.outside_window, ["2027-04-01", "2027-04-02", "2027-04-05", "2027-04-06"].map(date));
    assert_eq!(of(&slip, "mark").now.0, date("2027-04-07"));
    assert_eq!((of(&slip, "plant").now.0, of(&slip, "plant").other_season), (date("2027-11-01"), true));
    // A second slip keeps the first.
    let again = works::programme::slip(&ask, &slip.now, "mark", Late::Days(7)).unwrap();
    let fence = again.now.planned("fence").unwrap();
    assert_eq!((fence.first, fence.last, fence.worked.len()), (date("2027-03-01"), date("2027-04-06"), 27));
    assert_eq!(again.moved.len(), 1);
}

#[test]
fn another_crew_takes_over_where_ones_own_is_not_there_any_more() {
    let mut ask = job();
    let mut leaving = ask.crews[0].clone();
    leaving.away = vec![Days { first: date("2027-03-20"), last: ask.last }];
    ask.crews = vec![leaving, Crew { id: "C".into(), away: vec![Days { first: ask.first, last: date("2027-03-14") }], ..ask.crews[0].clone() }, ask.crews[1].clone()];
    let plan = made(&ask);
    assert_eq!(plan.planned("fence").unwrap().crews, ["A"]);
    let slip = slip(&ask, &plan, "fence", Late::Days(8)).unwrap();
    keeps_to_everything(&ask, &slip.now, None);
    assert_eq!(of(&slip, "fence").to_string(), "fence: 2027-03-15 to 2027-03-26, planned 2027-03-01 to 2027-03-12, 14 days later, by another crew");
    assert_eq!(slip.now.planned("fence").unwrap().crews, ["C"]);
    let next = works::programme::slip(&ask, &plan, "fence", Late::Begins(date("2027-03-22"))).unwrap();
    let told: Vec<String> = next.moved.iter().map(Moved::to_string).collect();
    assert!(told[0].ends_with("154 days later, in another season and by another crew"), "{told:?}");
}

#[test]
fn what_is_not_late_is_refused() {
    let ask = job();
    let plan = made(&ask);
    for (task, late) in [
        ("nobody", Late::Days(1)),
        ("fence", Late::Begins(date("2027-02-01"))),
        ("fence", Late::DoneBy(date("2027-03-02"))),
        ("fence", Late::DoneBy(date("2030-01-01"))),
    ] {
        assert_eq!(slip(&ask, &plan, task, late).unwrap_err().len(), 1, "{task} {late:?}");
    }
    let mut other = ask.clone();
    other.tasks[0].days = 3;
    other.tasks.remove(4);
    other.tasks[0].earliest = Some(date("2027-03-09"));
    assert_eq!(slip(&other, &plan, "mark", Late::Days(1)).unwrap_err().len(), 1, "the visit is not there any more; the fence seems to overrun");
}

/// The things held of any slip: everything is kept to, nothing is earlier than planned, and moves are told as they are.
fn check(ask: &Ask, plan: &Schedule, task: &str, late: Late) -> Slip {
    let slip = slip(ask, plan, task, late).unwrap();
    let overrun = matches!(late, Late::DoneBy(_)).then_some(task);
    keeps_to_everything(ask, &slip.now, overrun);
    for old in &plan.planned {
        let moved = slip.moved.iter().find(|moved| moved.task == old.task);
        match slip.now.planned(&old.task) {
            Some(new) => {
                assert!(new.first >= old.first, "{} is earlier", old.task);
                assert_eq!(moved.is_some(), (new.first, new.last, &new.crews) != (old.first, old.last, &old.crews));
            }
            None => assert!(moved.is_none() && slip.lost.iter().any(|(lost, _)| *lost == old.task)),
        }
    }
    assert!(plan.impossible.iter().all(|told| slip.now.planned(&told.task).is_none()), "what could not be done still is not");
    slip
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(128) })]

    #[test]
    fn slips_keep_to_everything(seed: u64, which: prop::sample::Index, days in 0..40_u32) {
        for ask in [small(seed), large(seed, 40, 4, 4)] {
            let plan = schedule(&ask, Limit { million_days: 1, proof_million_days: 1, ..Limit::default() }).unwrap();
            if plan.planned.is_empty() {
                continue;
            }
            let planned = &plan.planned[which.index(plan.planned.len())];
            let slip = check(&ask, &plan, &planned.task, Late::Days(days));
            prop_assert!(slip.now.planned(&planned.task).is_none_or(|now| (now.first - planned.first).num_days() >= i64::from(days)));
            let done = planned.last + chrono::Days::new(u64::from(days));
            if done <= ask.last {
                let slip = check(&ask, &plan, &planned.task, Late::DoneBy(done));
                prop_assert_eq!(slip.now.planned(&planned.task).unwrap().last, done);
                prop_assert_eq!(&slip, &works::programme::slip(&ask, &plan, &planned.task, Late::DoneBy(done)).unwrap());
            }
        }
    }

    #[test]
    fn within_its_slack_a_late_task_moves_alone(seed: u64, which: prop::sample::Index, part in 0.0..=1.0_f64) {
        for ask in [small(seed), large(seed, 40, 4, 4)] {
            let plan = schedule(&ask, Limit { million_days: 1, proof_million_days: 1, ..Limit::default() }).unwrap();
            if plan.planned.is_empty() {
                continue;
            }
            let planned = &plan.planned[which.index(plan.planned.len())];
            let days = (part * planned.slack_days as f64).round() as u32;
            let slip = check(&ask, &plan, &planned.task, Late::Days(days));
            prop_assert!(slip.moved.iter().all(|moved| moved.task == planned.task), "{:?}", slip.moved);
            prop_assert!(slip.lost.is_empty() && slip.finish_later_days <= 0);
            prop_assert_eq!(slip.moved.len(), usize::from(days > 0));
        }
    }
}
