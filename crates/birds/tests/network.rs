//! Metapopulation capacity against closed forms and against numpy 2.4.6.

#![allow(clippy::unwrap_used, reason = "a test may stop")]

use birds::network::{Capacity, Dispersal, Isolation, Patch, Sex, capacity, network};
use guidance::{Country, Guidance};
use proptest::prelude::*;

fn patch(id: &str, east_m: f64, north_m: f64, weight: f64) -> Patch {
    Patch { id: id.into(), name: format!("Lek {id}"), east_m, north_m, weight, proposed: false }
}

fn of(patches: &[Patch], kernel: impl Fn(f64) -> f64) -> Capacity {
    capacity(&patches.iter().collect::<Vec<_>>(), kernel)
}

fn hens(km: f64) -> f64 {
    (-km / 7.5).exp()
}

fn middle() -> Dispersal {
    Dispersal::of(&Guidance::load().unwrap(), Country::England).unwrap()
}

fn drawn(n: usize) -> Vec<Dispersal> {
    Dispersal::drawn(&Guidance::load().unwrap(), Country::England, 7, n).unwrap()
}

fn six() -> Vec<Patch> {
    vec![
        patch("A", 0.0, 0.0, 8.0),
        patch("B", 2300.0, 400.0, 5.0),
        patch("C", 5200.0, -900.0, 12.0),
        patch("D", 1800.0, 3100.0, 3.0),
        patch("E", 9800.0, 4200.0, 6.0),
        patch("F", 21_000.0, -7000.0, 9.0),
    ]
}

/// Two equal patches: the matrix is `[[0, m], [m, 0]]`, so capacity is `m` and each gives half.
#[test]
fn two_equal_patches_have_their_closed_form() {
    let found = of(&[patch("A", 0.0, 0.0, 6.0), patch("B", 3000.0, 4000.0, 6.0)], hens);
    assert!((found.lambda - 36.0 * hens(5.0)).abs() < 1e-12);
    assert!(found.shares.iter().all(|s| (s - 0.5).abs() < 1e-12), "{found:?}");
    assert_eq!(of(&[patch("A", 0.0, 0.0, 6.0)], hens), Capacity { lambda: 0.0, shares: vec![0.0] });
}

/// `n` equal patches on a ring of radius `R`: a circulant, whose leading eigenvalue is the sum of a row, chords `2 R sin(pi k / n)`.
#[test]
fn patches_on_a_ring_have_their_closed_form() {
    for n in [3, 4, 7, 12, 40] {
        let (radius_km, weight) = (6.0, 3.0);
        let ring: Vec<Patch> = (0..n)
            .map(|i| {
                let angle = std::f64::consts::TAU * i as f64 / n as f64;
                patch(&i.to_string(), 1000.0 * radius_km * angle.cos(), 1000.0 * radius_km * angle.sin(), weight)
            })
            .collect();
        let found = of(&ring, hens);
        let wanted: f64 = (1..n).map(|k| weight * weight * hens(2.0 * radius_km * (std::f64::consts::PI * k as f64 / n as f64).sin())).sum();
        assert!((found.lambda / wanted - 1.0).abs() < 1e-12, "{n}: {} {wanted}", found.lambda);
        assert!(found.shares.iter().all(|s| (s - 1.0 / n as f64).abs() < 1e-10), "{n}");
    }
}

/// numpy 2.4.6: `M = K * outer(w, w)` with nothing on the diagonal, `K = exp(-d / 7.5)` for hens and
/// `0.91 exp(-d / 0.7) + 0.09 exp(-d / 7.5)` for cocks, `d` in km; `e, v = linalg.eigh(M)`; capacity `e[-1]`, shares `v[:, -1]**2`, loss
/// `1 - e_without[-1] / e[-1]`.
#[test]
fn six_leks_agree_with_a_dense_solution() {
    let found = network(&six(), &middle(), &[]).unwrap();
    assert!((found.hens_capacity - 96.741_941_352_002_75).abs() < 1e-10, "{}", found.hens_capacity);
    assert!((found.cocks_capacity - 9.816_013_736_408_962).abs() < 1e-10, "{}", found.cocks_capacity);
    let shares = [
        (0.261_176_110_088_137_6, 0.273_203_629_394_737_14),
        (0.209_886_917_276_746_05, 0.255_795_513_218_339_77),
        (0.350_116_538_443_147_55, 0.321_782_073_402_622_4),
        (0.066_966_130_802_938_63, 0.063_121_727_112_274_51),
        (0.095_371_772_964_140_26, 0.073_828_001_574_260_1),
        (0.016_482_530_424_890_087, 0.012_269_055_297_765_308),
    ];
    let losses = [
        (0.346_255_647_978_740_1, 0.368_842_553_541_308_57),
        (0.261_804_718_812_428_06, 0.336_171_286_755_751_8),
        (0.535_371_135_258_101_2, 0.471_532_276_470_336_9),
        (0.071_657_740_121_953_8, 0.067_317_601_992_012_75),
        (0.104_117_520_643_980_63, 0.078_702_383_329_149_14),
        (0.016_702_017_211_360_22, 0.012_378_914_471_771_751),
    ];
    for ((lek, share), loss) in found.leks.iter().zip(shares).zip(losses) {
        assert!((lek.hens.share.p50 - share.0).abs() < 1e-9 && (lek.cocks.share.p50 - share.1).abs() < 1e-9, "{lek:?}");
        assert!((lek.hens.loss - loss.0).abs() < 1e-10 && (lek.cocks.loss - loss.1).abs() < 1e-10, "{lek:?}");
    }
}

/// Two parts too far apart to exchange anything: the capacity is that of the better part, and equal parts share it.
#[test]
fn a_network_that_falls_apart_is_told_by_its_better_part() {
    let pair = |east: f64, weight: f64| [patch(&format!("{east}"), east, 0.0, weight), patch(&format!("{east}+"), east + 1000.0, 0.0, weight)];
    let apart = [pair(0.0, 4.0), pair(9e8, 5.0)].concat();
    let found = of(&apart, hens);
    assert!((found.lambda - 25.0 * hens(1.0)).abs() < 1e-12);
    assert!(found.shares[0] < 1e-12 && (found.shares[2] - 0.5).abs() < 1e-12, "{found:?}");
    let alike = of(&[pair(0.0, 4.0), pair(9e8, 4.0)].concat(), hens);
    assert!(alike.shares.iter().all(|s| (s - 0.25).abs() < 1e-12), "{alike:?}");
}

#[test]
fn new_ground_is_worth_what_capacity_gains_by_it() {
    let mut patches = six();
    let without = of(&patches, hens).lambda;
    patches.push(Patch { proposed: true, ..patch("N", 3500.0, 900.0, 7.0) });
    patches.push(Patch { proposed: true, ..patch("M", 80_000.0, 0.0, 7.0) });
    let found = network(&patches, &middle(), &[]).unwrap();
    let with = of(&[six(), vec![patch("N", 3500.0, 900.0, 7.0)]].concat(), hens).lambda;
    let gain = found.proposed[0].hens_gain.unwrap();
    assert!((gain.p50 - (with / without - 1.0)).abs() < 1e-12 && gain.p50 > 0.2, "{gain:?}");
    assert!(found.proposed[1].hens_gain.unwrap().p50 < 1e-3);
    assert_eq!(found.proposed[0].nearest.as_ref().unwrap().0, "B");
    assert_eq!(found.proposed[1].isolation, Isolation::CutOff);
    // What is proposed changes nothing of the leks.
    assert_eq!(found.leks, network(&six(), &middle(), &[]).unwrap().leks);
}

/// Distances of guidance/ranging.csv: cocks up to 1 km, hens 7.5 km on average and up to 19 km, a gap of 30 km stops them.
#[test]
fn isolation_is_said_by_the_nearest_lek() {
    let cases = [(800.0, Isolation::Joined), (2500.0, Isolation::Hens), (12_000.0, Isolation::FewHens), (25_000.0, Isolation::Far), (31_000.0, Isolation::CutOff)];
    for (east, wanted) in cases {
        let found = network(&[patch("A", 0.0, 0.0, 5.0), patch("B", east, 0.0, 5.0)], &middle(), &[]).unwrap();
        assert_eq!(found.leks[0].isolation, wanted, "{east}");
        assert_eq!(found.leks[0].nearest, Some(("B".to_string(), east / 1000.0)));
        assert!((found.leks[0].hens.loss - 1.0).abs() < 1e-12);
    }
    let alone = network(&[patch("A", 0.0, 0.0, 5.0)], &middle(), &[]).unwrap();
    assert_eq!((alone.leks[0].isolation, alone.hens_capacity, alone.leks[0].hens.loss), (Isolation::Alone, 0.0, 0.0));
}

#[test]
fn draws_put_an_interval_round_the_middle() {
    let found = network(&six(), &middle(), &drawn(100)).unwrap();
    for lek in &found.leks {
        let s = lek.hens.share;
        assert!(s.p10 <= s.p50 && s.p50 <= s.p90 && s.p10 < s.p90, "{s:?}");
    }
    assert!(serde_json::to_value(&found).unwrap()["leks"][0]["isolation"].is_string());
    let d = middle();
    assert!(d.kernel(Sex::Cocks, 3.0) < d.kernel(Sex::Hens, 3.0) && d.kernel(Sex::Hens, 0.0) == 1.0);
}

#[test]
fn all_that_is_wrong_with_patches_is_told_at_once() {
    let wrong = [Patch { proposed: true, ..patch("A", f64::NAN, 0.0, 1.0) }, Patch { proposed: true, ..patch("A", 0.0, 0.0, -2.0) }];
    let told = network(&wrong, &middle(), &[]).unwrap_err();
    assert_eq!(told.len(), 4, "{told:?}");
    assert!(told.iter().any(|f| f.to_string().contains("needed a weight from nothing up, found -2")), "{told:?}");
}

proptest! {
    /// Moving the whole network changes nothing; shares sum to one; a lek more never takes capacity away; weights twice as large give four times.
    #[test]
    fn networks_keep_their_laws(places in proptest::collection::vec((0.0..30_000.0f64, 0.0..30_000.0f64, 0.5..20.0f64), 2..20), move_m in (-1e5..1e5f64, -1e5..1e5f64)) {
        let patches: Vec<Patch> = places.iter().enumerate().map(|(i, p)| patch(&i.to_string(), p.0, p.1, p.2)).collect();
        let found = of(&patches, hens);
        prop_assert!((found.shares.iter().sum::<f64>() - 1.0).abs() < 1e-10);
        let moved: Vec<Patch> = patches.iter().map(|p| Patch { east_m: p.east_m + move_m.0, north_m: p.north_m + move_m.1, ..p.clone() }).collect();
        let moved = of(&moved, hens);
        prop_assert!((moved.lambda / found.lambda - 1.0).abs() < 1e-9);
        let fewer = of(&patches[1..], hens);
        prop_assert!(fewer.lambda <= found.lambda * (1.0 + 1e-12));
        let heavier: Vec<Patch> = patches.iter().map(|p| Patch { weight: 2.0 * p.weight, ..p.clone() }).collect();
        prop_assert!((of(&heavier, hens).lambda / found.lambda - 4.0).abs() < 1e-9);
    }
}
