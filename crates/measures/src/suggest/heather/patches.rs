//! Small patches laid over the heather that may be worked, and the blocks over which heights are judged.

use crate::rules::Context;
use crate::suggest::wood::grow::{self, Form, Grown};
use crate::suggest::wood::ground::Ground;
use geo::{BoundingRect, Distance, Euclidean};
use geo_types::{Coord, Rect};
use guidance::Unknown;
use habitat::layout::NO_STAND;
use std::collections::BTreeMap;

/// How strongly luck bends the outline of a patch: less than a wood's, as a machine or a fire front runs along it.
const EVEN: [f64; 5] = [0.6, 1.2, 0.3, 2.5, 0.1];
/// The most drawn-out patch, by shape index (1 a circle).
const SHAPE_MAX: f64 = 1.9;
/// Patches stand this many of their own widths apart, from middle to middle.
const APART: f64 = 1.35;

/// Patches on a jittered net over the ground left free; none takes ground of another. `None` of them where nothing is free.
pub fn patches(ground: &Ground, size_ha: (f64, f64), most: usize, seed: u64) -> Vec<Grown> {
    let f = ground.frame;
    let mut left = Ground { frame: f, free: ground.free.clone(), to_barred: ground.to_barred.clone(), fringe_m: ground.fringe_m, barred: Vec::new() };
    let free_m2 = ground.free.iter().filter(|f| **f).count() as f64 * f.cell_ha() * 1e4;
    let width_m = (0.5 * (size_ha.0 + size_ha.1) * 1e4).sqrt();
    let step_m = (width_m * APART).max((free_m2 / most.max(1) as f64).sqrt());
    let step = (step_m / f.dx_m).round().max(1.0) as usize;
    let mut net: BTreeMap<(usize, usize), Vec<usize>> = BTreeMap::new();
    for cell in (0..f.len()).filter(|i| ground.free[*i]) {
        net.entry((cell / f.cols / step, cell % f.cols / step)).or_default().push(cell);
    }
    let flat = vec![0.0; f.len()];
    let form = Form { size_ha, shape: (1.0, SHAPE_MAX) };
    let mut out = Vec::new();
    for ((row, col), cells) in net {
        let luck = |k: u64| grow::chance(col as u64, row as u64, seed ^ k);
        let from = cells[(luck(1) * cells.len() as f64) as usize % cells.len()];
        if !left.free[from] {
            continue;
        }
        let target_ha = size_ha.0 * 1.1 + (size_ha.1 * 0.95 - size_ha.0 * 1.1).max(0.0) * luck(2);
        let Some(patch) = grow::grow(&left, &flat, from, target_ha, &form, &EVEN, seed ^ (from as u64) << 8) else { continue };
        // Taken with a cell round it, so that outlines do not cross.
        let Some(taken) = patch.outline.bounding_rect() else { continue };
        let grown = Rect::new(taken.min() - Coord { x: 2.0 * f.dx_m, y: 2.0 * f.dy_m }, taken.max() + Coord { x: 2.0 * f.dx_m, y: 2.0 * f.dy_m });
        for i in cells_in(&f, grown) {
            let (x, y) = f.centre(i % f.cols, i / f.cols);
            if left.free[i] && Euclidean.distance(&geo_types::Point::new(x, y), &patch.outline) <= f.dx_m {
                left.free[i] = false;
            }
        }
        out.push(patch);
    }
    out
}

fn cells_in(f: &ground::Frame, of: Rect<f64>) -> Vec<usize> {
    let clamped = |x: f64, y: f64| {
        let col = ((x - f.west_m) / f.dx_m).floor().clamp(0.0, f.cols as f64 - 1.0) as usize;
        let row = ((f.north_m - y) / f.dy_m).floor().clamp(0.0, f.rows as f64 - 1.0) as usize;
        (col, row)
    };
    let ((west, north), (east, south)) = (clamped(of.min().x, of.max().y), clamped(of.max().x, of.min().y));
    (north..=south).flat_map(|r| (west..=east).map(move |c| f.at(c, r))).collect()
}

/// Pairs of patches nearer to each other than a distance.
pub fn neighbours(patches: &[Grown], within_m: f64) -> Vec<(usize, usize)> {
    let boxes: Vec<Option<Rect<f64>>> = patches.iter().map(|p| p.outline.bounding_rect()).collect();
    let far = |a: &Rect<f64>, b: &Rect<f64>| {
        let gap = |lo: f64, hi: f64, lo2: f64, hi2: f64| (lo2 - hi).max(lo - hi2).max(0.0);
        gap(a.min().x, a.max().x, b.min().x, b.max().x).hypot(gap(a.min().y, a.max().y, b.min().y, b.max().y))
    };
    let mut out = Vec::new();
    for i in 0..patches.len() {
        for j in i + 1..patches.len() {
            let (Some(a), Some(b)) = (&boxes[i], &boxes[j]) else { continue };
            if far(a, b) < within_m && Euclidean.distance(&patches[i].outline, &patches[j].outline) < within_m {
                out.push((i, j));
            }
        }
    }
    out
}

/// A square of ground over which heights are judged, with the heather cells in it.
#[derive(Clone, Debug)]
pub struct Square {
    /// Heather cells.
    pub cells: Vec<u32>,
}

/// The squares of heather, those of the rule on heather of one age: [`crate::rules`] `heather_one_age`.
///
/// # Errors
/// A figure the tables lack.
pub fn squares(c: &Context, heather: &[bool]) -> Result<Vec<Square>, Unknown> {
    let side_m = (c.number("structure.heather.block")? * 1e4).sqrt();
    let layout = &c.assessed.layout;
    let f = &layout.frame;
    // By column and row of the net, from the plane's origin.
    let mut out: BTreeMap<(i64, i64), Vec<u32>> = BTreeMap::new();
    for (i, stand) in layout.stand_of.cells.iter().enumerate() {
        if *stand != NO_STAND && heather[*stand as usize] {
            let (x, y) = f.centre(i % f.cols, i / f.cols);
            out.entry(((x / side_m).floor() as i64, (y / side_m).floor() as i64)).or_default().push(i as u32);
        }
    }
    Ok(out.into_values().map(|cells| Square { cells }).collect())
}
