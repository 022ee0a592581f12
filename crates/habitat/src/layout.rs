//! Facets: the smallest pieces of ground that share a stand and a neighbourhood.
//!
//! Grids are laid once over the ground within reach of the leks: the stand of every cell, and how far it lies from
//! wood edge (inside), flush, tall cover, tree food and used ways, its altitude and its slope. Each is cut into bands;
//! cells that share stand and bands are one facet. Values are computed per facet, never per cell: every band is
//! represented by the mean of the cells it was first laid out with. The exact per-cell path in [`crate::exact`] exists to test that.
//!
//! A layout can be altered in place ([`Layout::alter`]): stands change, cells change hands, and only the bands of the ground
//! near them are measured again. What an alteration gives is what laying the ground out anew with the same bands ([`Layout::band_mean`]) would give.

use crate::state::{Feature, Origin, Stand, State};
use geo::BoundingRect;
use geo_types::{MultiPolygon, Rect};
use ground::{Frame, Grid, distance, rasterise, resample, slope};
use holding::Holding;
use rayon::prelude::*;
use std::collections::HashMap;
use std::sync::Arc;

/// The neighbourhood dimensions of a facet.
pub const DIMS: usize = 7;
/// Depth inside a wood, metres.
pub const DEPTH: usize = 0;
/// Distance to a flush, metres.
pub const FLUSH: usize = 1;
/// Distance to tall cover, metres.
pub const COVER: usize = 2;
/// Distance to tree food, metres.
pub const TREES: usize = 3;
/// Distance to a used way or dwelling, metres.
pub const WAYS: usize = 4;
/// Altitude, metres.
pub const ALTITUDE: usize = 5;
/// Slope, degrees.
pub const SLOPE: usize = 6;

/// Lower edges of the bands of each dimension; the last band is open above. The width of the bands decides how
/// closely facets follow the cells, not what the answer means.
const EDGES: [&[f32]; DIMS] = [
    &[0.0, 0.5, 50.0, 100.0, 150.0, 200.0, 300.0, 400.0, 550.0, 750.0],
    &[0.0, 30.0, 60.0, 100.0, 150.0, 220.0, 320.0, 500.0],
    &[0.0, 0.5, 30.0, 70.0, 120.0, 200.0, 320.0, 500.0],
    &[0.0, 0.5, 100.0, 250.0, 450.0, 750.0, 1200.0],
    &[0.0, 40.0, 60.0, 80.0, 100.0, 120.0, 140.0, 170.0],
    &[f32::NEG_INFINITY, 100.0, 130.0, 160.0, 190.0, 220.0, 520.0, 550.0, 580.0, 610.0, 640.0, 670.0, 700.0, 750.0],
    &[0.0, 12.0, 16.0, 20.0, 24.0, 28.0, 33.0, 38.0],
];

/// Upper edge of the first band of a distance, which holds the marked cells themselves, metres.
const AT_IT_M: f32 = 0.5;

/// Mark of a cell no stand covers.
pub const NO_STAND: u32 = rasterise::NONE;

/// Mark of a cell without facet.
pub const NO_FACET: u32 = u32::MAX;

/// A facet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Facet {
    /// Index of the stand.
    pub stand: u32,
    /// Band in each dimension.
    pub band: [u8; DIMS],
}

/// The ground laid out for the ledger.
#[derive(Clone)]
pub struct Layout {
    /// Where the cells lie.
    pub frame: Frame,
    /// Stand of each cell; [`NO_STAND`] where none.
    pub stand_of: Grid<u32>,
    /// Facet of each cell; [`NO_FACET`] where no stand.
    pub facet_of: Vec<u32>,
    /// The facets. One that lost its last cell stays, without weight.
    pub facets: Vec<Facet>,
    /// Whether a stand is a wood, by stand.
    pub is_wood: Vec<bool>,
    /// What stands for each band, by dimension and band, metres or degrees: the mean of the cells the layout was first laid out
    /// with, the middle of the band where it had none. It stays as the layout is altered, so that options are weighed alike.
    pub band_mean: Vec<Vec<f32>>,
    /// Heights on the layout's cells, where the plan has them.
    pub heights: Option<Arc<Grid<f32>>>,
    /// Slope, degrees.
    pub slope: Option<Arc<Grid<f32>>>,
    /// The seven neighbourhood grids, kept for the exact path when asked for.
    pub near: Option<Vec<Vec<f32>>>,
    limits: Limits,
    /// Marks of every stand.
    marks: Vec<u8>,
    /// Bands of every cell, four bits a dimension.
    bands: Vec<u32>,
    /// Number of the facet of a key.
    numbers: HashMap<u64, u32>,
}

/// A cell that went from one facet to another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Moved {
    /// The cell.
    pub cell: u32,
    /// Facet before; [`NO_FACET`] where none.
    pub from: u32,
    /// Facet after; [`NO_FACET`] where none.
    pub to: u32,
}

/// An alteration that can be taken back.
#[derive(Clone, Debug, Default)]
pub struct Tried {
    /// Cells whose facet changed.
    pub moved: Vec<Moved>,
    marks: Vec<u8>,
    stands: Vec<(u32, u32)>,
    bands: Vec<(u32, u32)>,
}

/// Cells whose mark changes in one dimension.
#[derive(Default)]
struct Change {
    span: Span,
    /// Cells that become sources.
    added: Vec<u32>,
    /// Some cease to be sources.
    lost: bool,
}

/// A dimension measured again over a box of ground.
struct Measured {
    dim: usize,
    lost: bool,
    /// What may have changed bands, and what was measured round it.
    inner: Span,
    outer: Span,
    /// Over the outer box, metres.
    distances: Vec<f32>,
}

/// What counts as tall cover and tree food when the ground is laid out.
#[derive(Clone, Copy, Debug)]
pub struct Limits {
    /// Mean sward from which heather or rush is tall cover, centimetres.
    pub tall_cm: f32,
    /// Cover of heather, rush or trees that makes tall cover, fraction.
    pub tall_share: f32,
    /// Food-weighted canopy that makes tree food, fraction.
    pub food_share: f32,
    /// Worth of each tree species as winter food.
    pub tree_food: [f32; 12],
    /// Distance beyond which nothing is looked for, metres.
    pub look_m: f64,
    /// Altitude taken where the plan has no height: one that costs nothing, metres.
    pub usual_altitude_m: f32,
}

/// Marks a stand puts on its cells, one bit each, in the order of the dimensions measured from them: wood (depth is measured from
/// the cells without it), flush, tall cover, tree food.
fn marks(stand: &Stand, limits: &Limits) -> u8 {
    let plants = stand.covers[holding::Plant::Heather as usize] + stand.covers[holding::Plant::Rush as usize];
    let tall = (stand.height_cm >= limits.tall_cm && plants >= limits.tall_share) || stand.canopy >= limits.tall_share;
    let food = stand.trees.iter().map(|t| t.canopy * limits.tree_food[t.tree as usize]).sum::<f32>() >= limits.food_share;
    stand.wooded as u8 | (stand.flush as u8) << FLUSH | (tall as u8) << COVER | (food as u8) << TREES
}

/// Dimensions measured from the stands' marks; the others never change.
const MARKED: [usize; 4] = [DEPTH, FLUSH, COVER, TREES];

/// Whether distances of a dimension are measured from a cell with these marks.
fn source(dim: usize, marks: u8) -> bool {
    if dim == DEPTH { marks & 1 == 0 } else { marks >> dim & 1 == 1 }
}

impl Layout {
    /// Lay out the ground within `reach_m` of the leks. `keep` keeps the neighbourhood grids for the exact path.
    pub fn lay(holding: &Holding, state: &State, cell_m: f64, reach_m: f64, limits: &Limits, keep: bool) -> Option<Layout> {
        let frame = domain(holding, cell_m, reach_m)?;
        let stand_of = paint(holding, state, &frame);
        let mark_of: Vec<u8> = state.stands.iter().map(|s| marks(s, limits)).collect();
        let near_marked = |dim: usize| {
            let marked = stand_of.cells.iter().map(|s| source(dim, if *s == NO_STAND { 0 } else { mark_of[*s as usize] })).collect();
            near(&Grid { frame, cells: marked }, limits.look_m)
        };
        let ((depth, flush), (cover, (trees, ways))) = rayon::join(
            || rayon::join(|| near_marked(DEPTH), || near_marked(FLUSH)),
            || rayon::join(|| near_marked(COVER), || rayon::join(|| near_marked(TREES), || near(&ways(holding, &frame), limits.look_m))),
        );
        let heights = holding.heights.as_ref().map(|h| resample::resample(h, frame));
        let slope = heights.as_ref().map(|h| slope::slope_deg(h, slope::Gradient::Horn, slope::Rim::Missing));
        // Without a height (or on the rim) altitude and slope cost nothing: they take the middle of the usable ground.
        let usual = |grid: &Option<Grid<f32>>, value: f32| match grid {
            Some(g) => g.cells.iter().map(|v| if v.is_finite() { *v } else { value }).collect::<Vec<f32>>(),
            None => vec![value; frame.len()],
        };
        let near = vec![depth, flush, cover, trees, ways, usual(&heights, limits.usual_altitude_m), usual(&slope, 0.0)];
        let bands: Vec<u32> = (0..frame.len())
            .into_par_iter()
            .with_min_len(frame.cols)
            .map(|i| EDGES.iter().enumerate().fold(0, |all, (d, edges)| all | (band(edges, near[d][i]) as u32) << (4 * d)))
            .collect();
        let band_mean = means(&stand_of, &bands, &near);
        let mut layout = Layout {
            frame,
            facet_of: vec![NO_FACET; frame.len()],
            stand_of,
            facets: Vec::new(),
            is_wood: wood(&mark_of),
            band_mean,
            heights: heights.map(Arc::new),
            slope: slope.map(Arc::new),
            near: keep.then_some(near),
            limits: *limits,
            marks: mark_of,
            bands,
            numbers: HashMap::new(),
        };
        // In order of first appearance; neighbours mostly share a facet.
        let mut last = (u64::MAX, NO_FACET);
        for cell in 0..frame.len() {
            if let Some(key) = layout.key(cell) {
                if key != last.0 {
                    last = (key, layout.number(key));
                }
                layout.facet_of[cell] = last.1;
            }
        }
        Some(layout)
    }

    /// The limits it was laid out with.
    pub fn limits(&self) -> Limits {
        self.limits
    }

    /// Stand and bands of a cell in one number: four bits a band (fewer than sixteen bands each) and the stand above them.
    fn key(&self, cell: usize) -> Option<u64> {
        let stand = self.stand_of.cells[cell];
        (stand != NO_STAND).then(|| (stand as u64) << (4 * DIMS) | self.bands[cell] as u64)
    }

    /// The facet of a key, a new one where there is none yet.
    fn number(&mut self, key: u64) -> u32 {
        *self.numbers.entry(key).or_insert_with(|| {
            let band = std::array::from_fn(|d| (key >> (4 * d) & 15) as u8);
            self.facets.push(Facet { stand: (key >> (4 * DIMS)) as u32, band });
            self.facets.len() as u32 - 1
        })
    }

    /// Put the stands as they stand now, and other stands on some cells (`painted`: cell and stand), and measure the neighbourhoods
    /// that change; tells the cells whose facet changed. New stands come after the ones there were.
    pub fn alter(&mut self, stands: &[Stand], painted: &[(u32, u32)]) -> Vec<Moved> {
        self.change(stands, painted, None)
    }

    /// As [`Layout::alter`], to be taken back by [`Layout::revert`].
    pub fn try_out(&mut self, stands: &[Stand], painted: &[(u32, u32)]) -> Tried {
        let mut tried = Tried { marks: self.marks.clone(), ..Tried::default() };
        tried.moved = self.change(stands, painted, Some(&mut tried));
        tried
    }

    /// Take a trial back.
    pub fn revert(&mut self, tried: &Tried) {
        for (cell, stand) in tried.stands.iter().rev() {
            self.stand_of.cells[*cell as usize] = *stand;
        }
        for (cell, bands) in tried.bands.iter().rev() {
            self.bands[*cell as usize] = *bands;
        }
        for m in tried.moved.iter().rev() {
            self.facet_of[m.cell as usize] = m.from;
        }
        self.is_wood = wood(&tried.marks);
        self.marks.clone_from(&tried.marks);
    }

    fn change(&mut self, stands: &[Stand], painted: &[(u32, u32)], mut log: Option<&mut Tried>) -> Vec<Moved> {
        let mark_of: Vec<u8> = stands.iter().map(|s| marks(s, &self.limits)).collect();
        let mark = |table: &[u8], stand: u32| if stand == NO_STAND { 0 } else { table.get(stand as usize).copied().unwrap_or(0) };
        // By dimension: the cells that become sources, and the box of all that change when some cease to be one.
        let mut changed: [Change; 4] = std::array::from_fn(|_| Change::default());
        let cols = self.frame.cols;
        let mut note = |cell: usize, was: u8, is: u8| {
            for (change, dim) in changed.iter_mut().zip(MARKED) {
                if (was ^ is) >> dim & 1 == 1 {
                    change.span.add(cell % cols, cell / cols);
                    if source(dim, is) {
                        change.added.push(cell as u32);
                    } else {
                        change.lost = true;
                    }
                }
            }
        };
        let differs: Vec<bool> = mark_of.iter().enumerate().map(|(i, m)| self.marks.get(i).is_some_and(|old| old != m)).collect();
        if differs.iter().any(|d| *d) {
            for (cell, stand) in self.stand_of.cells.iter().enumerate() {
                if *stand != NO_STAND && differs[*stand as usize] {
                    note(cell, self.marks[*stand as usize], mark_of[*stand as usize]);
                }
            }
        }
        let mut touched = Vec::new();
        for (cell, stand) in painted {
            let at = *cell as usize;
            let was = self.stand_of.cells[at];
            if was != *stand {
                note(at, mark(&self.marks, was), mark(&mark_of, *stand));
                touched.push(*cell);
                if let Some(log) = &mut log {
                    log.stands.push((*cell, was));
                }
                self.stand_of.cells[at] = *stand;
            }
        }
        self.is_wood = wood(&mark_of);
        self.marks = mark_of;
        let measured: Vec<Measured> =
            changed.par_iter().zip(MARKED).filter(|(change, _)| !change.span.is_none()).map(|(change, dim)| self.measure(dim, change)).collect();
        for m in &measured {
            self.reband(m, &mut touched, log.as_deref_mut());
        }
        touched.sort_unstable();
        touched.dedup();
        let mut moved = Vec::new();
        for cell in touched {
            let from = self.facet_of[cell as usize];
            let key = self.key(cell as usize);
            if key != self.facets.get(from as usize).map(Facet::key) {
                let to = key.map_or(NO_FACET, |k| self.number(k));
                self.facet_of[cell as usize] = to;
                moved.push(Moved { cell, from, to });
            }
        }
        moved
    }

    /// Measure a dimension again round the cells whose marks changed. Beyond the last band's edge nothing can change. Where sources were only
    /// gained, the nearer of the old and the new ones counts.
    fn measure(&self, dim: usize, change: &Change) -> Measured {
        let last_m = EDGES[dim].last().copied().unwrap_or(0.0) as f64;
        let reach = (last_m / self.frame.dx_m.min(self.frame.dy_m)).ceil() as usize + 1;
        let inner = change.span.widened(reach, &self.frame);
        let outer = if change.lost { inner.widened(reach, &self.frame) } else { inner };
        let frame = Frame {
            west_m: self.frame.west_m + outer.west as f64 * self.frame.dx_m,
            north_m: self.frame.north_m - outer.north as f64 * self.frame.dy_m,
            cols: outer.east - outer.west,
            rows: outer.south - outer.north,
            ..self.frame
        };
        let cols = self.frame.cols;
        let mut marked = Vec::with_capacity(frame.len());
        if change.lost {
            for row in outer.rows() {
                marked.extend(self.stand_of.cells[row * cols + outer.west..row * cols + outer.east].iter().map(|s| source(dim, if *s == NO_STAND { 0 } else { self.marks[*s as usize] })));
            }
        } else {
            marked.resize(frame.len(), false);
            for cell in &change.added {
                let (col, row) = (*cell as usize % cols, *cell as usize / cols);
                marked[(row - outer.north) * frame.cols + col - outer.west] = true;
            }
        }
        Measured { dim, lost: change.lost, inner, outer, distances: near(&Grid { frame, cells: marked }, last_m) }
    }

    /// Put the bands of what was measured again; tells the cells that changed band.
    fn reband(&mut self, m: &Measured, touched: &mut Vec<u32>, mut log: Option<&mut Tried>) {
        let (cols, edges, shift) = (self.frame.cols, EDGES[m.dim], 4 * m.dim);
        for row in m.inner.rows() {
            let from = (row - m.outer.north) * (m.outer.east - m.outer.west) + m.inner.west - m.outer.west;
            let start = row * cols + m.inner.west;
            let cells = &mut self.bands[start..row * cols + m.inner.east];
            for (i, (bands, distance)) in cells.iter_mut().zip(&m.distances[from..]).enumerate() {
                let old = *bands >> shift & 15;
                let mut new = band(edges, *distance) as u32;
                if !m.lost {
                    new = new.min(old);
                }
                if new != old {
                    if let Some(log) = &mut log {
                        log.bands.push(((start + i) as u32, *bands));
                    }
                    touched.push((start + i) as u32);
                    *bands = *bands & !(15 << shift) | new << shift;
                }
            }
        }
    }

    /// Cells of a box of ground on which another stand lies than the layout has: what changed when shapes there were altered.
    pub fn repainted(&self, holding: &Holding, state: &State, window: Rect<f64>) -> Vec<(u32, u32)> {
        let f = &self.frame;
        let span = |from: f64, to: f64, n: usize| (from.floor().clamp(0.0, n as f64) as usize, to.ceil().clamp(0.0, n as f64) as usize);
        let (west, east) = span((window.min().x - f.west_m) / f.dx_m, (window.max().x - f.west_m) / f.dx_m, f.cols);
        let (north, south) = span((f.north_m - window.max().y) / f.dy_m, (f.north_m - window.min().y) / f.dy_m, f.rows);
        if west >= east || north >= south {
            return Vec::new();
        }
        let frame = Frame {
            west_m: f.west_m + west as f64 * f.dx_m,
            north_m: f.north_m - north as f64 * f.dy_m,
            cols: east - west,
            rows: south - north,
            ..*f
        };
        let now = paint(holding, state, &frame);
        let mut painted = Vec::new();
        for (row, cells) in now.cells.chunks_exact(frame.cols).enumerate() {
            let start = (row + north) * f.cols + west;
            for (col, stand) in cells.iter().enumerate() {
                if self.stand_of.cells[start + col] != *stand {
                    painted.push(((start + col) as u32, *stand));
                }
            }
        }
        painted
    }
}

impl Facet {
    /// Stand and bands in one number, as [`Layout::key`] makes it.
    fn key(&self) -> u64 {
        self.band.iter().enumerate().fold((self.stand as u64) << (4 * DIMS), |k, (d, b)| k | (*b as u64) << (4 * d))
    }
}

/// A box of cells: columns west to east, rows north to south, the ends left out.
#[derive(Clone, Copy)]
struct Span {
    west: usize,
    east: usize,
    north: usize,
    south: usize,
}

impl Default for Span {
    fn default() -> Self {
        Span::NONE
    }
}

impl Span {
    const NONE: Span = Span { west: usize::MAX, east: 0, north: usize::MAX, south: 0 };

    fn is_none(&self) -> bool {
        self.west >= self.east
    }

    fn add(&mut self, col: usize, row: usize) {
        (self.west, self.east) = (self.west.min(col), self.east.max(col + 1));
        (self.north, self.south) = (self.north.min(row), self.south.max(row + 1));
    }

    fn rows(&self) -> std::ops::Range<usize> {
        if self.is_none() { 0..0 } else { self.north..self.south }
    }

    fn widened(&self, by: usize, frame: &Frame) -> Span {
        Span {
            west: self.west.saturating_sub(by),
            east: (self.east + by).min(frame.cols),
            north: self.north.saturating_sub(by),
            south: (self.south + by).min(frame.rows),
        }
    }
}

/// Whether each stand is a wood, from the marks.
fn wood(marks: &[u8]) -> Vec<bool> {
    marks.iter().map(|m| m & 1 == 1).collect()
}

/// The stand on every cell of a frame. Coarse land cover first, then what was walked, then woods: the later rules.
fn paint(holding: &Holding, state: &State, frame: &Frame) -> Grid<u32> {
    let coarse = |i: usize| matches!(state.stands[i].feature, Feature::Patch(p) if holding.patches[p].coarse);
    let mut order: Vec<usize> = (0..state.stands.len()).collect();
    order.sort_by_key(|i| (!coarse(*i), matches!(state.stands[*i].feature, Feature::Wood(_)), *i));
    let touches = |shape: &MultiPolygon<f64>| {
        shape.bounding_rect().is_some_and(|b| {
            b.max().x >= frame.west_m && b.min().x <= frame.east_m() && b.max().y >= frame.south_m() && b.min().y <= frame.north_m
        })
    };
    rasterise::polygons(
        frame,
        order
            .iter()
            .filter(|i| state.stands[**i].covers_from != Origin::Missing)
            .map(|i| (state.stands[*i].feature.shape(holding), *i as u32))
            .filter(|(shape, _)| touches(shape)),
    )
}

/// Distance to the marked cells, metres; `limit_m` where none lies within it.
fn near(marked: &Grid<bool>, limit_m: f64) -> Vec<f32> {
    let limit = limit_m as f32;
    let mut d = distance::distance(marked, Some(limit_m));
    d.cells.par_iter_mut().for_each(|v| *v = if v.is_finite() { v.min(limit) } else { limit });
    d.cells
}

/// Mean of every band's mapped cells; of an empty band the middle, open outwards its inner edge.
fn means(stand_of: &Grid<u32>, bands: &[u32], near: &[Vec<f32>]) -> Vec<Vec<f32>> {
    (0..DIMS)
        .into_par_iter()
        .map(|dim| {
            let edges = EDGES[dim];
            let mut sums = vec![(0.0f64, 0u64); edges.len()];
            for ((stand, bands), value) in stand_of.cells.iter().zip(bands).zip(&near[dim]) {
                if *stand != NO_STAND {
                    let s = &mut sums[(bands >> (4 * dim) & 15) as usize];
                    s.0 += *value as f64;
                    s.1 += 1;
                }
            }
            let middle = |b: usize| match edges.get(b + 1) {
                Some(next) if edges[b].is_finite() && *next > AT_IT_M => (edges[b] + next) / 2.0,
                Some(next) if !edges[b].is_finite() => *next,
                _ => edges[b],
            };
            sums.iter().enumerate().map(|(b, (sum, n))| if *n > 0 { (*sum / *n as f64) as f32 } else { middle(b) }).collect()
        })
        .collect()
}

/// The box of ground within reach of a lek that anything is mapped on.
fn domain(holding: &Holding, cell_m: f64, reach_m: f64) -> Option<Frame> {
    let join = |a: Option<Rect<f64>>, b: Rect<f64>| {
        Some(match a {
            None => b,
            Some(a) => Rect::new(
                (a.min().x.min(b.min().x), a.min().y.min(b.min().y)),
                (a.max().x.max(b.max().x), a.max().y.max(b.max().y)),
            ),
        })
    };
    let mapped = holding
        .patches
        .iter()
        .filter_map(|p| p.shape.bounding_rect())
        .chain(holding.woods.iter().filter_map(|w| w.shape.bounding_rect()))
        .chain(holding.boundary.iter().filter_map(|b| b.bounding_rect()))
        .fold(None, join)?;
    let reach = holding
        .leks
        .iter()
        .map(|l| Rect::new((l.at.x() - reach_m, l.at.y() - reach_m), (l.at.x() + reach_m, l.at.y() + reach_m)))
        .fold(None, join)?;
    let (west, east) = (mapped.min().x.max(reach.min().x), mapped.max().x.min(reach.max().x));
    let (south, north) = (mapped.min().y.max(reach.min().y), mapped.max().y.min(reach.max().y));
    (west < east && south < north).then(|| Frame::covering(west, south, east, north, cell_m))
}

/// Cells of used ways and dwellings.
fn ways(holding: &Holding, frame: &Frame) -> Grid<bool> {
    let lines = rasterise::lines(frame, holding.tracks.iter().map(|t| (&t.shape, 0)));
    let houses = rasterise::polygons(frame, holding.buildings.iter().filter(|b| b.dwelling).map(|b| (&b.shape, 0)));
    Grid {
        frame: *frame,
        cells: lines.cells.iter().zip(&houses.cells).map(|(l, h)| *l != rasterise::NONE || *h != rasterise::NONE).collect(),
    }
}

fn band(edges: &[f32], value: f32) -> u8 {
    (edges.partition_point(|e| *e <= value).max(1) - 1) as u8
}
