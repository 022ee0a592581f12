//! How many sticks tell a mean height as finely as is wanted, and where in a stand to put them.

use birds::trend::limits::deviations;
use geo::{Area, BoundingRect, Contains};
use geo_types::{Coord, MultiPolygon, Point};
use ground::overlay::distance_to_line_m;

/// Side of the square an eight-figure grid reference tells, metres. Every stick stands in the middle of one, so that its
/// reference is its place.
pub const STEP_M: f64 = 10.0;
/// Nodes of a grid looked at in one stand; a stand that needs more is a thread on the map, not ground to walk.
const NODES_MOST: f64 = 4000.0;

/// Fewest sticks, from 2, with which the mean is known to `precision` (half-width of its limits as a share of it) at certainty `level`,
/// where heights scatter by `cv` (standard deviation as a share of the mean).
///
/// `n >= (t cv / precision)^2`, t the two-sided quantile of Student's t at n - 1 degrees of freedom, so that the answer is that at which
/// putting n back in no longer changes it. Never more than `most`.
pub fn needed(cv: f64, precision: f64, level: f64, most: usize) -> usize {
    (2..most.max(2)).find(|n| told(cv, *n, level) <= precision).unwrap_or(most.max(2))
}

/// Half-width of the limits of the mean of `n` sticks (2 or more), as a share of it.
pub fn told(cv: f64, n: usize, level: f64) -> f64 {
    deviations(level, Some((n - 1) as f64)) * cv / (n as f64).sqrt()
}

/// Up to `n` places in a shape, in the order of a walk to and fro.
///
/// A square grid with a start that hangs on `seed` alone, as wide as still holds `n` nodes, thinned evenly to `n`; no place lies nearer
/// than `edge_m` to an outline, none where `open` says no. Fewer than `n` where the shape has no room.
pub fn spread(shape: &MultiPolygon<f64>, n: usize, edge_m: f64, seed: &str, open: impl Fn(Point<f64>) -> bool) -> Vec<Point<f64>> {
    let Some(bounds) = shape.bounding_rect().filter(|_| n > 0) else { return vec![] };
    let inside = |p: Point<f64>| shape.contains(&p) && outlines_m(shape, p) >= edge_m && open(p);
    let widest = ((shape.unsigned_area() / n as f64).sqrt() * 1.5 / STEP_M).ceil().clamp(1.0, 1e6) as i64;
    let hash = fnv(seed);
    let mut best: Vec<Point<f64>> = vec![];
    for wide in (1..=widest).rev() {
        let side_m = wide as f64 * STEP_M;
        if (bounds.width() / side_m + 1.0) * (bounds.height() / side_m + 1.0) > NODES_MOST {
            break;
        }
        let starts = [hash as i64 & 0xffff, (hash >> 16) as i64 & 0xffff].map(|h| h.rem_euclid(wide));
        let found: Vec<Point<f64>> = nodes(bounds.min(), bounds.max(), wide, starts).into_iter().filter(|p| inside(*p)).collect();
        if found.len() > best.len() {
            best = found;
        }
        if best.len() >= n {
            break;
        }
    }
    let many = best.len();
    if many <= n { best } else { (0..n).map(|i| best[(2 * i + 1) * many / (2 * n)]).collect() }
}

/// The nodes of a grid within a box, southernmost row first, every other row backwards: middles of squares of [`STEP_M`].
fn nodes(low: Coord<f64>, high: Coord<f64>, wide: i64, start: [i64; 2]) -> Vec<Point<f64>> {
    let line = |low: f64, high: f64, start: i64| -> Vec<f64> {
        let first = ((low / STEP_M).floor() as i64 - start).div_euclid(wide);
        let cells = (first..).map(|i| i * wide + start).take_while(|c| (*c as f64) * STEP_M <= high);
        cells.map(|c| (c as f64 + 0.5) * STEP_M).collect()
    };
    let (across, up) = (line(low.x, high.x, start[0]), line(low.y, high.y, start[1]));
    let mut out = Vec::with_capacity(across.len() * up.len());
    for (row, y) in up.iter().enumerate() {
        let along = (0..across.len()).map(|i| if row % 2 == 0 { across[i] } else { across[across.len() - 1 - i] });
        out.extend(along.map(|x| Point::new(x, *y)));
    }
    out
}

/// Distance from a place to the nearest outline of a shape, metres.
pub fn outlines_m(shape: &MultiPolygon<f64>, p: Point<f64>) -> f64 {
    let rings = shape.0.iter().flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()));
    rings.map(|ring| distance_to_line_m(p.0, ring)).fold(f64::INFINITY, f64::min)
}

/// FNV-1a, 64 bits: a stable hash of a name, its low bits stirred by the high ones.
fn fnv(text: &str) -> u64 {
    let hash = text.bytes().fold(0xcbf2_9ce4_8422_2325, |h: u64, b| (h ^ u64::from(b)).wrapping_mul(0x0100_0000_01b3));
    hash ^ (hash >> 32)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn as_many_sticks_as_students_t_asks_for() {
        // Quantiles of scipy 1.17.1 (scipy.stats.t.ppf), n counted up by the condition.
        for (cv, precision, level, n) in [(0.4, 0.15, 0.9, 22), (0.4, 0.1, 0.95, 64), (0.25, 0.2, 0.9, 7), (0.8, 0.15, 0.9, 79), (0.1, 0.15, 0.9, 4), (0.47, 0.25, 0.95, 17), (0.6, 0.2, 0.8, 17), (0.05, 0.15, 0.9, 3)] {
            assert_eq!(needed(cv, precision, level, 1000), n, "{cv} {precision} {level}");
        }
        // Zar, Biostatistical Analysis, the example of a sample for a wanted half-width (from memory): variance 0.4008, half-width 0.25, 95 %;
        // 40, 27 and 28 tried give 26.2, 27.1 and 27.0, and more than 27 are needed.
        assert_eq!(needed(0.4008f64.sqrt(), 0.25, 0.95, 1000), 28);
        assert_eq!([needed(5.0, 0.15, 0.9, 40), needed(0.0, 0.15, 0.9, 40), needed(f64::NAN, 0.15, 0.9, 40)], [40, 2, 40]);
    }

    #[test]
    fn a_grid_fills_a_shape_evenly_and_keeps_off_its_edges() {
        use geo_types::polygon;
        let bend = MultiPolygon(vec![polygon![(x: 3.0, y: 4.0), (x: 903.0, y: 4.0), (x: 903.0, y: 304.0), (x: 303.0, y: 304.0), (x: 303.0, y: 804.0), (x: 3.0, y: 804.0)]]);
        let places = spread(&bend, 22, 10.0, "p1", |_| true);
        assert_eq!(places.len(), 22);
        assert!(places.iter().all(|p| bend.contains(p) && outlines_m(&bend, *p) >= 10.0 && p.x().rem_euclid(10.0) == 5.0));
        let (low, high) = (places.iter().filter(|p| p.y() < 304.0).count(), places.iter().filter(|p| p.y() >= 304.0).count());
        assert!((12..=16).contains(&low) && (6..=10).contains(&high), "27 of 42 ha lie in the south: {low} and {high}");
        assert_eq!(places, spread(&bend, 22, 10.0, "p1", |_| true));
        assert_ne!(places, spread(&bend, 22, 10.0, "p2", |_| true));
        assert!(spread(&bend, 22, 10.0, "p1", |p| p.y() > 304.0).iter().all(|p| p.y() > 304.0));
        let thread = MultiPolygon(vec![polygon![(x: 0.0, y: 0.0), (x: 90_000.0, y: 0.0), (x: 90_000.0, y: 15.0), (x: 0.0, y: 15.0)]]);
        assert!(spread(&thread, 22, 10.0, "p1", |_| true).is_empty(), "too narrow for its edges");
    }
}
