//! Detection. Reference figures of `tests/data/nmixture.json` for `tests/data/counts.csv`: numpy and scipy (Nelder-Mead, second
//! derivatives by differences), made outside this program; for two visits also the closed form of the bivariate Poisson.

#![allow(clippy::unwrap_used, reason = "a test may stop")]

use birds::detection::attendance::{self, Attendance};
use birds::detection::mixture::{self, Mixing, Point};
use birds::detection::unknown_n::{self, Steadiness};
use birds::detection::{Limits, recapture};
use guidance::{Country, Guidance};
use proptest::prelude::*;
use rand::{RngExt, SeedableRng};
use rand_distr::{Distribution, Poisson};
use serde_json::Value;

fn reference() -> Value {
    serde_json::from_str(include_str!("data/nmixture.json")).unwrap()
}

fn sites() -> Vec<Vec<Option<u32>>> {
    include_str!("data/counts.csv").lines().skip(1).map(|line| line.split(',').skip(1).map(|cell| cell.parse().ok()).collect()).collect()
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

fn close(found: f64, wanted: &Value, tolerance: f64) {
    let wanted = number(wanted);
    assert!((found - wanted).abs() <= tolerance, "{found}, reference {wanted}");
}

fn of_json(value: &Value) -> Vec<Vec<Option<u32>>> {
    value.as_array().unwrap().iter().map(|row| row.as_array().unwrap().iter().map(|v| Some(v.as_u64().unwrap() as u32)).collect()).collect()
}

fn limits() -> Limits {
    Limits::of(&Guidance::load().unwrap(), Country::Scotland).unwrap()
}

fn point(mean: f64, chance: f64, size: Option<f64>) -> Point {
    Point { mean, chance, size }
}

// ---- the share of a lek that is seen

/// The table of guidance was made by 40,000 draws and rounded to two places.
#[test]
fn the_highest_count_is_the_share_of_the_table() {
    let guidance = Guidance::load().unwrap();
    let alone = Attendance::alone(&guidance, Country::GB).unwrap();
    for visits in 1..=3 {
        let table = guidance.curve(&format!("counts.maximum_share.visits_{visits}"), Country::GB).unwrap();
        for cocks in [1, 3, 5, 8, 12, 20] {
            let share = alone.highest_share(cocks, visits).unwrap();
            assert!((share - table.at(f64::from(cocks))).abs() <= 0.01, "{cocks} cocks, {visits} visits: {share}");
        }
    }
    assert_eq!(alone.highest_share(0, 2), None);
}

/// One cock, two visits: 1 - (1 - p)^2. Two cocks, two visits, p = 1/2, by hand: the highest is 0, 1, 2 in 1, 8, 7 of 16.
#[test]
fn small_leks_are_right_by_hand() {
    let at = |chance| Attendance { chance, correlation: 0.0 };
    assert!((at(0.8).highest_share(1, 2).unwrap() - 0.96).abs() < 1e-12);
    for (highest, of_16) in [(0, 1.0), (1, 8.0), (2, 7.0)] {
        assert!((at(0.5).highest(2, 2, highest) - of_16 / 16.0).abs() < 1e-12);
    }
    // Beta-binomial with a = b = 1 (correlation 1/3) gives every count the same chance.
    let flat = Attendance { chance: 0.5, correlation: 1.0 / 3.0 };
    for seen in 0..=6 {
        assert!((flat.count(6, seen) - 1.0 / 7.0).abs() < 1e-12);
    }
}

#[test]
fn cocks_that_come_together_hide_together() {
    let guidance = Guidance::load().unwrap();
    let (alone, together) = (Attendance::alone(&guidance, Country::GB).unwrap(), Attendance::together(&guidance, Country::GB).unwrap());
    assert!(together.correlation > 0.0);
    // The mean of one visit is the chance either way; of more visits the highest count is nearer all of them, as mornings differ more,
    // and the chance that a lek shows nobody is greater.
    for cocks in [3, 8, 20] {
        assert!((together.highest_share(cocks, 1).unwrap() - alone.chance).abs() < 1e-9);
        assert!(together.highest_share(cocks, 2).unwrap() > alone.highest_share(cocks, 2).unwrap());
        assert!(together.found(cocks, 1) < alone.found(cocks, 1));
    }
    // So a highest count tells less.
    let width = |a: &Attendance| a.cocks(8, 2, 0.95).map(|c| (c.low, c.high)).unwrap();
    let (narrow, wide) = (width(&alone), width(&together));
    assert!(wide.1 > narrow.1 && wide.0 <= narrow.0, "{narrow:?} {wide:?}");
}

/// One visit with chance p and a flat prior: the cocks given m seen are negative binomial, mean (m + 1) / p - 1.
#[test]
fn cocks_of_one_visit_have_the_closed_mean() {
    for (chance, seen) in [(0.8, 0), (0.8, 5), (0.5, 12), (0.3, 2)] {
        let cocks = Attendance { chance, correlation: 0.0 }.cocks(seen, 1, 0.9).unwrap();
        let wanted = (f64::from(seen) + 1.0) / chance - 1.0;
        assert!((cocks.mean - wanted).abs() < 1e-8, "{} {wanted}", cocks.mean);
        assert_eq!(cocks.share_missed.is_none(), seen == 0);
    }
}

/// Over all leks of a flat prior the interval holds the true number with at least the chance asked for, by enumeration.
#[test]
fn the_interval_of_cocks_holds_as_often_as_it_says() {
    for (correlation, level) in [(0.0, 0.95), (0.0, 0.8), (0.1, 0.9)] {
        let a = Attendance { chance: 0.8, correlation };
        let intervals: Vec<_> = (0..=80).map(|highest| a.cocks(highest, 2, level).unwrap()).collect();
        let leks = 5..=60;
        let held: f64 = leks
            .clone()
            .map(|cocks| intervals.iter().filter(|i| (i.low..=i.high).contains(&cocks)).map(|i| a.highest(cocks, 2, i.highest)).sum::<f64>())
            .sum::<f64>()
            / leks.count() as f64;
        assert!(held >= level - 0.005, "{correlation} {level}: {held}");
        assert!(held <= level + 0.06, "{correlation} {level}: {held}");
    }
}

#[test]
fn a_count_that_sets_no_limit_is_refused() {
    let close = Attendance { chance: 0.8, correlation: 0.4 };
    let why = close.cocks(5, 1, 0.95).unwrap_err();
    assert_eq!(why, attendance::Refusal::NoUpperLimit { visits: 1 });
    assert!(why.to_string().contains("more visits are needed"));
    assert_eq!(close.cocks(5, 0, 0.95).unwrap_err(), attendance::Refusal::NoVisits);
    assert_eq!(Attendance { chance: 0.0, correlation: 0.0 }.cocks(0, 2, 0.95).unwrap_err(), attendance::Refusal::NeverThere);
    // Cocks that are all there or none: seen once, all are seen.
    assert!((Attendance { chance: 0.8, correlation: 1.0 }.highest_share(9, 2).unwrap() - 0.96).abs() < 1e-12);
}

#[test]
fn visits_needed_and_chance_of_one_sighting() {
    let wanted = &reference()["detection"];
    close(attendance::at_least_once(0.55, 3), &wanted["p_star_3_visits_p0.55"], 1e-12);
    assert_eq!(u64::from(attendance::visits_needed(0.4, 0.95).unwrap()), wanted["visits_for_95pct_p0.4"].as_u64().unwrap());
    assert_eq!(attendance::visits_needed(0.5, 0.875), Some(3));
    assert_eq!((attendance::visits_needed(0.0, 0.95), attendance::visits_needed(0.3, 1.0), attendance::visits_needed(1.0, 0.95)), (None, None, Some(1)));
    let lek = Attendance { chance: 0.8, correlation: 0.0 };
    assert_eq!((lek.visits_needed(1, 0.95), lek.visits_needed(2, 0.95)), (Some(2), Some(1)));
}

// ---- many places counted several times

fn bivariate_poisson(y: [u32; 2], mean: f64, chance: f64) -> f64 {
    let factorial = |n: u32| (1..=n).map(f64::from).product::<f64>();
    let (alone, both) = (mean * chance * (1.0 - chance), mean * chance * chance);
    let term = |k: u32| {
        let one = |y: u32| alone.powi((y - k) as i32) / factorial(y - k);
        one(y[0]) * one(y[1]) * both.powi(k as i32) / factorial(k)
    };
    (0..=y[0].min(y[1])).map(term).sum::<f64>().ln() - 2.0 * alone - both
}

#[test]
fn two_visits_are_a_bivariate_poisson() {
    for case in reference()["bivariate_poisson_check"].as_array().unwrap() {
        let y = [0, 1].map(|i| case["y"][i].as_u64().unwrap() as u32);
        let (mean, chance) = (number(&case["lambda"]), number(&case["p"]));
        let found = mixture::log_likelihood(&[y.map(Some).to_vec()], &point(mean, chance, None), 200);
        close(found, &case["loglik_closed_form"], 1e-9);
        assert!((found - bivariate_poisson(y, mean, chance)).abs() < 1e-9);
    }
}

#[test]
fn likelihoods_at_fixed_points_are_the_reference() {
    let (reference, sites) = (reference(), sites());
    for case in reference["loglik_grid"].as_array().unwrap() {
        let at = point(number(&case["lambda"]), number(&case["p"]), None);
        close(mixture::log_likelihood(&sites, &at, 240), &case["loglik_K240"], 1e-9);
    }
    for case in reference["loglik_negbin_grid"].as_array().unwrap() {
        let at = point(number(&case["lambda"]), number(&case["p"]), Some(number(&case["size"])));
        close(mixture::log_likelihood(&sites, &at, 400), &case["loglik_K400"], 1e-9);
    }
    assert_eq!(mixture::log_likelihood(&sites, &point(6.0, 0.5, None), 5), f64::NEG_INFINITY);
}

#[test]
fn the_fit_is_the_reference() {
    let (reference, sites) = (reference(), sites());
    let wanted = &reference["poisson_nmixture"]["fits"]["K240"];
    let fit = mixture::fit(&sites, Mixing::Poisson, &limits()).unwrap();
    close(fit.point.mean, &wanted["lambda"], 1e-5);
    close(fit.point.chance, &wanted["p"], 1e-5);
    close(fit.log_likelihood, &wanted["loglik"], 1e-9);
    close(fit.se_log_mean / number(&wanted["se_log_lambda"]), &Value::from(1.0), 1e-4);
    close(fit.se_logit_chance / number(&wanted["se_logit_p"]), &Value::from(1.0), 1e-4);
    let birds = mixture::birds(&sites, &fit.point, fit.most, 0.95);
    assert_eq!(birds.len(), 40);
    for (found, wanted) in birds.iter().zip(reference["posterior_mean_N"].as_array().unwrap()) {
        close(found.value, wanted, 1e-5);
        assert!(found.low <= found.value && found.value <= found.high);
    }
    close(birds.iter().map(|b| b.value).sum(), &reference["posterior_sum"], 1e-4);
    // The truth the counts were drawn with lies inside.
    assert!((fit.mean(0.95).low..fit.mean(0.95).high).contains(&6.0) && (fit.chance(0.95).low..fit.chance(0.95).high).contains(&0.55));
}

#[test]
fn counts_that_cannot_tell_are_refused() {
    let reference = reference();
    let bad = of_json(&reference["estimability"]["bad"]["Y"]);
    close(mixture::covariance(&bad).unwrap(), &reference["estimability"]["bad"]["diagnostic_mean_y1y2_minus_square_of_mean"], 1e-12);
    let why = mixture::fit(&bad, Mixing::Poisson, &limits()).unwrap_err();
    assert!(matches!(why, mixture::Refusal::NoCovariance { .. }), "{why}");
    assert!(why.to_string().contains("many birds seen badly"), "{why}");
    assert!(matches!(mixture::fit(&bad, Mixing::NegativeBinomial, &limits()), Err(mixture::Refusal::NoCovariance { .. })));
    // Along the ridge the mean count stands while birds grow with the greatest number summed.
    let mut last = 0.0;
    for case in reference["estimability"]["bad"]["by_K"].as_array().unwrap() {
        let top = mixture::top(&bad, Mixing::Poisson, case["K"].as_u64().unwrap() as u32).unwrap();
        close(top.point.mean * top.point.chance, &Value::from(1.9375), 1e-6);
        close(top.log_likelihood, &case["loglik"], 1e-7);
        close(top.point.mean / number(&case["lambda"]), &Value::from(1.0), 1e-3);
        assert!(top.point.mean > 2.0 * last);
        last = top.point.mean;
    }
}

#[test]
fn counts_that_can_tell_are_fitted() {
    let reference = reference();
    let good = of_json(&reference["estimability"]["good"]["Y"]);
    close(mixture::covariance(&good).unwrap(), &reference["estimability"]["good"]["diagnostic_mean_y1y2_minus_square_of_mean"], 1e-12);
    let fit = mixture::fit(&good, Mixing::Poisson, &limits()).unwrap();
    let wanted = &reference["estimability"]["good"]["by_K"][2];
    close(fit.point.mean, &wanted["lambda"], 1e-5);
    close(fit.point.chance, &wanted["p"], 1e-5);
    close(fit.log_likelihood, &wanted["loglik"], 1e-9);
}

#[test]
fn every_other_reason_is_given_in_words() {
    use mixture::Refusal;
    let rows = |rows: &[[u32; 2]]| -> Vec<Vec<Option<u32>>> { rows.iter().map(|row| row.map(Some).to_vec()).collect() };
    let why = |counts: &[Vec<Option<u32>>], mixing| mixture::fit(counts, mixing, &limits()).unwrap_err();
    let few = why(&rows(&[[3, 4], [5, 6]]), Mixing::Poisson);
    assert_eq!(few, Refusal::TooFewPlaces { places: 2, needed: limits().places });
    let mut once = sites();
    for row in &mut once {
        row.truncate(1);
    }
    assert!(matches!(why(&once, Mixing::Poisson), Refusal::TooFewPlaces { places: 0, .. }));
    assert_eq!(why(&rows(&[[0, 0]; 9]), Mixing::Poisson), Refusal::NoBirds);
    let alike = rows(&[[1, 1], [4, 4], [2, 2], [7, 7], [3, 3], [0, 0], [5, 5]]);
    assert_eq!(why(&alike, Mixing::Poisson), Refusal::AlwaysSeen);
    // Fifty places with covariance 65/50 - 1.14^2 = 0.0004: by moments the mean would be 1.14^2 / 0.0004 = 3249 birds a place.
    let groups = [([5, 5], 1), ([4, 4], 1), ([2, 2], 3), ([1, 2], 6), ([0, 6], 8), ([0, 3], 6), ([0, 0], 25)];
    let hardly = rows(&groups.iter().flat_map(|(row, times)| std::iter::repeat_n(*row, *times)).collect::<Vec<_>>());
    assert!((mixture::covariance(&hardly).unwrap() - 0.0004).abs() < 1e-12);
    let away = why(&hardly, Mixing::Poisson);
    let Refusal::RunsAway { means } = &away else { panic!("{away:?}") };
    assert!(means.windows(2).all(|pair| pair[1].1 > pair[0].1));
    assert!(away.to_string().contains("grows with the greatest number allowed"), "{away}");
    // Counts made as chance would have it need no negative binomial.
    assert_eq!(why(&sites(), Mixing::NegativeBinomial), Refusal::NoExtraSpread);
}

/// A fit of counts drawn from a negative binomial finds back what they were drawn with; the Poisson form of the same counts is worse.
#[test]
fn a_negative_binomial_is_found_back() {
    let mut chance = rand_pcg::Pcg64::seed_from_u64(11);
    let gamma = rand_distr::Gamma::new(1.5, 8.0 / 1.5).unwrap();
    let counts: Vec<Vec<Option<u32>>> = (0..400)
        .map(|_| {
            let birds = Poisson::new(gamma.sample(&mut chance)).map_or(0.0, |poisson| poisson.sample(&mut chance)) as u32;
            (0..5).map(|_| Some((0..birds).filter(|_| chance.random_bool(0.6)).count() as u32)).collect()
        })
        .collect();
    let fit = mixture::fit(&counts, Mixing::NegativeBinomial, &limits()).unwrap();
    let within = |found: f64, truth: f64, error: f64| assert!((found - truth).abs() < 3.0 * error, "{found} {truth} {error}");
    within(fit.point.mean.ln(), 8.0_f64.ln(), fit.se_log_mean);
    within((fit.point.chance / (1.0 - fit.point.chance)).ln(), 1.5_f64.ln(), fit.se_logit_chance);
    within(fit.point.size.unwrap().ln(), 1.5_f64.ln(), fit.se_log_size.unwrap());
    let simple = mixture::fit(&counts, Mixing::Poisson, &limits()).unwrap();
    assert!(fit.log_likelihood > simple.log_likelihood + 50.0);
}

/// The errors of a negative binomial fit are those of second differences of its likelihood.
#[test]
fn errors_of_three_figures_are_those_of_second_differences() {
    let sites = wide_sites();
    let fit = mixture::fit(&sites, Mixing::NegativeBinomial, &limits()).unwrap();
    let at = |d: [f64; 3]| {
        let odds = fit.point.chance / (1.0 - fit.point.chance) * d[1].exp();
        mixture::log_likelihood(&sites, &point(fit.point.mean * d[0].exp(), odds / (1.0 + odds), fit.point.size.map(|size| size * d[2].exp())), fit.most)
    };
    let h = 1e-3;
    let mut information = [[0.0; 3]; 3];
    for (i, row) in information.iter_mut().enumerate() {
        for (j, cell) in row.iter_mut().enumerate() {
            let shifted = |a: f64, b: f64| {
                let mut d = [0.0; 3];
                d[i] += a * h;
                d[j] += b * h;
                at(d)
            };
            *cell = -(shifted(1.0, 1.0) - shifted(1.0, -1.0) - shifted(-1.0, 1.0) + shifted(-1.0, -1.0)) / (4.0 * h * h);
        }
    }
    let minor = |r: [usize; 2], c: [usize; 2]| information[r[0]][c[0]] * information[r[1]][c[1]] - information[r[0]][c[1]] * information[r[1]][c[0]];
    let determinant: f64 = (0..3).map(|j| information[0][j] * minor([1, 2], [(j + 1) % 3, (j + 2) % 3])).sum();
    for (i, found) in [fit.se_log_mean, fit.se_logit_chance, fit.se_log_size.unwrap()].into_iter().enumerate() {
        let (a, b) = ((i + 1) % 3, (i + 2) % 3);
        let wanted = (minor([a.min(b), a.max(b)], [a.min(b), a.max(b)]) / determinant).sqrt();
        assert!((found / wanted - 1.0).abs() < 1e-3, "{i}: {found} {wanted}");
        assert!(at([0.0, 0.0, 0.0]) >= at(std::array::from_fn(|k| if k == i { h } else { 0.0 })));
    }
}

/// Sixty places of very different numbers, four visits each.
fn wide_sites() -> Vec<Vec<Option<u32>>> {
    let mut chance = rand_pcg::Pcg64::seed_from_u64(5);
    (0..60)
        .map(|place| {
            let birds = [0, 1, 2, 3, 5, 8, 13, 21][place % 8] + (place / 16) as u32;
            (0..4).map(|_| Some((0..birds).filter(|_| chance.random_bool(0.7)).count() as u32)).collect()
        })
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    /// Visits in another order, places in another order and places never visited change nothing.
    #[test]
    fn order_and_empty_places_do_not_matter(mean in 0.5_f64..12.0, chance in 0.05_f64..0.95, size in proptest::option::of(0.3_f64..20.0)) {
        let at = point(mean, chance, size);
        let mut other = sites();
        other.reverse();
        for row in &mut other {
            row.reverse();
        }
        other.push(vec![None, None]);
        let (a, b) = (mixture::log_likelihood(&sites(), &at, 150), mixture::log_likelihood(&other, &at, 150));
        prop_assert!((a - b).abs() < 1e-11 * a.abs());
    }

    /// A negative binomial of great size is a Poisson.
    #[test]
    fn great_sizes_are_poisson(mean in 0.5_f64..12.0, chance in 0.05_f64..0.95) {
        let (a, b) = (point(mean, chance, None), point(mean, chance, Some(1e9)));
        let apart = mixture::log_likelihood(&sites(), &a, 150) - mixture::log_likelihood(&sites(), &b, 150);
        prop_assert!(apart.abs() < 1e-4, "{}", apart);
    }
}

// ---- one place counted several times

/// Counts of impala and waterbuck of Olkin, Petkau & Zidek 1981 (JASA 76, 637-642), and one impala more.
#[test]
fn herds_of_unknown_number_are_the_reference() {
    let reference = reference();
    let cases = &reference["binomial_unknown_N"];
    let estimate = |name: &str| {
        let counts: Vec<u32> = cases[name]["counts"].as_array().unwrap().iter().map(|v| v.as_u64().unwrap() as u32).collect();
        let found = unknown_n::estimate(&counts, &limits()).unwrap();
        assert_eq!(u64::from(found.birds), cases[name]["mle_N"].as_u64().unwrap(), "{name}");
        close(found.by_moments, &cases[name]["moment_estimate_N"], 1e-10);
        for pair in cases[name]["profile_ridge"].as_array().unwrap() {
            close(unknown_n::log_likelihood(&counts, pair[0].as_u64().unwrap() as u32), &pair[1], 1e-9);
        }
        found
    };
    let (impala, waterbuck, more) = (estimate("impala"), estimate("waterbuck"), estimate("one_added_to_max_impala"));
    assert_eq!(impala.with_one_more, Some(more.birds));
    for found in [&impala, &waterbuck, &more] {
        assert_eq!(found.steadiness, Steadiness::Unsteady);
    }
    assert!(impala.steadiness.to_string().contains("not to be leaned on"));
}

#[test]
fn counts_of_one_place_that_agree_are_steady_and_others_refused() {
    use unknown_n::Refusal;
    let estimate = |counts: &[u32]| unknown_n::estimate(counts, &limits());
    let steady = estimate(&[18, 19, 18, 20, 19]).unwrap();
    assert_eq!((steady.birds, steady.steadiness), (20, Steadiness::Steady));
    assert_eq!(estimate(&[7, 7, 7]).unwrap().birds, 7);
    assert!(matches!(estimate(&[1, 9, 3]), Err(Refusal::TooSpread { .. })));
    assert!(estimate(&[1, 9, 3]).unwrap_err().to_string().contains("however great"));
    assert_eq!(estimate(&[4]).unwrap_err(), Refusal::TooFewCounts { counts: 1 });
    assert_eq!(estimate(&[0, 0]).unwrap_err(), Refusal::NoBirds);
}

proptest! {
    /// No number near the estimate or far from it is likelier.
    #[test]
    fn no_other_number_is_likelier(counts in proptest::collection::vec(10_u32..20, 2..7)) {
        if let Ok(found) = unknown_n::estimate(&counts, &Limits { places: 2, steady_ratio: 2.0 }) {
            let top = found.log_likelihood;
            for birds in (10..200).chain([1_000, 10_000, 100_000]) {
                prop_assert!(unknown_n::log_likelihood(&counts, birds) <= top + 1e-9, "{} {:?}", birds, found);
            }
        }
    }
}

// ---- two observers

#[test]
fn two_observers_are_the_reference() {
    let wanted = &reference()["detection"];
    let found = recapture::estimate(20, 25, 12, 0.95).unwrap();
    close(found.birds.value, &wanted["chapman_n1_20_n2_25_m_12"], 1e-12);
    close(found.variance, &wanted["chapman_variance"], 1e-12);
    close(found.lincoln_petersen.unwrap(), &wanted["lincoln_petersen"], 1e-12);
    assert_eq!((found.known, found.first_chance, found.second_chance), (33, 12.0 / 25.0, 12.0 / 20.0));
}

/// Ten marked, fifteen caught, five of them marked: 30 by Lincoln-Petersen, 28.3 by Chapman, limits 22 and 65 (the worked
/// example of the encyclopaedia's page on mark and recapture, with the limits of Sadinle 2009; from memory).
#[test]
fn the_worked_example_has_its_limits() {
    let found = recapture::estimate(10, 15, 5, 0.95).unwrap();
    assert_eq!(found.lincoln_petersen, Some(30.0));
    assert!((found.birds.value - 28.333).abs() < 1e-3);
    assert_eq!((found.birds.low.round(), found.birds.high.round()), (22.0, 65.0));
}

/// The limits hold the true number about as often as they say, by enumeration of all that two observers can see of 40 birds.
#[test]
fn the_limits_of_two_observers_hold_as_often_as_they_say() {
    let ln_factorial = |n: u32| (1..=n).map(|k| f64::from(k).ln()).sum::<f64>();
    let birds = 40_u32;
    for (p, q) in [(0.6, 0.6), (0.8, 0.5), (0.4, 0.4)] {
        let cells = [p * q, p * (1.0 - q), (1.0 - p) * q, (1.0 - p) * (1.0 - q)];
        let mut held = 0.0;
        for both in 0..=birds {
            for one in 0..=birds - both {
                for two in 0..=birds - both - one {
                    let n = [both, one, two, birds - both - one - two];
                    let chance = (ln_factorial(birds) + n.iter().zip(cells).map(|(n, cell): (&u32, f64)| f64::from(*n) * cell.ln() - ln_factorial(*n)).sum::<f64>()).exp();
                    let Ok(found) = recapture::estimate(both + one, both + two, both, 0.95) else { continue };
                    let inside = (found.birds.low..=found.birds.high).contains(&f64::from(birds));
                    held += if inside { chance } else { 0.0 };
                }
            }
        }
        assert!((0.94..0.99).contains(&held), "{p} {q}: {held}");
    }
}

#[test]
fn observers_that_cannot_be_compared_are_refused() {
    use recapture::Refusal;
    assert_eq!(recapture::estimate(5, 8, 6, 0.95).unwrap_err(), Refusal::MoreBoth { fewer: 5, both: 6 });
    assert_eq!(recapture::estimate(0, 8, 0, 0.95).unwrap_err(), Refusal::NothingSeen);
    let apart = recapture::estimate(4, 3, 0, 0.95).unwrap();
    assert_eq!((apart.lincoln_petersen, apart.known), (None, 7));
    assert!(apart.birds.low >= 7.0 && apart.birds.high > 40.0);
}
