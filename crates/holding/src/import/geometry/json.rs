//! Geometry objects of GeoJSON (RFC 7946, section 3.1).

use super::build::{Builder, Rings, collection};
use crate::import::limit::DEPTH_MAX;
use crate::import::table::Shape;
use geo_types::{Coord, Geometry};
use serde_json::Value;

/// A geometry member: `null` is missing, anything that cannot be read is broken.
pub(in crate::import) fn shape(value: Option<&Value>) -> Shape {
    let Some(value) = value.filter(|v| !v.is_null()) else { return Shape::Missing };
    let mut builder = Builder::default();
    match geometry(value, &mut builder, 0) {
        Ok(Some(geometry)) => Shape::Is(builder.done(geometry)),
        Ok(None) => Shape::Missing,
        Err(why) => Shape::Broken(why),
    }
}


fn geometry(value: &Value, builder: &mut Builder, depth: usize) -> Result<Option<Geometry<f64>>, String> {
    let kind = value.get("type").and_then(Value::as_str).ok_or("a geometry without a `type`")?;
    if kind == "GeometryCollection" {
        if depth >= DEPTH_MAX {
            return Err(format!("geometry collections nested deeper than {DEPTH_MAX}"));
        }
        let members = value.get("geometries").and_then(Value::as_array).ok_or("a collection without `geometries`")?;
        let mut all = Vec::new();
        for member in members {
            all.extend(geometry(member, builder, depth + 1)?);
        }
        return Ok((!all.is_empty()).then(|| collection(all)));
    }
    let coords = value.get("coordinates").ok_or("a geometry without `coordinates`")?;
    if coords.as_array().is_some_and(Vec::is_empty) {
        return Ok(None);
    }
    Ok(Some(match kind {
        "Point" => Geometry::Point(builder.point(position(coords)?)?),
        "LineString" => Geometry::LineString(builder.line(line(coords)?)?),
        "Polygon" => Geometry::Polygon(builder.polygon(rings(coords)?)?),
        "MultiPoint" => Geometry::MultiPoint(builder.points(line(coords)?)?),
        "MultiLineString" => Geometry::MultiLineString(builder.lines(rings(coords)?)?),
        "MultiPolygon" => Geometry::MultiPolygon(builder.polygons(list(coords)?.iter().map(rings).collect::<Result<_, _>>()?)?),
        other => return Err(format!("geometry of type `{}`", other.chars().take(40).collect::<String>())),
    }))
}

fn list(value: &Value) -> Result<&Vec<Value>, String> {
    value.as_array().ok_or_else(|| "coordinates that are not a list".to_owned())
}

fn rings(value: &Value) -> Result<Rings, String> {
    list(value)?.iter().map(line).collect()
}

fn line(value: &Value) -> Result<Vec<Coord<f64>>, String> {
    list(value)?.iter().map(position).collect()
}

fn position(value: &Value) -> Result<Coord<f64>, String> {
    let shown = || value.to_string().chars().take(60).collect::<String>();
    match list(value)?.as_slice() {
        [x, y, ..] => match (x.as_f64(), y.as_f64()) {
            (Some(x), Some(y)) => Ok(Coord { x, y }),
            _ => Err(format!("a position that is not two numbers: {}", shown())),
        },
        _ => Err(format!("a position of fewer than two numbers: {}", shown())),
    }
}
