//! Years ahead are worked out once and kept as long as they are true.

use crate::support::{near_lek, start, with_measures};
use desk::work::courses::Courses;
use holding::Measure;
use std::sync::Arc;

#[test]
fn a_course_stays_while_other_options_change_and_goes_with_its_own() {
    let (start, courses) = (start(), Courses::default());
    let of = |s: &desk::Start, option| courses.under(|| Ok((1, s.clone())), option).unwrap().2;
    let (now, first) = (of(&start, None), of(&start, Some(1)));
    let shape = near_lek(&start.holding, 1, 0.0, 500.0, 60.0);
    let other = with_measures(&start, |all| all.push(Measure { id: "b".into(), option: 2, kind: "wood".into(), shape: shape.clone(), ..Measure::default() }));
    assert!(Arc::ptr_eq(&first, &of(&other, Some(1))) && Arc::ptr_eq(&now, &of(&other, None)));
    let own = with_measures(&start, |all| all[0].shape = shape.clone());
    let second = of(&own, Some(1));
    assert!(!Arc::ptr_eq(&first, &second));
    assert_ne!(first.year(20).unwrap(), second.year(20).unwrap());
    // Taken back: worked out again, and the same as before.
    assert_eq!(of(&start, Some(1)).year(20).unwrap(), first.year(20).unwrap());
    assert!(courses.under(|| Ok((1, start.clone())), Some(9)).is_err_and(|p| p.kind == "not_found"));
}

#[test]
fn asked_by_many_at_once_it_is_worked_out_once() {
    let (start, courses) = (start(), Courses::default());
    let all: Vec<_> = std::thread::scope(|scope| {
        let ask = || courses.under(|| Ok((1, start.clone())), Some(2)).unwrap().2;
        let asking: Vec<_> = (0..4).map(|_| scope.spawn(ask)).collect();
        asking.into_iter().map(|a| a.join().unwrap()).collect()
    });
    assert!(all.iter().all(|c| Arc::ptr_eq(c, &all[0])));
}
