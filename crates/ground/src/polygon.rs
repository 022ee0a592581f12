//! Measures of drawn shapes: area, border, centre, shape, shared and open border, faults and their repair.
//!
//! Areas and centres are taken relative to a corner of each ring, so that coordinates of a national grid cost no
//! precision. A ring inside another is a hole and is taken off the area but its border counts.

use std::collections::BTreeMap;

use geo::{Area, Centroid, Distance, Euclidean, Length, MakeValid, Validation};
use geo_types::{Coord, Line, LineString, MultiPolygon, Point, Polygon};
use rstar::primitives::GeomWithData;
use rstar::{AABB, RTree};

/// Area, square metres, holes taken off.
pub fn area_m2(shape: &MultiPolygon<f64>) -> f64 {
    shape.unsigned_area()
}

/// Length of the border, holes included, metres.
pub fn perimeter_m(shape: &MultiPolygon<f64>) -> f64 {
    rings(shape).map(|ring| Euclidean.length(ring)).sum()
}

/// Whether the shape is valid as OGC Simple Features have it: rings that do not cross, holes inside.
pub fn valid(shape: &MultiPolygon<f64>) -> bool {
    shape.is_valid()
}

/// The least distance between two shapes, metres; nought where they meet.
pub fn apart_m(a: &MultiPolygon<f64>, b: &MultiPolygon<f64>) -> f64 {
    Euclidean.distance(a, b)
}

/// Centre of gravity of the area; `None` for a shape without points.
pub fn centroid(shape: &MultiPolygon<f64>) -> Option<Point<f64>> {
    let origin = rings(shape).next()?.0.first().copied()?;
    let near = geo::MapCoords::map_coords(shape, |c| c - origin);
    near.centroid().map(|p| p + Point::from(origin))
}

pub(crate) fn rings(shape: &MultiPolygon<f64>) -> impl Iterator<Item = &LineString<f64>> {
    shape.0.iter().flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()))
}

/// Border of a shape over the border of the circle of equal area: `P / (2 sqrt(pi A))`; 1 for a circle, more
/// the more ragged (Patton 1975; formula from memory). `NaN` without area.
pub fn shape_index(area_m2: f64, perimeter_m: f64) -> f64 {
    perimeter_m / (2.0 * (std::f64::consts::PI * area_m2).sqrt())
}

/// Border of a shape over the border of the square of equal area: `P / (4 sqrt(A))`. `NaN` without area.
pub fn shape_index_square(area_m2: f64, perimeter_m: f64) -> f64 {
    perimeter_m / (4.0 * area_m2.sqrt())
}

/// Which border of which shape is shared with which other.
#[derive(Clone, Debug, PartialEq)]
pub struct Borders {
    /// Metres of border two shapes share, by their places in the list, the smaller first.
    pub shared_m: BTreeMap<(usize, usize), f64>,
    /// Metres of border of each shape that no other shape shares.
    pub open_m: Vec<f64>,
}

/// Splits the borders of a set of shapes into shared and open lengths.
///
/// Two borders are shared where they run within `tolerance_m` of each other, whatever their vertices: the edges
/// of both are compared piece by piece. Border shared with several shapes counts with each of them. The
/// tolerance should be well below the length of the edges.
pub fn borders(shapes: &[MultiPolygon<f64>], tolerance_m: f64) -> Borders {
    type Edge = GeomWithData<rstar::primitives::Line<[f64; 2]>, usize>;
    let edges: Vec<(usize, Line<f64>)> =
        shapes.iter().enumerate().flat_map(|(i, shape)| rings(shape).flat_map(|r| r.lines()).map(move |l| (i, l))).collect();
    let entry = |(i, l): &(usize, Line<f64>)| {
        Edge::new(rstar::primitives::Line::new([l.start.x, l.start.y], [l.end.x, l.end.y]), *i)
    };
    let tree = RTree::bulk_load(edges.iter().map(entry).collect());
    let mut shared_m = BTreeMap::new();
    let mut open_m = vec![0.0; shapes.len()];
    for (own, edge) in &edges {
        let length_m = Euclidean.length(edge);
        if length_m == 0.0 {
            continue;
        }
        let low = [edge.start.x.min(edge.end.x) - tolerance_m, edge.start.y.min(edge.end.y) - tolerance_m];
        let high = [edge.start.x.max(edge.end.x) + tolerance_m, edge.start.y.max(edge.end.y) + tolerance_m];
        let mut covered: BTreeMap<usize, Vec<(f64, f64)>> = BTreeMap::new();
        for other in tree.locate_in_envelope_intersecting(AABB::from_corners(low, high)) {
            if other.data != *own {
                covered.entry(other.data).or_default().extend(alongside(edge, other.geom(), tolerance_m));
            }
        }
        for (other, pieces) in &covered {
            // Each pair is met from both sides; half a length from each evens out their roundings.
            let pair = (*own.min(other), *own.max(other));
            *shared_m.entry(pair).or_insert(0.0) += 0.5 * united_m(pieces.clone());
        }
        open_m[*own] += length_m - united_m(covered.into_values().flatten().collect());
    }
    shared_m.retain(|_, m| *m > tolerance_m);
    Borders { shared_m, open_m }
}

/// The stretch of an edge, in metres from its start, that another edge runs along.
fn alongside(edge: &Line<f64>, other: &rstar::primitives::Line<[f64; 2]>, tolerance_m: f64) -> Option<(f64, f64)> {
    let length_m = Euclidean.length(edge);
    let way = (edge.end - edge.start) / length_m;
    // Position along the edge and distance beside it.
    let seen = |p: [f64; 2]| {
        let from = Coord { x: p[0], y: p[1] } - edge.start;
        (from.x * way.x + from.y * way.y, way.x * from.y - way.y * from.x)
    };
    let (a, b) = (seen(other.from), seen(other.to));
    let (near, far) = if a.0 <= b.0 { (a, b) } else { (b, a) };
    let beside = |along: f64| near.1 + (far.1 - near.1) * (along - near.0) / (far.0 - near.0);
    let (from, to) = (near.0.max(0.0), far.0.min(length_m));
    let close = to - from > tolerance_m && beside(from).abs() <= tolerance_m && beside(to).abs() <= tolerance_m;
    close.then_some((from, to))
}

/// Length of the union of stretches.
fn united_m(mut pieces: Vec<(f64, f64)>) -> f64 {
    pieces.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (mut total, mut reached) = (0.0, f64::NEG_INFINITY);
    for (from, to) in pieces {
        total += (to - from.max(reached)).max(0.0);
        reached = reached.max(to);
    }
    total
}

/// What is wrong with a shape, one sentence a fault; empty when it is valid.
pub fn faults(shape: &MultiPolygon<f64>) -> Vec<String> {
    let mut faults: Vec<String> = shape.validation_errors().iter().map(ToString::to_string).collect();
    for (i, polygon) in shape.0.iter().enumerate() {
        if polygon.is_valid() && polygon.unsigned_area() == 0.0 {
            faults.push(format!("part {} encloses no area", i + 1));
        }
    }
    faults
}

/// A shape made valid.
#[derive(Clone, Debug, PartialEq)]
pub struct Repaired {
    /// The valid shape.
    pub shape: MultiPolygon<f64>,
    /// What was wrong, and what the repair did to area and parts; empty when nothing was done.
    pub notes: Vec<String>,
}

/// The shape cannot be made valid.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("polygon cannot be repaired: {reason}; draw it again")]
pub struct RepairError {
    /// What stood in the way.
    pub reason: String,
}

/// Makes a shape valid: crossing borders are cut where they cross, and ground enclosed an odd number of times is
/// kept (a bow-tie keeps both wings). A valid shape is handed back untouched.
///
/// # Errors
/// [`RepairError`] when nothing with an area is left or coordinates are not finite.
pub fn repair(shape: &MultiPolygon<f64>) -> Result<Repaired, RepairError> {
    let refuse = |reason: String| RepairError { reason };
    if rings(shape).flat_map(|r| &r.0).any(|c| !(c.x.is_finite() && c.y.is_finite())) {
        return Err(refuse("a coordinate is not a finite number".to_owned()));
    }
    let mut notes = faults(shape);
    if notes.is_empty() {
        return Ok(Repaired { shape: shape.clone(), notes });
    }
    let mut parts: Vec<MultiPolygon<f64>> = Vec::new();
    for polygon in &shape.0 {
        match valid_part(polygon) {
            Ok(part) => parts.push(part),
            Err(reason) => notes.push(format!("one part was left out: {reason}")),
        }
    }
    // Parts that overlap one another are joined.
    let joined = crate::overlay::dissolve(&parts);
    let area = joined.unsigned_area();
    if area == 0.0 {
        return Err(refuse("it encloses no area".to_owned()));
    }
    let (was, now) = (shape.0.len(), joined.0.len());
    notes.push(format!("repaired: {was} part(s) became {now}, area {area:.1} m2"));
    Ok(Repaired { shape: joined, notes })
}

fn valid_part(polygon: &Polygon<f64>) -> Result<MultiPolygon<f64>, String> {
    let part = if polygon.is_valid() {
        MultiPolygon(vec![polygon.clone()])
    } else {
        polygon.make_valid().map_err(|e| e.to_string())?
    };
    if part.unsigned_area() > 0.0 { Ok(part) } else { Err("it encloses no area".to_owned()) }
}
