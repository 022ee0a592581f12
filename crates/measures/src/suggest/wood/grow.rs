//! Ragged outlines grown on the ground: a wood begins in a cell and takes the cheapest neighbour until it is big enough.
//!
//! Cheap is near, low-lying (gills and hollows shelter young trees) and lucky: a smooth seeded noise makes bays and points. The cells
//! are then drawn round with an outline whose corners are cut, which runs as a pen would. A shape outside the range asked for
//! (perimeter over that of the circle of its area, Patton 1975) is grown again with more or less luck.

use super::ground::Ground;
use crate::rules::places;
use geo::{Area, ChaikinSmoothing, Simplify};
use geo_types::{MultiPolygon, Polygon};
use ground::Grid;
use ground::polygon::{area_m2, perimeter_m, shape_index};
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// What is asked of a wood.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Form {
    /// Least and greatest area, hectares.
    pub size_ha: (f64, f64),
    /// Least and greatest shape index (1: a circle).
    pub shape: (f64, f64),
}

/// A wood grown.
#[derive(Clone, Debug, PartialEq)]
pub struct Grown {
    /// Outline.
    pub outline: MultiPolygon<f64>,
    /// Area, hectares.
    pub ha: f64,
    /// Shape index of the outer line.
    pub shape: f64,
}

/// How strongly luck bends the outline of a wood, tried in this order until the shape fits.
pub const RAGGED: [f64; 8] = [8.0, 14.0, 5.0, 24.0, 3.0, 40.0, 1.5, 70.0];
/// How much dearer a cell a whole standard deviation above its surroundings is.
const HIGH: f64 = 0.45;

/// Grow a wood (or another piece of ground) from a cell; `None` where there is no room for one, or none of the form asked for.
pub fn grow(ground: &Ground, lie: &[f32], seed_cell: usize, target_ha: f64, form: &Form, lucks: &[f64], seed: u64) -> Option<Grown> {
    lucks.iter().enumerate().find_map(|(i, luck)| {
        let cells = flood(ground, lie, seed_cell, target_ha, *luck, seed.wrapping_add(i as u64 * 7919))?;
        let outline = drawn(ground, cells)?;
        let ha = outline.unsigned_area() / 1e4;
        let outer = MultiPolygon(outline.0.iter().map(|p| Polygon::new(p.exterior().clone(), vec![])).collect());
        let shape = shape_index(area_m2(&outer), perimeter_m(&outer));
        let fits = ha >= form.size_ha.0 && ha <= form.size_ha.1 && shape >= form.shape.0 && shape <= form.shape.1;
        fits.then_some(Grown { outline, ha, shape })
    })
}

/// The cells of a wood: cheapest first, side by side.
fn flood(ground: &Ground, lie: &[f32], from: usize, target_ha: f64, luck: f64, seed: u64) -> Option<Vec<usize>> {
    let f = &ground.frame;
    let wanted = (target_ha / f.cell_ha()).round().max(1.0) as usize;
    let mut seen = std::collections::HashSet::new();
    let mut heap = BinaryHeap::new();
    let mut cells = Vec::with_capacity(wanted);
    heap.push((Reverse(Cost(0.0)), from));
    seen.insert(from);
    let (c0, r0) = (from % f.cols, from / f.cols);
    // Away from the middle grows dearer, so that arms stay arms and do not become ribbons.
    let radius = (target_ha * 1e4 / std::f64::consts::PI).sqrt();
    while let Some((Reverse(Cost(cost)), cell)) = heap.pop() {
        cells.push(cell);
        if cells.len() == wanted {
            return Some(filled(ground, cells));
        }
        let (col, row) = (cell % f.cols, cell / f.cols);
        let mut near = |ok: bool, next: usize| {
            if ok && ground.free[next] && seen.insert(next) {
                let (c, r) = (next % f.cols, next / f.cols);
                let away = ((c as f64 - c0 as f64) * f.dx_m).hypot((r as f64 - r0 as f64) * f.dy_m) / radius;
                let (x, y) = (c as f64 * f.dx_m, r as f64 * f.dy_m);
                if f64::from(ground.to_barred[next]) < ground.fringe_m * noise(x, y, seed ^ 0x5eed) {
                    return;
                }
                let chance = noise(x, y, seed);
                let step = (1.0 + luck * chance * chance) * (1.0 + HIGH * f64::from(lie[next])).max(0.2) * (0.5 + away * away);
                heap.push((Reverse(Cost(cost + step)), next));
            }
        };
        near(col + 1 < f.cols, cell + 1);
        near(col > 0, cell.wrapping_sub(1));
        near(row + 1 < f.rows, cell + f.cols);
        near(row > 0, cell.wrapping_sub(f.cols));
    }
    None
}

/// A cost that can be put in order.
#[derive(PartialEq)]
struct Cost(f64);

impl Eq for Cost {}

impl PartialOrd for Cost {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Cost {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.0.total_cmp(&other.0)
    }
}

/// Small gaps of free ground inside become wood; barred ground stays out.
fn filled(ground: &Ground, cells: Vec<usize>) -> Vec<usize> {
    let f = &ground.frame;
    let (mut west, mut east, mut north, mut south) = (usize::MAX, 0, usize::MAX, 0);
    for cell in &cells {
        let (c, r) = (cell % f.cols, cell / f.cols);
        (west, east, north, south) = (west.min(c), east.max(c), north.min(r), south.max(r));
    }
    let (w, h) = (east - west + 3, south - north + 3);
    let at = |c: usize, r: usize| (r + 1 - north) * w + c + 1 - west;
    let mut inside = vec![false; w * h];
    for cell in &cells {
        inside[at(cell % f.cols, cell / f.cols)] = true;
    }
    let mut out = vec![false; w * h];
    let mut stack = vec![0usize];
    out[0] = true;
    while let Some(i) = stack.pop() {
        let (c, r) = (i % w, i / w);
        for (ok, j) in [(c + 1 < w, i + 1), (c > 0, i.wrapping_sub(1)), (r + 1 < h, i + w), (r > 0, i.wrapping_sub(w))] {
            if ok && !out[j] && !inside[j] {
                out[j] = true;
                stack.push(j);
            }
        }
    }
    let mut cells = cells;
    for r in north..=south {
        for c in west..=east {
            let i = at(c, r);
            if !out[i] && !inside[i] && ground.free[r * f.cols + c] {
                cells.push(r * f.cols + c);
            }
        }
    }
    cells
}

/// The outline round cells, drawn with a pen: steps smoothed away, corners cut, slivers left out.
fn drawn(ground: &Ground, cells: Vec<usize>) -> Option<MultiPolygon<f64>> {
    let f = &ground.frame;
    let squares = places::of_cells(f, cells);
    let smooth = squares.simplify(f.dx_m * 0.6).chaikin_smoothing(2);
    let least = f.cell_ha() * 1e4;
    let mut pieces: Vec<Polygon<f64>> = smooth.0.into_iter().filter(|p| p.unsigned_area() > least).collect();
    pieces.sort_by(|a, b| b.unsigned_area().total_cmp(&a.unsigned_area()));
    pieces.truncate(1);
    let out = MultiPolygon(pieces);
    (!out.0.is_empty() && ::ground::polygon::valid(&out)).then_some(out)
}

/// How high each cell lies above its surroundings, in standard deviations of the holding; nought without heights.
pub fn lie(heights: Option<&Grid<f32>>, around_m: f64) -> Option<Vec<f32>> {
    let h = heights?;
    let f = &h.frame;
    let reach = (around_m / f.dx_m).round().max(1.0) as usize;
    // Sums over boxes from running sums; missing heights count as nothing and are not counted.
    let mut sums = vec![(0.0f64, 0u32); (f.cols + 1) * (f.rows + 1)];
    for r in 0..f.rows {
        let mut run = (0.0, 0);
        for c in 0..f.cols {
            let v = h.cells[r * f.cols + c];
            if v.is_finite() {
                run = (run.0 + f64::from(v), run.1 + 1);
            }
            let up = sums[r * (f.cols + 1) + c + 1];
            sums[(r + 1) * (f.cols + 1) + c + 1] = (up.0 + run.0, up.1 + run.1);
        }
    }
    let at = |c: usize, r: usize| sums[r * (f.cols + 1) + c];
    let mut out = vec![0.0f32; f.len()];
    for r in 0..f.rows {
        for c in 0..f.cols {
            let (w, e) = (c.saturating_sub(reach), (c + reach + 1).min(f.cols));
            let (n, s) = (r.saturating_sub(reach), (r + reach + 1).min(f.rows));
            let (a, b, d, g) = (at(e, s), at(w, s), at(e, n), at(w, n));
            let count = a.1 + g.1 - b.1 - d.1;
            let v = h.cells[r * f.cols + c];
            if count > 0 && v.is_finite() {
                out[r * f.cols + c] = v - ((a.0 - b.0 - d.0 + g.0) / f64::from(count)) as f32;
            }
        }
    }
    let sd = (out.iter().map(|v| f64::from(*v).powi(2)).sum::<f64>() / out.len().max(1) as f64).sqrt().max(1e-6) as f32;
    out.iter_mut().for_each(|v| *v = (*v / sd).clamp(-2.0, 2.0));
    Some(out)
}

/// Smooth seeded noise over the plane, 0 to 1: two lattices, one of bays and one of points.
fn noise(x_m: f64, y_m: f64, seed: u64) -> f64 {
    let octave = |scale: f64, seed: u64| {
        let (u, v) = (x_m / scale, y_m / scale);
        let (i, j) = (u.floor(), v.floor());
        let (s, t) = (smooth(u - i), smooth(v - j));
        let at = |di: f64, dj: f64| chance((i + di) as i64 as u64, (j + dj) as i64 as u64, seed);
        let top = at(0.0, 0.0) * (1.0 - s) + at(1.0, 0.0) * s;
        let low = at(0.0, 1.0) * (1.0 - s) + at(1.0, 1.0) * s;
        top * (1.0 - t) + low * t
    };
    0.65 * octave(62.0, seed) + 0.35 * octave(27.0, seed ^ 0x9e37_79b9)
}

fn smooth(t: f64) -> f64 {
    t * t * (3.0 - 2.0 * t)
}

/// A repeatable number from 0 to 1.
pub fn chance(a: u64, b: u64, seed: u64) -> f64 {
    let mut h = seed ^ a.wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ b.wrapping_mul(0xc2b2_ae3d_27d4_eb4f);
    h ^= h >> 31;
    h = h.wrapping_mul(0x7fb5_d329_728e_a185);
    h ^= h >> 27;
    h = h.wrapping_mul(0x81da_def4_bc2d_d44d);
    h ^= h >> 33;
    (h >> 11) as f64 / (1u64 << 53) as f64
}
