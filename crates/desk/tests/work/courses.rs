//! Years ahead are worked out once and kept as long as they are true.

use crate::support::{near_lek, start, with_measures};
use desk::work::courses::Courses;
use holding::Measure;
use std::sync::Arc;

#[test]
fn a_course_stays_while_other_options_change_and_goes_with_its_own() {
    let (start, courses) = (start(), Courses::default());
    let of = |s: &desk::Start, option| courses.under(|| Ok((1, s.clone())), option, 20).unwrap().2;
    let ledger = |course: &desk::work::courses::Course| course.year(20).unwrap().ledger.clone();
    let (now, first) = (of(&start, None), of(&start, Some(1)));
    let shape = near_lek(&start.holding, 1, 0.0, 500.0, 60.0);
    let other = with_measures(&start, |all| all.push(Measure { id: "b".into(), option: 2, kind: "wood".into(), shape: shape.clone(), ..Measure::default() }));
    assert!(Arc::ptr_eq(&first, &of(&other, Some(1))) && Arc::ptr_eq(&now, &of(&other, None)));
    let own = with_measures(&start, |all| all[0].shape = shape.clone());
    let second = of(&own, Some(1));
    assert!(!Arc::ptr_eq(&first, &second));
    assert_ne!(ledger(&first), ledger(&second));
    // Taken back: worked out again, and the same as before.
    assert_eq!(ledger(&of(&start, Some(1))), ledger(&first));
    assert!(courses.under(|| Ok((1, start.clone())), Some(9), 1).is_err_and(|p| p.kind == "not_found"));
}

#[test]
fn asked_by_many_at_once_it_is_worked_out_once() {
    let (start, courses) = (start(), Courses::default());
    let all: Vec<_> = std::thread::scope(|scope| {
        let ask = || courses.under(|| Ok((1, start.clone())), Some(2), 8).unwrap().2;
        let asking: Vec<_> = (0..4).map(|_| scope.spawn(ask)).collect();
        asking.into_iter().map(|a| a.join().unwrap()).collect()
    });
    assert!(all.iter().all(|c| Arc::ptr_eq(c, &all[0])));
}

#[test]
fn the_rest_of_the_ruler_is_worked_out_when_nobody_waits() {
    let (start, courses) = (start(), Courses::default());
    let course = courses.under(|| Ok((1, start.clone())), None, 10).unwrap().2;
    assert!(course.knows(10));
    let until = std::time::Instant::now() + std::time::Duration::from_secs(120);
    while !(0..=30).all(|y| course.knows(y)) {
        assert!(std::time::Instant::now() < until, "years not worked out: {:?}", (0..=30).filter(|y| !course.knows(*y)).collect::<Vec<_>>());
        std::thread::sleep(std::time::Duration::from_millis(50));
    }
}

#[test]
fn who_waited_is_answered_on_the_plan_as_it_is_by_then() {
    let (start, courses) = (start(), Courses::default());
    let other = with_measures(&start, |all| all[0].year = Some(2031));
    let asked = std::sync::atomic::AtomicU64::new(0);
    // The plan changes between the asking and the turn.
    let newest = || Ok(if asked.fetch_add(1, std::sync::atomic::Ordering::SeqCst) == 0 { (1, start.clone()) } else { (2, other.clone()) });
    let (version, at, course) = courses.under(newest, Some(1), 5).unwrap();
    assert_eq!((version, at.holding.measures[0].year), (2, Some(2031)));
    assert!(Arc::ptr_eq(&course, &courses.under(|| Ok((2, other.clone())), Some(1), 5).unwrap().2));
}
