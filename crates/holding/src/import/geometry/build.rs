//! Geometries from plain lists of coordinates, checked as they are built.

use crate::import::table::Drawn;
use geo_types::{Coord, Geometry, GeometryCollection, LineString, MultiLineString, MultiPoint, MultiPolygon, Point, Polygon};

/// Builds one geometry and remembers whether a ring had to be closed.
#[derive(Default)]
pub(in crate::import) struct Builder {
    unclosed: bool,
}

/// A list of rings: the outer one first, then the holes.
pub(in crate::import) type Rings = Vec<Vec<Coord<f64>>>;

impl Builder {
    /// The finished geometry.
    pub fn done(self, geometry: Geometry<f64>) -> Drawn {
        Drawn { geometry, unclosed: self.unclosed }
    }

    /// A point.
    pub fn point(&self, at: Coord<f64>) -> Result<Point<f64>, String> {
        finite(&[at])?;
        Ok(Point(at))
    }

    /// A line of two points or more.
    pub fn line(&self, coords: Vec<Coord<f64>>) -> Result<LineString<f64>, String> {
        finite(&coords)?;
        match coords.len() {
            0 => Err("an empty line".to_owned()),
            1 => Err("a line of one point".to_owned()),
            _ => Ok(LineString(coords)),
        }
    }

    /// A polygon.
    pub fn polygon(&mut self, rings: Rings) -> Result<Polygon<f64>, String> {
        let mut closed = Vec::with_capacity(rings.len());
        for mut ring in rings {
            finite(&ring)?;
            let open = ring.first() != ring.last();
            let corners = ring.len() - usize::from(!open && !ring.is_empty());
            if corners < 3 {
                return Err(format!("a ring of {corners} corners, where a polygon needs 3"));
            }
            if open {
                self.unclosed = true;
                ring.extend(ring.first().copied());
            }
            closed.push(LineString(ring));
        }
        let mut closed = closed.into_iter();
        let outer = closed.next().ok_or("an empty polygon")?;
        Ok(Polygon::new(outer, closed.collect()))
    }

    /// Several polygons.
    pub fn polygons(&mut self, all: Vec<Rings>) -> Result<MultiPolygon<f64>, String> {
        all.into_iter().map(|rings| self.polygon(rings)).collect::<Result<_, _>>().map(MultiPolygon)
    }

    /// Several lines.
    pub fn lines(&self, all: Vec<Vec<Coord<f64>>>) -> Result<MultiLineString<f64>, String> {
        all.into_iter().map(|line| self.line(line)).collect::<Result<_, _>>().map(MultiLineString)
    }

    /// Several points.
    pub fn points(&self, all: Vec<Coord<f64>>) -> Result<MultiPoint<f64>, String> {
        all.into_iter().map(|at| self.point(at)).collect::<Result<_, _>>().map(MultiPoint)
    }
}

/// A collection, which must not be empty.
pub(in crate::import) fn collection(all: Vec<Geometry<f64>>) -> Geometry<f64> {
    Geometry::GeometryCollection(GeometryCollection(all))
}

fn finite(coords: &[Coord<f64>]) -> Result<(), String> {
    match coords.iter().find(|c| !(c.x.is_finite() && c.y.is_finite())) {
        Some(c) => Err(format!("a coordinate that is no number ({}, {})", c.x, c.y)),
        None => Ok(()),
    }
}
