//! The ledger: for every lek and season, what the ground gives, what the birds need, and how sure that is.
//!
//! `supply = sum over facets of weight x value`, `need` from birds and hectares a bird, `margin = supply / need`.
//! Every figure is drawn (Latin hypercube, seeded); all leks, seasons and options see the same draws.

use crate::drawn::{Drawn, Errors};
use crate::figures::{Figures, reach_of};
use crate::layout::{DIMS, Layout, NO_FACET};
use crate::place;
use crate::reach::{KERNELS, NODES, Reach, Shift, mix};
use crate::season::{self, Season};
use crate::state::{Stand, State};
use guidance::Curve;
use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rand_pcg::Pcg64Mcg;
use rayon::prelude::*;

/// Number of seasons.
pub const SEASONS: usize = Season::ALL.len();

/// Values by draw, laid out for the inner loops.
#[derive(Clone)]
pub struct Values {
    draws: usize,
    /// Stand values: `[(stand * SEASONS + season) * draws + draw]`.
    base: Vec<f32>,
    /// Place terms by dimension: `[(band * SEASONS + season) * draws + draw]`.
    terms: Vec<Vec<f32>>,
    /// Whether a term takes nothing away in any draw, by dimension: `[band * SEASONS + season]`.
    whole: Vec<Vec<bool>>,
}

/// Standard normal errors of every stand and draw; a stand's stream hangs on its id alone, so that adding a stand
/// never changes another's draws.
pub fn errors(state: &State, seed: u64, draws: usize) -> Vec<Vec<Errors>> {
    state.stands.par_iter().map(|stand| errors_of(&stand.id, seed, draws)).collect()
}

/// The errors of one stand.
pub fn errors_of(id: &str, seed: u64, draws: usize) -> Vec<Errors> {
    let mut rng = Pcg64Mcg::seed_from_u64(seed ^ fnv(id));
    (0..draws).map(|_| std::array::from_fn(|_| StandardNormal.sample(&mut rng))).collect()
}

/// FNV-1a, 64 bits: a stable hash of a name.
fn fnv(text: &str) -> u64 {
    text.bytes().fold(0xcbf2_9ce4_8422_2325, |h, b| (h ^ b as u64).wrapping_mul(0x0100_0000_01b3))
}

impl Values {
    /// Values of every stand and place term in every draw.
    pub fn of(state: &State, layout: &Layout, figures: &[Figures], errors: &[Vec<Errors>], age: &Curve) -> Values {
        Self::of_stands(&state.stands, layout, figures, errors, age)
    }

    /// As [`Values::of`], from bare stands.
    pub fn of_stands(stands: &[Stand], layout: &Layout, figures: &[Figures], errors: &[Vec<Errors>], age: &Curve) -> Values {
        let mut values = Self::of_places(layout, figures);
        values.restate(stands, |_| true, figures, errors, age);
        values
    }

    /// The place terms alone, of no stand yet.
    pub fn of_places(layout: &Layout, figures: &[Figures]) -> Values {
        let terms = terms(layout, figures);
        let whole = terms.iter().map(|table| table.chunks_exact(figures.len()).map(|by_draw| by_draw.iter().all(|t| *t == 1.0)).collect()).collect();
        Values { draws: figures.len(), base: Vec::new(), terms, whole }
    }

    /// Take over the values of stands that are the same in another table of the same figures and errors; the others stay as they were, nought
    /// where they are new.
    pub fn take_over(&mut self, other: &Values, stands: usize, same: impl Fn(usize) -> bool + Sync) {
        let row = SEASONS * self.draws;
        self.base.resize(stands * row, 0.0);
        self.base.par_chunks_mut(row).zip(other.base.par_chunks(row)).enumerate().filter(|(i, _)| same(*i)).for_each(|(_, (own, others))| own.copy_from_slice(others));
    }

    /// Work out again the stands that are said to have changed, and those that are new.
    pub fn restate(&mut self, stands: &[Stand], changed: impl Fn(usize) -> bool + Sync, figures: &[Figures], errors: &[Vec<Errors>], age: &Curve) {
        let (n, known) = (self.draws, self.base.len() / (SEASONS * self.draws));
        self.base.resize(stands.len() * SEASONS * n, 0.0);
        self.base.par_chunks_mut(SEASONS * n).enumerate().filter(|(i, _)| *i >= known || changed(*i)).for_each(|(i, rows)| {
            for (d, f) in figures.iter().enumerate() {
                let drawn = Drawn::of(&stands[i], errors[i][d], f, age);
                for (s, season) in Season::ALL.iter().enumerate() {
                    let w = &f.season[s];
                    rows[s * n + d] = season::offer(*season, &drawn, f).value(w.weight_food, w.weight_cover);
                }
            }
        });
    }

    /// Forget all stands but the first so many.
    pub fn truncate(&mut self, stands: usize) {
        self.base.truncate(stands * SEASONS * self.draws);
    }

    /// Write the value of a facet in a season, one a draw, into `out`.
    pub fn facet(&self, layout: &Layout, facet: u32, season: usize, out: &mut [f32]) {
        let f = &layout.facets[facet as usize];
        let n = self.draws;
        let at = (f.stand as usize * SEASONS + season) * n;
        out.copy_from_slice(&self.base[at..at + n]);
        for (dim, table) in self.terms.iter().enumerate() {
            let row = f.band[dim] as usize * SEASONS + season;
            // Most ground is free of most losses, and a product with one is the same to the last digit.
            if self.whole[dim][row] {
                continue;
            }
            for (o, t) in out.iter_mut().zip(&table[row * n..(row + 1) * n]) {
                *o *= t;
            }
        }
    }
}

/// Place terms of every band, season and draw, by dimension.
fn terms(layout: &Layout, figures: &[Figures]) -> Vec<Vec<f32>> {
    let draws = figures.len();
    (0..DIMS)
        .into_par_iter()
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
        .collect()
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
    let mut tally = Tally::of(layout, values, reach, only);
    if only.is_some() {
        tally.unmapped = [0.0; KERNELS];
    }
    tally.supply(figures, reach_m)
}

/// What one lek's ground adds up to, draw by draw, before the widths of its reaches are drawn. Ground can be added to it and taken
/// from it.
#[derive(Clone)]
pub struct Tally {
    draws: usize,
    /// Value times weight of open ground and of woods, apart, since what nobody mapped is taken to be like the open ground:
    /// `[(season * NODES + node) * draws + draw]`.
    sums: [Vec<f64>; 2],
    /// Weight of the mapped open ground, hectares, by season and node.
    open_ha: [[f64; NODES]; SEASONS],
    /// Weight of the ground no stand covers, hectares, by kernel.
    unmapped: [f64; KERNELS],
}

/// Ground as it is weighed: what it is cut into, what that is worth, and how it weighs for every lek.
#[derive(Clone, Copy)]
pub struct Weighed<'a> {
    /// The facets.
    pub layout: &'a Layout,
    /// Their values.
    pub values: &'a Values,
    /// By lek.
    pub reaches: &'a [Reach],
}

/// Share of its open ground below which a lek's tally is not altered but made anew.
const LEFT: f64 = 0.05;

impl Weighed<'_> {
    /// Weights of the facet in a row of a lek's reach; nought beyond its end.
    fn weights(&self, lek: usize, row: usize) -> [f32; KERNELS] {
        self.reaches[lek].weights.get(row).copied().unwrap_or([0.0; KERNELS])
    }
}

impl Tally {
    /// The tally of a lek's ground as it is `now`, from this one of what it was, of which `now` was made by alteration: only facets whose weight
    /// changed, or whose stand is not told to be the same, are counted again.
    pub fn altered(&self, was: &Weighed, now: &Weighed, lek: usize, same: impl Fn(usize) -> bool) -> Tally {
        let mut tally = Tally { unmapped: now.reaches[lek].unmapped, ..self.clone() };
        let mut value = vec![0.0f32; self.draws];
        for (row, facet) in now.reaches[lek].facets.iter().enumerate() {
            let (before, after) = (was.weights(lek, row), now.weights(lek, row));
            if before == after && same(now.layout.facets[*facet as usize].stand as usize) {
                continue;
            }
            // A facet that was not there before has no place in the layout of before.
            if before.iter().any(|ha| *ha > 0.0) {
                tally.add(was.layout, was.values, *facet, &before.map(|ha| -f64::from(ha)), &mut value);
            }
            tally.add(now.layout, now.values, *facet, &after.map(f64::from), &mut value);
        }
        // What little is left of much is mostly rounding: such ground is counted whole.
        let left = |(now, was): (&f64, &f64)| *now < LEFT * was;
        if tally.open_ha.iter().flatten().zip(self.open_ha.iter().flatten()).any(left) {
            return Tally::of(now.layout, now.values, &now.reaches[lek], None);
        }
        tally
    }

    /// Let one facet gain hectares, by kernel; `value` is room for its values.
    fn add(&mut self, layout: &Layout, values: &Values, facet: u32, ha: &[f64; KERNELS], value: &mut [f32]) {
        let n = self.draws;
        let wood = layout.is_wood[layout.facets[facet as usize].stand as usize];
        for season in 0..SEASONS {
            let r = reach_of(Season::ALL[season]) * NODES;
            if ha[r..r + NODES].iter().all(|h| *h == 0.0) {
                continue;
            }
            values.facet(layout, facet, season, value);
            for node in 0..NODES {
                let h = ha[r + node];
                if !wood {
                    self.open_ha[season][node] += h;
                }
                let at = (season * NODES + node) * n;
                for (sum, v) in self.sums[wood as usize][at..at + n].iter_mut().zip(value.iter()) {
                    *sum += h * *v as f64;
                }
            }
        }
    }

    /// The ground of one lek; with `only`, one stand's part of it.
    pub fn of(layout: &Layout, values: &Values, reach: &Reach, only: Option<u32>) -> Tally {
        let n = values.draws;
        let mut value = vec![0.0f32; n];
        let mut tally = Tally { draws: n, sums: std::array::from_fn(|_| vec![0.0; SEASONS * NODES * n]), open_ha: [[0.0; NODES]; SEASONS], unmapped: reach.unmapped };
        // Short single-precision sums, gathered in double precision.
        let mut sums = [vec![0.0f32; SEASONS * NODES * n], vec![0.0f32; SEASONS * NODES * n]];
        for (i, (facet, weights)) in reach.facets.iter().zip(&reach.weights).enumerate() {
            let stand = layout.facets[*facet as usize].stand;
            if only.is_some_and(|s| stand != s) || weights.iter().all(|w| *w <= 0.0) {
                continue;
            }
            let wood = layout.is_wood[stand as usize];
            for season in 0..SEASONS {
                let r = reach_of(Season::ALL[season]) * NODES;
                if weights[r..r + NODES].iter().all(|w| *w <= 0.0) {
                    continue;
                }
                values.facet(layout, *facet, season, &mut value);
                for node in 0..NODES {
                    let w = weights[r + node];
                    if !wood {
                        tally.open_ha[season][node] += w as f64;
                    }
                    let at = (season * NODES + node) * n;
                    for (sum, v) in sums[wood as usize][at..at + n].iter_mut().zip(&value) {
                        *sum += w * v;
                    }
                }
            }
            if i % 256 == 255 {
                tally.gather(&mut sums);
            }
        }
        tally.gather(&mut sums);
        tally
    }

    fn gather(&mut self, sums: &mut [Vec<f32>; 2]) {
        for (total, sum) in self.sums.iter_mut().flatten().zip(sums.iter_mut().flatten()) {
            *total += *sum as f64;
            *sum = 0.0;
        }
    }

    /// Let facets gain and lose hectares.
    pub fn shift(&mut self, layout: &Layout, values: &Values, shift: &Shift) {
        let mut value = vec![0.0f32; self.draws];
        for (facet, ha) in shift {
            if *facet == NO_FACET {
                for (all, h) in self.unmapped.iter_mut().zip(ha) {
                    *all = (*all + h).max(0.0);
                }
                continue;
            }
            self.add(layout, values, *facet, ha, &mut value);
        }
    }

    /// Supply in every season and draw, each at the draw's own reach. `reach_m` are the node widths, metres.
    pub fn supply(&self, figures: &[Figures], reach_m: &[[f64; NODES]]) -> Supply {
        let n = self.draws;
        let [open, woods] = &self.sums;
        std::array::from_fn(|season| {
            let r = reach_of(Season::ALL[season]);
            (0..n)
                .map(|d| {
                    let parts = mix(&reach_m[r], figures[d].reach_m[r] as f64);
                    let at = |node: usize| {
                        let i = (season * NODES + node) * n + d;
                        let mapped = open[i] + woods[i];
                        if self.open_ha[season][node] <= 0.0 {
                            return mapped;
                        }
                        // Unmapped ground is worth a drawn part of the mapped open ground within reach.
                        let mean = open[i] / self.open_ha[season][node];
                        mapped + mean * figures[d].unmapped as f64 * self.unmapped[r * NODES + node]
                    };
                    (0..NODES).map(|node| parts[node] * at(node)).sum::<f64>().max(0.0)
                })
                .collect()
        })
    }
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
