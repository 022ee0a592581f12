//! Shapes as the page has them: GeoJSON in the plan's own coordinates, metres.

use geo::{Area, Euclidean, Length, MapCoords};
use geo_types::{Coord, Geometry};
use holding::Measure;
use serde_json::Value;

/// A shape as GeoJSON, to the centimetre.
pub fn geojson(shape: impl Into<Geometry<f64>>) -> Value {
    let round = |v: f64| (v * 100.0).round() / 100.0;
    let rounded = shape.into().map_coords(|c| Coord { x: round(c.x), y: round(c.y) });
    serde_json::to_value(::geojson::Geometry::from(&rounded)).unwrap_or(Value::Null)
}

/// Shape of a measure; nothing where none is drawn.
pub fn of(measure: &Measure) -> Option<Value> {
    if !measure.shape.0.is_empty() {
        return Some(geojson(measure.shape.clone()));
    }
    (!measure.line.0.is_empty()).then(|| geojson(measure.line.clone()))
}

/// Area of a measure, hectares; nothing where no area is drawn.
pub fn area_ha(measure: &Measure) -> Option<f64> {
    (!measure.shape.0.is_empty()).then(|| measure.shape.unsigned_area() / 1e4)
}

/// Length of a measure, metres; nothing where no line is drawn.
pub fn length_m(measure: &Measure) -> Option<f64> {
    (!measure.line.0.is_empty()).then(|| measure.line.0.iter().map(|l| Euclidean.length(l)).sum())
}
