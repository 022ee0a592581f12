//! What cannot be done is told with its reason, all at once, and the rest is planned.

use super::cases::date;
use super::made;
use std::collections::BTreeSet;
use works::programme::*;

fn after(task: &str) -> After {
    After { task: task.into(), lag: Lag::Days(0) }
}

fn needs(kind: &str, units: u32) -> Vec<Need> {
    vec![Need { kind: kind.into(), units }]
}

#[test]
fn every_reason_is_told_and_the_rest_is_planned() {
    let may = vec![Window::new((5, 1), (5, 31))];
    let hard = |text| Some(Deadline { date: date(text), hard: true });
    let away = Days { first: date("2027-05-10"), last: date("2027-05-20") };
    let crew =
        |id: &str, kind: &str, capacity| Crew { id: id.into(), kinds: BTreeSet::from([kind.to_owned()]), capacity, there: vec![], away: vec![] };
    let tasks = vec![
        Task { after: vec![after("egg")], ..Task::new("hen", 1) },
        Task { after: vec![after("hen")], ..Task::new("egg", 1) },
        Task { after: vec![after("egg")], ..Task::new("chick", 1) },
        Task { after: vec![after("self")], ..Task::new("self", 1) },
        Task { needs: needs("flying", 1), ..Task::new("fly", 1) },
        Task { needs: needs("dig", 3), ..Task::new("gang", 1) },
        Task { needs: [needs("dig", 2), needs("dig", 2)].concat(), ..Task::new("two_gangs", 1) },
        Task { windows: may.clone(), ..Task::new("long", 30) },
        Task { windows: may.clone(), needs: needs("cut", 1), ..Task::new("may_cut", 12) },
        Task { windows: may.clone(), needs: needs("cut", 1), stretch: Stretch::Broken, ..Task::new("may_cut_broken", 12) },
        Task { latest: hard("2027-02-01"), earliest: Some(date("2027-01-25")), ..Task::new("late", 10) },
        Task { earliest: Some(date("2027-12-20")), ..Task::new("beyond", 20) },
        Task { latest: hard("2027-01-08"), needs: needs("dig", 2), ..Task::new("first", 5) },
        Task { latest: hard("2027-01-08"), needs: needs("dig", 2), weight: 3, ..Task::new("second", 5) },
        Task { after: vec![after("long")], ..Task::new("after_long", 1) },
        Task::new("plain", 5),
    ];
    let mut cutters = crew("cutters", "cut", 1);
    cutters.away.push(away);
    let ask = Ask {
        first: date("2027-01-04"),
        last: date("2027-12-31"),
        calendar: Calendar::default(),
        crews: vec![crew("diggers", "dig", 2), cutters],
        tasks,
    };
    let plan = made(&ask);
    let told: Vec<(&str, Reason)> = plan.impossible.iter().map(|told| (told.task.as_str(), told.reason.clone())).collect();
    let circle = Reason::Circle { tasks: vec!["hen".into(), "egg".into()] };
    let waits = |task: &str| Reason::Waits { task: task.into() };
    assert_eq!(
        told[..],
        [
            ("hen", circle.clone()),
            ("egg", circle),
            ("chick", waits("egg")),
            ("self", Reason::Circle { tasks: vec!["self".into()] }),
            ("fly", Reason::NoCrew { kind: "flying".into(), units: 1, largest: 0 }),
            ("gang", Reason::NoCrew { kind: "dig".into(), units: 3, largest: 2 }),
            ("two_gangs", Reason::CrewTooSmall),
            // May 2027 begins on a Saturday: 21 working days, 1 May to 31 May; 2028 has 23.
            ("long", Reason::WindowTooShort { needed: 30, longest: 23 }),
            ("may_cut", Reason::CrewNeverThere),
            ("late", Reason::TooLate { done: Some(date("2027-02-05")), latest: date("2027-02-01") }),
            ("beyond", Reason::BeyondHorizon { last: date("2027-12-31") }),
            ("first", Reason::Crowded { latest: date("2027-01-08") }),
            ("after_long", waits("long")),
        ]
    );
    let planned: Vec<&str> = plan.planned.iter().map(|planned| planned.task.as_str()).collect();
    assert_eq!(planned, ["second", "plain", "may_cut_broken"]);
    for told in &plan.impossible {
        let text = told.reason.to_string();
        assert!(!text.is_empty() && !text.contains('{') && text.len() < 100, "{text}");
    }
}

#[test]
fn faults_of_a_question_are_told_at_once() {
    let crew = Crew {
        id: "A".into(),
        kinds: BTreeSet::new(),
        capacity: 1,
        there: vec![Window::new((13, 1), (2, 1))],
        away: vec![Days { first: date("2027-02-02"), last: date("2027-02-01") }],
    };
    let mut wide: Vec<Crew> =
        (0..9).map(|i| Crew { id: format!("w{i}"), kinds: BTreeSet::from(["dig".to_owned()]), capacity: 9, there: vec![], away: vec![] }).collect();
    wide.extend([crew.clone(), crew]);
    let tasks = vec![
        Task { windows: vec![Window::new((2, 30), (3, 1))], ..Task::new("a", 1) },
        Task { after: vec![after("nothing"), After { task: "a".into(), lag: Lag::Months(9999) }], ..Task::new("a", 1) },
        Task { needs: [needs("dig", 1), needs("dig", 1)].concat(), ..Task::new("b", u32::MAX) },
    ];
    let ask = Ask { first: date("2027-02-01"), last: date("2026-02-01"), calendar: Calendar::default(), crews: wide, tasks };
    let faults = schedule(&ask, Limit::default()).unwrap_err();
    // The horizon; of each crew A its season and days off, and that there are two; task a: its window, two of a name, unknown, too long a
    // wait; task b: too long, too many ways.
    assert_eq!(faults.len(), 1 + 5 + 4 + 2, "{faults:#?}");
    assert!(faults.iter().all(|fault| !fault.hint.is_empty() && fault.to_string().contains("needed")));
}
