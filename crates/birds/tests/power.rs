//! Power to see a change, against a closed form and a simulation computed elsewhere (statsmodels 0.15.0 and numpy,
//! tests/data/check_statsmodels.json), and against our own simulation.

#![allow(clippy::unwrap_used, reason = "a test may stop")]

use birds::detection::attendance::Attendance;
use birds::power::Design;
use birds::power::seen::{Highest, visited};
use birds::power::simulated::simulate;
use birds::trend::limits::Limits;
use serde_json::Value;

fn cases() -> Vec<(Design, f64, Value)> {
    let all: Value = serde_json::from_str(include_str!("data/check_statsmodels.json")).unwrap();
    all["power"].as_array().unwrap().iter().map(|case| {
        let number = |key: &str| case[key].as_f64().unwrap();
        let design = Design { leks: number("sites") as u32, years: number("years") as u32, cocks: number("mean_year0"), dispersion: number("phi"), swing: 0.0 };
        (design, number("annual_pct") / 100.0, case.clone())
    }).collect()
}

/// Expected information and the normal law, after Gerrodette 1987.
#[test]
fn the_closed_form_is_the_same_elsewhere() {
    let cases = cases();
    assert_eq!(cases.len(), 6);
    for (design, change, wanted) in cases {
        let power = design.power(change, 0.95, None);
        for (found, key) in [(power.se, "se"), (power.two_sided, "power_two_sided"), (power.one_sided, "power_one_sided_decline_5pct")] {
            let wanted = wanted[key].as_f64().unwrap();
            assert!((found - wanted).abs() < 1e-9, "{design:?} {key}: {found} is not {wanted}");
        }
    }
}

/// Simulated elsewhere: within 0.03, two standard errors of 4,000 histories and the normal approximation.
#[test]
fn simulation_elsewhere_agrees() {
    let mut n = 0;
    for (design, change, wanted) in cases() {
        let Some(wanted) = wanted["simulated_power_4000_seed31415"].as_f64() else { continue };
        let kind = if design.dispersion == 1.0 { Limits::Poisson } else { Limits::Quasi };
        let ours = simulate(&design, change, 0.95, &[kind], 1000, 7)[0];
        assert!((ours.seen - wanted).abs() < 0.045, "{design:?}: {} is not {wanted}", ours.seen);
        let formula = design.power_by(kind, change, 0.95).unwrap().two_sided;
        assert!((formula - wanted).abs() < 0.03, "{design:?}: {formula} is not {wanted}");
        n += 1;
    }
    assert_eq!(n, 3);
}

/// Shared good and bad years set a floor to the standard error that leks do not lower, and years do.
#[test]
fn leks_cannot_outnumber_shared_years() {
    let design = Design { leks: 5, years: 10, cocks: 8.0, dispersion: 1.5, swing: 0.3 };
    let many = Design { leks: 400, ..design };
    let longer = Design { years: 20, ..design };
    assert!(many.se(-0.05) > 0.6 * design.se(-0.05));
    assert!(longer.se(-0.05) < 0.5 * design.se(-0.05));
    assert_eq!(design.leks_needed(Limits::ByYear, -0.03, 0.9, 0.8), None);
    let years = design.years_needed(Limits::ByYear, -0.03, 0.9, 0.8).unwrap();
    let one_less = Design { years: years - 1, ..design };
    assert!(one_less.power_by(Limits::ByYear, -0.03, 0.9).unwrap().two_sided < 0.8);
}

/// Cocks that come each on its own: one visit thins a Poisson number to a Poisson number (closed form), and the figure goes with the
/// expected highest counts of guidance (`counts.maximum_share.*`, 40,000 draws at a chance of 0.8) in that more visits show more.
#[test]
fn more_visits_see_more_of_the_cocks_and_scatter_less() {
    let alone = Attendance { chance: 0.8, correlation: 0.0 };
    let figures = |visits| Highest::of(&alone, visits, 8.0, 1.0).figures(8.0, 1.0);
    let (one, scatter) = figures(1);
    assert!((one - 6.4).abs() < 1e-6 && (scatter - 1.0).abs() < 1e-6, "thinned Poisson counts are Poisson: {one} {scatter}");
    let ((two, less), (three, _)) = (figures(2), figures(3));
    assert!(one < two && two < three && three < 8.0 && less < scatter + 0.2);
}

/// A thinned negative binomial number with dispersion d has dispersion 1 + p (d - 1) (closed form): one visit now and one visit
/// then change nothing; with all cocks there, none of any number of visits does.
#[test]
fn visits_change_a_design_as_the_closed_form_says() {
    let design = Design { leks: 5, years: 10, cocks: 6.4, dispersion: 1.8, swing: 0.1 };
    let alone = Attendance { chance: 0.8, correlation: 0.0 };
    let same = visited(&design, &alone, 1, &[1])[0];
    assert!((same.design.cocks - 6.4).abs() < 1e-6 && (same.design.dispersion - 1.8).abs() < 1e-6 && (same.share_seen - 0.8).abs() < 1e-6, "{same:?}");
    let cocks = Highest::of(&alone, 1, 10.0, 2.0).figures(8.0, 2.0);
    assert!((cocks.0 - 6.4).abs() < 1e-6 && (cocks.1 - 1.8).abs() < 1e-6, "{cocks:?}");
    let always = Attendance { chance: 1.0, correlation: 0.0 };
    for v in visited(&design, &always, 1, &[1, 2, 5]) {
        assert!((v.design.cocks - 6.4).abs() < 1e-6 && (v.design.dispersion - 1.8).abs() < 1e-6, "{v:?}");
    }
    let together = Attendance { chance: 0.8, correlation: 0.1 };
    let shares: Vec<f64> = visited(&design, &together, 2, &[1, 2, 3, 4]).iter().map(|v| v.share_seen).collect();
    assert!(shares.windows(2).all(|w| w[0] < w[1]), "{shares:?}");
}
