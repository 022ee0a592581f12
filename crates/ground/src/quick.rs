//! Set operations as the `geo` library gives them, for judging and measuring where the exact corners of [`crate::overlay`] are
//! not needed: corners lie on the library's fine grid (a micrometre on a farm).
//!
//! They stand here so that they are compiled once: the library is generic, and every crate that calls it compiles it anew.

use geo::{BooleanOps, Buffer};
use geo_types::{MultiLineString, MultiPolygon, Polygon};

/// Ground in any of the polygons.
pub fn union(polygons: &[Polygon<f64>]) -> MultiPolygon<f64> {
    geo::unary_union(polygons)
}

/// Ground in both shapes.
pub fn intersection(a: &MultiPolygon<f64>, b: &MultiPolygon<f64>) -> MultiPolygon<f64> {
    a.intersection(b)
}

/// Ground in the first shape and not in the second.
pub fn difference(a: &MultiPolygon<f64>, b: &MultiPolygon<f64>) -> MultiPolygon<f64> {
    a.difference(b)
}

/// The parts of lines inside a shape.
pub fn lines_inside(shape: &MultiPolygon<f64>, lines: &MultiLineString<f64>) -> MultiLineString<f64> {
    shape.clip(lines, false)
}

/// The parts of lines outside a shape.
pub fn lines_outside(shape: &MultiPolygon<f64>, lines: &MultiLineString<f64>) -> MultiLineString<f64> {
    shape.clip(lines, true)
}

/// A shape grown by some metres all round, or shrunk where they are below zero; corners rounded.
pub fn grown(shape: &MultiPolygon<f64>, metres: f64) -> MultiPolygon<f64> {
    shape.buffer(metres)
}

/// The ground within some metres of lines, ends rounded.
pub fn round_lines(lines: &MultiLineString<f64>, metres: f64) -> MultiPolygon<f64> {
    lines.buffer(metres)
}
