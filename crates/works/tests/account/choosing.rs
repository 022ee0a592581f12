//! Which payments stand together on which ground: against every set of bids tried on every square of a grid.

use super::farm::rect;
use proptest::prelude::*;
use works::account::choose::{Bid, best, share};

fn bid(payment: usize, x: [f64; 2], years: [i32; 2], worth_per_ha: f64) -> Bid {
    Bid { payment, ground: rect(x[0], 0.0, x[1], 100.0), from: years[0], until: years[1], worth_per_ha }
}

#[test]
fn a_small_wood_takes_only_its_own_ground() {
    // 10 ha of moor, of which 1 ha is bid for by something worth more, and another hectare by something worth less.
    let bids = [bid(0, [0.0, 1000.0], [2027, 2030], 66.0), bid(1, [100.0, 200.0], [2027, 2028], 900.0), bid(1, [300.0, 400.0], [2027, 2028], 9.0)];
    let got = share(&bids, &|a, b| a == 0 && b == 1);
    assert_eq!(got.iter().map(|g| (g.ha * 1e4).round() / 1e4).collect::<Vec<_>>(), [9.0, 1.0, 0.0]);
    assert_eq!((got[0].lost_to.len(), got[0].lost_to[0].0, got[2].lost_to[0].0), (1, 1, 0));
    // Other years, or nothing excluded: both.
    let later = [bids[0].clone(), Bid { from: 2030, until: 2031, ..bids[1].clone() }];
    assert_eq!(share(&later, &|_, _| true).iter().map(|g| g.ha.round()).collect::<Vec<_>>(), [10.0, 1.0]);
    assert_eq!(share(&bids[..2], &|_, _| false).iter().map(|g| g.ha.round()).collect::<Vec<_>>(), [10.0, 1.0]);
    assert!(share(&[], &|_, _| true).is_empty());
}

#[test]
fn two_that_stand_together_beat_one_that_excludes_both() {
    let bids = [bid(0, [0.0, 100.0], [2027, 2028], 10.0), bid(1, [0.0, 100.0], [2027, 2028], 6.0), bid(2, [0.0, 100.0], [2027, 2028], 6.0)];
    let got = share(&bids, &|a, _| a == 0);
    assert_eq!(got.iter().map(|g| g.ha.round()).collect::<Vec<_>>(), [0.0, 1.0, 1.0]);
    // Of equals the first, whichever way they exclude each other.
    let equal = [bid(3, [0.0, 100.0], [2027, 2028], 5.0), bid(3, [0.0, 100.0], [2027, 2028], 5.0)];
    assert_eq!(share(&equal, &|_, _| false).iter().map(|g| g.ha.round()).collect::<Vec<_>>(), [1.0, 0.0]);
}

/// On a grid of one-hectare squares: what the best of all sets of bids is worth, square by square.
fn by_trying(bids: &[Bid], spans: &[(u8, u8)], excludes: &dyn Fn(usize, usize) -> bool) -> f64 {
    let foes = |a: usize, b: usize| {
        let (x, y) = (&bids[a], &bids[b]);
        x.from < y.until && y.from < x.until && (x.payment == y.payment || excludes(x.payment, y.payment) || excludes(y.payment, x.payment))
    };
    let mut sum = 0.0;
    for square in 0..10u8 {
        let on_it: Vec<usize> = (0..bids.len()).filter(|i| (spans[*i].0..spans[*i].1).contains(&square)).collect();
        let mut most = 0.0;
        for set in 0..1u32 << on_it.len() {
            let of: Vec<usize> = on_it.iter().enumerate().filter(|(k, _)| set >> k & 1 == 1).map(|(_, i)| *i).collect();
            if of.iter().all(|a| of.iter().all(|b| a == b || !foes(*a, *b))) {
                most = f64::max(most, of.iter().map(|i| bids[*i].worth_per_ha).sum());
            }
        }
        sum += most;
    }
    sum
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(200) })]

    #[test]
    fn what_is_shared_out_is_worth_as_much_as_the_best_of_all_sets(
        drawn in prop::collection::vec((0..5_usize, 0..9_u8, 1..6_u8, 2027..2030_i32, 1..4_i32, 0..100_u32), 1..8),
        excluding in prop::collection::vec(any::<bool>(), 25),
    ) {
        let spans: Vec<(u8, u8)> = drawn.iter().map(|d| (d.1, (d.1 + d.2).min(10))).collect();
        let bids: Vec<Bid> = drawn
            .iter()
            .zip(&spans)
            .map(|(d, s)| bid(d.0, [f64::from(s.0) * 100.0, f64::from(s.1) * 100.0], [d.3, d.3 + d.4], f64::from(d.5)))
            .collect();
        let excludes = |a: usize, b: usize| excluding[a * 5 + b];
        let got = share(&bids, &excludes);
        let worth: f64 = bids.iter().zip(&got).map(|(b, g)| b.worth_per_ha * g.ha).sum();
        let wanted = by_trying(&bids, &spans, &excludes);
        prop_assert!((worth - wanted).abs() < 1e-6, "{worth} {wanted}");
        for (bid, got) in bids.iter().zip(&got) {
            let ha = (bid.ground.0[0].exterior().0.iter().map(|c| c.x).fold(f64::MIN, f64::max) - bid.ground.0[0].exterior().0.iter().map(|c| c.x).fold(f64::MAX, f64::min)) / 100.0;
            // What is lost anywhere has a taker: a bid is paid in full or says who took the rest.
            prop_assert!(got.ha <= ha + 1e-9 && (got.ha > ha - 1e-9 || !got.lost_to.is_empty()));
        }
        prop_assert_eq!(&share(&bids, &excludes), &got);
    }

    #[test]
    fn the_best_set_stands_together(worth in prop::collection::vec(0..50_u32, 1..10), foes in prop::collection::vec(any::<bool>(), 100)) {
        let all: Vec<usize> = (0..worth.len()).collect();
        let against = |a: usize, b: usize| a != b && (foes[a * 10 + b] || foes[b * 10 + a]);
        let set = best(&all, &|a| f64::from(worth[a]), &against);
        prop_assert!(set.iter().all(|a| set.iter().all(|b| !against(*a, *b))));
        let sum: u32 = set.iter().map(|a| worth[*a]).sum();
        for other in 0..1_u32 << worth.len() {
            let of: Vec<usize> = all.iter().copied().filter(|i| other >> i & 1 == 1).collect();
            if of.iter().all(|a| of.iter().all(|b| !against(*a, *b))) {
                prop_assert!(of.iter().map(|a| worth[*a]).sum::<u32>() <= sum);
            }
        }
    }
}
