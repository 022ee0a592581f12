use super::{close, numbers, reference, table};
use solve::linear::{LinearError, Relation};
use solve::stock::{Cell, LimitKind, Parcel, Stock, StockClass, StockRow};

/// The reference case (six fields, twelve months, livestock units as one class) in our shape.
fn reference_stock() -> (Stock, f64) {
    let case = reference()["stock_allocation"].clone();
    let (area, pref) = (numbers(&case["area_ha"]), numbers(&case["pref"]));
    let months = 12;
    let at = |parcel: usize, month: usize| Cell { parcel, month, class: 0 };
    let stock = Stock {
        parcels: (table(&case["upper_LU"]).into_iter().enumerate())
            .map(|(i, ceiling_lsu)| Parcel { name: format!("field {i}"), ceiling_lsu, change_limit_lsu: case["max_change_LU"].as_f64() })
            .collect(),
        months: (1..=months).map(|m| format!("month {m}")).collect(),
        classes: vec![StockClass {
            name: "stock".into(),
            lsu_per_head: 1.0,
            head: numbers(&case["flock_LU"]),
            away_gbp_per_head_month: vec![0.0; months],
            away_limit_head: vec![f64::INFINITY; months],
        }],
        benefit_per_head_month: (0..6).flat_map(|p| (0..months).map(move |m| (p, m))).map(|(p, m)| (at(p, m), pref[p])).collect(),
        head_limits: vec![],
        rows: (0..2)
            .map(|p| StockRow {
                name: format!("year on field {p}"),
                terms: (0..months).map(|m| (at(p, m), 1.0)).collect(),
                relation: Relation::AtMost,
                limit: 2.4 * area[p],
                breach_gbp_per_unit: None,
            })
            .collect(),
        year_repeats: false,
    };
    (stock, case["value"].as_f64().unwrap())
}

#[test]
fn reference_case() {
    // Source: lp_ip.json, stock_allocation, two solvers agreeing on 631.77635.
    let (stock, want) = reference_stock();
    let plan = stock.solve().unwrap();
    assert!(close(plan.value, want) && close(plan.benefit, want), "{} against {want}", plan.value);
    for (p, field) in plan.head.iter().enumerate() {
        for m in 0..12 {
            assert!(field[m][0] <= stock.parcels[p].ceiling_lsu[m] + 1e-6);
            assert!(m == 0 || (field[m][0] - field[m - 1][0]).abs() <= 15.0 + 1e-6);
        }
    }
    for m in 0..12 {
        let all: f64 = plan.head.iter().map(|f| f[m][0]).sum::<f64>() + plan.away_head[m][0];
        assert!(close(all, 60.0));
    }
}

#[test]
fn prices_foretell_the_value() {
    let (mut stock, _) = reference_stock();
    let before = stock.solve().unwrap();
    let name = "livestock units in month 6, field 5";
    let price = before.price(name).unwrap().clone();
    assert_eq!(price.kind, LimitKind::Ceiling);
    assert!(price.price > 0.1, "{price:?}");
    stock.parcels[5].ceiling_lsu[5] += 0.01;
    let after = stock.solve().unwrap();
    // Concave in the limit: the gain lies at or below the price.
    let gain = (after.value - before.value) / 0.01;
    assert!(gain <= price.price + 1e-4 && gain > 0.0, "{gain} against {}", price.price);
}

#[test]
fn away_keep_is_the_costly_way_out() {
    let mut stock = Stock {
        parcels: vec![Parcel { name: "hill".into(), ceiling_lsu: vec![10.0, 10.0], change_limit_lsu: None }],
        months: vec!["March".into(), "April".into()],
        classes: vec![StockClass {
            name: "ewes".into(),
            lsu_per_head: 0.1,
            head: vec![100.0, 100.0],
            away_gbp_per_head_month: vec![2.0, 3.0],
            away_limit_head: vec![f64::INFINITY; 2],
        }],
        head_limits: vec![(Cell { parcel: 0, month: 1, class: 0 }, 40.0)],
        ..Stock::default()
    };
    let plan = stock.solve().unwrap();
    assert!(close(plan.away_head[0][0], 0.0) && close(plan.away_head[1][0], 60.0), "{plan:?}");
    assert!(close(plan.away_gbp, 180.0) && close(plan.value, -180.0));
    assert!(close(plan.price("ewes in April, hill, at most").unwrap().price, 3.0));
    // A soft row breaks where breaking is cheaper than away-keep.
    stock.head_limits.clear();
    let row = StockRow {
        name: "heather eaten in April".into(),
        terms: vec![(Cell { parcel: 0, month: 1, class: 0 }, 1.0)],
        relation: Relation::AtMost,
        limit: 40.0,
        breach_gbp_per_unit: Some(1.0),
    };
    stock.rows = vec![row];
    let soft = stock.solve().unwrap();
    assert!(close(soft.value, -60.0) && close(soft.breach_gbp, 60.0) && close(soft.price("heather eaten in April").unwrap().breach, 60.0), "{soft:?}");
    // No room away and no room on the hill: the rows are named.
    stock.rows[0].breach_gbp_per_unit = None;
    stock.classes[0].away_limit_head[1] = 50.0;
    let LinearError::Impossible { conflict } = stock.solve().unwrap_err() else { panic!("not impossible") };
    assert_eq!(conflict.len(), 3, "{conflict:?}");
    assert!(conflict.iter().any(|c| c.contains("heather eaten in April")) && conflict.iter().any(|c| c.contains("away in April")));
    stock.classes[0].head.pop();
    assert!(matches!(stock.solve(), Err(LinearError::Faulty(_))));
}

#[test]
fn two_classes_share_a_ceiling_and_the_year_comes_round() {
    let class = |name: &str, lsu: f64, head: f64, gbp: f64| StockClass {
        name: name.into(),
        lsu_per_head: lsu,
        head: vec![head; 3],
        away_gbp_per_head_month: vec![gbp; 3],
        away_limit_head: vec![f64::INFINITY; 3],
    };
    let at = |month: usize, class: usize| Cell { parcel: 0, month, class };
    let mut stock = Stock {
        parcels: vec![Parcel { name: "in-bye".into(), ceiling_lsu: vec![10.0, 10.0, 4.0], change_limit_lsu: None }],
        months: vec!["a".into(), "b".into(), "c".into()],
        classes: vec![class("ewes", 0.1, 60.0, 1.0), class("cows", 1.0, 8.0, 20.0)],
        ..Stock::default()
    };
    // Cows cost 20 pounds a unit away, ewes 10: cows stay. Away: 4 units of ewes in a and b, 6 of ewes and 4 of cows in c.
    let plan = stock.solve().unwrap();
    assert!(close(plan.away_gbp, 40.0 + 40.0 + 60.0 + 80.0), "{plan:?}");
    assert!(close(plan.price("livestock units in a, in-bye").unwrap().price, 10.0) && close(plan.price("livestock units in c, in-bye").unwrap().price, 20.0));
    // At most two units of change from month to month: 4 in c holds b to 6; a may still reach 8, unless the year comes round.
    stock.parcels[0].change_limit_lsu = Some(2.0);
    let units = |plan: &solve::stock::StockPlan, m: usize| 0.1 * plan.head[0][m][0] + plan.head[0][m][1];
    let open = stock.solve().unwrap();
    assert!(close(units(&open, 1), 6.0) && close(units(&open, 0), 8.0), "{open:?}");
    stock.year_repeats = true;
    let round = stock.solve().unwrap();
    assert!(close(units(&round, 0), 6.0) && round.value < open.value);
    // An equality that may be broken at a price, to either side.
    for (want, breach) in [(30.0, 0.0), (70.0, 10.0), (-5.0, 5.0)] {
        stock.parcels[0] = Parcel { name: "in-bye".into(), ceiling_lsu: vec![100.0; 3], change_limit_lsu: None };
        stock.rows = vec![StockRow { name: "ewes asked for".into(), terms: vec![(at(0, 0), 1.0)], relation: Relation::Equal, limit: want, breach_gbp_per_unit: Some(50.0) }];
        let p = stock.solve().unwrap();
        assert!(close(p.price("ewes asked for").unwrap().breach, breach) && close(p.breach_gbp, 50.0 * breach), "{want}: {p:?}");
    }
}
