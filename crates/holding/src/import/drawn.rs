//! A shape drawn on a page, given as a GeoJSON geometry in the plan's own coordinates.

use super::geometry::{json, settle};
use super::table::{Drawn, Shape};
use geo::{CoordsIter, MapCoords};
use geo_types::{Coord, Geometry, MultiLineString, MultiPolygon, Point};

/// Corners one drawn shape may have.
const CORNERS_MAX: usize = 20_000;
/// No projected system reaches further, metres.
const FARTHEST_M: f64 = 1e7;

/// A drawn shape, rounded to the millimetre and mended where it crosses itself.
#[derive(Clone, Debug, PartialEq)]
pub struct DrawnShape {
    /// Its areas.
    pub areas: MultiPolygon<f64>,
    /// Its lines.
    pub lines: MultiLineString<f64>,
    /// Its place, where it is a point.
    pub point: Option<Point<f64>>,
    /// What was mended.
    pub notes: Vec<String>,
}

impl DrawnShape {
    /// Its one form: areas, lines or a point; `None` where it is several.
    pub fn geometry(&self) -> Option<Geometry<f64>> {
        match (self.areas.0.is_empty(), self.lines.0.is_empty(), self.point) {
            (false, true, None) => Some(Geometry::MultiPolygon(self.areas.clone())),
            (true, false, None) => Some(Geometry::MultiLineString(self.lines.clone())),
            (true, true, Some(point)) => Some(Geometry::Point(point)),
            _ => None,
        }
    }
}

/// Read a drawn shape.
///
/// # Errors
/// Why it cannot be used, in words.
pub fn drawn(geometry: &serde_json::Value) -> Result<DrawnShape, String> {
    let (read, unclosed) = match json::shape(Some(geometry)) {
        Shape::Is(drawn) => (drawn.geometry, drawn.unclosed),
        Shape::Missing | Shape::None => return Err("a shape without any corner".into()),
        Shape::Broken(why) => return Err(why),
    };
    let corners = read.coords_count();
    if corners > CORNERS_MAX {
        return Err(format!("a shape of {corners} corners, where {CORNERS_MAX} is the most"));
    }
    if let Some(far) = read.coords_iter().find(|c| c.x.abs() > FARTHEST_M || c.y.abs() > FARTHEST_M) {
        return Err(format!("a corner at {}, {}, which is nowhere in the plan's coordinates", far.x, far.y));
    }
    let mut shape = DrawnShape { areas: MultiPolygon(vec![]), lines: MultiLineString(vec![]), point: None, notes: vec![] };
    let mut areas = Vec::new();
    let mut lines = Vec::new();
    sort_out(read.map_coords(to_the_millimetre), &mut areas, &mut lines, &mut shape.point)?;
    let wrong = |wrong: settle::Wrong| match wrong {
        settle::Wrong::Form(found) | settle::Wrong::Broken(found) => found,
    };
    if !areas.is_empty() {
        let (areas, notes) = settle::area(Drawn { geometry: all(areas), unclosed }).map_err(wrong)?;
        shape.areas = areas.map_coords(to_the_millimetre);
        shape.notes.extend(notes);
    }
    if !lines.is_empty() {
        let (lines, notes) = settle::line(Drawn { geometry: all(lines), unclosed: false }).map_err(wrong)?;
        shape.lines = lines;
        shape.notes.extend(notes);
    }
    Ok(shape)
}

fn all(parts: Vec<Geometry<f64>>) -> Geometry<f64> {
    Geometry::GeometryCollection(geo_types::GeometryCollection(parts))
}

fn to_the_millimetre(at: Coord<f64>) -> Coord<f64> {
    Coord { x: (at.x * 1000.0).round() / 1000.0, y: (at.y * 1000.0).round() / 1000.0 }
}

fn sort_out(geometry: Geometry<f64>, areas: &mut Vec<Geometry<f64>>, lines: &mut Vec<Geometry<f64>>, point: &mut Option<Point<f64>>) -> Result<(), String> {
    match geometry {
        Geometry::Polygon(_) | Geometry::MultiPolygon(_) => areas.push(geometry),
        Geometry::LineString(_) | Geometry::MultiLineString(_) => lines.push(geometry),
        Geometry::Point(at) if point.is_none() => *point = Some(at),
        Geometry::GeometryCollection(parts) => {
            for part in parts {
                sort_out(part, areas, lines, point)?;
            }
        }
        other => return Err(settle::form_words(&other).to_string()),
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn a_shape_is_rounded_and_mended() {
        let tie = json!({"type": "Polygon", "coordinates": [[[0.0004, 0], [100, 100], [100, 0], [0, 100], [0.0004, 0]]]});
        let shape = drawn(&tie).unwrap();
        assert_eq!((shape.areas.0.len(), shape.notes.len()), (2, 1));
        assert!(shape.areas.coords_iter().all(|c| to_the_millimetre(c) == c && c.x != 0.0004));
        assert!(matches!(shape.geometry(), Some(Geometry::MultiPolygon(_))));
    }

    #[test]
    fn what_is_no_shape_is_refused_in_words() {
        for (bad, says) in [
            (json!({"type": "Polygon", "coordinates": [[[0, 0], [1, 1]]]}), "2 corners"),
            (json!({"type": "Point", "coordinates": [1e9, 0]}), "nowhere"),
            (json!({"type": "LineString", "coordinates": [[0, 0], [0.0001, 0]]}), "no length"),
            (json!({"type": "MultiPoint", "coordinates": [[0, 0], [1, 1]]}), "several points"),
            (json!({"type": "Circle", "coordinates": []}), "without any corner"),
            (json!("here"), "without a `type`"),
        ] {
            let found = drawn(&bad).unwrap_err();
            assert!(found.contains(says), "{bad}: {found}");
        }
    }
}
