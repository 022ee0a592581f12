//! New years, leap years, months, marks in time.

use super::cases::date;
use super::enumeration::is_open;
use super::made;
use std::collections::BTreeSet;
use works::programme::*;

fn ask(first: &str, last: &str, worked: Weekdays, tasks: Vec<Task>) -> Ask {
    Ask { first: date(first), last: date(last), calendar: Calendar { worked, begin: Weekdays::ALL, holidays: BTreeSet::new() }, crews: vec![], tasks }
}

#[test]
fn windows_run_over_new_year_and_mind_leap_years() {
    let cases = [
        (((11, 1), (4, 30)), [("2027-10-31", false), ("2027-11-01", true), ("2028-01-01", true), ("2028-04-30", true), ("2028-05-01", false)]),
        (((2, 1), (2, 29)), [("2027-02-28", true), ("2027-03-01", false), ("2028-02-29", true), ("2028-03-01", false), ("2028-01-31", false)]),
        (((2, 29), (3, 5)), [("2027-02-28", false), ("2027-03-01", true), ("2028-02-28", false), ("2028-02-29", true), ("2028-03-05", true)]),
        (((2, 1), (2, 28)), [("2028-02-28", true), ("2028-02-29", false), ("2027-02-28", true), ("2027-01-31", false), ("2027-02-01", true)]),
        (((6, 1), (6, 1)), [("2027-06-01", true), ("2027-06-02", false), ("2027-05-31", false), ("2028-06-01", true), ("2028-12-31", false)]),
    ];
    for ((first, last), days) in cases {
        let window = Window::new(first, last);
        let task = Task { windows: vec![window], ..Task::new("a", 1) };
        for (day, wanted) in days {
            assert_eq!((window.open(date(day)), is_open(&task, date(day))), (wanted, wanted), "{window} {day}");
        }
    }
}

#[test]
fn a_whole_task_over_a_leap_day_and_one_that_pauses() {
    let windows = vec![Window::new((12, 20), (2, 28))];
    let whole = Task { windows: windows.clone(), ..Task::new("whole", 71) };
    let broken = Task { windows, stretch: Stretch::Broken, ..Task::new("broken", 80) };
    // 20 December to 28 February are 71 days, in leap years too: the 29th is shut.
    let plan = made(&ask("2028-01-01", "2030-12-31", Weekdays::ALL, vec![whole, broken]));
    let at = |task: &str| plan.planned(task).map(|planned| (planned.first, planned.last)).unwrap();
    assert_eq!(at("whole"), (date("2028-12-20"), date("2029-02-28")));
    // 59 days to 28 February 2028, 21 from 20 December.
    assert_eq!(at("broken"), (date("2028-01-01"), date("2029-01-09")));
}

#[test]
fn consents_take_months_and_marks_take_nobody() {
    let tasks = vec![
        Task { earliest: Some(date("2027-03-03")), ..Task::new("apply", 1) },
        Task { after: vec![After { task: "apply".into(), lag: Lag::Months(2) }], ..Task::new("consent", 0) },
        Task { after: vec![After { task: "consent".into(), lag: Lag::Days(0) }], ..Task::new("dig", 2) },
        Task { after: vec![After { task: "dig".into(), lag: Lag::Days(3) }], ..Task::new("look", 1) },
    ];
    let plan = made(&ask("2027-01-01", "2027-12-31", Weekdays::MONDAY_TO_FRIDAY, tasks));
    let at = |task: &str| plan.planned(task).map(|planned| (planned.first.to_string(), planned.last.to_string())).unwrap();
    let days = |first: &str, last: &str| (first.to_owned(), last.to_owned());
    assert_eq!(at("apply"), days("2027-03-03", "2027-03-03"));
    assert_eq!(at("consent"), days("2027-05-04", "2027-05-04"));
    assert_eq!(at("dig"), days("2027-05-04", "2027-05-05"));
    // 6 May and three days between: Sunday 9 May, so Monday.
    assert_eq!(at("look"), days("2027-05-10", "2027-05-10"));
}

#[test]
fn weekends_holidays_and_days_off() {
    let crew = Crew {
        id: "A".into(),
        kinds: BTreeSet::from(["dig".to_owned()]),
        capacity: 2,
        there: vec![Window::new((1, 1), (6, 30))],
        away: vec![Days { first: date("2027-01-13"), last: date("2027-01-13") }],
    };
    let need = |units| vec![Need { kind: "dig".into(), units }];
    let tasks = vec![
        // Monday 4 to Tuesday 12 January, the holiday left out, is not broken by the weekend.
        Task { needs: need(1), weight: 9, ..Task::new("whole", 6) },
        // Across the day off it pauses.
        Task { needs: need(1), weight: 8, stretch: Stretch::Broken, ..Task::new("broken", 8) },
        // In one go it cannot lie across the day off, and needs both people.
        Task { needs: need(2), ..Task::new("both", 5) },
    ];
    let mut ask = ask("2027-01-04", "2027-12-31", Weekdays::MONDAY_TO_FRIDAY, tasks);
    ask.calendar.holidays.insert(date("2027-01-05"));
    ask.crews.push(crew);
    let plan = made(&ask);
    let at = |task: &str| plan.planned(task).map(|planned| (planned.first.to_string(), planned.last.to_string())).unwrap();
    let days = |first: &str, last: &str| (first.to_owned(), last.to_owned());
    assert_eq!(at("whole"), days("2027-01-04", "2027-01-12"));
    assert_eq!(at("broken"), days("2027-01-04", "2027-01-15"));
    assert_eq!(at("both"), days("2027-01-18", "2027-01-22"));
    assert_eq!(plan.planned("broken").unwrap().worked.len(), 8);
}
