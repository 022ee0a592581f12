//! Projection matrices, chance between years, and first passage, against published animals and against numpy 2.4.6 and scipy 1.17.1
//! (tests/data/matrix.json; power iteration and finite differences stand beside the eigenvalues there).

#![allow(clippy::unwrap_used, reason = "a test may stop")]

use birds::project::diffusion::{Drift, SeriesFault, ever, first_passage};
use birds::project::matrix::{Analysis, Matrix, MatrixFault};
use birds::project::stochastic::{EnvironmentFault, Environments, Few};
use proptest::prelude::*;
use serde_json::Value;

fn fixture() -> Value {
    serde_json::from_str(include_str!("data/matrix.json")).unwrap()
}

fn numbers(v: &Value) -> Vec<f64> {
    v.as_array().unwrap().iter().map(|x| x.as_f64().unwrap()).collect()
}

fn rows(v: &Value) -> Vec<Vec<f64>> {
    v.as_array().unwrap().iter().map(numbers).collect()
}

fn number(v: &Value) -> f64 {
    v.as_f64().unwrap()
}

fn matrix(v: &Value) -> Matrix {
    Matrix::new(&rows(v)).unwrap()
}

fn close(found: &[f64], wanted: &[f64], by: f64, what: &str) {
    assert_eq!(found.len(), wanted.len(), "{what}");
    for (i, (f, w)) in found.iter().zip(wanted).enumerate() {
        assert!((f - w).abs() <= by * w.abs().max(1.0), "{what}, place {i}: {f} instead of {w}");
    }
}

fn elasticity_sum(a: &Analysis) -> f64 {
    a.elasticity.iter().flatten().sum()
}

#[test]
fn every_matrix_of_the_reference_is_met() {
    let all = fixture();
    for name in ["loggerhead_1987", "killer_whale_1993", "two_stage_closed_form", "three_stage_illustration"] {
        let wanted = &all[name];
        let found = matrix(&wanted["A"]).analyse().unwrap();
        close(&[found.lambda], &[number(&wanted["lambda"])], 1e-10, name);
        close(&[found.r], &[number(&wanted["r"])], 1e-10, name);
        close(&found.stable_stage, &numbers(&wanted["stable_stage"]), 1e-10, name);
        close(&found.reproductive_value, &numbers(&wanted["repro_value_first_is_1"]), 1e-10, name);
        close(&found.sensitivity.concat(), &rows(&wanted["sensitivity"]).concat(), 1e-8, name);
        close(&found.elasticity.concat(), &rows(&wanted["elasticity"]).concat(), 1e-8, name);
        close(&[found.damping_ratio.unwrap()], &[number(&wanted["damping_ratio"])], 1e-9, name);
        assert!((elasticity_sum(&found) - 1.0).abs() < 1e-12, "{name}: {}", elasticity_sum(&found));
    }
}

/// Loggerhead turtle, Crouse, Crowder & Caswell 1987 (Ecology 68: 1412-1423): growth 0.945; stable stages and reproductive values as
/// printed there (from memory).
#[test]
fn the_loggerhead_has_its_published_figures() {
    let found = matrix(&fixture()["loggerhead_1987"]["A"]).analyse().unwrap();
    assert!((found.lambda - 0.945).abs() < 0.0005);
    for (found, printed) in found.stable_stage.iter().zip([20.65, 66.975, 11.46, 0.66, 0.04, 0.03, 0.18]) {
        assert!((100.0 * found - printed).abs() < 0.0051, "{found} {printed}");
    }
    for (found, printed) in found.reproductive_value.iter().zip([1.00, 1.40, 6.00, 115.8, 568.8, 507.4, 587.7]) {
        assert!((found - printed).abs() < if printed < 10.0 { 0.0051 } else { 0.051 }, "{found} {printed}");
    }
    // Survival in a stage weighs most, eggs least.
    let diagonal: f64 = (0..7).map(|i| found.elasticity[i][i]).sum();
    let eggs: f64 = found.elasticity[0].iter().sum();
    assert!(diagonal > 0.6 && eggs < 0.06, "{diagonal} {eggs}");
}

/// Killer whale, Brault & Caswell 1993 (Ecology 74: 1444-1454): growth 1.0254 (from memory); females past breeding are worth nothing.
#[test]
fn the_killer_whale_has_its_published_growth() {
    let found = matrix(&fixture()["killer_whale_1993"]["A"]).analyse().unwrap();
    assert!((found.lambda - 1.0254).abs() < 0.00005);
    assert_eq!(found.reproductive_value[3], 0.0);
}

#[test]
fn a_projection_steps_as_numpy_does() {
    let all = fixture();
    let wanted = rows(&all["three_stage_projection"]);
    let found = matrix(&all["three_stage_illustration"]["A"]).project(&wanted[0], wanted.len() - 1);
    close(&found.concat(), &wanted.concat(), 1e-12, "projection");
}

#[test]
fn what_is_no_matrix_is_refused() {
    assert!(matches!(Matrix::new(&[]), Err(MatrixFault::NotSquare { .. })));
    assert_eq!(Matrix::new(&[vec![1.0, 0.0], vec![1.0]]), Err(MatrixFault::NotSquare { rows: 2, row: 2, found: 1 }));
    let told = Matrix::new(&[vec![1.0, -0.5], vec![f64::NAN, 0.0]]).unwrap_err().to_string();
    assert!(told.contains("-0.5 in row 1 column 2") && told.contains("NaN in row 2 column 1"), "{told}");
    assert!(matches!(Matrix::new(&[vec![0.0, 0.0], vec![1.0, 0.0]]).unwrap().analyse(), Err(MatrixFault::NoDominant(_))));
}

/// Stages apart have the stable stage of the faster; where they grow alike there is none.
#[test]
fn parts_that_grow_alike_are_refused() {
    let apart = Matrix::new(&[vec![0.9, 0.0], vec![0.0, 0.7]]).unwrap().analyse().unwrap();
    assert!((apart.lambda - 0.9).abs() < 1e-12 && (apart.damping_ratio.unwrap() - 9.0 / 7.0).abs() < 1e-12);
    assert_eq!(apart.stable_stage, [1.0, 0.0]);
    let alike = Matrix::new(&[vec![0.9, 0.0], vec![0.0, 0.9]]).unwrap().analyse();
    assert!(matches!(alike, Err(MatrixFault::NoDominant(_))), "{alike:?}");
    // A chain that grows alike at both ends: left and right vector share no stage.
    let chain = Matrix::new(&[vec![0.9, 0.0], vec![0.5, 0.9]]).unwrap().analyse();
    assert!(matches!(chain, Err(MatrixFault::NoDominant(_))), "{chain:?}");
}

proptest! {
    /// Closed form of two stages; elasticities sum to one; sensitivities against differences of growth.
    #[test]
    fn matrices_of_two_stages_follow_their_closed_form(a in 0.0..2.0f64, b in 0.01..50.0f64, c in 0.001..1.0f64, d in 0.0..1.0f64) {
        let growth = |a: f64, b: f64, c: f64, d: f64| (a + d) / 2.0 + ((a - d).powi(2) / 4.0 + b * c).sqrt();
        let found = Matrix::new(&[vec![a, b], vec![c, d]]).unwrap().analyse().unwrap();
        prop_assert!((found.lambda / growth(a, b, c, d) - 1.0).abs() < 1e-11);
        prop_assert!((elasticity_sum(&found) - 1.0).abs() < 1e-12);
        let h = 1e-6;
        let slope = (growth(a, b, c + h, d) - growth(a, b, c - h, d)) / (2.0 * h);
        prop_assert!((found.sensitivity[1][0] / slope - 1.0).abs() < 1e-4, "{} {slope}", found.sensitivity[1][0]);
    }

    /// Any matrix: eigenvalues sum to the trace; vectors are vectors; elasticities sum to one.
    #[test]
    fn matrices_of_any_size_keep_their_laws(n in 1usize..9, cells in proptest::collection::vec(0.001..3.0f64, 64)) {
        let rows: Vec<Vec<f64>> = (0..n).map(|i| cells[i * n..(i + 1) * n].to_vec()).collect();
        let m = Matrix::new(&rows).unwrap();
        let trace: f64 = (0..n).map(|i| m.cell(i, i)).sum();
        let all = m.eigenvalues();
        prop_assert_eq!(all.len(), n);
        prop_assert!((all.iter().map(|z| z.0).sum::<f64>() - trace).abs() < 1e-10 * trace.max(1.0));
        prop_assert!(all.iter().map(|z| z.1).sum::<f64>().abs() < 1e-10);
        let found = m.analyse().unwrap();
        prop_assert!((all[0].0 - found.lambda).abs() < 1e-10 * found.lambda);
        for (x, y) in m.step(&found.stable_stage).iter().zip(&found.stable_stage) {
            prop_assert!((x - found.lambda * y).abs() < 1e-11 * found.lambda);
        }
        prop_assert!((elasticity_sum(&found) - 1.0).abs() < 1e-12);
    }
}

fn two_environments() -> (Environments, Vec<f64>, Few, Value) {
    let wanted = fixture()["stochastic_exact"].clone();
    let bad = number(&wanted["p_bad"]);
    let parts = vec![(1.0 - bad, matrix(&wanted["good"])), (bad, matrix(&wanted["bad"]))];
    let few = Few { stages: vec![1, 2], below: number(&wanted["threshold_yearlings_plus_adults_below"]) };
    (Environments::new(parts).unwrap(), numbers(&wanted["n0"]), few, wanted)
}

#[test]
fn every_sequence_of_two_environments_is_listed() {
    let (environments, start, few, wanted) = two_environments();
    let found = environments.exact(&start, &few, 12).unwrap();
    close(&found.by_year, &numbers(&wanted["P_quasi_extinct_by_year"]), 1e-12, "by year");
    close(&[found.below_at_end], &[number(&wanted["P_below_at_T"])], 1e-12, "at the end");
    close(&[found.mean_total], &[number(&wanted["E_total_at_T"])], 1e-12, "mean");
    close(&[found.mean_log_total], &[number(&wanted["E_log_total_at_T"])], 1e-12, "mean logarithm");
    // Independent years: the mean matrix gives the mean.
    let by_mean: f64 = environments.mean().project(&start, 12)[12].iter().sum();
    close(&[found.mean_total], &[by_mean], 1e-12, "mean matrix");
}

#[test]
fn a_seeded_simulation_is_within_its_error_of_the_exact_chance() {
    let (environments, start, few, wanted) = two_environments();
    let runs = 50_000;
    let found = environments.simulate(&start, &few, 12, runs, 11).unwrap();
    for (f, p) in found.iter().zip(numbers(&wanted["P_quasi_extinct_by_year"])) {
        assert!((f - p).abs() <= 4.0 * (p * (1.0 - p) / runs as f64).sqrt() + 1e-12, "{f} {p}");
    }
    assert_eq!(found, environments.simulate(&start, &few, 12, runs, 11).unwrap());
}

/// Long run of numpy: -0.09948, standard error 0.00024 over a million years, so 0.0007 is three of them; Tuljapurkar's small noise.
#[test]
fn growth_in_the_long_run_is_met() {
    let (environments, _, _, _) = two_environments();
    let wanted = &fixture()["stochastic_growth"];
    let found = environments.long_run(2_000_000, 5).unwrap();
    assert!((found.log_lambda + 0.0995).abs() <= 0.0007, "{found:?}");
    assert!(found.standard_error < 0.00025, "{found:?}");
    close(&[environments.small_noise().unwrap()], &[number(&wanted["tuljapurkar_small_noise"])], 1e-10, "small noise");
    close(&[environments.mean().analyse().unwrap().r], &[number(&wanted["log_lambda_mean_matrix"])], 1e-10, "mean matrix");
}

#[test]
fn environments_that_make_no_sense_are_refused() {
    let m = |n: usize| Matrix::new(&vec![vec![0.5; n]; n]).unwrap();
    assert!(matches!(Environments::new(vec![]), Err(EnvironmentFault::Chances(_))));
    assert!(matches!(Environments::new(vec![(0.5, m(2)), (0.4, m(2))]), Err(EnvironmentFault::Chances(_))));
    assert!(matches!(Environments::new(vec![(0.5, m(2)), (0.5, m(3))]), Err(EnvironmentFault::Sizes(_))));
    let two = Environments::new(vec![(0.5, m(2)), (0.5, m(2))]).unwrap();
    let few = |stage| Few { stages: vec![stage], below: 1.0 };
    assert!(matches!(two.exact(&[1.0, 1.0], &few(2), 5), Err(EnvironmentFault::Stages { .. })));
    assert!(matches!(two.exact(&[1.0], &few(0), 5), Err(EnvironmentFault::Stages { .. })));
    assert!(matches!(two.exact(&[1.0, 1.0], &few(0), 40), Err(EnvironmentFault::TooMany { .. })));
    assert!(matches!(two.long_run(100, 1), Err(EnvironmentFault::TooShort { .. })));
}

/// Ginzburg et al. 1982 as a public page quotes it: no drift, standard deviation 0.1, threshold 0.5 below, ten years: 0.113846.
#[test]
fn first_passage_has_its_published_value_and_that_of_scipy() {
    assert!((first_passage(0.5, 0.0, 0.01, 10.0) - 0.113_846).abs() < 5e-7);
    let all = fixture();
    let table = all["first_passage"]["table"].as_array().unwrap();
    assert_eq!(table.len(), 54);
    for row in table {
        let found = first_passage(number(&row["Nc_over_Nq"]).ln(), number(&row["mu"]), number(&row["sigma2"]), number(&row["T"]));
        assert!((found - number(&row["P"])).abs() < 1e-9, "{row}: {found}");
    }
}

#[test]
fn first_passage_holds_at_its_ends() {
    assert_eq!(first_passage(0.0, 0.1, 0.1, 5.0), 1.0);
    assert_eq!(first_passage(1.0, -0.2, 0.0, 4.0), 0.0);
    assert_eq!(first_passage(1.0, -0.3, 0.0, 4.0), 1.0);
    // A steep fall with hardly any noise: both factors of the second part lie beyond what a number holds.
    assert!((first_passage(2.3, -0.5, 1e-4, 30.0) - 1.0).abs() < 1e-12);
    assert!(first_passage(2.3, -0.05, 1e-4, 30.0) < 1e-12);
    // Given time it comes to the chance of ever.
    for mu in [-0.02, 0.0, 0.03] {
        assert!((first_passage(0.7, mu, 0.02, 1e7) - ever(0.7, mu, 0.02)).abs() < 2e-3, "{mu}");
    }
    // The tail series meets the function it takes over from.
    let (near, far) = (first_passage(2.999_99, 0.0, 0.01, 1.0), first_passage(3.000_01, 0.0, 0.01, 1.0));
    assert!((near / far).ln() > 0.0 && (near / far).ln() < 1e-2, "{near} {far}");
}

/// Estimates after Dennis, Munholland & Scott 1991 on a made-up series with gaps; numpy 2.4.6. The mean is also the line from first
/// to last count.
#[test]
fn drift_and_spread_of_a_series_are_met() {
    let wanted = &fixture()["diffusion_estimates"];
    let years: Vec<i32> = wanted["years"].as_array().unwrap().iter().map(|y| y.as_i64().unwrap() as i32).collect();
    let series: Vec<(i32, f64)> = years.into_iter().zip(numbers(&wanted["counts"])).collect();
    let found = Drift::of(&series).unwrap();
    close(&[found.mu, found.sigma2], &[number(&wanted["mu"]), number(&wanted["sigma2_unbiased"])], 1e-12, "drift");
    close(&[found.mu_se], &[(found.sigma2 / 9.0).sqrt()], 1e-12, "error");
    // Quantiles of six degrees of freedom from printed tables: t 2.447, chi-squared 1.237 and 14.449.
    close(&[found.mu_95.0, found.mu_95.1], &[found.mu - 2.447 * found.mu_se, found.mu + 2.447 * found.mu_se], 1e-4, "t");
    close(&[found.sigma2_95.0 / found.sigma2, found.sigma2_95.1 / found.sigma2], &[6.0 / 14.449, 6.0 / 1.237], 1e-3, "chi-squared");
    let half = found.falls_to(0.5, 10.0);
    assert!((half - first_passage(2.0f64.ln(), found.mu, found.sigma2, 10.0)).abs() < 1e-15 && half > 0.4, "{half}");
}

#[test]
fn series_that_say_nothing_are_refused() {
    assert_eq!(Drift::of(&[(2001, 4.0), (2002, 5.0)]), Err(SeriesFault::TooFew(2)));
    assert_eq!(Drift::of(&[(2001, 4.0), (2001, 5.0), (2002, 5.0)]), Err(SeriesFault::Years { before: 2001, after: 2001 }));
    assert_eq!(Drift::of(&[(2001, 4.0), (2002, 0.0), (2003, 5.0)]), Err(SeriesFault::Nothing(2002)));
}
