//! Birds made up for the tests of charts.

use birds::project::birds::{BirdDifference, CourseAhead, LekAhead, Neighbours, Projection, WORDS, YearBirds};
use birds::project::growth::Growth;
use birds::project::rates::Rates;
use birds::trend::Ask;
use guidance::{Country, Guidance};
use habitat::Quantiles;

/// What is usually asked of a trend.
pub(crate) fn usual() -> Ask {
    Ask::usual(&Guidance::load().unwrap(), Country::GB).unwrap()
}

/// Numbers ahead that run straight from ten cocks a lek to those of each course in year ten; differences of leks are left out.
pub(crate) fn projection(leks: usize, courses: &[(Option<u32>, f64)]) -> Projection {
    let year = |year: u32, to: f64, leks: usize| {
        let cocks = (10.0 + (to - 10.0) * f64::from(year) / 10.0) * leks as f64 * if to > 0.0 { 1.0 } else { 0.0 };
        let spread = |v: f64| Quantiles { p10: (v * 0.6).round(), p50: v.round(), p90: (v * 1.5).round() };
        YearBirds { year, cocks: spread(cocks), hens: spread(cocks * 1.2), few_fraction: 0.1, few_by_fraction: f64::from(year) / 20.0 }
    };
    let course = |(option, to): &(Option<u32>, f64)| CourseAhead {
        option: *option,
        title: option.map_or("as now, nothing done".into(), |n| format!("option {n}, Woods")),
        total: (0..=10).map(|y| year(y, *to, leks)).collect(),
        leks: (0..leks).map(|l| LekAhead { id: format!("L{}", l + 1), name: format!("Lek {l}"), years: (0..=10).map(|y| year(y, *to, 1)).collect() }).collect(),
    };
    let now = courses[0].1;
    let differences = courses[1..].iter().flat_map(|(option, to)| {
        (0..=10).map(move |year| {
            let more = (to - now) * f64::from(year) / 10.0 * leks as f64;
            BirdDifference {
                first: None,
                second: *option,
                lek: None,
                year,
                cocks: Quantiles { p10: more - 3.0, p50: more, p90: more + 4.0 },
                cocks_mean: more + 0.3,
                hens: Quantiles { p10: more - 3.0, p50: more, p90: more + 4.0 },
                more_fraction: 0.62,
                fewer_fraction: 0.2,
            }
        })
    });
    let guidance = Guidance::load().expect("the tables");
    let middle = Rates::of(&guidance, Country::England).expect("rates");
    let drawn = Rates::drawn(&guidance, Country::England, 1, 8).expect("rates");
    Projection {
        words: WORDS,
        draws: 8,
        seed: 1,
        few_cocks: 5.0,
        neighbours: Neighbours::AsNow,
        differences: differences.collect(),
        courses: courses.iter().map(course).collect(),
        growth: Growth::of(&middle, &drawn, 1).expect("growth"),
        assumptions: vec!["Young cocks stay.".into()],
        evidence: vec!["dispersal.hens.mean"],
    }
}
