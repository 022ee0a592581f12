use super::{Made, close};
use solve::choose::{Candidate, Choice, Chosen, Term};
use solve::pack::{Limit, Options, PackError, Status};

fn proof() -> Options {
    Options { gap: 0.0, nodes: 200_000, kicks: 200_000, seed: 1 }
}

fn never() -> bool {
    false
}

/// A small made-up question with exclusions, a budget, a parcel limit, and candidates that also take supply away.
fn small(seed: u64, n: usize) -> Choice {
    let mut made = Made(seed.wrapping_mul(7919) + 11);
    let terms: Vec<Term> = (0..6).map(|_| Term { base: made.between(-0.5, 3.0), need: made.between(2.0, 6.0), weight: made.between(0.5, 2.0) }).collect();
    let candidates: Vec<Candidate> = (0..n)
        .map(|_| Candidate {
            area_ha: made.between(1.0, 5.0),
            cost_gbp: made.between(500.0, 4000.0),
            harm: made.between(0.0, 0.25),
            deltas: (0..1 + made.below(5)).map(|_| (made.below(6), if made.next() < 0.3 { -made.between(0.1, 2.0) } else { made.between(0.2, 3.0) })).collect(),
        })
        .collect();
    let mut exclusive: Vec<Vec<usize>> = (0..4).map(|_| vec![made.below(n), made.below(n)]).filter(|p| p[0] != p[1]).collect();
    exclusive.push(vec![0, n / 3, n - 1]);
    let spend: f64 = candidates.iter().map(|c| c.cost_gbp).sum();
    let parcel = (0..n).filter(|c| c % 2 == 0).map(|c| (c, candidates[c].area_ha)).collect();
    let ground: f64 = candidates.iter().map(|c| c.area_ha).sum();
    Choice {
        budget_gbp: Some(spend * made.between(0.2, 0.7)),
        area_ha: (made.next() < 0.5).then_some(ground * 0.5),
        limits: vec![Limit { name: "planted ground of the near parcel".into(), most: made.between(4.0, 12.0), uses: parcel }],
        candidates,
        terms,
        exclusive,
        forced_in: vec![],
        forced_out: if seed.is_multiple_of(5) { vec![1] } else { vec![] },
    }
}

/// The best of all choices, every one tried.
fn enumerated(q: &Choice) -> f64 {
    let n = q.candidates.len();
    (0..1usize << n)
        .map(|bits| (0..n).filter(|c| bits >> c & 1 == 1).collect::<Vec<_>>())
        .filter(|chosen| q.broken(chosen).unwrap().is_empty())
        .map(|chosen| q.value(&chosen))
        .fold(f64::NEG_INFINITY, f64::max)
}

#[test]
fn small_cases_are_exact() {
    let mut nodes = 0;
    for seed in 0..50 {
        let q = small(seed, 8 + (seed % 5) as usize);
        let got = q.solve(&proof(), &never).unwrap();
        let want = enumerated(&q);
        assert!(q.broken(&got.chosen).unwrap().is_empty());
        assert!((got.objective - want).abs() <= 1e-9 * want.abs().max(1.0), "{seed}: {got:?} against {want}");
        assert_eq!(got.status, Status::Proven);
        assert!(got.upper_bound >= want - 1e-9);
        nodes += got.nodes;
    }
    println!("50 cases, {nodes} parts looked at");
}

#[test]
fn fourteen_candidates_are_exact() {
    let q = small(101, 14);
    let got = q.solve(&proof(), &never).unwrap();
    assert!(close(got.objective, enumerated(&q)) && got.status == Status::Proven);
}

#[test]
fn a_search_cut_short_still_tells_the_truth() {
    // The bound must hold whatever ends the search, and no rule may be broken.
    for seed in 200..230 {
        let q = small(seed, 10);
        let best = enumerated(&q);
        for options in [Options { nodes: 1, kicks: 0, gap: 0.0, seed: 3 }, Options { nodes: 5, ..Options::default() }] {
            let got = q.solve(&options, &|| true).unwrap();
            assert!(q.broken(&got.chosen).unwrap().is_empty());
            assert!(got.upper_bound >= best - 1e-9 && got.objective <= best + 1e-9, "{seed}: {got:?} against {best}");
        }
    }
}

#[test]
fn forced_candidates_are_kept_and_clashes_named() {
    for seed in 300..310 {
        let mut q = small(seed, 9);
        q.forced_in = vec![4];
        q.limits.clear();
        let got = q.solve(&proof(), &never).unwrap();
        assert!(got.chosen.contains(&4) && q.broken(&got.chosen).unwrap().is_empty());
        assert!(close(got.objective, enumerated(&q)), "{seed}");
    }
    let mut q = small(1, 9);
    q.forced_in = vec![0, 3];
    let PackError::Impossible(why) = q.solve(&proof(), &never).unwrap_err() else { panic!("not impossible") };
    assert!(why.iter().any(|w| w.contains("exclude each other")), "{why:?}");
    q.candidates[2].cost_gbp = f64::NAN;
    assert!(matches!(q.solve(&proof(), &never), Err(PackError::Faulty(_))));
}

#[test]
fn frontier_rises_and_each_point_is_right() {
    let q = small(17, 11);
    let budgets = [9000.0, 2000.0, 0.0, 5000.0];
    let points = q.frontier(&budgets, &proof(), &never).unwrap();
    for (b, p) in budgets.iter().zip(&points) {
        let alone = Choice { budget_gbp: Some(*b), ..q.clone() };
        assert!(p.cost_gbp <= b + 1e-6 && close(p.objective, enumerated(&alone)), "{b}: {p:?}");
    }
    assert!(points[2].objective <= points[1].objective && points[1].objective <= points[3].objective && points[3].objective <= points[0].objective);
}

#[test]
fn next_buys_the_most_per_pound() {
    for seed in 0..20 {
        let q = small(seed, 12);
        let steps = q.next(&[], 6).unwrap();
        let mut have: Vec<usize> = vec![];
        for s in &steps {
            // Against the plain greedy that scores every candidate anew.
            let per_pound = |c: usize| {
                let with: Vec<usize> = have.iter().copied().chain([c]).collect();
                let ok = !have.contains(&c) && q.broken(&with).unwrap().is_empty();
                if ok { (q.value(&with) - q.value(&have)) / q.candidates[c].cost_gbp } else { f64::NEG_INFINITY }
            };
            let best = (0..12).map(per_pound).fold(f64::NEG_INFINITY, f64::max);
            assert!((per_pound(s.candidate) - best).abs() <= 1e-9 * best.abs(), "{seed}: {s:?}");
            have.push(s.candidate);
            assert!(close(s.objective, q.value(&have)));
        }
    }
}

/// The usual size: leks by seasons by years, candidates of 1 to 5 ha strewn about the leks, no two within 400 m.
fn usual(seed: u64, n: usize, leks: usize, years: usize) -> Choice {
    let mut made = Made(seed);
    let side = 6000.0;
    let lek: Vec<(f64, f64)> = (0..leks).map(|_| (made.between(1000.0, side - 1000.0), made.between(1000.0, side - 1000.0))).collect();
    let seasons = 7;
    let at = |l: usize, s: usize, y: usize| (l * seasons + s) * years + y;
    let mut terms = Vec::new();
    for l in 0..leks {
        for s in 0..seasons {
            let (need, met) = (made.between(8.0, 30.0), made.between(0.2, 0.9));
            for y in 0..years {
                terms.push(Term { base: need * met * made.between(0.95, 1.05), need, weight: 0.5 + if l == 0 && s == 0 && y == 0 { 0.5 } else { 0.0 } });
            }
        }
    }
    let mut place = Vec::new();
    let mut candidates = Vec::new();
    while candidates.len() < n {
        let at_lek = lek[made.below(leks)];
        let (x, y) = (at_lek.0 + made.between(-1500.0, 1500.0), at_lek.1 + made.between(-1500.0, 1500.0));
        let area_ha = made.between(1.0, 5.0);
        let ripe = made.below(4);
        let mut deltas = Vec::new();
        let kind: Vec<f64> = (0..seasons).map(|_| if made.next() < 0.5 { made.between(0.1, 0.9) } else if made.next() < 0.2 { -made.between(0.05, 0.3) } else { 0.0 }).collect();
        for (l, p) in lek.iter().enumerate() {
            let d = ((p.0 - x).powi(2) + (p.1 - y).powi(2)).sqrt();
            if d > 1500.0 {
                continue;
            }
            for (s, k) in kind.iter().enumerate().filter(|(_, k)| **k != 0.0) {
                for year in 0..years {
                    let grown = if *k < 0.0 { 1.0 } else { ((year + 1).saturating_sub(ripe) as f64 / 4.0).min(1.0) };
                    if grown > 0.0 {
                        deltas.push((at(l, s, year), area_ha * k * grown * (1.0 - d / 1500.0)));
                    }
                }
            }
        }
        candidates.push(Candidate { area_ha, cost_gbp: area_ha * made.between(800.0, 3000.0), harm: made.between(0.0, 0.3), deltas });
        place.push((x, y));
    }
    let mut exclusive = Vec::new();
    for a in 0..n {
        for b in a + 1..n {
            if (place[a].0 - place[b].0).hypot(place[a].1 - place[b].1) < 400.0 {
                exclusive.push(vec![a, b]);
            }
        }
    }
    Choice { candidates, terms, exclusive, budget_gbp: Some(60_000.0), area_ha: Some(60.0), ..Choice::default() }
}

fn say(name: &str, c: &Chosen, seconds: f64) {
    println!(
        "{name}: {} chosen, {:.0} pounds, {:.1} ha, value {:.4} (before {:.4}) bound {:.4} gap {:.3} % of gain {:.2} % {:?} nodes {} in {seconds:.2} s",
        c.chosen.len(), c.cost_gbp, c.area_ha, c.objective, c.before, c.upper_bound, 100.0 * c.gap, 100.0 * c.gap_of_gain, c.status, c.nodes
    );
}

#[test]
fn limits_hold_at_middle_size() {
    for seed in 0..3 {
        let q = usual(seed, 80, 2, 3);
        let got = q.solve(&Options { nodes: 30, kicks: 500_000, ..Options::default() }, &never).unwrap();
        assert!(q.broken(&got.chosen).unwrap().is_empty() && close(q.value(&got.chosen), got.objective));
        assert!(got.objective > got.before && got.upper_bound >= got.objective);
    }
}

#[test]
fn a_general_solver_finds_the_same() {
    // The same question written down as an integer program and given to a general solver (microlp's branch and bound).
    use microlp::{ComparisonOp, OptimizationDirection, Problem};
    for seed in 0..4 {
        let mut q = usual(seed, 50, 2, 2);
        q.budget_gbp = Some(30_000.0);
        let n = q.candidates.len();
        let mut lowest: Vec<f64> = q.terms.iter().map(|t| t.base).collect();
        q.candidates.iter().flat_map(|c| &c.deltas).for_each(|(t, d)| lowest[*t] += d.min(0.0));
        // Below nought the value is not concave and such a program could not say it.
        q.terms.iter_mut().zip(lowest).for_each(|(t, l)| t.base -= l.min(0.0));
        let mut p = Problem::new(OptimizationDirection::Maximize);
        let x: Vec<_> = q.candidates.iter().map(|c| p.add_binary_var(-c.harm)).collect();
        for (t, term) in q.terms.iter().enumerate() {
            let met = p.add_var(term.weight, (0.0, 1.0));
            let mut row = vec![(met, term.need)];
            for (c, candidate) in q.candidates.iter().enumerate() {
                let d: f64 = candidate.deltas.iter().filter(|(k, _)| *k == t).map(|(_, d)| d).sum();
                row.push((x[c], -d));
            }
            row.retain(|(_, a)| *a != 0.0);
            p.add_constraint(row.as_slice(), ComparisonOp::Le, term.base);
        }
        for pair in &q.exclusive {
            p.add_constraint([(x[pair[0]], 1.0), (x[pair[1]], 1.0)].as_slice(), ComparisonOp::Le, 1.0);
        }
        let money: Vec<_> = (0..n).map(|c| (x[c], q.candidates[c].cost_gbp / 1000.0)).collect();
        p.add_constraint(money.as_slice(), ComparisonOp::Le, 30.0);
        let ground: Vec<_> = (0..n).map(|c| (x[c], q.candidates[c].area_ha)).collect();
        p.add_constraint(ground.as_slice(), ComparisonOp::Le, 60.0);
        let want = p.solve().unwrap().into_solution().unwrap().objective();
        let got = q.solve(&proof(), &never).unwrap();
        assert_eq!(got.status, Status::Proven);
        assert!((got.objective - want).abs() <= 1e-5 * want, "{seed}: {got:?} against {want}");
    }
}

/// Measures the usual size: `cargo test -p measures --release solve::tests::choose -- --ignored --nocapture`.
#[test]
#[ignore = "prints measured figures"]
fn usual_size_in_ten_seconds() {
    for seed in 0..6 {
        let q = usual(seed, 300, 5, 8);
        let touching = 2.0 * q.exclusive.len() as f64 / 300.0;
        let clock = std::time::Instant::now();
        let got = q.solve(&Options::default(), &|| clock.elapsed().as_secs_f64() > 10.0).unwrap();
        say(&format!("seed {seed}, {} terms, {touching:.1} exclusions each, asked 3 %", q.terms.len()), &got, clock.elapsed().as_secs_f64());
        assert!(got.gap <= 0.03);
        let clock = std::time::Instant::now();
        let got = q.solve(&Options { gap: 0.0, ..Options::default() }, &|| clock.elapsed().as_secs_f64() > 10.0).unwrap();
        say(&format!("seed {seed}, asked proof"), &got, clock.elapsed().as_secs_f64());
        assert!(q.broken(&got.chosen).unwrap().is_empty());
    }
    // Harder shapes: money for three times as much, needs far from met and no budget, a thousand candidates.
    let rich = Choice { budget_gbp: Some(200_000.0), area_ha: Some(150.0), ..usual(0, 300, 5, 8) };
    let mut open = Choice { budget_gbp: None, area_ha: None, ..usual(1, 300, 5, 8) };
    open.terms.iter_mut().for_each(|t| t.base *= 0.5);
    let many = Choice { budget_gbp: Some(120_000.0), area_ha: Some(100.0), ..usual(2, 1000, 5, 8) };
    for (name, q) in [("rich", rich), ("no budget", open), ("1000 candidates", many)] {
        for gap in [0.03, 0.0] {
            let clock = std::time::Instant::now();
            let got = q.solve(&Options { gap, ..Options::default() }, &|| clock.elapsed().as_secs_f64() > 10.0).unwrap();
            say(&format!("{name}, asked {gap}"), &got, clock.elapsed().as_secs_f64());
        }
    }
    let q = usual(0, 300, 5, 8);
    let clock = std::time::Instant::now();
    let budgets: Vec<f64> = (1..=8).map(|k| 10_000.0 * k as f64).collect();
    for p in q.frontier(&budgets, &Options { kicks: 10_000_000, ..Options::default() }, &|| clock.elapsed().as_secs_f64() > 40.0).unwrap() {
        say("frontier", &p, clock.elapsed().as_secs_f64());
    }
    println!("{:?}", q.next(&[], 3).unwrap());
}

#[test]
fn nothing_to_choose_is_an_answer() {
    let term = Term { base: 3.0, need: 4.0, weight: 2.0 };
    let got = Choice { terms: vec![term], ..Choice::default() }.solve(&proof(), &never).unwrap();
    assert_eq!((got.chosen.len(), got.objective, got.upper_bound, got.gap, got.status), (0, 1.5, 1.5, 0.0, Status::Proven));
    // Only harm, and only what costs more than there is.
    let harmful = Candidate { harm: 1.0, deltas: vec![(0, 0.1)], ..Candidate::default() };
    let dear = Candidate { cost_gbp: 900.0, deltas: vec![(0, 1.0)], ..Candidate::default() };
    let q = Choice { terms: vec![term], candidates: vec![harmful, dear], budget_gbp: Some(500.0), ..Choice::default() };
    assert!(q.solve(&proof(), &never).unwrap().chosen.is_empty());
    assert!(q.next(&[], 5).unwrap().is_empty());
}
