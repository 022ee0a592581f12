//! Productivity, against published tables and closed forms.

#![allow(clippy::unwrap_used, reason = "a test may stop")]

use birds::productivity::{Basis, BreakEven, Broods, Fault, Standing, Survival, Verdict, break_even, rate, share, standard_error};
use guidance::{Country, Guidance};
use proptest::prelude::*;
use rand::{RngExt, SeedableRng};

fn broods(hens: u32, with_broods: u32, young: u32) -> Broods {
    Broods { hens, with_broods: Some(with_broods), young, sizes: vec![] }
}

/// 95 % limits of Clopper & Pearson as printed in tables (from memory): 0 of 10, 5 of 10, 1 of 20, 10 of 10.
#[test]
fn shares_have_the_printed_limits() {
    for (of, all, low, high) in [(0, 10, 0.0, 0.3085), (5, 10, 0.1871, 0.8129), (1, 20, 0.0013, 0.2487), (10, 10, 0.6915, 1.0)] {
        let found = share(of, all, 0.95);
        assert!((found.low - low).abs() < 5e-5 && (found.high - high).abs() < 5e-5, "{of} of {all}: {found:?}");
    }
    // None of n: 1 - (0.025)^(1/n) exactly.
    assert!((share(0, 10, 0.95).high - (1.0 - 0.025_f64.powf(0.1))).abs() < 1e-12);
}

/// 95 % limits of Garwood 1936 as printed in tables (from memory): 0, 1, 5, 10 and 100 events.
#[test]
fn rates_have_the_printed_limits() {
    for (events, low, high) in [(0.0, 0.0, 3.689), (1.0, 0.0253, 5.572), (5.0, 1.623, 11.668), (10.0, 4.795, 18.390), (100.0, 81.364, 121.627)] {
        let found = rate(events, 1.0, 0.95);
        assert!((found.low - low).abs() < 6e-4 && (found.high - high).abs() < 6e-4, "{events}: {found:?}");
    }
    assert!((rate(0.0, 4.0, 0.95).high + 0.025_f64.ln() / 4.0).abs() < 1e-10);
}

proptest! {
    /// Each limit of a share leaves exactly half of the lack beyond it, by the binomial sum.
    #[test]
    fn limits_of_a_share_leave_half_the_lack(all in 1_u32..40, of in 0_u32..40, level in 0.5_f64..0.99) {
        prop_assume!(of <= all);
        let found = share(of, all, level);
        let binomial = |p: f64, k: u32| (0..k).fold(1.0, |c, i| c * f64::from(all - i) / f64::from(i + 1)) * p.powi(k as i32) * (1.0 - p).powi((all - k) as i32);
        if of > 0 {
            let up: f64 = (of..=all).map(|k| binomial(found.low, k)).sum();
            prop_assert!((up - (1.0 - level) / 2.0).abs() < 1e-8, "{}", up);
        }
        if of < all {
            let down: f64 = (0..=of).map(|k| binomial(found.high, k)).sum();
            prop_assert!((down - (1.0 - level) / 2.0).abs() < 1e-8, "{}", down);
        }
    }

    /// Each limit of a rate leaves exactly half of the lack beyond it, by the Poisson sum.
    #[test]
    fn limits_of_a_rate_leave_half_the_lack(events in 0_u32..60, level in 0.5_f64..0.99) {
        let found = rate(f64::from(events), 1.0, level);
        let up_to = |mean: f64, k: u32| (0..=k).fold((0.0, (-mean).exp()), |(sum, term), i| (sum + term, term * mean / f64::from(i + 1))).0;
        prop_assert!((up_to(found.high, events) - (1.0 - level) / 2.0).abs() < 1e-8);
        if events > 0 {
            prop_assert!((1.0 - up_to(found.low, events - 1) - (1.0 - level) / 2.0).abs() < 1e-8);
        }
    }
}

/// The table of guidance, in whole per cent.
#[test]
fn standard_errors_of_broods_are_those_of_the_table() {
    let table = Guidance::load().unwrap().curve("counts.brood.standard_error", Country::GB).unwrap();
    for hens in [10, 20, 30, 50] {
        assert_eq!((100.0 * standard_error(0.5, hens)).round(), table.at(f64::from(hens)));
    }
}

/// 35 hens with 7 young, the summer of 2012 in the north of England (release of 2013, `rates.chicks_per_hen.2012`).
#[test]
fn a_wet_summer_is_below_whatever_is_asked() {
    let guidance = Guidance::load().unwrap();
    let found = broods(35, 3, 7).measure(0.95).unwrap();
    assert_eq!(found.young_per_hen.value, guidance.number("rates.chicks_per_hen.2012", Country::England).unwrap());
    let steady = BreakEven::of(Survival::Modelled, &guidance, &guidance.draws(1, 200, Country::England)).unwrap();
    let verdict = Verdict::of(&found, &steady, &guidance, Country::England, 0.95).unwrap();
    assert_eq!(verdict.standing, Standing::Below);
    assert!(verdict.above < 0.01 && verdict.to_string().starts_with("too few young"), "{verdict}");
}

#[test]
fn the_verdict_says_when_it_cannot_tell() {
    let guidance = Guidance::load().unwrap();
    let steady = BreakEven::of(Survival::Modelled, &guidance, &guidance.draws(1, 400, Country::Scotland)).unwrap();
    let verdict = |count: Broods| Verdict::of(&count.measure(0.95).unwrap(), &steady, &guidance, Country::Scotland, 0.95).unwrap();
    let (few, many) = (verdict(broods(12, 6, 18)), verdict(broods(60, 45, 200)));
    assert_eq!(few.standing, Standing::CannotTell, "{few}");
    assert!(few.to_string().contains("cannot be told"), "{few}");
    assert_eq!(many.standing, Standing::Above, "{many}");
    assert!(few.above > 0.1 && few.above < 0.9 && many.above > 0.99);
    // More hens of the same kind make it surer.
    let (a, b) = (verdict(broods(10, 7, 18)), verdict(broods(40, 28, 72)));
    assert!(b.above > a.above, "{} {}", a.above, b.above);
}

/// Worked by hand from the survival printed: 0.92, 1.21, 6.2 (Baines et al. 2007), 1.23 (Caizergues & Ellison 1997), as in the tables.
#[test]
fn break_even_of_published_survival_is_that_of_the_table() {
    let guidance = Guidance::load().unwrap();
    for (country, printed) in [(Country::England, 0.92), (Country::Scotland, 1.21), (Country::Wales, 6.2)] {
        let found = BreakEven::of(Survival::Tagged, &guidance, &guidance.draws(1, 50, country)).unwrap();
        assert_eq!(guidance.number("stability.break_even", country).unwrap(), printed);
        assert!((found.young_per_hen - printed).abs() < 0.0051 * printed.max(1.0), "{country:?}: {}", found.young_per_hen);
        assert!(found.limits(0.95).high - found.limits(0.95).low < 1e-12, "no spread was printed");
    }
    let alps = BreakEven::of(Survival::FrenchAlps, &guidance, &guidance.draws(1, 50, Country::GB)).unwrap();
    assert!((alps.young_per_hen - guidance.number("stability.break_even.french_hens", Country::GB).unwrap()).abs() < 0.005);
    assert!(BreakEven::of(Survival::Tagged, &guidance, &guidance.draws(1, 50, Country::GB)).is_err(), "no figure holds for the whole of Britain");
    assert!((break_even(0.7, 0.5, 0.5) - 1.2).abs() < 1e-12);
}

/// MODEL "must reproduce" 5: break-even near the 1.2 young per hen given for the north Pennines (`stability.chicks_per_hen`).
#[test]
fn break_even_of_the_model_is_near_the_figure_of_the_north_pennines() {
    let guidance = Guidance::load().unwrap();
    let found = BreakEven::of(Survival::Modelled, &guidance, &guidance.draws(3, 2000, Country::England)).unwrap();
    let printed = guidance.number("stability.chicks_per_hen", Country::England).unwrap();
    assert!((found.young_per_hen - printed).abs() < 0.05, "{}", found.young_per_hen);
    let half = found.limits(0.5);
    assert!(half.low < printed && printed < half.high, "{half:?}");
}

/// The spread of the draws is that of the delta method where both errors are small: se^2 = B^2 ((se_a / (1 - Sa))^2 + (se_j / Sj)^2),
/// here with a tenth of the errors of the French Alps.
#[test]
fn the_spread_of_draws_is_that_of_the_delta_method() {
    let mut texts: Vec<(&str, String)> = Guidance::built_in_texts().iter().map(|(name, text)| (*name, (*text).to_owned())).collect();
    for (_, text) in &mut texts {
        *text = text.replace("hens_site_1,,0.68,fraction,,0.075,", "hens_site_1,,0.68,fraction,,0.0075,").replace("juveniles,,0.52,fraction,,0.071,", "juveniles,,0.52,fraction,,0.0071,");
    }
    let texts: Vec<(&str, &str)> = texts.iter().map(|(name, text)| (*name, text.as_str())).collect();
    let guidance = Guidance::from_texts(&texts).unwrap();
    let found = BreakEven::of(Survival::FrenchAlps, &guidance, &guidance.draws(2, 4000, Country::GB)).unwrap();
    let n = found.draws.len() as f64;
    let mean = found.draws.iter().sum::<f64>() / n;
    let sd = (found.draws.iter().map(|d| (d - mean).powi(2)).sum::<f64>() / n).sqrt();
    let delta = found.young_per_hen * ((0.0075_f64 / 0.32).powi(2) + (0.0071_f64 / 0.52).powi(2)).sqrt();
    assert!((sd / delta - 1.0).abs() < 0.03, "{sd} {delta}");
}

#[test]
fn brood_sizes_widen_the_limits() {
    let plain = Broods { hens: 8, with_broods: Some(4), young: 16, sizes: vec![] }.measure(0.95).unwrap();
    let sized = Broods { hens: 8, with_broods: Some(4), young: 16, sizes: vec![1, 2, 6, 7] }.measure(0.95).unwrap();
    // By hand: four broods of 4 and four hens without have variance 32/7 about 2; sizes 1, 2, 6, 7 have 58/7.
    let ratio = |p: &birds::productivity::Productivity| p.dispersion.unwrap().ratio;
    assert!((ratio(&plain) - 16.0 / 7.0).abs() < 1e-12 && (ratio(&sized) - 29.0 / 7.0).abs() < 1e-12);
    assert_eq!((plain.dispersion.unwrap().by, sized.dispersion.unwrap().by), (Basis::Broods, Basis::Sizes));
    assert!(plain.dispersion.unwrap().to_string().contains("at least 2.3 times"));
    assert_eq!(plain.young_per_hen, sized.young_per_hen);
    assert!(sized.widened.high > plain.widened.high && plain.widened.high > plain.young_per_hen.high);
    assert!(sized.widened.low < plain.widened.low && plain.widened.low < plain.young_per_hen.low);
    assert_eq!((sized.young_per_brood, sized.with_broods.unwrap().value), (Some(4.0), 0.5));
    assert!(Broods { with_broods: None, ..broods(8, 0, 16) }.measure(0.95).unwrap().dispersion.is_none());
}

/// Hens with a brood half the time and broods of 1 to 6 alike: single-bird limits hold far too seldom, widened ones nearly as said.
#[test]
fn widened_limits_hold_nearly_as_often_as_they_say() {
    let mut chance = rand_pcg::Pcg64::seed_from_u64(2024);
    let truth = 0.5 * 3.5;
    let (mut plain, mut wide) = (0, 0);
    let n = 2000;
    for _ in 0..n {
        let sizes: Vec<u32> = (0..30).filter(|_| chance.random_bool(0.5)).collect::<Vec<_>>().iter().map(|_: &i32| chance.random_range(1..=6)).collect();
        let count = Broods { hens: 30, with_broods: None, young: sizes.iter().sum(), sizes };
        let found = count.measure(0.95).unwrap();
        plain += i32::from((found.young_per_hen.low..=found.young_per_hen.high).contains(&truth));
        wide += i32::from((found.widened.low..=found.widened.high).contains(&truth));
    }
    assert!(f64::from(plain) / f64::from(n) < 0.88, "{plain}");
    assert!((0.93..=0.98).contains(&(f64::from(wide) / f64::from(n))), "{wide}");
}

#[test]
fn all_faults_of_a_count_are_told_at_once() {
    let faults = Broods { hens: 3, with_broods: Some(4), young: 2, sizes: vec![1, 0] }.measure(0.95).unwrap_err();
    assert_eq!(
        faults,
        [
            Fault::MoreBroodsThanHens { with_broods: 4, hens: 3 },
            Fault::FewerYoungThanBroods { young: 2, with_broods: 4 },
            Fault::SizesOfOtherBroods { sizes: 2, with_broods: 4 },
            Fault::SizesDoNotAddUp { sum: 1, young: 2 },
            Fault::EmptyBrood,
        ]
    );
    assert_eq!(broods(0, 0, 0).faults(), [Fault::NoHens]);
    assert_eq!(broods(5, 0, 3).faults(), [Fault::YoungWithoutBroods { young: 3 }]);
    assert!(faults.iter().all(|fault| !fault.to_string().is_empty()));
}

#[test]
fn counts_are_pooled_and_what_one_lacks_the_whole_lacks() {
    let sized = Broods { hens: 6, with_broods: None, young: 7, sizes: vec![3, 4] };
    let none = Broods { hens: 5, with_broods: None, young: 0, sizes: vec![] };
    let all = Broods::pooled(&[sized.clone(), none]).whole;
    assert_eq!(all, Broods { hens: 11, with_broods: Some(2), young: 7, sizes: vec![3, 4] });
    let plain = Broods { hens: 4, with_broods: None, young: 3, sizes: vec![] };
    assert_eq!(Broods::pooled(&[sized, plain]).whole, Broods { hens: 10, with_broods: None, young: 10, sizes: vec![] });
    // Nothing seen with the hens is a share of none, with its limit.
    let found = broods(10, 0, 0).measure(0.95).unwrap();
    assert_eq!((found.young_per_hen.value, found.with_broods.unwrap().low, found.dispersion), (0.0, 0.0, None));
}

/// One count without its hens with broods among ten that tell them leaves the limits as wide as the ten make them, or wider.
#[test]
fn one_count_without_broods_does_not_narrow_the_limits() {
    let guidance = Guidance::load().unwrap();
    let told: Vec<Broods> = (0..10).map(|_| broods(8, 4, 16)).collect();
    let mut with_one = told.clone();
    with_one.push(Broods { with_broods: None, ..broods(8, 0, 16) });
    let of = |counts: &[Broods]| Broods::pooled(counts).measure(0.9).unwrap().or_usual(&guidance, Country::England, 0.9).unwrap();
    let (ten, eleven) = (of(&told), of(&with_one));
    // By hand: 80 hens, 160 young, squares 10 x 16 x 4: variance (640 - 320) / 79 over a mean of 2.
    assert!((ten.dispersion.unwrap().ratio - 160.0 / 79.0).abs() < 1e-12);
    assert_eq!(eleven.dispersion, ten.dispersion);
    assert!(eleven.widened.high > eleven.young_per_hen.high && eleven.widened.low < eleven.young_per_hen.low);
}

/// By hand: 10 hens each with 0, 10 and 20 young: Pearson 100/10 + 0 + 100/10 over 2 is 10. Alike, they scatter less than chance: the
/// usual figure stands where broods are not told, and no less than it.
#[test]
fn counts_that_differ_widen_the_limits_and_the_usual_figure_where_nothing_is_known() {
    let guidance = Guidance::load().unwrap();
    let usual = guidance.number("counts.brood.clumping", Country::England).unwrap();
    let untold = |young| Broods { with_broods: None, ..broods(10, 0, young) };
    let of = |counts: &[Broods]| Broods::pooled(counts).measure(0.9).unwrap().or_usual(&guidance, Country::England, 0.9).unwrap();
    let apart = of(&[broods(10, 0, 0), untold(10), untold(20)]);
    assert!((apart.dispersion.unwrap().ratio - 10.0).abs() < 1e-9 && apart.dispersion.unwrap().to_string().contains("differ from one another"));
    for counts in [vec![untold(12)], vec![untold(12); 3], vec![untold(1), untold(20)]] {
        let found = of(&counts);
        let d = found.dispersion.unwrap();
        assert_eq!((d.ratio, d.by), (usual, Basis::Usual));
        let hens = f64::from(found.hens) / usual;
        assert_eq!(found.widened, rate(f64::from(found.young) / usual, hens, 0.9));
    }
    let both = of(&[broods(10, 1, 1), broods(10, 4, 10), broods(10, 8, 24)]).dispersion.unwrap();
    assert!(both.by == Basis::Counts && both.ratio > usual, "{both:?}");
}

/// One hen with six young is no summer: nothing is claimed below the hens of guidance, and it is said.
#[test]
fn few_hens_bear_no_verdict() {
    let guidance = Guidance::load().unwrap();
    let steady = BreakEven::of(Survival::Modelled, &guidance, &guidance.draws(1, 200, Country::England)).unwrap();
    let verdict = |count: Broods| Verdict::of(&count.measure(0.9).unwrap(), &steady, &guidance, Country::England, 0.9).unwrap();
    for few in [verdict(broods(1, 1, 6)), verdict(broods(9, 9, 54)), verdict(broods(9, 0, 0))] {
        assert!(few.standing == Standing::CannotTell && few.too_few_hens(), "{few}");
        assert!(few.to_string().contains("fewer than 10 are too few to judge by") && !few.to_string().contains("chances"), "{few}");
    }
    assert_eq!(verdict(broods(10, 10, 60)).standing, Standing::Above);
}
