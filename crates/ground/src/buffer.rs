//! Ground within a distance of a point, a line or a shape, and shapes drawn in by a distance.
//!
//! How it works: a strip along every edge, a fillet at every corner that turns away from the strip, and a cap at
//! every open end are united with the shape (or taken off it, for drawing in). Arcs are chords of the true circle:
//! each turn is cut into equal steps of about a quarter circle over `quad_segs`, so the ground is a little less
//! than the true buffer (0.64 % of a circle at 8 segments, 0.16 % at 16).
//!
//! Variant: a mitre longer than [`MITRE_LIMIT`] times the distance is bevelled. Left out: one-sided buffers.

use geo::{Orient, RemoveRepeatedPoints, orient::Direction};
use geo_types::{Coord, LineString, MultiLineString, MultiPolygon, Polygon};

use crate::overlay::{difference, put_back};

/// Longest mitre, in buffer distances from the corner.
pub const MITRE_LIMIT: f64 = 5.0;

/// What stands at the open ends of a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cap {
    /// Half a circle.
    Round,
    /// Nothing: the buffer ends with the line.
    Flat,
    /// Half a square.
    Square,
}

/// What stands at the outside of a corner.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Join {
    /// An arc.
    Round,
    /// The two sides drawn on until they meet.
    Mitre,
    /// A straight cut.
    Bevel,
}

/// How a buffer is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Style {
    /// Straight pieces to a quarter circle; one or more.
    pub quad_segs: u32,
    /// Ends of lines.
    pub cap: Cap,
    /// Corners.
    pub join: Join,
}

impl Default for Style {
    /// Round ends and corners with eight pieces to a quarter circle.
    fn default() -> Self {
        Self { quad_segs: 8, cap: Cap::Round, join: Join::Round }
    }
}

/// Ground within a distance of a place: a regular polygon of `4 quad_segs` corners on the circle.
/// Empty unless the distance is greater than zero.
pub fn around_point(place: Coord<f64>, distance_m: f64, quad_segs: u32) -> MultiPolygon<f64> {
    if distance_m.is_nan() || distance_m <= 0.0 {
        return MultiPolygon(vec![]);
    }
    let count = 4 * quad_segs.max(1);
    let corner = |k: u32| {
        let (sin, cos) = (std::f64::consts::TAU * f64::from(k) / f64::from(count)).sin_cos();
        Coord { x: place.x + distance_m * cos, y: place.y + distance_m * sin }
    };
    MultiPolygon(vec![Polygon::new((0..count).map(corner).collect(), vec![])])
}

/// Ground within a distance of lines. Empty unless the distance is greater than zero.
pub fn along_lines(lines: &MultiLineString<f64>, distance_m: f64, style: Style) -> MultiPolygon<f64> {
    if distance_m.is_nan() || distance_m <= 0.0 {
        return MultiPolygon(vec![]);
    }
    let mut pieces = Pieces::new(distance_m, style);
    for line in &lines.0 {
        let line = line.remove_repeated_points();
        match line.0.as_slice() {
            [] => {}
            [place] => pieces.done.extend(around_point(*place, distance_m, style.quad_segs).0),
            corners => {
                let closed = corners.len() > 3 && corners.first() == corners.last();
                pieces.path(corners, closed, &[1.0, -1.0]);
                if !closed {
                    pieces.cap(corners[1], corners[0]);
                    pieces.cap(corners[corners.len() - 2], corners[corners.len() - 1]);
                }
            }
        }
    }
    pieces.united()
}

/// A shape grown by a distance, or drawn in by a negative one. Holes shrink when the shape grows.
pub fn around_area(shape: &MultiPolygon<f64>, distance_m: f64, style: Style) -> MultiPolygon<f64> {
    // Outer rings anticlockwise, holes clockwise: the outside of the shape is always on the right.
    let shape = shape.remove_repeated_points().orient(Direction::Default);
    if distance_m == 0.0 || !distance_m.is_finite() {
        return shape;
    }
    let side = if distance_m > 0.0 { -1.0 } else { 1.0 };
    let mut pieces = Pieces::new(distance_m.abs(), style);
    for ring in crate::polygon::rings(&shape) {
        if ring.0.len() > 3 {
            pieces.path(&ring.0, true, &[side]);
        }
    }
    if distance_m > 0.0 {
        pieces.done.extend(shape.0);
        pieces.united()
    } else {
        difference(&shape, &pieces.united())
    }
}

/// Strips, fillets and caps, each a simple polygon that runs anticlockwise.
struct Pieces {
    distance_m: f64,
    style: Style,
    done: Vec<Polygon<f64>>,
}

impl Pieces {
    fn new(distance_m: f64, style: Style) -> Self {
        Self { distance_m, style, done: Vec::new() }
    }

    fn push(&mut self, corners: Vec<Coord<f64>>) {
        let mut ring = LineString(corners);
        ring.close();
        self.done.push(Polygon::new(ring, vec![]).orient(Direction::Default));
    }

    /// Strips and fillets of a path; side 1 lies to the left of it, side -1 to the right.
    fn path(&mut self, corners: &[Coord<f64>], closed: bool, sides: &[f64]) {
        for edge in corners.windows(2) {
            let beside = self.beside(edge[0], edge[1]);
            if let [side] = sides {
                self.push(vec![edge[0], edge[1], edge[1] + beside * *side, edge[0] + beside * *side]);
            } else {
                self.push(vec![edge[0] - beside, edge[1] - beside, edge[1] + beside, edge[0] + beside]);
            }
        }
        for turn in corners.windows(3) {
            self.fillet(turn[0], turn[1], turn[2], sides);
        }
        if closed {
            self.fillet(corners[corners.len() - 2], corners[0], corners[1], sides);
        }
    }

    /// From a place on an edge to the buffer's rim, square to the left of the edge.
    fn beside(&self, from: Coord<f64>, to: Coord<f64>) -> Coord<f64> {
        let way = to - from;
        let scale = self.distance_m / way.x.hypot(way.y);
        Coord { x: -way.y * scale, y: way.x * scale }
    }

    fn fillet(&mut self, before: Coord<f64>, at: Coord<f64>, after: Coord<f64>, sides: &[f64]) {
        let (first, last) = (self.beside(before, at), self.beside(at, after));
        let turn = (first.x * last.y - first.y * last.x).atan2(first.x * last.x + first.y * last.y);
        // The open side of a left turn is the right, and the other way about.
        let side = if turn > 0.0 { -1.0 } else { 1.0 };
        if turn == 0.0 || !sides.contains(&side) {
            return;
        }
        let (from, to) = (at + first * side, at + last * side);
        let mut corners = vec![at, from];
        match self.style.join {
            Join::Round => corners.extend(self.arc(at, first * side, turn)),
            Join::Mitre => {
                let length = 1.0 / (0.5 * turn).cos();
                if length <= MITRE_LIMIT {
                    let middle = (first + last) * (0.5 * side);
                    // The middle of the chord lies cos(turn / 2) distances out, the mitre's peak its inverse.
                    corners.push(at + middle * (length * length));
                }
            }
            Join::Bevel => {}
        }
        corners.push(to);
        self.push(corners);
    }

    /// Corners of an arc round a centre, its two ends left out.
    fn arc(&self, centre: Coord<f64>, start: Coord<f64>, turn: f64) -> impl Iterator<Item = Coord<f64>> + use<> {
        let quantum = std::f64::consts::FRAC_PI_2 / f64::from(self.style.quad_segs.max(1));
        let count = (turn.abs() / quantum + 0.5) as u32;
        (1..count).map(move |k| {
            let (sin, cos) = (turn * f64::from(k) / f64::from(count)).sin_cos();
            centre + Coord { x: start.x * cos - start.y * sin, y: start.x * sin + start.y * cos }
        })
    }

    fn cap(&mut self, before: Coord<f64>, end: Coord<f64>) {
        let left = self.beside(before, end);
        match self.style.cap {
            Cap::Flat => {}
            Cap::Round => {
                let mut corners = vec![end - left];
                corners.extend(self.arc(end, left * -1.0, std::f64::consts::PI));
                corners.push(end + left);
                self.push(corners);
            }
            Cap::Square => {
                let ahead = Coord { x: left.y, y: -left.x };
                self.push(vec![end - left, end - left + ahead, end + left + ahead, end + left]);
            }
        }
    }

    fn united(self) -> MultiPolygon<f64> {
        let pieces = MultiPolygon(self.done);
        put_back(geo::unary_union(pieces.0.iter()), &[&pieces])
    }
}
