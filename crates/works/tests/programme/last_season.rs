//! What is left to its last season.

use super::cases::date;
use super::keeping::keeps_to_everything;
use super::made;
use std::collections::BTreeSet;
use works::programme::*;

/// Ground is made ready from August to November, trees come in spring 2028, and planting is open in November and December.
fn job(last_season: bool) -> Ask {
    let need = || vec![Need { kind: "planting".into(), units: 1 }];
    let after = |task: &str| After { task: task.into(), lag: Lag::Days(0) };
    let trees = Task { earliest: Some(date("2028-03-01")), ..Task::new("trees", 1) };
    let ground = Task { windows: vec![Window::new((8, 1), (11, 30))], needs: need(), last_season, ..Task::new("ground", 5) };
    let hay = Task { earliest: Some(date("2028-08-01")), needs: need(), ..Task::new("hay", 3) };
    let plant = Task { windows: vec![Window::new((11, 1), (12, 31))], needs: need(), after: vec![after("trees"), after("ground")], ..Task::new("plant", 10) };
    let crew = Crew { id: "A".into(), kinds: BTreeSet::from(["planting".to_owned()]), capacity: 1, there: vec![], away: vec![] };
    Ask { first: date("2027-01-04"), last: date("2029-12-28"), calendar: Calendar::default(), crews: vec![crew], tasks: vec![trees, ground, hay, plant] }
}

#[test]
fn ground_is_made_ready_in_the_season_before_it_is_planted() {
    let first = |plan: &Schedule, task: &str| plan.planned(task).unwrap().first.to_string();
    let at_once = made(&job(false));
    assert_eq!(first(&at_once, "ground"), "2027-08-02");
    let ask = job(true);
    let plan = made(&ask);
    keeps_to_everything(&ask, &plan, None);
    // 1 August 2028 is a Tuesday; the crew makes hay until Thursday.
    assert_eq!(["hay", "ground", "plant"].map(|task| first(&plan, task)), ["2028-08-01", "2028-08-04", "2028-11-01"]);
    assert_eq!(plan.finish, at_once.finish, "the whole ends no later for it");
    assert!(plan.proven, "{plan:?}");
    for task in ["trees", "hay", "plant"] {
        assert_eq!(first(&plan, task), first(&at_once, task), "{task} is laid as where ground is made ready at once");
    }
    // A week late it moves alone: it has until planting.
    let slip = slip(&ask, &plan, "ground", Late::Days(7)).unwrap();
    assert_eq!(slip.moved.iter().map(|m| m.task.as_str()).collect::<Vec<_>>(), ["ground"]);
    // Trees so late that planting falls into the next winter: the ground is made ready in the summer before that.
    let slip = works::programme::slip(&ask, &plan, "trees", Late::Begins(date("2029-01-08"))).unwrap();
    keeps_to_everything(&ask, &slip.now, None);
    assert_eq!(["ground", "plant"].map(|task| first(&slip.now, task)), ["2029-08-01", "2029-11-01"]);
}
