//! The leks of a holding ahead: what the rates say beside published figures, and the laws of the projection.

#![allow(clippy::unwrap_used, reason = "a test may stop")]

use birds::project::birds::{AskFault, Ask, Course, Deaths, Lek, LekGround, Neighbours, Projection, WORDS, margins, project};
use birds::project::growth::{Growth, Rate};
use birds::project::rates::Rates;
use guidance::{Country, Guidance};
use habitat::Season;
use proptest::prelude::*;
use std::sync::LazyLock;
use std::time::Instant;

static GUIDANCE: LazyLock<Guidance> = LazyLock::new(|| Guidance::load().unwrap());

const YEARS: [u32; 11] = [0, 1, 2, 3, 5, 8, 10, 15, 20, 25, 30];

fn middle(country: Country) -> Rates {
    Rates::of(&GUIDANCE, country).unwrap()
}

fn drawn(n: usize) -> Vec<Rates> {
    Rates::drawn(&GUIDANCE, Country::England, 5, n).unwrap()
}

fn number(key: &str, country: Country) -> f64 {
    GUIDANCE.number(key, country).unwrap()
}

/// Ground that stays as it is: margins of brood, winter and snow, hectares, fence deaths a year.
fn ground(draws: usize, margin: [f64; 3], suitable_ha: f64, deaths: f64) -> LekGround {
    let of = |m: f64| vec![vec![m; draws]; YEARS.len()];
    LekGround {
        brood: of(margin[0]),
        winter: of(margin[1]),
        snowbound: of(margin[2]),
        suitable_ha: vec![suitable_ha; YEARS.len()],
        fence_deaths: vec![Deaths { low: 0.5 * deaths, usual: deaths, high: 1.5 * deaths }; YEARS.len()],
    }
}

fn leks(cocks: &[u32]) -> Vec<Lek> {
    cocks.iter().enumerate().map(|(i, c)| Lek { id: format!("L{i}"), name: format!("Lek {i}"), cocks: *c }).collect()
}

fn course(option: Option<u32>, leks: Vec<LekGround>) -> Course {
    Course { option, title: option.map_or("as now".into(), |n| format!("option {n}")), leks }
}

fn run(leks: &[Lek], courses: &[Course], draws: usize, seed: u64, neighbours: Neighbours) -> Projection {
    let ask = Ask { leks, years: &YEARS, courses, horizon: 30, seed, neighbours };
    project(&ask, &middle(Country::England), &drawn(draws)).unwrap()
}

/// Baines, Warren & Richardson 2007 (Highlands: 0.66 and 0.56) and Caizergues & Ellison 1997 (French hens: 0.68 and 0.52): numbers hold at 1.21 and
/// 1.23 young per hen; the north Pennine recovery project says 1.2 (The Guardian 2009). The rates taken here come to 1.2.
#[test]
fn numbers_hold_near_one_and_a_fifth_young_per_hen() {
    let with = |hen_survival: f64, juvenile_survival: f64| {
        let rates = Rates { hen_survival, juvenile_survival, ..middle(Country::GB) };
        // By bisection on the growth of the matrix, not by the formula.
        let (mut low, mut high) = (0.01, 20.0);
        for _ in 0..60 {
            let at = (low + high) / 2.0;
            // Cocks are left out of it: they would be the leading part where hens barely rear any.
            let growth = Rates { young_per_hen: at, cock_survival: 0.0, ..rates.clone() }.matrix().unwrap().analyse().unwrap().lambda;
            if growth < 1.0 { low = at } else { high = at }
        }
        assert!((low - rates.break_even()).abs() < 1e-9, "{low} {}", rates.break_even());
        low
    };
    let survival = |country| (number("rates.adult_survival", country), number("rates.juvenile_survival", country));
    let highlands = survival(Country::Scotland);
    assert!((with(highlands.0, highlands.1) - 1.21).abs() < 0.01);
    let french = with(number("rates.french_alps.hens_site_1", Country::GB), number("rates.french_alps.juveniles", Country::GB));
    assert!((french - 1.23).abs() < 0.01);
    let ours = middle(Country::England);
    assert!((with(ours.hen_survival, ours.juvenile_survival) - ours.steady_young_per_hen).abs() < 0.05);
    assert!(ours.break_even_with_snow() > ours.break_even());
    // The others of that study disagree: juvenile survival of 0.65 to autumn or winter only, and the Welsh collapse. Kept in view.
    let (england, wales) = (survival(Country::England), survival(Country::Wales));
    assert!((with(england.0, england.1) - 0.92).abs() < 0.01);
    assert!((with(wales.0, wales.1) - 6.2).abs() < 0.1);
}

/// Caizergues & Ellison 1997 (Wildlife Biology 3): adult survival weighs most on mean growth. Rotelli et al. 2021 (Wildlife Biology): chick survival
/// explains most of the variance of growth.
#[test]
fn survival_weighs_most_and_chicks_vary_most() {
    for country in [Country::England, Country::Scotland, Country::Wales] {
        let growth = Growth::of(&middle(country), &drawn(200), 5).unwrap();
        let most = |of: &dyn Fn(&birds::project::growth::RatePart) -> f64| growth.rates.iter().max_by(|a, b| of(a).total_cmp(&of(b))).unwrap().rate;
        assert_eq!(most(&|r| r.elasticity.unwrap_or(0.0)), Rate::HenSurvival, "{country}: {:?}", growth.rates);
        assert_eq!(most(&|r| r.variance_share), Rate::YoungPerHen, "{country}: {:?}", growth.rates);
        let sum: f64 = growth.rates.iter().map(|r| r.variance_share).sum();
        assert!(sum > 0.85 && sum < 1.05, "{country}: {sum}");
    }
}

/// Beside the delta method: `(elasticity x coefficient of variation)^2` for survival and chicks, `p (1 - p) ln(f)^2` for snow.
#[test]
fn shares_of_variance_agree_with_the_delta_method() {
    let rates = middle(Country::England);
    let small = Rates { young_cv: 0.1, survival_sd: 0.02, ..rates.clone() };
    let growth = Growth::of(&small, std::slice::from_ref(&small), 5).unwrap();
    let young = 1.0 - small.hen_survival / small.growth();
    let p = 1.0 / small.snow_interval_years;
    let parts = [
        (0.02 / small.growth()).powi(2),
        (young * 0.1).powi(2),
        0.0,
        p * (1.0 - p) * small.snow_factor(small.snow_average).ln().powi(2),
    ];
    let whole: f64 = parts.iter().sum();
    for (part, wanted) in growth.rates.iter().zip(parts) {
        assert!((part.variance_share - wanted / whole).abs() < 0.03, "{part:?} {}", wanted / whole);
    }
}

/// With nobody's luck but the mean, numbers follow the mean matrix: many birds, no spread, no snow, no ceiling, no fences.
#[test]
fn without_chance_the_leks_follow_the_matrix() {
    let rates = Rates { young_cv: 0.0, lek_cv: 0.0, survival_sd: 0.0, snow_interval_years: f64::INFINITY, ..middle(Country::England) };
    let (leks, draws) = (leks(&[20_000]), 4);
    let courses = [course(None, vec![ground(draws, [1.0; 3], 1e7, 0.0)])];
    let ask = Ask { leks: &leks, years: &YEARS, courses: &courses, horizon: 10, seed: 1, neighbours: Neighbours::AsNow };
    let found = project(&ask, &rates, &vec![rates.clone(); draws]).unwrap();
    for year in &found.courses[0].total {
        let wanted = 20_000.0 * rates.growth().powi(year.year as i32);
        assert!((year.cocks.p50 / wanted - 1.0).abs() < 0.03, "{year:?} {wanted}");
        assert!((year.hens.p50 / (wanted * rates.hens_per_cock()) - 1.0).abs() < 0.03, "{year:?} {wanted}");
    }
}

/// Beside 600 futures of a great many birds: the drift of the rates, to second order, is what the middle of them does.
#[test]
fn numbers_drift_in_the_long_run_as_the_rates_say() {
    for (country, wanted) in [(Country::England, -0.017), (Country::Scotland, 0.064)] {
        let rates = middle(country);
        assert!((rates.drift() - wanted).abs() < 0.002, "{country}: {}", rates.drift());
        // Woodland food so that a snow winter leaves what it does on average over leks.
        let snow = (rates.snow_average - rates.snow_without_food) / (rates.snow_with_food - rates.snow_without_food);
        let (leks, draws) = (leks(&[20_000]), 600);
        let courses = [course(None, vec![ground(draws, [1.0, 1.0, snow], 1e8, 0.0)])];
        let ask = Ask { leks: &leks, years: &YEARS, courses: &courses, horizon: 20, seed: 4, neighbours: Neighbours::AsNow };
        let found = project(&ask, &rates, &vec![rates.clone(); draws]).unwrap();
        let middle = (found.courses[0].total[20].cocks.p50 / 20_000.0).ln() / 20.0;
        assert!((middle - rates.drift()).abs() < 0.01, "{country}: {middle} {}", rates.drift());
    }
}

/// 2009/10: about half the cocks went at leks without woods, 15 % at leks with them (Country Life, quoting the trust that counted).
#[test]
fn a_snow_winter_takes_what_was_counted() {
    for country in [Country::England, Country::Scotland] {
        let rates = Rates { young_cv: 0.0, lek_cv: 0.0, survival_sd: 0.0, snow_interval_years: 1.0, ..middle(country) };
        let (leks, draws) = (leks(&[20_000, 20_000, 20_000]), 2);
        let courses = [course(None, [0.0, 0.5, 1.4].map(|snow| ground(draws, [1.0, 1.0, snow], 1e7, 0.0)).to_vec())];
        let ask = Ask { leks: &leks, years: &YEARS, courses: &courses, horizon: 1, seed: 1, neighbours: Neighbours::AsNow };
        let found = project(&ask, &rates, &vec![rates.clone(); draws]).unwrap();
        for (lek, wanted) in found.courses[0].leks.iter().zip([0.5, 0.675, 0.85]) {
            assert!((lek.years[1].cocks.p50 / 20_000.0 - wanted).abs() < 0.02, "{country}: {:?} {wanted}", lek.years[1]);
        }
    }
}

#[test]
fn options_alike_differ_by_nothing_at_all() {
    for neighbours in [Neighbours::AsNow, Neighbours::DoLikewise] {
        let here = || vec![ground(60, [0.6, 0.8, 0.3], 700.0, 0.4), ground(60, [0.3, 1.2, 0.9], 500.0, 0.0)];
        let found = run(&leks(&[7, 3]), &[course(None, here()), course(Some(1), here()), course(Some(2), here())], 60, 9, neighbours);
        assert_eq!(found.differences.len(), 3 * 3 * 31);
        for d in &found.differences {
            let all = [d.cocks.p10, d.cocks.p50, d.cocks.p90, d.hens.p10, d.hens.p50, d.hens.p90, d.cocks_mean, d.more_fraction, d.fewer_fraction];
            assert_eq!(all, [0.0; 9], "{d:?}");
        }
        assert_eq!(found.words, WORDS);
        assert_eq!(WORDS, "a comparison, not a promise");
    }
}

/// The luck of a lek hangs on its name and the seed: another lek beside it changes nothing.
#[test]
fn another_lek_never_changes_the_luck_of_the_first() {
    let one = run(&leks(&[6]), &[course(None, vec![ground(50, [0.7; 3], 600.0, 0.2)])], 50, 3, Neighbours::AsNow);
    let two = run(&leks(&[6, 9]), &[course(None, vec![ground(50, [0.7; 3], 600.0, 0.2); 2])], 50, 3, Neighbours::AsNow);
    assert_eq!(one.courses[0].leks[0], two.courses[0].leks[0]);
    assert_eq!(one, run(&leks(&[6]), &[course(None, vec![ground(50, [0.7; 3], 600.0, 0.2)])], 50, 3, Neighbours::AsNow));
    assert_ne!(one.courses, run(&leks(&[6]), &[course(None, vec![ground(50, [0.7; 3], 600.0, 0.2)])], 50, 4, Neighbours::AsNow).courses);
}

/// Better brood ground, more winter food and fewer fences each leave more birds; where the country round does likewise the gain is larger.
#[test]
fn what_helps_the_ground_helps_the_birds() {
    let draws = 100;
    let here = [0.5, 0.6, 0.2];
    let courses = [
        course(None, vec![ground(draws, here, 600.0, 1.0)]),
        course(Some(1), vec![ground(draws, [1.0, 0.6, 0.2], 600.0, 1.0)]),
        course(Some(2), vec![ground(draws, [0.5, 1.0, 1.0], 600.0, 1.0)]),
        course(Some(3), vec![ground(draws, here, 600.0, 0.0)]),
    ];
    let gain = |p: &Projection, option: u32| p.differences.iter().find(|d| d.first.is_none() && d.second == Some(option) && d.lek.is_none() && d.year == 20).unwrap().clone();
    let as_now = run(&leks(&[6]), &courses, draws, 2, Neighbours::AsNow);
    let likewise = run(&leks(&[6]), &courses, draws, 2, Neighbours::DoLikewise);
    for option in 1..=3 {
        let (a, b) = (gain(&as_now, option), gain(&likewise, option));
        assert!(a.cocks_mean > 0.0 && a.more_fraction > a.fewer_fraction, "{option}: {a:?}");
        assert!(b.cocks_mean > a.cocks_mean, "{option}: {a:?} {b:?}");
    }
}

/// However much better the ledger, young per hen rises no more than by the largest difference found (Calladine et al. 2002: 54 over 32).
#[test]
fn the_response_is_bounded() {
    let rates = Rates { young_cv: 0.0, lek_cv: 0.0, survival_sd: 0.0, snow_interval_years: f64::INFINITY, brood_response: 5.0, ..middle(Country::England) };
    let leks = leks(&[20_000]);
    let courses = [course(None, vec![ground(1, [0.1, 1.0, 1.0], 1e7, 0.0)]), course(Some(1), vec![ground(1, [1.0, 1.0, 1.0], 1e7, 0.0)])];
    let ask = Ask { leks: &leks, years: &YEARS, courses: &courses, horizon: 1, seed: 1, neighbours: Neighbours::AsNow };
    let found = project(&ask, &rates, std::slice::from_ref(&rates)).unwrap();
    let recruits = |c: usize| found.courses[c].total[1].cocks.p50 / 20_000.0 - rates.cock_survival;
    assert!((recruits(1) / recruits(0) - 54.0 / 32.0).abs() < 0.08, "{} {}", recruits(0), recruits(1));
}

#[test]
fn an_empty_lek_stays_empty_and_few_is_told() {
    let found = run(&leks(&[0, 1]), &[course(None, vec![ground(80, [0.5; 3], 400.0, 0.0); 2])], 80, 6, Neighbours::AsNow);
    assert!(found.courses[0].leks[0].years.iter().all(|y| y.cocks.p90 == 0.0 && y.hens.p90 == 0.0 && y.few_fraction == 1.0));
    let lone = &found.courses[0].leks[1].years;
    assert_eq!(lone[0].few_by_fraction, 1.0);
    assert!(lone.windows(2).all(|w| w[0].few_by_fraction <= w[1].few_by_fraction));
    assert!(lone.iter().all(|y| y.few_fraction <= y.few_by_fraction));
}

#[test]
fn all_that_is_wrong_with_a_question_is_told_at_once() {
    let mut bad = ground(3, [1.0; 3], 100.0, 0.0);
    bad.brood[2][1] = -1.0;
    bad.winter.pop();
    bad.suitable_ha[0] = f64::NAN;
    bad.fence_deaths[1] = Deaths { low: 2.0, usual: 1.0, high: 3.0 };
    let leks = [leks(&[3]), leks(&[4])].concat();
    let courses = [course(None, vec![bad])];
    let ask = Ask { leks: &leks, years: &[0, 2, 2], courses: &courses, horizon: 0, seed: 1, neighbours: Neighbours::AsNow };
    let told: Vec<AskFault> = project(&ask, &middle(Country::England), &drawn(3)).unwrap_err();
    for wanted in ["each once", "rising from 0", "1 to 100", "the ground of 2 leks", "brood margins", "winter margins", "suitable ground", "fence deaths"] {
        assert!(told.iter().any(|f| f.to_string().contains(wanted)), "{wanted}: {told:?}");
    }
}

#[test]
fn margins_are_supply_over_need_by_year_and_draw() {
    let lek = |s: f64| -> habitat::ledger::Supply { std::array::from_fn(|season| vec![s * (season + 1) as f64, 2.0 * s]) };
    let found = margins(&[vec![lek(1.0), lek(3.0)], vec![lek(2.0), lek(4.0)]], &lek(2.0), 1, Season::Winter);
    assert_eq!(found, [[1.5, 1.5], [2.0, 2.0]]);
}

/// A region's worth of leks: 25 leks, 3 options, 200 draws, 30 years.
#[test]
fn a_large_plan_is_quick() {
    let cocks: Vec<u32> = (0..25).map(|i| 2 + i % 11).collect();
    let courses: Vec<Course> = (0..3).map(|c| course((c > 0).then_some(c), (0..25).map(|l| ground(200, [0.4 + 0.1 * f64::from(c), 0.7, 0.5], 300.0 + 20.0 * f64::from(l), 0.3)).collect())).collect();
    let started = Instant::now();
    let found = run(&leks(&cocks), &courses, 200, 1, Neighbours::AsNow);
    let took = started.elapsed();
    println!("25 leks, 3 options, 200 draws, 30 years: {took:?}");
    // Far above what it takes, as tests share the machine and are not built for speed.
    assert!(took.as_secs() < 10, "{took:?}");
    assert_eq!(found.differences.len(), 3 * 26 * 31);
    assert!(serde_json::to_string(&found).unwrap().contains("a comparison, not a promise"));
}

fn any_ground(draws: usize) -> impl Strategy<Value = LekGround> {
    ([0.0..2.0f64, 0.0..2.0f64, 0.0..2.0f64], 0.0..900.0f64, 0.0..4.0f64).prop_map(move |(margin, ha, deaths)| ground(draws, margin, ha, deaths))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    /// Never below nothing, never above the ceiling, quantiles in order.
    #[test]
    fn numbers_stay_between_nothing_and_the_ceiling(now in any_ground(20), then in any_ground(20), cocks in 0u32..60, seed in 0u64..1000) {
        let leks = leks(&[cocks]);
        let found = run(&leks, &[course(None, vec![now.clone()]), course(Some(1), vec![then.clone()])], 20, seed, Neighbours::AsNow);
        let densest = number("density.ceiling", Country::England) * 1.1;
        for (ground, course) in [now.clone(), then].iter().zip(&found.courses) {
            for y in course.total.iter().skip(1) {
                // The drawn ceiling, 2.1 to 2.4 a km², or the density of now where that is higher.
                let per_ha = (densest / 100.0).max(f64::from(cocks) / now.suitable_ha[0].max(1e-9));
                prop_assert!(y.cocks.p90 <= (per_ha * ground.suitable_ha[0]).max(if now.suitable_ha[0] > 0.0 { 0.0 } else { f64::from(cocks) }) + 1e-6, "{y:?}");
                prop_assert!(y.cocks.p10 >= 0.0 && y.hens.p10 >= 0.0);
                prop_assert!(y.cocks.p10 <= y.cocks.p50 && y.cocks.p50 <= y.cocks.p90);
            }
        }
    }

    /// On the same luck more fence deaths never leave more birds, in any year, at any lek, cocks or hens.
    #[test]
    fn more_fence_deaths_never_leave_more_birds(here in any_ground(30), more in 0.0..5.0f64, cocks in 1u32..40, seed in 0u64..1000, likewise: bool) {
        let mut worse = here.clone();
        worse.fence_deaths.iter_mut().for_each(|d| { d.low += more; d.usual += more; d.high += more; });
        let neighbours = if likewise { Neighbours::DoLikewise } else { Neighbours::AsNow };
        let found = run(&leks(&[cocks]), &[course(None, vec![here]), course(Some(1), vec![worse])], 30, seed, neighbours);
        for d in &found.differences {
            prop_assert!(d.more_fraction == 0.0 && d.hens.p90 <= 0.0 && d.cocks.p90 <= 0.0, "{d:?}");
        }
    }
}
