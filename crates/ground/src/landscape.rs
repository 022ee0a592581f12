//! Measures of a cover map: edge, patches and their shape, diversity, interspersion, contagion, core ground.
//!
//! A cover map holds a class number in every cell, [`NONE`](crate::rasterise::NONE) where nothing is known.
//! Cells are squares or oblongs and edges run along their sides, so a slanting border measures longer here than
//! on a drawn map (by up to the square root of two); compare like with like.
//!
//! Sources, as cited by the reference computation in the tests (formulas from memory, papers not opened):
//! shape, Patton 1975; diversity, Shannon 1948, with Pielou's evenness; dominance and contagion, O'Neill et al.
//! 1988, contagion as corrected by Li & Reynolds 1993; interspersion, Mead et al. 1981; juxtaposition, Heinen &
//! Cross 1983.

use std::collections::BTreeMap;

use crate::distance::squared_distance;
use crate::grid::{Frame, Grid};
use crate::polygon::{shape_index, shape_index_square};
use crate::rasterise::NONE;

/// Which cells touch: over sides only, or over corners too.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Neighbours {
    /// The four cells over the sides.
    Four,
    /// The eight cells over sides and corners.
    Eight,
}

impl Neighbours {
    fn steps(self) -> &'static [(isize, isize)] {
        const STEPS: [(isize, isize); 8] = [(0, -1), (-1, 0), (1, 0), (0, 1), (-1, -1), (1, -1), (-1, 1), (1, 1)];
        match self {
            Self::Four => &STEPS[..4],
            Self::Eight => &STEPS,
        }
    }
}

fn step(frame: &Frame, column: usize, row: usize, (across, down): (isize, isize)) -> Option<usize> {
    let (c, r) = (column.checked_add_signed(across)?, row.checked_add_signed(down)?);
    (c < frame.cols && r < frame.rows).then(|| frame.at(c, r))
}

/// Lengths of the borders between classes.
#[derive(Clone, Debug, PartialEq)]
pub struct Edges {
    /// Metres of border between two classes, the smaller class number first.
    pub by_pair_m: BTreeMap<(u32, u32), f64>,
    /// Metres of border between unlike classes.
    pub inner_m: f64,
    /// Metres of border between known ground and the outside or unknown ground.
    pub rim_m: f64,
    /// Area of known ground, hectares.
    pub area_ha: f64,
}

impl Edges {
    /// Measures the borders of a cover map.
    pub fn of(cover: &Grid<u32>) -> Self {
        let frame = &cover.frame;
        let (mut by_pair_m, mut rim_m, mut known) = (BTreeMap::new(), 0.0, 0_usize);
        for row in 0..frame.rows {
            for column in 0..frame.cols {
                let here = cover.get(column, row);
                if here == NONE {
                    continue;
                }
                known += 1;
                for way in Neighbours::Four.steps() {
                    let side_m = if way.0 == 0 { frame.dx_m } else { frame.dy_m };
                    match step(frame, column, row, *way).map(|at| cover.cells[at]) {
                        None | Some(NONE) => rim_m += side_m,
                        Some(other) if other > here => *by_pair_m.entry((here, other)).or_insert(0.0) += side_m,
                        Some(_) => {}
                    }
                }
            }
        }
        Self { inner_m: by_pair_m.values().sum(), by_pair_m, rim_m, area_ha: known as f64 * frame.cell_ha() }
    }

    /// Border between classes for each hectare, the rim left out; metres a hectare, `NaN` without known ground.
    pub fn density_m_per_ha(&self) -> f64 {
        self.inner_m / self.area_ha
    }

    /// The same with the rim counted as border.
    pub fn density_with_rim_m_per_ha(&self) -> f64 {
        (self.inner_m + self.rim_m) / self.area_ha
    }

    /// Evenness of the border among the pairs of `classes` classes: the entropy of the lengths over its largest
    /// value `ln(classes (classes - 1) / 2)`. `NaN` with fewer than three classes or no border.
    pub fn evenness(&self, classes: usize) -> f64 {
        let pairs = (classes * classes.saturating_sub(1) / 2) as f64;
        if self.inner_m > 0.0 && pairs > 1.0 { entropy(self.by_pair_m.values().copied()) / pairs.ln() } else { f64::NAN }
    }
}

/// Entropy, in natural units, of amounts that need not add up to one.
fn entropy(amounts: impl Iterator<Item = f64> + Clone) -> f64 {
    let total: f64 = amounts.clone().sum();
    amounts.filter(|a| *a > 0.0).map(|a| -(a / total) * (a / total).ln()).sum()
}

/// One patch: a class and the connected cells that hold it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Patch {
    /// The class.
    pub class: u32,
    /// Number of cells.
    pub cells: usize,
    /// Area, square metres.
    pub area_m2: f64,
    /// Length of its border, holes included, metres.
    pub perimeter_m: f64,
}

impl Patch {
    /// Border over the border of the circle of equal area; 1 for a circle, about 1.128 for one square cell.
    pub fn shape(&self) -> f64 {
        shape_index(self.area_m2, self.perimeter_m)
    }

    /// Border over the border of the square of equal area; 1 for a square.
    pub fn shape_square(&self) -> f64 {
        shape_index_square(self.area_m2, self.perimeter_m)
    }
}

/// The patches of a cover map.
#[derive(Clone, Debug, PartialEq)]
pub struct Patches {
    /// Number of the patch each cell belongs to, an index into `table`; [`NONE`] where nothing is known.
    pub number: Grid<u32>,
    /// The patches, in the order of their first cell from the north-west, row by row.
    pub table: Vec<Patch>,
}

impl Patches {
    /// Finds the patches of a cover map.
    pub fn of(cover: &Grid<u32>, neighbours: Neighbours) -> Self {
        let frame = cover.frame;
        let mut number = Grid::filled(frame, NONE);
        let mut table: Vec<Patch> = Vec::new();
        let mut waiting = Vec::new();
        for first in 0..frame.len() {
            let class = cover.cells[first];
            if class == NONE || number.cells[first] != NONE {
                continue;
            }
            let name = table.len() as u32;
            let mut patch = Patch { class, cells: 0, area_m2: 0.0, perimeter_m: 0.0 };
            number.cells[first] = name;
            waiting.push(first);
            while let Some(at) = waiting.pop() {
                let (column, row) = (at % frame.cols, at / frame.cols);
                patch.cells += 1;
                for way in neighbours.steps() {
                    let Some(next) = step(&frame, column, row, *way) else { continue };
                    if cover.cells[next] == class && number.cells[next] == NONE {
                        number.cells[next] = name;
                        waiting.push(next);
                    }
                }
                for way in Neighbours::Four.steps() {
                    if step(&frame, column, row, *way).is_none_or(|next| cover.cells[next] != class) {
                        patch.perimeter_m += if way.0 == 0 { frame.dx_m } else { frame.dy_m };
                    }
                }
            }
            patch.area_m2 = patch.cells as f64 * frame.dx_m * frame.dy_m;
            table.push(patch);
        }
        Self { number, table }
    }

    /// Mean shape of the patches, each counting once; `NaN` without patches.
    pub fn mean_shape(&self) -> f64 {
        self.table.iter().map(Patch::shape).sum::<f64>() / self.table.len() as f64
    }

    /// Mean shape of the patches, each counting by its area; `NaN` without patches.
    pub fn area_weighted_shape(&self) -> f64 {
        let area: f64 = self.table.iter().map(|p| p.area_m2).sum();
        self.table.iter().map(|p| p.shape() * p.area_m2).sum::<f64>() / area
    }
}

/// Number of known cells of each class, by class number.
pub fn counts(cover: &Grid<u32>) -> BTreeMap<u32, usize> {
    let mut counts = BTreeMap::new();
    for class in cover.cells.iter().filter(|c| **c != NONE) {
        *counts.entry(*class).or_insert(0) += 1;
    }
    counts
}

/// How varied a set of amounts is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Diversity {
    /// Shannon's entropy of the shares, natural logarithm.
    pub shannon: f64,
    /// The entropy over the logarithm of the number of kinds present, 0 to 1; `NaN` with one kind.
    pub evenness: f64,
    /// The logarithm of the number of kinds less the entropy.
    pub dominance: f64,
    /// Simpson's: the chance that two picks (with putting back) are of different kinds.
    pub simpson: f64,
}

impl Diversity {
    /// Of amounts (areas, lengths, counts) of each kind; amounts of zero or less are left out.
    pub fn of(amounts: &[f64]) -> Self {
        let present = || amounts.iter().copied().filter(|a| *a > 0.0);
        let (kinds, total) = (present().count() as f64, present().sum::<f64>());
        let shannon = entropy(present());
        let simpson = 1.0 - present().map(|a| (a / total).powi(2)).sum::<f64>();
        let evenness = if kinds > 1.0 { shannon / kinds.ln() } else { f64::NAN };
        Self { shannon, evenness, dominance: kinds.ln() - shannon, simpson }
    }

    /// Of the areas of a cover map's classes.
    pub fn of_cover(cover: &Grid<u32>) -> Self {
        Self::of(&counts(cover).values().map(|n| *n as f64).collect::<Vec<f64>>())
    }
}

/// How mixed the ground round each inner cell is.
#[derive(Clone, Debug, PartialEq)]
pub struct Interspersion {
    /// Number of the eight neighbours of another class; `NaN` on the rim and beside unknown cells.
    pub unlike: Grid<f32>,
    /// Mean share of unlike neighbours (of eight).
    pub mean_unlike: f64,
    /// Mean share of unlike border weight: sides count two, corners one, of twelve (juxtaposition with equal
    /// weights for all pairs of classes).
    pub mean_border: f64,
}

impl Interspersion {
    /// Of a cover map.
    pub fn of(cover: &Grid<u32>) -> Self {
        let frame = cover.frame;
        let mut unlike = Grid::filled(frame, f32::NAN);
        let (mut all, mut border, mut known) = (0_usize, 0_usize, 0_usize);
        for at in 0..frame.len() {
            let (column, row, here) = (at % frame.cols, at / frame.cols, cover.cells[at]);
            let round: Option<Vec<u32>> = Neighbours::Eight
                .steps()
                .iter()
                .map(|way| step(&frame, column, row, *way).map(|next| cover.cells[next]).filter(|c| *c != NONE))
                .collect();
            let Some(round) = round.filter(|_| here != NONE) else { continue };
            let count = |part: &[u32]| part.iter().filter(|c| **c != here).count();
            let (sides, corners) = (count(&round[..4]), count(&round[4..]));
            unlike.cells[at] = (sides + corners) as f32;
            all += sides + corners;
            border += 2 * sides + corners;
            known += 1;
        }
        let known = known as f64;
        Self { unlike, mean_unlike: all as f64 / (8.0 * known), mean_border: border as f64 / (12.0 * known) }
    }
}

/// How clumped the classes lie: 0 when every pair of classes is as often side by side as every other, 1 when one
/// class holds all. Two variants in use that differ in the third figure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Contagion {
    /// Pair shares as share of the class times share of its neighbours (Li & Reynolds 1993).
    pub by_class_share: f64,
    /// Pair shares counted straight from the pairs of neighbouring cells.
    pub by_pair_share: f64,
}

impl Contagion {
    /// Of a cover map, over sides, each pair of cells counted from both. `NaN` with fewer than two classes.
    pub fn of(cover: &Grid<u32>) -> Self {
        let counts = counts(cover);
        let total: usize = counts.values().sum();
        let mut pairs: BTreeMap<(u32, u32), f64> = BTreeMap::new();
        let mut of_class: BTreeMap<u32, f64> = BTreeMap::new();
        for at in 0..cover.frame.len() {
            let (column, row, here) = (at % cover.frame.cols, at / cover.frame.cols, cover.cells[at]);
            for way in Neighbours::Four.steps() {
                let other = step(&cover.frame, column, row, *way).map_or(NONE, |next| cover.cells[next]);
                if here != NONE && other != NONE {
                    *pairs.entry((here, other)).or_insert(0.0) += 1.0;
                    *of_class.entry(here).or_insert(0.0) += 1.0;
                }
            }
        }
        let share = |(pair, n): (&(u32, u32), &f64)| n / of_class[&pair.0] * counts[&pair.0] as f64 / total as f64;
        let by_class: Vec<f64> = pairs.iter().map(share).collect();
        let most = 2.0 * (counts.len() as f64).ln();
        let contagion = |entropy: f64| if counts.len() > 1 { 1.0 - entropy / most } else { f64::NAN };
        Self {
            by_class_share: contagion(entropy(by_class.into_iter())),
            by_pair_share: contagion(entropy(pairs.values().copied())),
        }
    }
}

/// When a cell counts as core ground of its class.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum CoreRule {
    /// Peeled this many times: each time, cells beside another class go.
    Peel {
        /// Number of layers taken off.
        layers: usize,
        /// Whether corners count as beside.
        neighbours: Neighbours,
        /// Whether the outside of the map (and unknown ground) counts as another class.
        rim_is_edge: bool,
    },
    /// Farther than this from the nearest cell centre of another class; the outside of the map is no edge.
    FartherThan {
        /// Distance between centres, metres.
        distance_m: f64,
    },
}

/// Core ground of one class, hectares. See [`CoreRule`] for the several meanings in use.
pub fn core_ha(cover: &Grid<u32>, class: u32, rule: CoreRule) -> f64 {
    let of_class = Grid { frame: cover.frame, cells: cover.cells.iter().map(|c| *c == class).collect::<Vec<bool>>() };
    let cells = match rule {
        CoreRule::Peel { layers, neighbours, rim_is_edge } => {
            let unknown = |at: usize| cover.cells[at] == NONE;
            let mut left = of_class;
            for _ in 0..layers {
                left = peel(&left, neighbours, rim_is_edge, unknown);
            }
            left.cells.iter().filter(|c| **c).count()
        }
        CoreRule::FartherThan { distance_m } => {
            let others = Grid {
                frame: cover.frame,
                cells: cover.cells.iter().map(|c| *c != class && *c != NONE).collect::<Vec<bool>>(),
            };
            let squared = squared_distance(&others, None);
            let far = |(own, d2): (&bool, &f64)| *own && (d2.is_nan() || d2.sqrt() > distance_m);
            of_class.cells.iter().zip(&squared.cells).filter(|pair| far(*pair)).count()
        }
    };
    cells as f64 * cover.frame.cell_ha()
}

fn peel(left: &Grid<bool>, neighbours: Neighbours, rim_is_edge: bool, unknown: impl Fn(usize) -> bool) -> Grid<bool> {
    let frame = left.frame;
    let stays = |at: usize| {
        neighbours.steps().iter().all(|way| match step(&frame, at % frame.cols, at / frame.cols, *way) {
            Some(next) if !unknown(next) => left.cells[next],
            _ => !rim_is_edge,
        })
    };
    Grid { frame, cells: (0..frame.len()).map(|at| left.cells[at] && stays(at)).collect() }
}
