//! Draws through the public interface: stratified, seeded, apart for each key.

use guidance::{Country, Guidance, Why};
use proptest::prelude::*;

const SOURCES: &str = "source,kind,authors,year,title,container,read_status,note\npractice,practice,common practice,,,no source,none,\n";

fn tables(more: &str) -> Guidance {
    let text = format!(
        "key,x,value,unit,low,high,spread,source,locator,grade,country,edition,valid_from,valid_to,waits,note
a.fixed,,5,m,,,none,practice,p,practice,GB,,,,,
a.uniform,,5,m,0,10,uniform,practice,p,practice,GB,,,,,
a.normal,,0.7,fraction,,0.06,sd,practice,p,practice,GB,,,,,
a.curve,0,1,m,0,2,uniform,practice,p,practice,GB,,,,,
a.curve,10,4,m,2,6,uniform,practice,p,practice,GB,,,,,
a.curve,20,3,m,,,none,practice,p,practice,GB,,,,,
a.national,,5,m,0,10,uniform,practice,p,practice,GB,,,,,
a.national,,50,m,0,100,uniform,practice,p,practice,Wales,,,,,
a.scottish,,50,m,0,100,uniform,practice,p,practice,Scotland,,,,,
a.word,,short,text,,,none,practice,p,practice,GB,,,,,
{more}"
    );
    Guidance::from_texts(&[("bibliography.csv", SOURCES), ("edition.txt", "1"), ("a.csv", &text)]).expect("sound tables")
}

proptest! {
    #[test]
    fn one_draw_falls_into_each_stratum(seed: u64, n in 1_usize..300) {
        let draws = tables("").draws(seed, n, Country::GB);
        let mut strata: Vec<usize> = draws.of("a.uniform").unwrap().iter().map(|value| (value / 10.0 * n as f64) as usize).collect();
        strata.sort_unstable();
        prop_assert_eq!(strata, (0..n).collect::<Vec<_>>());
    }

    #[test]
    fn draws_stay_within_bounds(seed: u64) {
        let draws = tables("").draws(seed, 50, Country::Wales);
        prop_assert!(draws.of("a.normal").unwrap().iter().all(|value| (0.0..=1.0).contains(value)));
        prop_assert!(draws.of("a.fixed").unwrap().iter().all(|value| *value == 5.0));
        prop_assert_eq!(draws.n(), 50);
    }
}

#[test]
fn the_same_seed_gives_the_same_draws_and_another_gives_others() {
    let tables = tables("");
    let of = |seed| tables.draws(seed, 200, Country::GB).of("a.normal").unwrap().to_vec();
    assert_eq!(of(1), of(1));
    assert_ne!(of(1), of(2));
    // Held against a change of the stream behind it: figures of this program, seed 1, first three of five draws.
    let first: Vec<String> = tables.draws(1, 5, Country::GB).of("a.uniform").unwrap()[..3].iter().map(|value| format!("{value:.6}")).collect();
    assert_eq!(first, ["2.042053", "4.173607", "1.062913"]);
}

#[test]
fn a_row_more_changes_no_other_draws() {
    let before = tables("").draws(9, 200, Country::GB);
    let after = tables("a.another,,5,m,0,10,uniform,practice,p,practice,GB,,,,,").draws(9, 200, Country::GB);
    for key in ["a.fixed", "a.uniform", "a.normal", "a.national"] {
        assert_eq!(before.of(key).unwrap(), after.of(key).unwrap(), "{key}");
    }
    assert_ne!(after.of("a.another").unwrap(), after.of("a.uniform").unwrap(), "keys have streams of their own");
}

#[test]
fn countries_share_the_place_in_the_spread() {
    let tables = tables("");
    let (all, wales) = (tables.draws(3, 40, Country::England), tables.draws(3, 40, Country::Wales));
    for (a, b) in all.of("a.national").unwrap().iter().zip(wales.of("a.national").unwrap()) {
        assert!((a * 10.0 - b).abs() < 1e-9);
    }
}

#[test]
fn a_drawn_curve_is_high_or_low_as_a_whole() {
    let draws = tables("").draws(4, 30, Country::GB);
    for draw in 0..30 {
        let curve = draws.curve("a.curve", draw).unwrap();
        let (first, second) = (curve.at(0.0) / 2.0, (curve.at(10.0) - 2.0) / 4.0);
        assert!((first - second).abs() < 1e-9, "draw {draw}: {first} {second}");
        assert!((curve.at(15.0) - (curve.at(10.0) + 3.0) / 2.0).abs() < 1e-9);
        assert_eq!(curve.at(99.0), 3.0);
    }
}

#[test]
fn what_cannot_be_drawn_says_why() {
    let draws = tables("").draws(4, 3, Country::GB);
    let why = |key: &str| draws.of(key).unwrap_err().why;
    assert_eq!((why("a.word"), why("a.curve"), why("a.unifrom")), (Why::NotNumber, Why::IsCurve, Why::NoKey));
    assert_eq!(why("a.scottish"), Why::NoCountry);
    assert_eq!(draws.of("a.unifrom").unwrap_err().near[0], "a.uniform");
    assert_eq!(draws.curve("a.fixed", 0).unwrap_err().why, Why::NotCurve);
}
