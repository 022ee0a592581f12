//! What any plan must keep to, looked up in the plan as it is handed over.

use birds::dawns::{Ask, DawnPlan, Outing, Rules};
use birds::{clock, sun};
use chrono::{Duration, NaiveDate, NaiveDateTime};
use std::collections::{BTreeMap, BTreeSet};

pub fn keeps_to_everything(ask: &Ask, rules: &Rules, plan: &DawnPlan) {
    let mut visited: BTreeMap<(u8, String), NaiveDate> = BTreeMap::new();
    let mut dates = BTreeSet::new();
    for morning in &plan.mornings {
        let date = morning.date;
        assert!(ask.mornings.contains(&date) && dates.insert(date) && !morning.outings.is_empty(), "{date}");
        let mut out = BTreeSet::new();
        for outing in &morning.outings {
            assert!(out.insert(&outing.observer), "{} is in two places on {date}", outing.observer);
            let observer = ask.observers.iter().position(|o| o.name == outing.observer).unwrap();
            assert!(!ask.observers[observer].away.contains(&date), "{} is away on {date}", outing.observer);
            on_the_way(ask, rules, observer, date, outing);
            for visit in &outing.visits {
                let before = visited.insert((visit.visit, visit.lek_id.clone()), date);
                assert_eq!(before, None, "{} is visited twice in window {}", visit.lek_id, visit.visit);
                let [first, last] = rules.windows[usize::from(visit.visit) - 1].map(|(m, d)| NaiveDate::from_ymd_opt(ask.year, m, d).unwrap());
                assert!((first..=last).contains(&date), "{date} is outside of window {}", visit.visit);
            }
        }
    }
    for lek in &ask.leks {
        let of = |visit| visited.get(&(visit, lek.id.clone()));
        if let (Some(first), Some(second)) = (of(1), of(2)) {
            assert!((*second - *first).num_days() >= rules.apart_days, "{}: {first} and {second}", lek.id);
        }
        for visit in [1, 2] {
            let told = plan.missed.iter().filter(|m| m.lek_id == lek.id && m.visit == visit).count();
            assert_eq!(told + usize::from(of(visit).is_some()), 1, "visit {visit} to {} is made once or told to be missed", lek.id);
        }
    }
    assert!(plan.spare.iter().all(|day| !dates.contains(day) && ask.mornings.contains(day)));
    let outings = || plan.mornings.iter().flat_map(|m| &m.outings);
    assert_eq!(plan.effort.mornings, plan.mornings.len() as i64);
    assert_eq!(plan.effort.outings, outings().count() as i64);
    assert_eq!(plan.effort.travel_min, Some(outings().map(|o| i64::from(o.driving_min.unwrap() + o.walking_min.unwrap())).sum()));
}

fn minutes(n: u32) -> Duration {
    Duration::minutes(n.into())
}

/// Follows one outing from base to base by the clock.
fn on_the_way(ask: &Ask, rules: &Rules, observer: usize, date: NaiveDate, outing: &Outing) {
    let road = &ask.minutes.from_base[observer];
    let mut now: NaiveDateTime = outing.leave_base.unwrap();
    let (mut driving, mut walking) = (0, 0);
    let mut before: Option<usize> = None;
    for visit in &outing.visits {
        let lek = ask.leks.iter().position(|l| l.id == visit.lek_id).unwrap();
        let site = &ask.leks[lek];
        let sun = sun::times(date, site.lon_lat_deg.0, site.lon_lat_deg.1);
        let sunrise = clock::local(sun.sunrise.unwrap());
        let [back_min, drive_min, walk_min] = [visit.walk_back_min, visit.drive_min, visit.walk_min].map(Option::unwrap);
        let [arrive_by, watch_from, watch_until] = [visit.arrive_by, visit.watch_from, visit.watch_until].map(Option::unwrap);
        match (before, visit.park_at) {
            (None, Some(_)) => {
                assert_eq!((back_min, drive_min, walk_min), (0, road[site.stop], site.walk_min));
                assert!(walk_min <= rules.walk_longest_min && drive_min + walk_min <= rules.way_out_longest_min);
                let first_light = clock::local(sun.civil_dawn.unwrap()).min(sunrise - Duration::minutes(rules.before_min));
                assert!(arrive_by + Duration::minutes(rules.settle_min) <= first_light, "in place before it gets light");
            }
            (Some(last), Some(_)) => {
                let drive = ask.minutes.between_stops[ask.leks[last].stop][site.stop];
                assert_eq!((back_min, drive_min, walk_min), (ask.leks[last].walk_min, drive, site.walk_min));
            }
            (Some(last), None) => {
                assert_eq!(ask.leks[last].stop, site.stop, "the vehicle stays");
                assert_eq!((back_min, drive_min, Some(walk_min)), (0, 0, ask.minutes.across[last][lek]));
            }
            (None, None) => panic!("nobody walks from base"),
        }
        now += minutes(back_min + drive_min);
        assert!(visit.park_at.is_none_or(|park| park >= now), "parked before it can be reached");
        now += minutes(walk_min);
        assert!(arrive_by >= now, "{} is reached at {now}, not {arrive_by}", visit.lek);
        assert!(watch_from >= arrive_by + Duration::minutes(rules.settle_min));
        assert_eq!(watch_until - watch_from, Duration::minutes(rules.watch_min));
        assert!(watch_from >= sunrise - Duration::minutes(rules.before_min) && watch_until <= sunrise + Duration::minutes(rules.after_min), "{visit:?}");
        assert!(watch_until <= visit.hours_close && visit.hours_close <= sunrise + Duration::minutes(rules.after_min));
        now = watch_until;
        driving += drive_min;
        walking += back_min + walk_min;
        before = Some(lek);
    }
    let last = &ask.leks[before.unwrap()];
    assert_eq!(outing.back_at_base.unwrap(), now + minutes(last.walk_min + road[last.stop]));
    assert_eq!((outing.driving_min, outing.walking_min), (Some(driving + road[last.stop]), Some(walking + last.walk_min)));
}
