//! Discounting against numpy-financial 1.0.0 and closed forms (tests/data/money.json, made by `make.py` of the reference library),
//! against a printed factor table, and against the Treasury's rates as they stand in guidance.

#![allow(clippy::unwrap_used, reason = "a test may stop")]

use guidance::{Country, Guidance};
use proptest::prelude::*;
use serde_json::Value;
use works::money::*;

fn fixture() -> Value {
    serde_json::from_str(include_str!("data/money.json")).unwrap()
}

fn list(v: &Value) -> &[Value] {
    v.as_array().unwrap()
}

fn number(v: &Value) -> f64 {
    v.as_f64().unwrap()
}

fn count(v: &Value) -> u32 {
    u32::try_from(v.as_u64().unwrap()).unwrap()
}

fn near(found: f64, wanted: f64, by: f64, what: &str) {
    assert!((found - wanted).abs() <= by, "{what}: {found} instead of {wanted}");
}

fn constant(rate: f64) -> Rates {
    Rates::constant(rate).unwrap()
}

fn pounds(flows: &[i64]) -> Vec<Pence> {
    flows.iter().map(|gbp| Pence(100 * gbp)).collect()
}

/// HM Treasury: 3.5 % to year 30, 3.0 % to year 75, 2.5 % after (gov.uk, review of discounting, December 2025).
fn treasury() -> Rates {
    let guidance = Guidance::load().unwrap();
    let figure = |key| guidance.number(key, Country::GB).unwrap();
    let step = |from, rate| (figure(from) as u32, figure(rate) / 100.0);
    let first = (1, figure("design.discount") / 100.0);
    Rates::falling(vec![first, step("discount.second.from", "discount.second.rate"), step("discount.third.from", "discount.third.rate")]).unwrap()
}

#[test]
fn discount_factors_are_met() {
    let all = fixture();
    for row in list(&all["discount_factors_3.5pct"]) {
        near(constant(0.035).factor(number(&row["year"])), number(&row["factor"]), 1e-9, "3.5 %");
    }
    let rates = treasury();
    for row in list(&all["declining_rate_3.5_to30_3.0_to75_2.5"]) {
        near(rates.factor(number(&row["year"])), number(&row["factor"]), 1e-9, "falling");
    }
}

#[test]
fn three_conventions_of_the_first_flow_are_met() {
    let case = &fixture()["npv_year0_undiscounted"];
    let flows: Vec<Pence> = list(&case["cash"]).iter().map(|gbp| Pence(100 * gbp.as_i64().unwrap())).collect();
    let rates = constant(number(&case["rate"]));
    let cases = [
        (FirstFlow::Now, "numpy_financial_npv"),
        (FirstFlow::Now, "by_hand"),
        (FirstFlow::EndOfYear, "if_first_flow_is_end_of_year_1"),
        (FirstFlow::MidYear, "mid_year"),
    ];
    for (first, key) in cases {
        near(present_value(&flows, &rates, first), number(&case[key]), 1e-9, key);
    }
    assert_eq!(Pence::nearest(present_value(&flows, &rates, FirstFlow::Now)), Some(Pence(55_105)));
    let InternalRate::One(rate) = internal_rate(&flows) else { panic!("{:?}", internal_rate(&flows)) };
    near(rate, number(&case["irr"]), 1e-9, "irr");

    let equal = &fixture()["equal_annual_equivalent"];
    near(equal_annual(&flows, &rates, FirstFlow::Now, count(&equal["years"])).unwrap(), number(&equal["per_year"]), 1e-9, "a year");
    near(present_value(&flows, &rates, FirstFlow::Now), number(&equal["npv"]), 1e-9, "npv");
}

#[test]
fn annuities_are_met() {
    for row in list(&fixture()["annuity"]) {
        let (rates, years) = (constant(number(&row["rate"])), count(&row["years"]));
        near(annuity(&rates, years), number(&row["factor_closed_form"]), 1e-9, "ordinary");
        near(annuity(&rates, years), number(&row["pv_numpy_financial_of_1"]), 1e-9, "ordinary");
        near(annuity_due(&rates, years), number(&row["annuity_due_factor"]), 1e-9, "due");
        near(annual_payment(10_000.0, &rates, years).unwrap(), number(&row["annual_payment_per_10000"]), 1e-9, "payment");
    }
    assert_eq!(annuity(&constant(0.0), 7), 7.0);
    assert_eq!(annual_payment(10.0, &constant(0.05), 0), None);
}

/// A printed table of engineering economy, 0.25 % a period, to half a unit of its last digit.
#[test]
fn a_printed_table_of_factors_is_met() {
    let rates = constant(0.0025);
    for row in list(&fixture()["printed_factor_table_0.25pct"]) {
        let n = count(&row["n"]);
        let found = [
            ("P/A", annuity(&rates, n), 0.5e-4),
            ("A/P", annual_payment(1.0, &rates, n).unwrap(), 0.5e-5),
            ("P/F", rates.factor(f64::from(n)), 0.5e-4),
        ];
        for (name, found, half) in found {
            near(found, number(&row[name]), 1e-9, name);
            near(found, number(&row[format!("{name}_printed")]), half, name);
        }
    }
}

#[test]
fn repeated_costs_for_ever_are_met() {
    let all = fixture();
    let rates = constant(0.035);
    let now = perpetuity_from_now(1000.0, &rates, 12).unwrap();
    near(now, number(&all["perpetuity_every_12_years_cost_1000_at_3.5pct_first_now"]), 1e-9, "from now");
    near(perpetuity_from_next(1000.0, &rates, 12).unwrap(), number(&all["perpetuity_every_12_years_first_in_12"]), 1e-9, "from year 12");
    assert_eq!(perpetuity_from_now(1000.0, &constant(0.0), 12), None);
    assert_eq!(perpetuity_from_now(1000.0, &rates, 0), None);
    // Falling rates: against five thousand years added up one by one.
    let falling = treasury();
    let long: f64 = (0..5000).step_by(12).map(|year| 1000.0 * falling.factor(f64::from(year))).sum();
    near(perpetuity_from_now(1000.0, &falling, 12).unwrap(), long, 1e-8, "falling");
}

#[test]
fn real_rates_are_met() {
    let case = &fixture()["real_nominal"];
    let real = real_rate(number(&case["nominal"]), number(&case["inflation"]));
    near(real, number(&case["real_exact"]), 1e-9, "exact");
    near(real, number(&case["real_approx"]), 1e-3, "nominal less inflation is only near it");
}

#[test]
fn no_return_and_several_returns_are_told() {
    assert_eq!(internal_rate(&pounds(&[-100, -5, -3])), InternalRate::None);
    assert_eq!(internal_rate(&[]), InternalRate::None);
    // Touches nought at 10 % and does not cross it: (1.1 v - 1) squared.
    assert_eq!(internal_rate(&pounds(&[100, -220, 121])), InternalRate::None);
    // Out, in and out again, made to be worth nothing at 10 % and 20 %: -(1.1 v - 1)(1.2 v - 1).
    let InternalRate::Several(rates) = internal_rate(&pounds(&[-100, 230, -132])) else { panic!() };
    assert_eq!(rates.len(), 2);
    near(rates[0], 0.1, 1e-9, "first");
    near(rates[1], 0.2, 1e-9, "second");
    // A wood: planted now, felled in a hundred years.
    let mut wood = vec![Pence(-10_000)];
    wood.extend(vec![Pence(0); 99]);
    wood.push(Pence(300_000));
    let InternalRate::One(rate) = internal_rate(&wood) else { panic!() };
    near(rate, 30_f64.powf(0.01) - 1.0, 1e-9, "wood");
}

#[test]
fn wrong_rates_are_refused() {
    assert!(matches!(Rates::falling(vec![]), Err(RatesFault::NoFirst { .. })));
    assert!(matches!(Rates::falling(vec![(2, 0.03)]), Err(RatesFault::NoFirst { .. })));
    assert!(matches!(Rates::falling(vec![(1, 0.03), (1, 0.02)]), Err(RatesFault::NotRising { before: 1, year: 1 })));
    assert!(matches!(Rates::constant(-1.0), Err(RatesFault::NoRate { .. })));
    assert!(matches!(Rates::constant(f64::NAN), Err(RatesFault::NoRate { .. })));
    assert!(serde_json::from_str::<Rates>("[[2, 0.03]]").is_err() && serde_json::from_str::<Rates>("[[1, 0.03]]").is_ok());
}

#[test]
fn the_purse_is_followed() {
    let flows = pounds(&[-12_000, -1500, -1500, 8000, 8000, -2000, 3000]);
    assert_eq!(running(&flows), pounds(&[-12_000, -13_500, -15_000, -7000, 1000, -1000, 2000]));
    assert_eq!(low_point(&flows), Some(LowPoint { year: 2, balance: Pence(-1_500_000) }));
    // Above nought in year 4, but the hole opens again in year 5.
    assert_eq!(payback_year(&flows), Some(6));
    assert_eq!(payback_year(&flows[..6]), None);
    assert_eq!(payback_year(&pounds(&[0, 5])), Some(0));
    assert_eq!((payback_year(&[]), low_point(&[])), (None, None));
}

#[test]
fn pence_are_written_and_rounded_as_people_do() {
    let written = [(123_450, "£1,234.50"), (-5, "-£0.05"), (0, "£0.00"), (10_000_000_000, "£100,000,000.00"), (99_999, "£999.99")];
    for (pence, text) in written {
        assert_eq!(Pence(pence).to_string(), text);
    }
    assert_eq!(format!("{:>10}|", Pence(150)), "     £1.50|");
    // Halves go up, also where the binary product falls short of them.
    let rounded = [
        (1.15, 0.5, 58),
        (1.005, 1.0, 101),
        (-1.005, 1.0, -101),
        (6.34, 12.5, 7925),
        (0.333, 3.0, 100),
        (1e-30, 1e-30, 0),
        (1e3, 1e9, 100_000_000_000_000),
    ];
    for (price, quantity, pence) in rounded {
        assert_eq!(Pence::of(price, quantity), Some(Pence(pence)), "{price} {quantity}");
    }
    for (price, quantity) in [(f64::NAN, 1.0), (f64::INFINITY, 1.0), (1e300, 1.0), (1e12, 1e12)] {
        assert_eq!(Pence::of(price, quantity), None);
    }
}

proptest! {
    #[test]
    fn amounts_round_to_within_half_a_penny_and_sums_do_not_hang_on_order(prices in prop::collection::vec((0.0..1e4_f64, 0.0..1e4_f64), 1..30)) {
        let mut lines: Vec<Pence> = Vec::new();
        for (price, quantity) in &prices {
            let found = Pence::of(*price, *quantity).unwrap();
            prop_assert!((found.gbp() - price * quantity).abs() <= 0.005 + 1e-7);
            lines.push(found);
        }
        let forward: Pence = lines.iter().copied().sum();
        let backward: Pence = lines.iter().rev().copied().sum();
        prop_assert_eq!(forward, backward);
        prop_assert_eq!(running(&lines).last().copied(), Some(forward));
    }

    #[test]
    fn worth_at_the_internal_rate_is_nothing(cost in 1_000..1_000_000_i64, gains in prop::collection::vec(0..100_000_i64, 1..40)) {
        let flows: Vec<Pence> = std::iter::once(Pence(-cost)).chain(gains.iter().map(|g| Pence(*g))).collect();
        let total: f64 = flows.iter().map(|f| f.gbp().abs()).sum();
        match internal_rate(&flows) {
            InternalRate::One(rate) => {
                // Early flows grow without bound at rates far below nought: measured against what they come to there.
                let rates = constant(rate);
                let size: f64 = flows.iter().enumerate().map(|(i, f)| f.gbp().abs() * rates.factor(i as f64)).sum();
                prop_assert!(present_value(&flows, &rates, FirstFlow::Now).abs() <= 1e-9 * size.max(total));
            }
            InternalRate::None => {
                let ends = [RATE_MIN, RATE_MAX].map(|r| present_value(&flows, &constant(r), FirstFlow::Now));
                prop_assert!(ends[0] * ends[1] > 0.0 || gains.iter().all(|g| *g == 0));
            }
            InternalRate::Several(rates) => prop_assert!(false, "one change of sign has one root: {:?}", rates),
        }
    }
}
