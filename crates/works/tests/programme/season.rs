//! The fixture: an upland job in whole weeks with closed seasons, and the same with one team for four of its tasks.

use super::cases::date;
use super::keeping::keeps_to_everything;
use super::made;
use chrono::NaiveDate;
use serde_json::Value;
use std::collections::BTreeSet;
use works::programme::*;

fn fixture() -> Value {
    serde_json::from_str(include_str!("../data/schedule.json")).unwrap()
}

fn month_day(text: &Value) -> (u32, u32) {
    let (month, day) = text.as_str().unwrap().split_once('-').unwrap();
    (month.parse().unwrap(), day.parse().unwrap())
}

/// All seven days worked, beginnings on Mondays: a grid of weeks.
fn ask(team: &[&str]) -> Ask {
    let case = &fixture()["season_windows"];
    let first: NaiveDate = case["week0_monday"].as_str().unwrap().parse().unwrap();
    let tasks = case["tasks"].as_object().unwrap().iter().map(|(id, row)| {
        let mut task = Task::new(id, 7 * u32::try_from(row["weeks"].as_u64().unwrap()).unwrap());
        task.after = row["after"].as_array().unwrap().iter().map(|t| After { task: t.as_str().unwrap().into(), lag: Lag::Days(0) }).collect();
        let windows = case["open"].get(id).map_or(vec![], |windows| windows.as_array().unwrap().clone());
        task.windows = windows.iter().map(|w| Window::new(month_day(&w[0]), month_day(&w[1]))).collect();
        if team.contains(&id.as_str()) {
            task.needs = vec![Need { kind: "team".into(), units: 1 }];
        }
        task
    });
    let calendar = Calendar { worked: Weekdays::ALL, begin: Weekdays::MONDAY, holidays: BTreeSet::new() };
    let crew = Crew { id: "team".into(), kinds: BTreeSet::from(["team".into()]), capacity: 1, there: vec![], away: vec![] };
    Ask { first, last: date("2026-12-31"), calendar, crews: vec![crew], tasks: tasks.collect() }
}

fn week(ask: &Ask, day: NaiveDate) -> i64 {
    (day - ask.first).num_days() / 7
}

#[test]
fn closed_seasons_push_tasks_as_in_the_fixture() {
    let case = &fixture()["season_windows"];
    let ask = ask(&[]);
    let plan = made(&ask);
    keeps_to_everything(&ask, &plan, None);
    assert_eq!(Some(plan.objective.finish_days), case["weeks"].as_u64().map(|weeks| 7 * weeks));
    assert!(plan.proven);
    for (id, row) in case["tasks"].as_object().unwrap() {
        let planned = plan.planned(id).unwrap();
        assert_eq!(planned.first.to_string(), row["earliest_date"].as_str().unwrap(), "{id}");
        assert_eq!(Some(week(&ask, planned.first)), row["earliest_week"].as_i64(), "{id}");
        assert_eq!(Some(week(&ask, planned.latest_first)), row["latest_week"].as_i64(), "{id}");
        assert_eq!((planned.latest_first - planned.first).num_days(), 7 * row["float_weeks"].as_i64().unwrap(), "{id}");
    }
}

#[test]
fn one_team_takes_thirty_six_weeks() {
    let case = &fixture()["one_team"];
    let team: Vec<&str> = case["team_tasks"].as_array().unwrap().iter().map(|t| t.as_str().unwrap()).collect();
    let ask = ask(&team);
    let plan = made(&ask);
    keeps_to_everything(&ask, &plan, None);
    assert_eq!(Some(plan.objective.finish_days), case["best_weeks"].as_u64().map(|weeks| 7 * weeks));
    assert!(plan.proven);
    // The fixture gives the first order of that length; ours has the least sum of ends among all of them.
    let theirs: u64 = case["starts"]
        .as_object()
        .unwrap()
        .iter()
        .map(|(id, week)| 7 * week.as_u64().unwrap() + u64::from(ask.tasks.iter().find(|t| t.id == *id).unwrap().days))
        .sum();
    assert!(plan.objective.weighted_days <= theirs, "{} {theirs}", plan.objective.weighted_days);
}
