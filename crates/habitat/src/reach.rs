//! Which ground belongs to which lek: half-normal distance kernels, shared between neighbours.
//!
//! The kernel of a reach R is `exp(-d^2 / 2 s^2)` with s such that 95 % of its mass lies inside R; it is cut at three s.
//! A cell within reach of several leks is shared in proportion to cocks times kernel. A lek's weight on a facet is
//! the sum over its cells of kernel times share times cell area, in hectares. Every reach is laid at three widths
//! (low, middle and high of its guidance spread); a draw's width is met by the parabola through them.

use crate::layout::{Layout, Moved, NO_FACET};
use ground::Grid;
use rayon::prelude::*;
use std::collections::HashMap;

/// Widths at which every reach is laid.
pub const NODES: usize = 3;
/// Number of reaches: display, nesting, brood, winter.
pub const REACHES: usize = 4;
/// Kernels in all.
pub const KERNELS: usize = REACHES * NODES;
/// Standard deviations at which the kernel is cut.
pub const CUT: f64 = 3.0;

/// A lek as the kernels see it.
#[derive(Clone, Copy, Debug)]
pub struct Site {
    /// Easting, metres.
    pub east_m: f64,
    /// Northing, metres.
    pub north_m: f64,
    /// Cocks, at least one.
    pub cocks: f32,
}

/// The ground of one lek: hectares by facet and kernel.
#[derive(Clone, Debug, Default)]
pub struct Reach {
    /// Facets within reach, in order.
    pub facets: Vec<u32>,
    /// Kernel-weighted hectares of each, by kernel (`reach * NODES + node`).
    pub weights: Vec<[f32; KERNELS]>,
    /// Kernel-weighted hectares that no stand covers, by kernel, the part outside the layout included.
    pub unmapped: [f64; KERNELS],
    /// Where each facet stands in `facets`; [`NO_FACET`] where it does not.
    row_of: Vec<u32>,
}

/// Hectares that facets of one lek gained or lost, by kernel; [`NO_FACET`] stands for the unmapped ground.
pub type Shift = Vec<(u32, [f64; KERNELS])>;

/// Standard deviation of the kernel that has 95 % of its mass inside `reach_m`, metres.
pub fn sigma_m(reach_m: f64) -> f64 {
    ground::kernel::half_normal_sigma_for(reach_m)
}

/// Hectares under a whole kernel, cut at [`CUT`].
fn whole_ha(sigma_m: f64) -> f64 {
    2.0 * std::f64::consts::PI * sigma_m * sigma_m * (1.0 - (-CUT * CUT / 2.0).exp()) / 1e4
}

/// Rows and columns of the layout under a kernel, with the two factors of the kernel along them.
#[derive(Clone)]
struct Spread {
    col0: usize,
    row0: usize,
    across: Vec<f32>,
    down: Vec<f32>,
    /// Squared distances along each, metres, to cut the kernel at a circle.
    across2: Vec<f32>,
    down2: Vec<f32>,
    cut2: f32,
}

impl Spread {
    fn of(layout: &Layout, site: &Site, sigma: f64) -> Option<Spread> {
        let f = &layout.frame;
        let cut = CUT * sigma;
        let span = |from: f64, to: f64, n: usize| {
            let a = from.floor().max(0.0) as usize;
            let b = to.ceil().min(n as f64).max(0.0) as usize;
            (a < b).then_some((a, b))
        };
        let (col0, col1) = span((site.east_m - cut - f.west_m) / f.dx_m, (site.east_m + cut - f.west_m) / f.dx_m, f.cols)?;
        let (row0, row1) = span((f.north_m - site.north_m - cut) / f.dy_m, (f.north_m - site.north_m + cut) / f.dy_m, f.rows)?;
        let square = |d: f64| (d * d) as f32;
        let across2: Vec<f32> = (col0..col1).map(|c| square(f.centre(c, 0).0 - site.east_m)).collect();
        let down2: Vec<f32> = (row0..row1).map(|r| square(f.centre(0, r).1 - site.north_m)).collect();
        let k = (-0.5 / (sigma * sigma)) as f32;
        Some(Spread {
            col0,
            row0,
            across: across2.iter().map(|d| (d * k).exp()).collect(),
            down: down2.iter().map(|d| (d * k).exp()).collect(),
            across2,
            down2,
            cut2: square(cut),
        })
    }

    /// The kernel of one cell; 0 outside the cut.
    fn at(&self, col: usize, row: usize) -> f32 {
        let (Some(c), Some(r)) = (col.checked_sub(self.col0), row.checked_sub(self.row0)) else { return 0.0 };
        match (self.across2.get(c), self.down2.get(r)) {
            (Some(a), Some(d)) if *a <= self.cut2 - *d => self.across[c] * self.down[r],
            _ => 0.0,
        }
    }

    /// Visit the cells inside the cut: index of the cell, kernel.
    fn each(&self, cols: usize, row: usize, mut visit: impl FnMut(usize, f32)) {
        let Some(r) = row.checked_sub(self.row0).filter(|r| *r < self.down.len()) else { return };
        let room = self.cut2 - self.down2[r];
        for (c, a) in self.across.iter().enumerate() {
            if self.across2[c] <= room {
                visit(row * cols + self.col0 + c, a * self.down[r]);
            }
        }
    }
}

/// Every kernel of every lek over a frame: what cells weigh, whatever grows on them.
#[derive(Clone)]
pub struct Kernels {
    sites: Vec<Site>,
    cell_ha: f64,
    cols: usize,
    sigma_m: [f64; KERNELS],
    /// The kernel that reaches farthest.
    widest: usize,
    /// By kernel and lek; `None` where the frame lies out of reach.
    spreads: Vec<Vec<Option<Spread>>>,
}

impl Kernels {
    /// Kernels of the leks over a layout's cells. `reach_m[reach][node]` are the widths, metres.
    pub fn of(layout: &Layout, sites: &[Site], reach_m: &[[f64; NODES]; REACHES]) -> Kernels {
        let sigma_m: [f64; KERNELS] = std::array::from_fn(|k| sigma_m(reach_m[k / NODES][k % NODES]));
        let spreads = sigma_m.iter().map(|sigma| sites.iter().map(|s| Spread::of(layout, s, *sigma)).collect()).collect();
        let widest = (0..KERNELS).max_by(|a, b| sigma_m[*a].total_cmp(&sigma_m[*b])).unwrap_or(0);
        Kernels { widest, sites: sites.to_vec(), cell_ha: layout.frame.cell_ha(), cols: layout.frame.cols, sigma_m, spreads }
    }

    /// Lay every reach over the layout.
    pub fn lay(&self, layout: &Layout) -> Vec<Reach> {
        let (cols, n) = (self.cols, layout.facets.len());
        // Dense while it grows, one row of kernels a facet; pressed to the facets in reach at the end.
        let mut dense: Vec<Vec<[f64; KERNELS]>> = self.sites.iter().map(|_| vec![[0.0; KERNELS]; n]).collect();
        let mut unmapped = vec![[0.0f64; KERNELS]; self.sites.len()];
        for k in 0..KERNELS {
            let spreads = &self.spreads[k];
            let claims = claims(layout, &self.sites, spreads);
            dense.par_iter_mut().zip(unmapped.par_iter_mut()).enumerate().for_each(|(l, (row_of, lost))| {
                let mut mapped_or_shared = 0.0f64;
                let Some(spread) = &spreads[l] else {
                    lost[k] = whole_ha(self.sigma_m[k]);
                    return;
                };
                for row in spread.row0..spread.row0 + spread.down.len() {
                    let mut in_row = 0.0f64;
                    spread.each(cols, row, |cell, kernel| {
                        let claim = claims.as_ref().map_or(self.sites[l].cocks * kernel, |c| c.cells[cell]);
                        let weight = self.weight(l, kernel, claim) as f64;
                        in_row += (kernel as f64) * self.cell_ha;
                        match layout.facet_of[cell] {
                            NO_FACET => lost[k] += weight,
                            facet => row_of[facet as usize][k] += weight,
                        }
                    });
                    mapped_or_shared += in_row;
                }
                lost[k] += (whole_ha(self.sigma_m[k]) - mapped_or_shared).max(0.0);
            });
        }
        dense
            .into_iter()
            .zip(unmapped)
            .map(|(rows, unmapped)| {
                let mut reach = Reach { unmapped, row_of: vec![NO_FACET; rows.len()], ..Reach::default() };
                for (facet, weights) in rows.into_iter().enumerate() {
                    if weights.iter().any(|w| *w > 0.0) {
                        reach.row_of[facet] = reach.facets.len() as u32;
                        reach.facets.push(facet as u32);
                        reach.weights.push(weights.map(|w| w as f32));
                    }
                }
                reach
            })
            .collect()
    }

    /// What a cell weighs for a lek: kernel times the lek's share of it, hectares. `claim`: cocks times kernel over all leks.
    fn weight(&self, lek: usize, kernel: f32, claim: f32) -> f32 {
        kernel * (self.sites[lek].cocks * kernel / claim) * self.cell_ha as f32
    }

    /// What a cell weighs for every lek within reach of it under every kernel, hectares.
    fn weigh(&self, cell: usize, weights: &mut Vec<(usize, [f32; KERNELS])>) {
        let (col, row) = (cell % self.cols, cell / self.cols);
        // Out of reach of the widest kernel is out of reach of all.
        let near = |s: &Option<Spread>| s.as_ref().is_some_and(|s| s.at(col, row) > 0.0);
        weights.clear();
        weights.extend(self.spreads[self.widest].iter().enumerate().filter(|(_, s)| near(s)).map(|(lek, _)| (lek, [0.0; KERNELS])));
        for (k, spreads) in self.spreads.iter().enumerate() {
            let mut claim = 0.0;
            for (lek, weight) in weights.iter_mut() {
                weight[k] = spreads[*lek].as_ref().map_or(0.0, |s| s.at(col, row));
                claim += self.sites[*lek].cocks * weight[k];
            }
            for (lek, weight) in weights.iter_mut().filter(|(_, w)| w[k] > 0.0) {
                weight[k] = self.weight(*lek, weight[k], claim);
            }
        }
    }

    /// Hectares that moved between facets, lek by lek, in order of facets.
    pub fn shifts(&self, moved: &[Moved]) -> Vec<Shift> {
        let mut gains: Vec<Gains> = self.sites.iter().map(|_| Gains::default()).collect();
        // A block of cells is weighed in parts, then told lek by lek in the order of the cells, so that sums do not hang on who weighed what.
        for block in moved.chunks(BLOCK) {
            let parts: Vec<Vec<Vec<Weighed>>> = block.par_chunks(BLOCK / 64).map(|part| self.by_lek(part)).collect();
            gains.par_iter_mut().enumerate().for_each(|(lek, gains)| {
                for (moved, weights) in parts.iter().flat_map(|part| &part[lek]) {
                    gains.add(moved.from, weights, -1.0);
                    gains.add(moved.to, weights, 1.0);
                }
            });
        }
        gains.into_par_iter().map(Gains::shift).collect()
    }

    fn by_lek(&self, moved: &[Moved]) -> Vec<Vec<Weighed>> {
        let mut by_lek: Vec<Vec<Weighed>> = self.sites.iter().map(|_| Vec::new()).collect();
        let mut weights = Vec::new();
        for m in moved {
            self.weigh(m.cell as usize, &mut weights);
            weights.iter().for_each(|(lek, weights)| by_lek[*lek].push((*m, *weights)));
        }
        by_lek
    }
}

/// Cells weighed before their weights are added up.
const BLOCK: usize = 1 << 16;

/// A cell that moved and what it weighs for a lek, by kernel, hectares.
type Weighed = (Moved, [f32; KERNELS]);

/// What facets gain and lose for one lek.
#[derive(Default)]
struct Gains {
    place_of: HashMap<u32, u32>,
    sums: Shift,
    /// Where the facets told last stand: neighbours mostly share them.
    last: [Option<(u32, u32)>; 2],
}

impl Gains {
    fn add(&mut self, facet: u32, weights: &[f32; KERNELS], sign: f64) {
        let last = &mut self.last[usize::from(sign > 0.0)];
        let place = match *last {
            Some((told, place)) if told == facet => place,
            _ => *self.place_of.entry(facet).or_insert_with(|| {
                self.sums.push((facet, [0.0; KERNELS]));
                self.sums.len() as u32 - 1
            }),
        };
        *last = Some((facet, place));
        for (sum, w) in self.sums[place as usize].1.iter_mut().zip(weights) {
            *sum += sign * *w as f64;
        }
    }

    fn shift(mut self) -> Shift {
        self.sums.sort_unstable_by_key(|(facet, _)| *facet);
        self.sums
    }
}

impl Reach {
    /// Let facets gain and lose hectares.
    pub fn shift(&mut self, shift: &Shift) {
        for (facet, ha) in shift {
            if *facet == NO_FACET {
                for (all, h) in self.unmapped.iter_mut().zip(ha) {
                    *all = (*all + h).max(0.0);
                }
                continue;
            }
            if self.row_of.len() <= *facet as usize {
                self.row_of.resize(*facet as usize + 1, NO_FACET);
            }
            let mut row = self.row_of[*facet as usize];
            if row == NO_FACET {
                row = self.facets.len() as u32;
                self.row_of[*facet as usize] = row;
                self.facets.push(*facet);
                self.weights.push([0.0; KERNELS]);
            }
            for (all, h) in self.weights[row as usize].iter_mut().zip(ha) {
                *all = (*all as f64 + h).max(0.0) as f32;
            }
        }
    }
}

/// Sum over leks of cocks times kernel, cell by cell; `None` for a lone lek, whose share is whole.
fn claims(layout: &Layout, sites: &[Site], spreads: &[Option<Spread>]) -> Option<Grid<f32>> {
    if sites.len() < 2 {
        return None;
    }
    let cols = layout.frame.cols;
    let mut grid = Grid::filled(layout.frame, 0.0f32);
    grid.cells.par_chunks_mut(cols).enumerate().for_each(|(row, cells)| {
        for (site, spread) in sites.iter().zip(spreads) {
            if let Some(spread) = spread {
                spread.each(cols, row, |cell, kernel| cells[cell - row * cols] += site.cocks * kernel);
            }
        }
    });
    Some(grid)
}

/// Weights of the three nodes at a drawn width: the parabola through them (Lagrange), straight where two coincide.
pub fn mix(nodes_m: &[f64; NODES], width_m: f64) -> [f64; NODES] {
    let [a, b, c] = *nodes_m;
    if a == b || b == c {
        let t = if c > a { ((width_m - a) / (c - a)).clamp(0.0, 1.0) } else { 0.0 };
        return [1.0 - t, 0.0, t];
    }
    let x = width_m.clamp(a, c);
    [(x - b) * (x - c) / ((a - b) * (a - c)), (x - a) * (x - c) / ((b - a) * (b - c)), (x - a) * (x - b) / ((c - a) * (c - b))]
}
