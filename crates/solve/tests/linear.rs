//! Source: Hillier and Lieberman (Wyndor Glass), Taha (Reddy Mikks, SunRay), published optima, beside the answers of two
//! further solvers in `tests/data/lp_ip.json`.
use super::{close, numbers, reference, table};
use solve::linear::{LinearError, Optimum, Program, Relation, Sense};

fn textbook(name: &str) -> (Program, Optimum, serde_json::Value) {
    let case = reference()[name].clone();
    let sense = if case["maximise"].as_bool().unwrap() { Sense::Maximise } else { Sense::Minimise };
    let mut p = Program::new(sense);
    for (j, c) in numbers(&case["c"]).into_iter().enumerate() {
        p.variable(format!("x{j}"), 0.0, f64::INFINITY, c);
    }
    for (a, b, relation) in [("A_ub", "b_ub", Relation::AtMost), ("A_eq", "b_eq", Relation::Equal)] {
        for (i, row) in table(&case[a]).into_iter().enumerate() {
            p.row(format!("{a}{i}"), row.into_iter().enumerate().collect(), relation, numbers(&case[b])[i]);
        }
    }
    let best = p.solve().unwrap();
    (p, best, case)
}

#[test]
fn textbook_values_and_prices() {
    for name in ["wyndor_hillier_lieberman", "reddy_mikks_taha"] {
        let (_, best, case) = textbook(name);
        assert!(close(best.value, case["published"]["Z"].as_f64().unwrap()), "{name}: {}", best.value);
        for (got, want) in best.amounts.iter().zip(numbers(&case["published"]["x"])) {
            assert!(close(*got, want), "{name}: {got} against {want}");
        }
        for (got, want) in best.row_prices.iter().zip(numbers(&case["published"]["shadow"])) {
            assert!(close(*got, want), "{name}: price {got} against {want}");
        }
    }
}

#[test]
fn transport_is_least_cost() {
    // Degenerate: the value is checked, and that the prices are a proof of it.
    let (p, best, case) = textbook("sunray_transport_taha");
    assert!(close(best.value, case["published"]["Z"].as_f64().unwrap()), "{}", best.value);
    let by_prices: f64 = p.rows.iter().zip(&best.row_prices).map(|(r, y)| r.limit * y).sum();
    assert!(close(by_prices, 435.0), "{by_prices}");
}

#[test]
fn prices_are_what_one_more_unit_is_worth() {
    let mut p = Program::new(Sense::Minimise);
    let hay = p.variable("hay", 0.0, f64::INFINITY, 3.0);
    let straw = p.variable("straw", 1.0, 4.0, 2.0);
    p.row("energy", vec![(hay, 2.0), (straw, 1.0)], Relation::AtLeast, 12.0);
    let a = p.solve().unwrap();
    p.rows[0].limit = 13.0;
    let b = p.solve().unwrap();
    assert!(close(a.row_prices[0], b.value - a.value), "{a:?} {b:?}");
    p.rows[0].limit = 12.0;
    p.variables[straw].lower = 2.0;
    let c = p.solve().unwrap();
    assert!(close(a.lower_prices[straw], c.value - a.value) && a.upper_prices[straw] == 0.0, "{a:?} {c:?}");
}

#[test]
fn what_cannot_be_met_is_named() {
    // status_cases of lp_ip.json: x <= 1 and -x <= -2.
    let mut p = Program::new(Sense::Minimise);
    let x = p.variable("x", 0.0, f64::INFINITY, 1.0);
    p.row("low", vec![(x, 1.0)], Relation::AtMost, 1.0);
    p.row("high", vec![(x, -1.0)], Relation::AtMost, -2.0);
    p.row("loose", vec![(x, 1.0)], Relation::AtMost, 50.0);
    let LinearError::Impossible { conflict } = p.solve().unwrap_err() else { panic!("not impossible") };
    assert_eq!(conflict, ["'low' at most 1", "'high' at most -2"]);
    let mut crossed = Program::new(Sense::Maximise);
    crossed.variable("ewes", 5.0, 3.0, 1.0);
    assert!(matches!(crossed.solve(), Err(LinearError::Impossible { .. })));
}

#[test]
fn what_runs_away_is_named() {
    // status_cases of lp_ip.json: minimise -x with -x <= 0.
    let mut p = Program::new(Sense::Minimise);
    let x = p.variable("x", 0.0, f64::INFINITY, -1.0);
    p.variable("held", 0.0, 3.0, -1.0);
    p.row("only", vec![(x, -1.0)], Relation::AtMost, 0.0);
    assert_eq!(p.solve().unwrap_err(), LinearError::Unbounded { along: vec!["x".into()] });
}

#[test]
fn faults_come_all_at_once() {
    let mut p = Program::new(Sense::Maximise);
    let x = p.variable("x", f64::NAN, 1.0, 1.0);
    p.row("far", vec![(7, 1.0)], Relation::AtMost, 1.0);
    p.row("odd", vec![(x, 1.0)], Relation::AtMost, f64::INFINITY);
    let LinearError::Faulty(faults) = p.solve().unwrap_err() else { panic!("not faulty") };
    assert_eq!(faults.len(), 3, "{faults:?}");
    assert!(close(Program::new(Sense::Maximise).solve().unwrap().value, 0.0));
}
