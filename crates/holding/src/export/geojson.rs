//! GeoJSON (RFC 7946): longitude and latitude, outer rings counter-clockwise, nine decimals (a tenth of a millimetre).

use crate::grid_ref::{OutsideGrid, lonlat_from_grid};
use geo::MapCoords;
use geo::orient::{Direction, Orient};
use geo_types::{Coord, Geometry, LineString, Point, Polygon};
use serde_json::{Map, Value, json};

/// A feature to give out.
#[derive(Clone, Debug, PartialEq)]
pub struct Feature {
    /// Identity.
    pub id: String,
    /// Geometry in the plan's coordinate system, metres; `None` for a record without a place.
    pub geometry: Option<Geometry<f64>>,
    /// Attributes.
    pub properties: Map<String, Value>,
}

/// Why features cannot be given out.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ExportError {
    /// The plan's coordinate system has no way to longitude and latitude here.
    #[error("longitude and latitude can be given only for plans on the national grid (EPSG:27700); this plan is in EPSG:{0}")]
    OtherSystem(u32),
    /// A place off the national grid.
    #[error(transparent)]
    Outside(#[from] OutsideGrid),
}

/// A GeoJSON feature collection of features in a plan's coordinate system.
///
/// Errors: a plan that is not on the national grid (EPSG:27700), and places outside it.
pub fn collection(features: &[Feature], epsg: u32) -> Result<Value, ExportError> {
    if epsg != 27700 {
        return Err(ExportError::OtherSystem(epsg));
    }
    let features = features.iter().map(feature).collect::<Result<Vec<_>, _>>()?;
    Ok(json!({"type": "FeatureCollection", "features": features}))
}

fn feature(feature: &Feature) -> Result<Value, OutsideGrid> {
    let geometry = match &feature.geometry {
        None => Value::Null,
        Some(shape) => {
            let lonlat = shape.try_map_coords(|c| lonlat_from_grid(c.x, c.y).map(|(x, y)| Coord { x, y }))?;
            geometry(&lonlat)
        }
    };
    Ok(json!({"type": "Feature", "id": feature.id, "geometry": geometry, "properties": feature.properties}))
}

fn geometry(shape: &Geometry<f64>) -> Value {
    let typed = |kind: &str, coordinates: Value| json!({"type": kind, "coordinates": coordinates});
    match shape {
        Geometry::Point(point) => typed("Point", position(point.0)),
        Geometry::MultiPoint(points) => typed("MultiPoint", points.0.iter().map(|Point(c)| position(*c)).collect()),
        Geometry::LineString(l) => typed("LineString", line(l)),
        Geometry::Line(l) => typed("LineString", json!([position(l.start), position(l.end)])),
        Geometry::MultiLineString(lines) if lines.0.len() == 1 => typed("LineString", line(&lines.0[0])),
        Geometry::MultiLineString(lines) => typed("MultiLineString", lines.0.iter().map(line).collect()),
        Geometry::Polygon(p) => typed("Polygon", rings(p)),
        Geometry::MultiPolygon(polygons) if polygons.0.len() == 1 => typed("Polygon", rings(&polygons.0[0])),
        Geometry::MultiPolygon(polygons) => typed("MultiPolygon", polygons.0.iter().map(rings).collect()),
        Geometry::Rect(rect) => typed("Polygon", rings(&rect.to_polygon())),
        Geometry::Triangle(triangle) => typed("Polygon", rings(&triangle.to_polygon())),
        Geometry::GeometryCollection(all) => json!({"type": "GeometryCollection", "geometries": all.0.iter().map(geometry).collect::<Vec<_>>()}),
    }
}

fn position(at: Coord<f64>) -> Value {
    let rounded = |v: f64| (v * 1e9).round() / 1e9;
    json!([rounded(at.x), rounded(at.y)])
}

fn line(line: &LineString<f64>) -> Value {
    line.0.iter().map(|c| position(*c)).collect()
}

fn rings(polygon: &Polygon<f64>) -> Value {
    let turned = polygon.orient(Direction::Default);
    std::iter::once(turned.exterior()).chain(turned.interiors()).map(line).collect()
}
