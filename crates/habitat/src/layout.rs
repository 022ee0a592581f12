//! Facets: the smallest pieces of ground that share a stand and a neighbourhood.
//!
//! Grids are laid once over the ground within reach of the leks: the stand of every cell, and how far it lies from
//! wood edge (inside), flush, tall cover, tree food and used ways, its altitude and its slope. Each is cut into bands;
//! cells that share stand and bands are one facet. Values are computed per facet, never per cell: every band is
//! represented by the mean of its cells. The exact per-cell path in [`crate::exact`] exists to test that.

use crate::state::{Feature, State};
use geo::BoundingRect;
use geo_types::Rect;
use ground::{Frame, Grid, distance, rasterise, resample, slope};
use holding::Holding;
use rayon::prelude::*;
use std::collections::HashMap;

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

/// Mark of a cell no stand covers.
pub const NO_STAND: u32 = rasterise::NONE;

/// A facet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Facet {
    /// Index of the stand.
    pub stand: u32,
    /// Band in each dimension.
    pub band: [u8; DIMS],
}

/// The ground laid out for the ledger.
pub struct Layout {
    /// Where the cells lie.
    pub frame: Frame,
    /// Stand of each cell; [`NO_STAND`] where none.
    pub stand_of: Grid<u32>,
    /// Facet of each cell; `u32::MAX` where no stand.
    pub facet_of: Vec<u32>,
    /// The facets.
    pub facets: Vec<Facet>,
    /// Whether a stand is a wood, by stand.
    pub is_wood: Vec<bool>,
    /// Mean of each band's cells, by dimension and band.
    pub band_mean: Vec<Vec<f32>>,
    /// Heights on the layout's cells, where the plan has them.
    pub heights: Option<Grid<f32>>,
    /// Slope, degrees.
    pub slope: Option<Grid<f32>>,
    /// Distance outside woods to the nearest wood, metres; zero inside.
    pub to_wood: Grid<f32>,
    /// The seven neighbourhood grids, kept for the exact path when asked for.
    pub near: Option<Vec<Vec<f32>>>,
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

impl Layout {
    /// Lay out the ground within `reach_m` of the leks. `keep` keeps the neighbourhood grids for the exact path.
    pub fn lay(holding: &Holding, state: &State, cell_m: f64, reach_m: f64, limits: &Limits, keep: bool) -> Option<Layout> {
        let frame = domain(holding, cell_m, reach_m)?;
        let shape_of = |f: Feature| match f {
            Feature::Patch(i) => &holding.patches[i].shape,
            Feature::Wood(i) => &holding.woods[i].shape,
        };
        // Coarse land cover first, then what was walked, then woods: the later rules.
        let coarse = |i: usize| matches!(state.stands[i].feature, Feature::Patch(p) if holding.patches[p].coarse);
        let mut order: Vec<usize> = (0..state.stands.len()).collect();
        order.sort_by_key(|i| (!coarse(*i), matches!(state.stands[*i].feature, Feature::Wood(_)), *i));
        let stand_of = rasterise::polygons(
            &frame,
            order.iter().filter(|i| state.stands[**i].covers_from != crate::state::Origin::Missing).map(|i| (shape_of(state.stands[*i].feature), *i as u32)),
        );
        let is = |test: &(dyn Fn(&crate::state::Stand) -> bool + Sync)| {
            let yes: Vec<bool> = state.stands.iter().map(test).collect();
            Grid { frame, cells: stand_of.cells.iter().map(|s| *s != NO_STAND && yes[*s as usize]).collect() }
        };
        let woods = is(&|s| matches!(s.feature, Feature::Wood(_)));
        let open = Grid { frame, cells: woods.cells.iter().map(|w| !w).collect() };
        let flush = is(&|s| s.flush);
        let tall = is(&|s| {
            let plants = s.covers[holding::Plant::Heather as usize] + s.covers[holding::Plant::Rush as usize];
            (s.height_cm >= limits.tall_cm && plants >= limits.tall_share) || s.canopy >= limits.tall_share
        });
        let food = is(&|s| {
            s.trees.iter().map(|t| t.canopy * limits.tree_food[t.tree as usize]).sum::<f32>() >= limits.food_share
        });
        let ways = ways(holding, &frame);
        let look = Some(limits.look_m);
        let ((depth, flush), ((cover, (trees, ways)), to_wood)) = rayon::join(
            || rayon::join(|| near(&open, look), || near(&flush, look)),
            || rayon::join(|| rayon::join(|| near(&tall, look), || rayon::join(|| near(&food, look), || near(&ways, look))), || near(&woods, look)),
        );
        let heights = holding.heights.as_ref().map(|h| resample::resample(h, frame));
        let slope = heights.as_ref().map(|h| slope::slope_deg(h, slope::Gradient::Horn, slope::Rim::Missing));
        // Without a height (or on the rim) altitude and slope cost nothing: they take the middle of the usable ground.
        let usual = |grid: &Option<Grid<f32>>, value: f32| match grid {
            Some(g) => g.cells.iter().map(|v| if v.is_finite() { *v } else { value }).collect::<Vec<f32>>(),
            None => vec![value; frame.len()],
        };
        let near = vec![depth.cells, flush.cells, cover.cells, trees.cells, ways.cells, usual(&heights, limits.usual_altitude_m), usual(&slope, 0.0)];
        let (facet_of, facets, band_mean) = facets(&stand_of, &near);
        let is_wood = state.stands.iter().map(|s| matches!(s.feature, Feature::Wood(_))).collect();
        Some(Layout { frame, stand_of, facet_of, facets, is_wood, band_mean, heights, slope, to_wood, near: keep.then_some(near) })
    }
}

/// Distance to the marked cells, metres; `limit_m` where none lies within it.
fn near(marked: &Grid<bool>, limit_m: Option<f64>) -> Grid<f32> {
    let limit = limit_m.unwrap_or(f64::MAX) as f32;
    let mut d = distance::distance(marked, limit_m);
    d.cells.par_iter_mut().for_each(|v| *v = if v.is_finite() { v.min(limit) } else { limit });
    d
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

type Faceted = (Vec<u32>, Vec<Facet>, Vec<Vec<f32>>);

/// Cut every cell into bands and number the distinct combinations, in order of first appearance.
fn facets(stand_of: &Grid<u32>, near: &[Vec<f32>]) -> Faceted {
    let cols = stand_of.frame.cols;
    // Four bits a band (fewer than sixteen bands each) and the stand above them make one key a cell.
    let keys: Vec<u64> = (0..stand_of.cells.len())
        .into_par_iter()
        .with_min_len(cols)
        .map(|i| {
            let stand = stand_of.cells[i];
            if stand == NO_STAND {
                return u64::MAX;
            }
            let mut key = (stand as u64) << (4 * DIMS);
            for (d, edges) in EDGES.iter().enumerate() {
                key |= (band(edges, near[d][i]) as u64) << (4 * d);
            }
            key
        })
        .collect();
    let mut number: HashMap<u64, u32> = HashMap::new();
    let mut facets = Vec::new();
    let mut sums = vec![[(0.0f64, 0u64); 16]; DIMS];
    let mut last = (u64::MAX, u32::MAX);
    let facet_of: Vec<u32> = keys
        .iter()
        .enumerate()
        .map(|(i, key)| {
            if *key == u64::MAX {
                return u32::MAX;
            }
            for (d, sum) in sums.iter_mut().enumerate() {
                let s = &mut sum[((key >> (4 * d)) & 15) as usize];
                s.0 += near[d][i] as f64;
                s.1 += 1;
            }
            if *key != last.0 {
                let id = *number.entry(*key).or_insert_with(|| {
                    let mut band = [0u8; DIMS];
                    for (d, b) in band.iter_mut().enumerate() {
                        *b = ((key >> (4 * d)) & 15) as u8;
                    }
                    facets.push(Facet { stand: (key >> (4 * DIMS)) as u32, band });
                    facets.len() as u32 - 1
                });
                last = (*key, id);
            }
            last.1
        })
        .collect();
    let means = sums
        .iter()
        .enumerate()
        .map(|(d, bands)| {
            (0..EDGES[d].len()).map(|b| if bands[b].1 > 0 { (bands[b].0 / bands[b].1 as f64) as f32 } else { 0.0 }).collect()
        })
        .collect();
    (facet_of, facets, means)
}
