//! Shapes between the plan and the page: GeoJSON in the plan's own coordinates, metres.

use crate::api::edit::ProblemFault;
use geo::{CoordsIter, MapCoords};
use geo_types::{Coord, Geometry, MultiLineString, MultiPolygon};
use serde_json::Value;

/// Most corners a drawn shape may have: a hand draws hundreds.
const CORNERS_MOST: usize = 20_000;

/// Farthest a coordinate of a projected system lies from its origin, metres; what lies beyond is no place.
const FARTHEST_M: f64 = 1e8;

/// A shape as GeoJSON, to the centimetre.
pub fn geojson(shape: impl Into<Geometry<f64>>) -> Value {
    let round = |v: f64| (v * 100.0).round() / 100.0;
    let rounded = shape.into().map_coords(|c| Coord { x: round(c.x), y: round(c.y) });
    serde_json::to_value(geojson::Geometry::from(&rounded)).unwrap_or(Value::Null)
}

/// What was drawn: an area, a line, or both empty.
#[derive(Clone, Debug, PartialEq)]
pub struct Shape {
    /// Area.
    pub area: MultiPolygon<f64>,
    /// Line.
    pub line: MultiLineString<f64>,
}

/// Read a shape from GeoJSON; nothing where nothing was drawn.
///
/// # Errors
/// What is wrong with it.
pub fn read(drawn: Option<&Value>) -> Result<Shape, ProblemFault> {
    let mut shape = Shape { area: MultiPolygon(vec![]), line: MultiLineString(vec![]) };
    let Some(drawn) = drawn.filter(|d| !d.is_null()) else { return Ok(shape) };
    let wrong = |found: String, needed: &str| ProblemFault { at: "geometry".into(), needed: needed.into(), found, hint: "draw it again".into() };
    let needed = "a GeoJSON polygon or line in the plan's coordinates";
    let geometry: geojson::Geometry = serde_json::from_value(drawn.clone()).map_err(|e| wrong(e.to_string(), needed))?;
    let geometry: Geometry<f64> = geometry.try_into().map_err(|e: geojson::Error| wrong(e.to_string(), needed))?;
    let corners = geometry.coords_count();
    if corners > CORNERS_MOST {
        return Err(wrong(format!("{corners} corners"), &format!("at most {CORNERS_MOST} corners")));
    }
    if let Some(c) = geometry.coords_iter().find(|c| !(c.x.abs() <= FARTHEST_M && c.y.abs() <= FARTHEST_M)) {
        return Err(wrong(format!("a corner at {} {}", c.x, c.y), "corners in metres of the plan's coordinates"));
    }
    match geometry {
        Geometry::Polygon(p) => shape.area.0.push(p),
        Geometry::MultiPolygon(p) => shape.area = p,
        Geometry::LineString(l) => shape.line.0.push(l),
        Geometry::MultiLineString(l) => shape.line = l,
        _ => return Err(wrong("points or a collection".into(), needed)),
    }
    Ok(shape)
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn what_is_drawn_comes_back_as_it_was() {
        let drawn = json!({"type": "Polygon", "coordinates": [[[0.0, 0.0], [100.0, 0.0], [100.0, 50.0], [0.0, 0.0]]]});
        let shape = read(Some(&drawn)).unwrap();
        assert_eq!(geojson(shape.area.0[0].clone()), drawn);
        assert!(read(None).unwrap().area.0.is_empty() && read(Some(&Value::Null)).unwrap().line.0.is_empty());
    }

    #[test]
    fn what_is_no_shape_is_refused_with_a_reason() {
        for bad in [
            json!({"type": "Point", "coordinates": [1.0, 2.0]}),
            json!({"type": "Polygon", "coordinates": "here"}),
            json!({"type": "LineString", "coordinates": [[0.0, 0.0], [1e300, 0.0]]}),
            json!("a hill"),
            json!({"type": "LineString", "coordinates": vec![[0.0, 0.0]; CORNERS_MOST + 1]}),
        ] {
            let fault = read(Some(&bad)).unwrap_err();
            assert!(fault.at == "geometry" && !fault.found.is_empty() && !fault.needed.is_empty(), "{bad}: {fault:?}");
        }
    }
}
