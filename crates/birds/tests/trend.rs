//! Trends against other programs' fits of the same counts: R 4.2.2 (glm, MASS 7.3-58.2) and statsmodels 0.15.0, on published
//! data sets and on seeded leks with gaps (tests/data).

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test may stop")]

use birds::trend::glm::{Family, Fit, Frame, fit};
use birds::trend::limits::{Limits, Slope, profile};
use birds::trend::negbin::fit_negbin;
use birds::trend::shape::{Shape, frame};
use birds::trend::table::{Count, Table};
use birds::trend::{Ask, trend};
use guidance::{Country, Guidance};
use serde_json::Value;

fn usual() -> Ask {
    Ask::usual(&Guidance::load().unwrap(), Country::GB).unwrap()
}

fn near(found: f64, wanted: f64, within: f64, what: &str) {
    assert!((found - wanted).abs() <= within, "{what}: {found} is not {wanted}");
}

/// Within a part of the wanted figure, as R's output carries twelve digits.
fn alike(found: f64, wanted: &Value, part: f64, what: &str) {
    let wanted = wanted.as_f64().unwrap();
    near(found, wanted, part * wanted.abs().max(1.0), what);
}

fn r() -> Value {
    serde_json::from_str(include_str!("data/fit_R.json")).unwrap()
}

fn statsmodels() -> Value {
    serde_json::from_str(include_str!("data/check_statsmodels.json")).unwrap()
}

fn rows(text: &'static str) -> Vec<Vec<&'static str>> {
    text.lines().skip(1).map(|l| l.split(',').map(|c| c.trim_matches('"')).collect()).collect()
}

/// Columns of a factor by treatment contrasts: one a level but the first.
fn factor(levels: &[&str], level: &str) -> Vec<f64> {
    levels[1..].iter().map(|l| f64::from(u8::from(*l == level))).collect()
}

fn dense(rows: impl IntoIterator<Item = (f64, Vec<f64>)>) -> Frame {
    let rows: Vec<(f64, Vec<f64>)> = rows.into_iter().collect();
    let mut frame = Frame::new(rows[0].1.len(), false);
    for (y, x) in rows {
        frame.push(y, x.into_iter().enumerate().filter(|(_, v)| *v != 0.0));
    }
    frame
}

fn errors(fit: &Fit) -> Vec<f64> {
    let covariance = fit.covariance().unwrap();
    (0..covariance.n).map(|i| covariance.at(i, i).sqrt()).collect()
}

/// Dobson 1990, An Introduction to Generalized Linear Models, p. 93, as printed in R's help of glm: 3.045, -0.4543, -0.2930 with
/// standard errors 0.1709, 0.2022, 0.1927; deviance 5.1291 on 4; AIC 56.76.
#[test]
fn the_randomised_trial_of_dobson() {
    let data = rows(include_str!("data/dobson93.csv"));
    let frame = dense(data.iter().map(|c| {
        let x = [vec![1.0], factor(&["1", "2", "3"], c[1]), factor(&["1", "2", "3"], c[0])].concat();
        (c[2].parse().unwrap(), x)
    }));
    let fitted = fit(&frame, Family::Poisson, None).unwrap();
    let se = errors(&fitted);
    for (at, (estimate, error)) in [(3.045, 0.1709), (-0.4543, 0.2022), (-0.2930, 0.1927)].into_iter().enumerate() {
        near(fitted.coefficient[at], estimate, 5e-4, "printed estimate");
        near(se[at], error, 5e-5, "printed standard error");
    }
    near(fitted.deviance, 5.1291, 5e-5, "printed deviance");
    let wanted = &r()["dobson93"];
    for (at, name) in ["(Intercept)", "outcome2", "outcome3", "treatment2", "treatment3"].into_iter().enumerate() {
        alike(fitted.coefficient[at], &wanted["estimate"][name], 1e-8, name);
        alike(se[at], &wanted["se"][name], 1e-8, name);
    }
    alike(fitted.deviance, &wanted["deviance"], 1e-8, "deviance");
    alike(fitted.log_likelihood(&frame), &wanted["loglik"], 1e-8, "log likelihood");
    alike(10.0 - 2.0 * fitted.log_likelihood(&frame), &wanted["aic"], 1e-8, "AIC");
    let bare = dense(data.iter().map(|c| (c[2].parse().unwrap(), vec![1.0])));
    alike(fit(&bare, Family::Poisson, None).unwrap().deviance, &wanted["null_deviance"], 1e-8, "null deviance");
}

/// Breaks of yarn by wool and tension (R's data set warpbreaks, Tippett 1950): quasi-Poisson.
#[test]
fn breaks_of_yarn_scatter_four_times_as_poisson() {
    let data = rows(include_str!("data/warpbreaks.csv"));
    for (key, crossed) in [("warpbreaks_main", false), ("warpbreaks_interaction", true)] {
        let frame = dense(data.iter().map(|c| {
            let (wool, tension) = (factor(&["A", "B"], c[1]), factor(&["L", "M", "H"], c[2]));
            let cross: Vec<f64> = if crossed { tension.iter().map(|t| t * wool[0]).collect() } else { Vec::new() };
            (c[0].parse().unwrap(), [vec![1.0], wool, tension, cross].concat())
        }));
        let fitted = fit(&frame, Family::Poisson, None).unwrap();
        let wanted = &r()[key];
        let dispersion = fitted.dispersion(&frame).unwrap();
        alike(dispersion, &wanted["dispersion_pearson"], 1e-8, "dispersion");
        alike(fitted.deviance, &wanted["deviance"], 1e-8, "deviance");
        let names: Vec<&str> = wanted["estimate"].as_object().unwrap().keys().map(String::as_str).collect();
        for (at, (name, se)) in names.iter().zip(errors(&fitted)).enumerate() {
            alike(fitted.coefficient[at], &wanted["estimate"][name], 1e-8, name);
            alike(se * dispersion.sqrt(), &wanted["se"][name], 1e-8, name);
        }
    }
}

/// Days away from school (R's data set quine, MASS): negative binomial. Full model as printed in Crawley, The R Book: theta 1.928
/// (0.269), 2 log L -1039.324, deviance 167.45 on 118.
#[test]
fn days_away_from_school_are_negative_binomial() {
    let data = rows(include_str!("data/quine.csv"));
    let parts = |c: &[&str]| {
        [factor(&["A", "N"], c[0]), factor(&["F", "M"], c[1]), factor(&["F0", "F1", "F2", "F3"], c[2]), factor(&["AL", "SL"], c[3])]
    };
    let main = dense(data.iter().map(|c| (c[4].parse().unwrap(), [vec![1.0], parts(c).concat()].concat())));
    let with = fit_negbin(&main).unwrap();
    let wanted = &r()["quine_main"];
    near(with.theta, wanted["theta"].as_f64().unwrap(), 1e-5, "theta");
    near(with.se_theta, wanted["se_theta"].as_f64().unwrap(), 1e-5, "standard error of theta");
    alike(2.0 * with.fit.log_likelihood(&main), &wanted["twologlik"], 1e-8, "2 log L");
    let names = ["(Intercept)", "EthN", "SexM", "AgeF1", "AgeF2", "AgeF3", "LrnSL"];
    for (at, (name, se)) in names.iter().zip(errors(&with.fit)).enumerate() {
        alike(with.fit.coefficient[at], &wanted["estimate"][name], 1e-6, name);
        alike(se, &wanted["se"][name], 1e-6, name);
    }
    // Every product of the four factors; no girl of the last form is an average learner, and such empty cells drop out.
    let crossed = |c: &[&str]| {
        parts(c).iter().fold(vec![1.0], |all, part| all.iter().flat_map(|a| std::iter::once(*a).chain(part.iter().map(move |p| a * p))).collect::<Vec<f64>>())
    };
    let whole: Vec<Vec<f64>> = data.iter().map(|c| crossed(c)).collect();
    let mut kept: Vec<usize> = Vec::new();
    for column in 0..whole[0].len() {
        let with = |k: &[usize]| {
            let mut normal = birds::trend::normal::Symmetric::zero(k.len());
            for row in &whole {
                for (i, &a) in k.iter().enumerate() {
                    for (j, &b) in k.iter().enumerate().skip(i) {
                        normal.add(i, j, row[a] * row[b]);
                    }
                }
            }
            normal.factor().is_some()
        };
        let more: Vec<usize> = kept.iter().copied().chain([column]).collect();
        if with(&more) {
            kept = more;
        }
    }
    let full = dense(data.iter().zip(&whole).map(|(c, row)| (c[4].parse().unwrap(), kept.iter().map(|&k| row[k]).collect())));
    assert_eq!(full.columns, 28);
    let with = fit_negbin(&full).unwrap();
    near(with.theta, 1.928, 5e-4, "printed theta");
    near(with.se_theta, 0.269, 5e-4, "printed standard error");
    let wanted = &r()["quine_full"];
    near(with.theta, wanted["theta"].as_f64().unwrap(), 1e-5, "theta");
    alike(2.0 * with.fit.log_likelihood(&full), &wanted["twologlik"], 1e-8, "2 log L");
    near(with.fit.deviance, wanted["deviance"].as_f64().unwrap(), 1e-4, "deviance");
}

fn leks(text: &'static str) -> Table {
    let data = rows(text);
    let mut names: Vec<String> = data.iter().map(|c| c[0].to_string()).collect();
    names.dedup();
    let counts = data
        .iter()
        .filter(|c| !c[2].is_empty())
        .map(|c| Count { lek: names.iter().position(|n| n == c[0]).unwrap(), year: c[1].parse().unwrap(), cocks: c[2].parse().unwrap() })
        .collect();
    Table::new(names, counts)
}

/// Fourteen seeded leks over sixteen years, with gaps, one always empty, one seen once; and the same with a whole year missing.
#[test]
fn leks_with_gaps_come_out_as_elsewhere() {
    for (text, key) in [(include_str!("data/leks.csv"), "leks"), (include_str!("data/leks_gap.csv"), "leks_gap")] {
        let table = leks(text);
        let wanted = &r()[key];
        let ask = Ask { level: 0.95, ..usual() };
        let drawn = trend(&table, &ask).unwrap();
        assert_eq!(drawn.empty_leks, vec![wanted["all_zero_sites_dropped"].as_str().unwrap()]);
        assert_eq!(drawn.counts as u64, wanted["n_used"].as_u64().unwrap());
        let linear = &wanted["linear"];
        let slope = |kind: Limits| drawn.by_kind.iter().find(|k| k.limits == kind).unwrap().slope.unwrap();
        let both = |s: Slope, wanted: &Value, part: f64, what: &str| {
            alike(s.lo, &wanted[0], part, what);
            alike(s.hi, &wanted[1], part, what);
        };
        let poisson = slope(Limits::Poisson);
        alike(poisson.value, &linear["poisson"]["slope"], 1e-8, "slope");
        alike(poisson.se, &linear["poisson"]["se"], 1e-8, "standard error");
        both(poisson, &linear["poisson"]["wald"], 1e-8, "Wald limits");
        near(100.0 * drawn.annual_change.value, linear["poisson"]["annual_change_pct"].as_f64().unwrap(), 1e-7, "annual change");
        let quasi = slope(Limits::Quasi);
        alike(drawn.dispersion.unwrap(), &linear["quasipoisson"]["dispersion_pearson"], 1e-8, "dispersion");
        alike(quasi.se, &linear["quasipoisson"]["se"], 1e-8, "quasi standard error");
        both(quasi, &linear["quasipoisson"]["wald_t"], 1e-8, "t limits");
        let z = Slope::wald(quasi.value, quasi.se, None, 0.95);
        both(z, &linear["quasipoisson"]["wald_z"], 1e-8, "z limits");
        both(slope(Limits::Profile), &linear["quasipoisson"]["profile"], 1e-5, "profile limits, quasi");
        let negbin = slope(Limits::NegBin);
        alike(negbin.value, &linear["negbin"]["slope"], 1e-7, "negative binomial slope");
        alike(negbin.se, &linear["negbin"]["se"], 1e-7, "its standard error");
        both(negbin, &linear["negbin"]["wald"], 1e-7, "its limits");
        let (theta, se_theta) = drawn.theta.unwrap();
        near(theta, linear["negbin"]["theta"].as_f64().unwrap(), 1e-5, "theta");
        near(se_theta, linear["negbin"]["se_theta"].as_f64().unwrap(), 1e-5, "its standard error");
        let by_lek = slope(Limits::ByLek);
        alike(by_lek.se, &statsmodels()[key]["cluster_se_by_site_G_over_G_minus_1_type"], 1e-7, "robust standard error, corrected");

        let used = table.sort_out().used;
        let laid = frame(&used, &Shape::Line { from: 2005, bends: Vec::new() }, |_| 0.0);
        let fitted = fit(&laid, Family::Poisson, None).unwrap();
        let plain = fitted.covariance_by_group(&laid, false).unwrap().at(0, 0).sqrt();
        alike(plain, &statsmodels()[key]["cluster_se_by_site_uncorrected"], 1e-7, "robust standard error");
        alike(fitted.deviance, &linear["poisson"]["deviance"], 1e-8, "deviance");
        alike(fitted.pearson(&laid), &linear["poisson"]["pearson"], 1e-8, "Pearson");
        let (lo, hi) = profile(&laid, Family::Poisson, &fitted, 0, 1.0, 0.95).unwrap();
        both(Slope { lo, hi, ..poisson }, &linear["poisson"]["profile"], 1e-5, "profile limits");
        let with = fit_negbin(&laid).unwrap();
        alike(2.0 * with.fit.log_likelihood(&laid), &linear["negbin"]["twologlik"], 1e-8, "2 log L");
        let (lo, hi) = profile(&laid, Family::NegativeBinomial { theta: with.theta }, &with.fit, 0, 1.0, 0.95).unwrap();
        both(Slope { lo, hi, ..poisson }, &linear["negbin"]["profile"], 1e-5, "profile limits, negative binomial");
        for (level, (name, wanted)) in fitted.level.iter().zip(linear["site_effects_poisson"].as_object().unwrap()) {
            alike(*level, wanted, 1e-8, name);
        }

        let years = &wanted["year_effects"];
        assert_eq!(i64::from(drawn.base), years["base_year"].as_i64().unwrap());
        let reach = birds::trend::limits::quantile(0.975, Some(years["df"].as_f64().unwrap()));
        for year in &drawn.index {
            let name = year.year.to_string();
            if year.year != drawn.base {
                alike(year.value.ln(), &years["log_index"][&name], 1e-7, &name);
                let se = (year.hi.unwrap().ln() - year.lo.unwrap().ln()) / (2.0 * reach);
                alike(se, &years["se_quasi"][&name], 1e-7, &name);
            }
            near(year.total, wanted["totals_imputed"][&name].as_f64().unwrap(), 1e-6, &name);
        }
        assert_eq!(drawn.index.len(), wanted["totals_imputed"].as_object().unwrap().len());
    }
}

/// Without gaps the fit equals conditioning on each lek's total (statsmodels, `conditional_equals_glm`).
#[test]
fn conditioning_on_totals_is_the_same_fit() {
    let wanted = &statsmodels()["conditional_equals_glm"];
    let counts = wanted["Y"].as_array().unwrap().iter().enumerate().flat_map(|(lek, row)| {
        row.as_array().unwrap().iter().enumerate().map(move |(t, y)| Count { lek, year: t as i32, cocks: y.as_u64().unwrap() as u32 })
    });
    let table = Table::new((0..6).map(|l| l.to_string()).collect(), counts.collect());
    let drawn = trend(&table, &usual()).unwrap();
    let slope = drawn.by_kind[0].slope.unwrap();
    near(slope.value, wanted["slope"].as_f64().unwrap(), 1e-10, "slope");
    near(slope.se, wanted["se"].as_f64().unwrap(), 1e-10, "standard error");
}

/// Expected counts of a line that bends: the bend is found where it is, and the changes before and after are its own.
#[test]
fn a_bend_is_found_where_it_is() {
    let counts = (0..8).flat_map(|lek| {
        (2000..2020).map(move |year| {
            let log = 3.0 + 0.1 * lek as f64 - 0.08 * f64::from(year.min(2009) - 2000) + 0.06 * f64::from((year - 2009).max(0));
            Count { lek, year, cocks: log.exp().round() as u32 }
        })
    });
    let table = Table::new((0..8).map(|l| l.to_string()).collect(), counts.collect());
    let drawn = trend(&table, &usual()).unwrap();
    assert_eq!(drawn.bends.len(), 1, "{:?}", drawn.bends);
    assert_eq!(drawn.bends[0].year, 2009);
    near(drawn.bends[0].before.value, (-0.08_f64).exp_m1(), 3e-3, "before");
    near(drawn.bends[0].after.value, 0.06_f64.exp_m1(), 3e-3, "after");
    let straight = Table::new(vec!["a".into(), "b".into()], (0..2).flat_map(|lek| (2000..2020).map(move |year| Count { lek, year, cocks: (40.0 * (-0.03 * f64::from(year - 2000)).exp()).round() as u32 })).collect());
    assert!(trend(&straight, &usual()).unwrap().bends.is_empty());
}

/// Expected counts of numbers that come and go over twenty years: with eighteen degrees of freedom over sixty years the curve
/// follows them to a hundredth, and its many steep columns are not taken for a likelihood without a top.
#[test]
fn a_long_curve_follows_its_waves() {
    let wave = |year: i32| 0.5 * (std::f64::consts::TAU * f64::from(year - 1960) / 20.0).sin();
    let counts = (0..6).flat_map(|lek| (1960..2020).map(move |year| Count { lek, year, cocks: (5.0 + 0.2 * lek as f64 + wave(year)).exp().round() as u32 }));
    let drawn = trend(&Table::new((0..6).map(|l| l.to_string()).collect(), counts.collect()), &usual()).unwrap();
    assert_eq!(drawn.smooth.len(), 60);
    for year in &drawn.smooth {
        near(year.value.ln(), wave(year.year) - wave(1960), 1e-2, &year.year.to_string());
    }
}

/// Leks that halve at the same pace as their region show no difference; leks that hold do better.
#[test]
fn leks_are_set_beside_their_region() {
    use birds::trend::region::{RegionYear, beside};
    let region: Vec<RegionYear> = (2000..2012).map(|year| RegionYear { year, index: 100.0 * (-0.06 * f64::from(year - 2000) + 0.3 * f64::from(year).sin()).exp() }).collect();
    let of = |held: f64| {
        let counts = (0..6).flat_map(|lek| region.iter().map(move |r| Count { lek, year: r.year, cocks: (60.0 * (r.index / 100.0) * (held * f64::from(r.year - 2000)).exp()).round() as u32 }));
        Table::new((0..6).map(|l| l.to_string()).collect(), counts.collect())
    };
    let same = beside(&of(0.0), &region, &usual()).unwrap();
    near(same.against.value, 0.0, 2e-3, "difference");
    let elsewhere: Vec<RegionYear> = [1980, 1981].map(|year| RegionYear { year, index: 1.0 }).to_vec();
    let why = beside(&of(0.0), &elsewhere, &usual()).unwrap_err().to_string();
    assert!(why.starts_with("no year is both in the counts") && why.contains("(1980 to 1981)"), "{why}");
    let better = beside(&of(0.04), &region, &usual()).unwrap();
    near(better.against.value, 0.04_f64.exp_m1(), 2e-3, "difference");
    assert!(better.worse < 0.01, "{better:?}");
}

/// Leks drop out one by one while the others hold: the loss is one of leks. All shrink: it is one of cocks at a lek.
#[test]
fn fewer_leks_and_smaller_leks_are_told_apart() {
    let out = (0..12).flat_map(|lek| (2000..2012).map(move |year| Count { lek, year, cocks: if year - 2000 > lek as i32 { 0 } else { 8 + (lek as u32 + year as u32) % 3 } }));
    let drawn = trend(&Table::new((0..12).map(|l| l.to_string()).collect(), out.collect()), &usual()).unwrap();
    assert!(drawn.split.leks.unwrap().hi < -0.05 && drawn.split.cocks_a_lek.unwrap().value.abs() < 0.03, "{:?}", drawn.split);
    let shrink = (0..12).flat_map(|lek| (2000..2012).map(move |year| Count { lek, year, cocks: (20.0 * (-0.1 * f64::from(year - 2000)).exp()) as u32 + (lek as u32 + year as u32) % 3 }));
    let drawn = trend(&Table::new((0..12).map(|l| l.to_string()).collect(), shrink.collect()), &usual()).unwrap();
    assert!(drawn.split.cocks_a_lek.unwrap().hi < -0.05 && drawn.split.leks.unwrap().value.abs() < 1e-9, "{:?}", drawn.split);
}

/// What cannot be told is said, in words, and never a number.
#[test]
fn what_cannot_be_told_is_said() {
    let said = |counts: &[(usize, i32, u32)], ask: Ask| {
        let counts = counts.iter().map(|&(lek, year, cocks)| Count { lek, year, cocks }).collect();
        trend(&Table::new(vec!["a".into(), "b".into(), "c".into()], counts), &ask).map_err(|e| e.to_string())
    };
    assert!(said(&[], usual()).unwrap_err().contains("no valid count"));
    assert!(said(&[(0, 2000, 0), (0, 2001, 0)], usual()).unwrap_err().contains("no lek was ever counted with a cock"));
    assert!(said(&[(0, 2000, 4), (1, 2000, 2)], usual()).unwrap_err().contains("counts of 2000 only"));
    assert!(said(&[(0, 2000, 4), (0, 2001, 2)], Ask { base: Some(1999), ..usual() }).unwrap_err().contains("from 1999"));
    assert!(said(&[(0, 2000, 4), (0, 2001, 2)], Ask { bends: Some(vec![2001]), ..usual() }).unwrap_err().contains("cannot bend in 2001"));
    // Each lek in a year of its own.
    assert!(said(&[(0, 2000, 4), (1, 2001, 2)], usual()).is_err());
    // One lek, two years: a slope, but nothing to see scatter by, and that is said.
    let two = said(&[(0, 2000, 8), (0, 2001, 4)], usual()).unwrap();
    assert_eq!(two.limits, Limits::Poisson);
    near(two.annual_change.value, -0.5, 1e-9, "halved");
    assert!(two.by_kind.iter().find(|k| k.limits == Limits::ByYear).unwrap().why_not.is_some());
    // A year without a bird anywhere has an index of nothing and no limits.
    let gone = said(&[(0, 2000, 8), (0, 2001, 0), (0, 2002, 4), (1, 2000, 3), (1, 2001, 0), (1, 2002, 5)], usual()).unwrap();
    assert_eq!(gone.empty_years, vec![2001]);
    assert_eq!((gone.index[1].value, gone.index[1].lo), (0.0, None));
    // Two sets of leks that no year links: the larger stands, the other is named.
    let apart = said(&[(0, 2000, 8), (0, 2001, 6), (1, 2001, 5), (1, 2000, 7), (2, 2010, 3), (2, 2011, 4)], usual()).unwrap();
    assert_eq!((apart.unlinked, apart.counts), (vec!["c".to_string()], 4));
}

/// Three leks that fall in step, year after year, as chance would hardly let them: limits by year are narrower than Poisson's, and
/// the verdict stands on Poisson's. Leks that differ in their fall are told so.
#[test]
fn no_verdict_claims_more_than_chance_allows() {
    let ask = usual();
    let even: Vec<Count> = (0..3).flat_map(|lek| (0..8).map(move |t| Count { lek, year: 2018 + t, cocks: [12, 11, 11, 10, 10, 9, 9, 8][t as usize] })).collect();
    let t = trend(&Table::new((0..3).map(|l| l.to_string()).collect(), even), &ask).unwrap();
    let kind = |kind: Limits| t.by_kind.iter().find(|k| k.limits == kind).unwrap().annual_change.unwrap();
    let width = |c: birds::trend::Change| c.hi - c.lo;
    assert!(width(kind(Limits::ByYear)) < width(kind(Limits::Poisson)) && t.limits == Limits::ByYear && t.widened, "{t:#?}");
    assert!((t.annual_change.lo - kind(Limits::Poisson).lo).abs() < 1e-12 && (t.annual_change.hi - kind(Limits::Poisson).hi).abs() < 1e-12);
    let words = birds::trend::words::Words::of(&Guidance::load().unwrap(), Country::England).unwrap();
    assert!(words.verdict(&t).contains("narrower than chance alone has them") && !words.verdict(&t).contains("differently"), "{}", words.verdict(&t));

    let own = [[30, 28, 25, 22, 20, 17, 15, 13], [10, 10, 11, 10, 9, 10, 10, 10], [8, 8, 9, 8, 9, 8, 9, 9]];
    let apart: Vec<Count> = own.iter().enumerate().flat_map(|(lek, run)| run.iter().enumerate().map(move |(t, cocks)| Count { lek, year: 2018 + t as i32, cocks: *cocks })).collect();
    let t = trend(&Table::new((0..3).map(|l| l.to_string()).collect(), apart), &ask).unwrap();
    assert!(t.annual_change.hi < 0.0 && words.verdict(&t).contains("not for each of them"), "{}", words.verdict(&t));
}
