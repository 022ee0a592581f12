//! The critical path against printed networks and against networkx 3.6.1 and a linear program (tests/data/schedule.json, made by
//! `make.py` of the reference library).
//!
//! - `taylor_5`, `taylor_6`: Taylor, Introduction to Management Science, chapter 8, answers to the first two network problems: every
//!   earliest and latest start and finish and slack as printed.
//! - `reliable_hillier_lieberman`: Reliable Construction, Hillier & Lieberman: 44 weeks, critical A B C E F J L N (from memory).

#![allow(clippy::unwrap_used, reason = "a test may stop")]

use serde_json::Value;
use works::programme::{PathFault, Step, critical_path};

fn fixture() -> Value {
    serde_json::from_str(include_str!("data/schedule.json")).unwrap()
}

fn texts(v: &Value) -> Vec<String> {
    v.as_array().unwrap().iter().map(|t| t.as_str().unwrap().to_owned()).collect()
}

fn count(v: &Value) -> u32 {
    u32::try_from(v.as_u64().unwrap()).unwrap()
}

fn step(id: &str, duration: u32, after: &[&str]) -> Step {
    Step { id: id.into(), duration, after: after.iter().map(|a| (*a).to_owned()).collect() }
}

#[test]
fn every_network_of_the_reference_is_met() {
    let all = fixture();
    for name in ["taylor_5", "taylor_6", "reliable_hillier_lieberman"] {
        let case = &all[name];
        let table = case["table"].as_object().unwrap();
        let steps: Vec<Step> =
            table.iter().map(|(id, row)| Step { id: id.clone(), duration: count(&row["dur"]), after: texts(&row["pred"]) }).collect();
        let path = critical_path(&steps).unwrap();
        assert_eq!(path.duration, count(&case["duration"]), "{name}");
        assert_eq!(path.critical, texts(&case["critical"]), "{name}");
        for (found, (id, row)) in path.steps.iter().zip(table) {
            let found_row =
                [found.earliest_start, found.earliest_finish, found.latest_start, found.latest_finish, found.total_float, found.free_float];
            assert_eq!((&found.id, found_row), (id, ["ES", "EF", "LS", "LF", "total_float", "free_float"].map(|key| count(&row[key]))), "{name}");
            if let Some(printed) = case["published_ES_EF_LS_LF_slack"].get(id) {
                let printed: Vec<u32> = printed.as_array().unwrap().iter().map(count).collect();
                assert_eq!(printed, found_row[..5], "{name} {id}");
            }
        }
        if let Some(published) = case.get("published") {
            assert_eq!(path.duration, count(&published["weeks"]));
            assert_eq!(path.critical, texts(&published["critical"]));
        }
    }
}

#[test]
fn faults_of_a_network_are_told_at_once() {
    let steps =
        [step("a", 1, &["c"]), step("b", 1, &["a"]), step("c", 1, &["b"]), step("d", 1, &["a", "x"]), step("e", 1, &["e"]), step("d", 2, &[])];
    let ids = |ids: &[&str]| ids.iter().map(|id| (*id).to_owned()).collect::<Vec<String>>();
    let expected = vec![
        PathFault::Twice { id: "d".into() },
        PathFault::Unknown { id: "d".into(), after: "x".into() },
        PathFault::Circle { ids: ids(&["a", "b", "c"]) },
        PathFault::Circle { ids: ids(&["e"]) },
    ];
    assert_eq!(critical_path(&steps), Err(expected));
    assert_eq!(critical_path(&[]).unwrap().duration, 0);
}
