//! The ledger: for every lek and season, what the ground gives, what the birds need, and how sure that is.
//!
//! `supply = sum over facets of weight x value`, `need` from birds and hectares a bird, `margin = supply / need`.
//! Every figure is drawn (Latin hypercube, seeded); all leks, seasons and options see the same draws.

use crate::drawn::{Drawn, Errors};
use crate::figures::{Figures, reach_of};
use crate::layout::{DIMS, Layout};
use crate::place;
use crate::reach::{NODES, Reach, mix};
use crate::season::{self, Season};
use crate::state::State;
use guidance::Curve;
use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rand_pcg::Pcg64Mcg;
use rayon::prelude::*;

/// Number of seasons.
pub const SEASONS: usize = Season::ALL.len();

/// Values by draw, laid out for the inner loops.
pub struct Values {
    draws: usize,
    /// Stand values: `[(stand * SEASONS + season) * draws + draw]`.
    base: Vec<f32>,
    /// Place terms by dimension: `[(band * SEASONS + season) * draws + draw]`.
    terms: Vec<Vec<f32>>,
}

/// Standard normal errors of every stand and draw; a stand's stream hangs on its id alone, so that adding a stand
/// never changes another's draws.
pub fn errors(state: &State, seed: u64, draws: usize) -> Vec<Vec<Errors>> {
    state
        .stands
        .par_iter()
        .map(|stand| {
            let mut rng = Pcg64Mcg::seed_from_u64(seed ^ fnv(&stand.id));
            (0..draws).map(|_| std::array::from_fn(|_| StandardNormal.sample(&mut rng))).collect()
        })
        .collect()
}

/// FNV-1a, 64 bits: a stable hash of a name.
fn fnv(text: &str) -> u64 {
    text.bytes().fold(0xcbf2_9ce4_8422_2325, |h, b| (h ^ b as u64).wrapping_mul(0x0100_0000_01b3))
}

impl Values {
    /// Values of every stand and place term in every draw.
    pub fn of(state: &State, layout: &Layout, figures: &[Figures], errors: &[Vec<Errors>], age: &Curve) -> Values {
        let draws = figures.len();
        let mut base = vec![0.0f32; state.stands.len() * SEASONS * draws];
        base.par_chunks_mut(SEASONS * draws).enumerate().for_each(|(i, rows)| {
            for (d, f) in figures.iter().enumerate() {
                let drawn = Drawn::of(&state.stands[i], errors[i][d], f, age);
                for (s, season) in Season::ALL.iter().enumerate() {
                    let w = &f.season[s];
                    rows[s * draws + d] = season::offer(*season, &drawn, f).value(w.weight_food, w.weight_cover);
                }
            }
        });
        let terms = (0..DIMS)
            .map(|dim| {
                let means = &layout.band_mean[dim];
                let mut table = vec![0.0f32; means.len() * SEASONS * draws];
                for (b, mean) in means.iter().enumerate() {
                    for (s, season) in Season::ALL.iter().enumerate() {
                        for (d, f) in figures.iter().enumerate() {
                            table[(b * SEASONS + s) * draws + d] = place::term(dim, *mean, *season, f);
                        }
                    }
                }
                table
            })
            .collect();
        Values { draws, base, terms }
    }

    /// Write the value of a facet in a season, one a draw, into `out`.
    pub fn facet(&self, layout: &Layout, facet: u32, season: usize, out: &mut [f32]) {
        let f = &layout.facets[facet as usize];
        let n = self.draws;
        let at = (f.stand as usize * SEASONS + season) * n;
        out.copy_from_slice(&self.base[at..at + n]);
        for (dim, table) in self.terms.iter().enumerate() {
            let at = (f.band[dim] as usize * SEASONS + season) * n;
            for (o, t) in out.iter_mut().zip(&table[at..at + n]) {
                *o *= t;
            }
        }
    }
}

/// Supply of one lek, usable hectares: `[season][draw]`.
pub type Supply = [Vec<f64>; SEASONS];

/// Supply of every lek in every season and draw. `reach_m` are the node widths, metres;
pub fn supply(layout: &Layout, values: &Values, reaches: &[Reach], figures: &[Figures], reach_m: &[[f64; NODES]]) -> Vec<Supply> {
    reaches.par_iter().map(|reach| supply_of(layout, values, reach, figures, reach_m, None)).collect()
}

/// Supply of one lek; with `only`, the part of it one stand gives (unmapped ground left out).
pub fn supply_of(
    layout: &Layout,
    values: &Values,
    reach: &Reach,
    figures: &[Figures],
    reach_m: &[[f64; NODES]],
    only: Option<u32>,
) -> Supply {
    let n = figures.len();
    let mut value = vec![0.0f32; n];
    // Woods and open ground apart: what nobody mapped is taken to be like the open ground.
    let mut sums = [vec![0.0f32; SEASONS * NODES * n], vec![0.0f32; SEASONS * NODES * n]];
    let mut totals = [vec![0.0f64; SEASONS * NODES * n], vec![0.0f64; SEASONS * NODES * n]];
    let mut open_weight = [[0.0f64; NODES]; SEASONS];
    let gather = |sums: &mut [Vec<f32>; 2], totals: &mut [Vec<f64>; 2]| {
        for (total, sum) in totals.iter_mut().flatten().zip(sums.iter_mut().flatten()) {
            *total += *sum as f64;
            *sum = 0.0;
        }
    };
    for (i, (facet, weights)) in reach.facets.iter().zip(&reach.weights).enumerate() {
        let stand = layout.facets[*facet as usize].stand;
        if only.is_some_and(|s| stand != s) {
            continue;
        }
        let wood = layout.is_wood[stand as usize];
        #[expect(clippy::needless_range_loop, reason = "several tables share the index")]
        for season in 0..SEASONS {
            let r = reach_of(Season::ALL[season]) * NODES;
            values.facet(layout, *facet, season, &mut value);
            for node in 0..NODES {
                let w = weights[r + node];
                if !wood {
                    open_weight[season][node] += w as f64;
                }
                let at = (season * NODES + node) * n;
                for (sum, v) in sums[wood as usize][at..at + n].iter_mut().zip(&value) {
                    *sum += w * v;
                }
            }
        }
        // Short single-precision sums, gathered in double precision.
        if i % 256 == 255 {
            gather(&mut sums, &mut totals);
        }
    }
    gather(&mut sums, &mut totals);
    let [open, woods] = totals;
    std::array::from_fn(|season| {
        let r = reach_of(Season::ALL[season]);
        (0..n)
            .map(|d| {
                let parts = mix(&reach_m[r], figures[d].reach_m[r] as f64);
                let at = |node: usize| {
                    let i = (season * NODES + node) * n + d;
                    let mapped = open[i] + woods[i];
                    if only.is_some() || open_weight[season][node] <= 0.0 {
                        return mapped;
                    }
                    // Unmapped ground is worth a drawn part of the mapped open ground within reach.
                    let mean = open[i] / open_weight[season][node];
                    mapped + mean * figures[d].unmapped as f64 * reach.unmapped[r * NODES + node]
                };
                (0..NODES).map(|node| parts[node] * at(node)).sum::<f64>().max(0.0)
            })
            .collect()
    })
}

/// Need of a lek's birds, usable hectares, in one season and draw.
pub fn need_ha(season: Season, cocks: f64, f: &Figures) -> f64 {
    let hens = cocks * f.hens_young[0] as f64;
    let birds = match season {
        Season::Display => cocks,
        Season::PreLaying | Season::Nest | Season::Brood => hens,
        Season::Autumn => cocks + hens * (1.0 + f.hens_young[1] as f64),
        Season::Winter | Season::Snowbound => cocks + hens,
    };
    birds * f.season[season as usize].need_ha as f64
}
