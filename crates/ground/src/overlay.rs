//! Laying shapes over one another: intersection, union, difference, and two coverages by pairs.
//!
//! The set operations are those of the `geo` library, which moves corners to a fine grid of its own (half a
//! millimetre on a map of 300 km, a micrometre on a farm). Every corner of a result is afterwards put back: onto
//! the corner of the input it came from, or onto the crossing of the two input edges that made it, worked out in
//! double precision. Slivers thinner than the fine grid are dropped. So areas keep to about 1e-6 m2 on a farm, and
//! corners that two inputs share stay equal to the last bit.
//!
//! Inputs should be valid (see [`repair`](crate::polygon::repair)); ground enclosed an odd number of times counts.

use geo::{Area, BooleanOps, BoundingRect, OpType};
use geo_types::{Coord, Line, LineString, MultiPolygon, Polygon, Rect};
use rayon::prelude::*;
use rstar::primitives::GeomWithData;
use rstar::{AABB, RTree};

use crate::polygon::{area_m2, rings};

/// Ground in both shapes.
pub fn intersection(a: &MultiPolygon<f64>, b: &MultiPolygon<f64>) -> MultiPolygon<f64> {
    operate(a, b, OpType::Intersection)
}

/// Ground in either shape.
pub fn union(a: &MultiPolygon<f64>, b: &MultiPolygon<f64>) -> MultiPolygon<f64> {
    operate(a, b, OpType::Union)
}

/// Ground in the first shape and not in the second.
pub fn difference(a: &MultiPolygon<f64>, b: &MultiPolygon<f64>) -> MultiPolygon<f64> {
    operate(a, b, OpType::Difference)
}

/// Ground in one of the shapes and not in both.
pub fn symmetric_difference(a: &MultiPolygon<f64>, b: &MultiPolygon<f64>) -> MultiPolygon<f64> {
    operate(a, b, OpType::Xor)
}

fn operate(a: &MultiPolygon<f64>, b: &MultiPolygon<f64>, what: OpType) -> MultiPolygon<f64> {
    put_back(a.boolean_op(b, what), &[a, b])
}

/// Ground in any of the shapes, as one shape.
pub fn dissolve(shapes: &[MultiPolygon<f64>]) -> MultiPolygon<f64> {
    // The library reads the turning sense of the first ring and takes all others to follow it.
    let turned: Vec<MultiPolygon<f64>> = shapes.iter().map(|s| geo::Orient::orient(s, geo::orient::Direction::Default)).collect();
    put_back(geo::unary_union(turned.iter()), &shapes.iter().collect::<Vec<_>>())
}

/// A piece of ground that lies in one shape of each of two coverages.
#[derive(Clone, Debug, PartialEq)]
pub struct Pair {
    /// Place of the shape in the first list.
    pub left: usize,
    /// Place of the shape in the second list.
    pub right: usize,
    /// The common ground.
    pub shape: MultiPolygon<f64>,
    /// Its area, square metres; greater than zero.
    pub area_m2: f64,
}

/// Lays one coverage over another: the common ground of every pair of shapes that overlap, ordered by place in
/// the first and then in the second list. Parallel; neighbours are picked by their boxes.
pub fn pairs(left: &[MultiPolygon<f64>], right: &[MultiPolygon<f64>]) -> Vec<Pair> {
    let boxes = Boxes::of(right);
    left.par_iter()
        .enumerate()
        .flat_map_iter(|(i, own)| {
            boxes.near(own).into_iter().filter_map(move |j| {
                let shape = intersection(own, &right[j]);
                let area_m2 = area_m2(&shape);
                (area_m2 > 0.0).then_some(Pair { left: i, right: j, shape, area_m2 })
            })
        })
        .collect()
}

/// Takes from each shape the ground of all the others near it: each with the union of the cutters whose boxes it
/// meets, never with all of them at once (which is slow beyond measure). Keeps the order of the shapes; a shape
/// wholly covered comes back empty.
pub fn cut_out(shapes: &[MultiPolygon<f64>], cutters: &[MultiPolygon<f64>]) -> Vec<MultiPolygon<f64>> {
    let boxes = Boxes::of(cutters);
    shapes
        .par_iter()
        .map(|shape| {
            let near: Vec<MultiPolygon<f64>> = boxes.near(shape).into_iter().map(|j| cutters[j].clone()).collect();
            if near.is_empty() { shape.clone() } else { difference(shape, &dissolve(&near)) }
        })
        .collect()
}

/// Bounding boxes of a list of shapes, for finding neighbours.
pub struct Boxes {
    tree: RTree<GeomWithData<rstar::primitives::Rectangle<[f64; 2]>, usize>>,
}

impl Boxes {
    /// The boxes of the shapes; empty shapes are left out.
    pub fn of(shapes: &[MultiPolygon<f64>]) -> Self {
        let entry = |(i, shape): (usize, &MultiPolygon<f64>)| {
            let r = shape.bounding_rect()?;
            Some(GeomWithData::new(rstar::primitives::Rectangle::from_corners(r.min().into(), r.max().into()), i))
        };
        Self { tree: RTree::bulk_load(shapes.iter().enumerate().filter_map(entry).collect()) }
    }

    /// Places of the shapes whose boxes meet the box of another shape, in order.
    pub fn near(&self, shape: &MultiPolygon<f64>) -> Vec<usize> {
        let Some(r) = shape.bounding_rect() else { return Vec::new() };
        let envelope = AABB::from_corners(r.min().into(), r.max().into());
        let mut found: Vec<usize> = self.tree.locate_in_envelope_intersecting(envelope).map(|entry| entry.data).collect();
        found.sort_unstable();
        found
    }
}

/// Puts the corners of a result back onto the corners and crossings of the inputs, and drops slivers.
pub(crate) fn put_back(result: MultiPolygon<f64>, inputs: &[&MultiPolygon<f64>]) -> MultiPolygon<f64> {
    let boxes = inputs.iter().filter_map(|shape| shape.bounding_rect());
    let Some(whole) = boxes.reduce(|a, b| {
        Rect::new(
            Coord { x: a.min().x.min(b.min().x), y: a.min().y.min(b.min().y) },
            Coord { x: a.max().x.max(b.max().x), y: a.max().y.max(b.max().y) },
        )
    }) else {
        return result;
    };
    // The library's fine grid: the larger half side of the box holds 2^29 to 2^30 steps.
    let half = 0.5 * whole.width().max(whole.height());
    let step = (half.log2().trunc() - 29.0).exp2();
    let lines = inputs.iter().flat_map(|shape| rings(shape)).flat_map(|ring| ring.lines());
    let Some(reach) = result.bounding_rect() else { return result };
    let edges = Edges::new(lines, &reach, 4.0 * step);
    let ring = |ring: &LineString<f64>| {
        let mut corners: Vec<Coord<f64>> = ring.0.iter().map(|c| edges.origin_of(*c)).collect();
        corners.dedup();
        (corners.len() >= 4).then_some(LineString(corners))
    };
    let polygon = |polygon: &Polygon<f64>| {
        let outer = Polygon::new(ring(polygon.exterior())?, vec![]);
        let border: f64 = outer.exterior().lines().map(|l| l.dx().hypot(l.dy())).sum();
        let holes = polygon.interiors().iter().filter_map(ring).collect();
        (outer.unsigned_area() > 2.0 * step * border).then(|| Polygon::new(outer.exterior().clone(), holes))
    };
    MultiPolygon(result.0.iter().filter_map(polygon).collect())
}

/// Input edges near a result, looked through in a row when few and by a tree when many.
struct Edges {
    lines: Vec<Line<f64>>,
    tree: Option<RTree<GeomWithData<rstar::primitives::Rectangle<[f64; 2]>, usize>>>,
    tolerance: f64,
}

const FEW_EDGES: usize = 400;

impl Edges {
    fn new(lines: impl Iterator<Item = Line<f64>>, reach: &Rect<f64>, tolerance: f64) -> Self {
        let (low, high) = (reach.min(), reach.max());
        let near = |l: &Line<f64>| {
            l.start.x.min(l.end.x) <= high.x + tolerance
                && l.start.x.max(l.end.x) >= low.x - tolerance
                && l.start.y.min(l.end.y) <= high.y + tolerance
                && l.start.y.max(l.end.y) >= low.y - tolerance
        };
        let lines: Vec<Line<f64>> = lines.filter(near).collect();
        let entry = |(i, l): (usize, &Line<f64>)| {
            GeomWithData::new(rstar::primitives::Rectangle::from_corners(l.start.into(), l.end.into()), i)
        };
        let tree = (lines.len() > FEW_EDGES).then(|| RTree::bulk_load(lines.iter().enumerate().map(entry).collect()));
        Self { lines, tree, tolerance }
    }

    /// Calls for each edge whose box comes within the tolerance of a place.
    fn near(&self, at: Coord<f64>, mut take: impl FnMut(&Line<f64>)) {
        let t = self.tolerance;
        if let Some(tree) = &self.tree {
            let envelope = AABB::from_corners([at.x - t, at.y - t], [at.x + t, at.y + t]);
            tree.locate_in_envelope_intersecting(envelope).for_each(|entry| take(&self.lines[entry.data]));
            return;
        }
        for l in &self.lines {
            let across = l.start.x.min(l.end.x) - t <= at.x && at.x <= l.start.x.max(l.end.x) + t;
            if across && l.start.y.min(l.end.y) - t <= at.y && at.y <= l.start.y.max(l.end.y) + t {
                take(l);
            }
        }
    }

    /// The input corner or the crossing of input edges that a corner of the result stands for.
    fn origin_of(&self, at: Coord<f64>) -> Coord<f64> {
        let mut corner: Option<(f64, Coord<f64>)> = None;
        let mut close: Vec<Line<f64>> = Vec::new();
        self.near(at, |line| {
            for end in [line.start, line.end] {
                let apart = (end.x - at.x).hypot(end.y - at.y);
                if apart <= self.tolerance && corner.is_none_or(|(best, _)| apart < best) {
                    corner = Some((apart, end));
                }
            }
            if beside(line, at) <= self.tolerance {
                close.push(*line);
            }
        });
        if let Some((_, end)) = corner {
            return end;
        }
        // The pair of edges that cross at the widest angle gives the surest crossing.
        let mut best: Option<(f64, Coord<f64>)> = None;
        for (i, a) in close.iter().enumerate() {
            for b in &close[i + 1..] {
                let sine = (a.dx() * b.dy() - a.dy() * b.dx()).abs() / (a.dx().hypot(a.dy()) * b.dx().hypot(b.dy()));
                if sine > 1e-9 && best.is_none_or(|(widest, _)| sine > widest) {
                    best = Some((sine, crossing(a, b, at)));
                }
            }
        }
        // Slanting edges may move their crossing farther than the tolerance, by the inverse of the sine.
        match best {
            Some((sine, found)) if (found.x - at.x).hypot(found.y - at.y) <= 4.0 * self.tolerance / sine => found,
            _ => at,
        }
    }
}

fn beside(line: &Line<f64>, at: Coord<f64>) -> f64 {
    let length = line.dx().hypot(line.dy());
    ((at.x - line.start.x) * line.dy() - (at.y - line.start.y) * line.dx()).abs() / length
}

/// Where the lines through two edges cross, worked out relative to a place nearby.
fn crossing(a: &Line<f64>, b: &Line<f64>, near: Coord<f64>) -> Coord<f64> {
    let offset = |line: &Line<f64>| (near.x - line.start.x) * line.dy() - (near.y - line.start.y) * line.dx();
    let (oa, ob) = (offset(a), offset(b));
    let cross = a.dx() * b.dy() - a.dy() * b.dx();
    Coord { x: near.x + (oa * b.dx() - ob * a.dx()) / cross, y: near.y + (oa * b.dy() - ob * a.dy()) / cross }
}

/// Least distance between two shapes, metres; zero where they touch or overlap.
pub fn distance_m(a: &MultiPolygon<f64>, b: &MultiPolygon<f64>) -> f64 {
    geo::Distance::distance(&geo::Euclidean, a, b)
}

/// Distance from a place to a shape, metres; zero inside it.
pub fn distance_to_area_m(place: Coord<f64>, shape: &MultiPolygon<f64>) -> f64 {
    geo::Distance::distance(&geo::Euclidean, &geo_types::Point::from(place), shape)
}

/// Distance from a place to the nearest point of a line, metres.
pub fn distance_to_line_m(place: Coord<f64>, line: &LineString<f64>) -> f64 {
    geo::Distance::distance(&geo::Euclidean, &geo_types::Point::from(place), line)
}
