//! Which payments stand together on which ground.
//!
//! The ground of all bids that exclude another is cut into pieces on each of which the same bids lie; on each piece the set of bids is taken
//! that stand together and are worth most. So no piece of ground is paid twice for what excludes itself, and a small wood takes only its
//! own ground out of a large claim.

use geo_types::MultiPolygon;
use ground::quick::{difference, intersection};
use measures::rules::places::hectares;

/// A payment bid for on a piece of ground.
#[derive(Clone, Debug)]
pub struct Bid {
    /// The payment, as the caller numbers them; a payment excludes itself.
    pub payment: usize,
    /// The ground it would be paid for.
    pub ground: MultiPolygon<f64>,
    /// First year.
    pub from: i32,
    /// The year after the last.
    pub until: i32,
    /// What it is worth a hectare, all years together; never below nought.
    pub worth_per_ha: f64,
}

/// What a bid gets.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Got {
    /// Hectares it is paid for.
    pub ha: f64,
    /// Bids that took ground from it, with the hectares, in the order of the bids.
    pub lost_to: Vec<(usize, f64)>,
}

/// Overlaps below this are the play of a pen, hectares: a square metre.
const PLAY_HA: f64 = 1e-4;

/// Share ground out among bids.
pub fn share(bids: &[Bid], excludes: &dyn Fn(usize, usize) -> bool) -> Vec<Got> {
    let against = |a: usize, b: usize| {
        let (x, y) = (&bids[a], &bids[b]);
        a != b && x.from < y.until && y.from < x.until && (x.payment == y.payment || excludes(x.payment, y.payment) || excludes(y.payment, x.payment))
    };
    let mut got: Vec<Got> = vec![Got::default(); bids.len()];
    let contested: Vec<usize> = (0..bids.len()).filter(|a| (0..bids.len()).any(|b| against(*a, b))).collect();
    for a in (0..bids.len()).filter(|a| !contested.contains(a)) {
        got[a].ha = hectares(&bids[a].ground);
    }
    for (ha, on_it) in pieces(bids, &contested) {
        let taken = best(&on_it, &|a| bids[a].worth_per_ha, &against);
        for a in on_it {
            if taken.contains(&a) {
                got[a].ha += ha;
                continue;
            }
            for by in taken.iter().filter(|by| against(a, **by)) {
                match got[a].lost_to.iter_mut().find(|(b, _)| b == by) {
                    Some((_, sum)) => *sum += ha,
                    None => got[a].lost_to.push((*by, ha)),
                }
            }
        }
    }
    got.iter_mut().for_each(|got| got.lost_to.sort_by_key(|(by, _)| *by));
    got
}

/// Pieces of ground, hectares, each with the bids that lie on all of it.
fn pieces(bids: &[Bid], contested: &[usize]) -> Vec<(f64, Vec<usize>)> {
    let mut grounds: Vec<(&MultiPolygon<f64>, Vec<usize>)> = Vec::new();
    for a in contested {
        match grounds.iter_mut().find(|(ground, _)| **ground == bids[*a].ground) {
            Some((_, of)) => of.push(*a),
            None => grounds.push((&bids[*a].ground, vec![*a])),
        }
    }
    let mut out: Vec<(MultiPolygon<f64>, Vec<usize>)> = Vec::new();
    for (ground, of) in grounds {
        let mut rest = ground.clone();
        let mut next = Vec::new();
        for (piece, on_it) in out {
            let both = intersection(&piece, ground);
            if hectares(&both) <= PLAY_HA {
                next.push((piece, on_it));
                continue;
            }
            rest = difference(&rest, &piece);
            let without = difference(&piece, ground);
            if hectares(&without) > PLAY_HA {
                next.push((without, on_it.clone()));
            }
            next.push((both, [on_it, of.clone()].concat()));
        }
        if hectares(&rest) > PLAY_HA {
            next.push((rest, of));
        }
        out = next;
    }
    out.into_iter().map(|(shape, on_it)| (hectares(&shape), on_it)).collect()
}

/// The set that stands together and is worth most; of equal sets the one with the earlier bids.
pub fn best(of: &[usize], worth: &dyn Fn(usize) -> f64, against: &dyn Fn(usize, usize) -> bool) -> Vec<usize> {
    let foes = |a: usize| of.iter().filter(|b| against(a, **b)).count();
    let Some(most) = of.iter().copied().max_by_key(|a| (foes(*a), usize::MAX - a)).filter(|a| foes(*a) > 0) else { return of.to_vec() };
    let others: Vec<usize> = of.iter().copied().filter(|a| *a != most).collect();
    let friends: Vec<usize> = others.iter().copied().filter(|a| !against(most, *a)).collect();
    let mut with = best(&friends, worth, against);
    with.push(most);
    with.sort_unstable();
    let without = best(&others, worth, against);
    let sum = |set: &[usize]| set.iter().map(|a| worth(*a)).sum::<f64>();
    let (s, t) = (sum(&with), sum(&without));
    if s > t || (s == t && with < without) { with } else { without }
}
