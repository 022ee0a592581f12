//! GeoJSON (RFC 7946): longitude and latitude, or the older `crs` member.

use super::{column_names, within_limits};
use crate::import::crs::from_epsg;
use crate::import::fault::{Faults, ImportFault};
use crate::import::geometry::json::shape;
use crate::import::note::Notes;
use crate::import::table::{Cell, Crs, Row, Table};
use serde_json::{Map, Value};
use std::collections::HashMap;

/// Read a feature collection, a feature, or a bare geometry.
pub(in crate::import) fn read(bytes: &[u8]) -> Result<Table, Faults> {
    let bytes = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
    let whole: Value = serde_json::from_slice(bytes).map_err(|e| {
        ImportFault::new("JSON text", e.to_string()).hint("the file may be cut short, or hold something JSON has not, such as NaN")
    })?;
    let kind = whole.get("type").and_then(Value::as_str).unwrap_or("");
    let one;
    let features: &[Value] = match kind {
        "FeatureCollection" => whole
            .get("features")
            .and_then(Value::as_array)
            .ok_or_else(|| ImportFault::new("a list `features` in the collection", "none"))?,
        "Feature" => std::slice::from_ref(&whole),
        "" => return Err(ImportFault::new("a GeoJSON feature collection", "JSON without a `type`").into()),
        _ => {
            one = serde_json::json!({"type": "Feature", "properties": {}, "geometry": whole.clone()});
            std::slice::from_ref(&one)
        }
    };
    let empty = Map::new();
    let properties = |f: &Value| f.get("properties").and_then(Value::as_object).cloned().unwrap_or_else(|| empty.clone());
    let mut keys: Vec<String> = Vec::new();
    let mut at: HashMap<String, usize> = HashMap::new();
    let ids = features.iter().any(|f| f.get("id").is_some_and(|id| id.is_string() || id.is_number()));
    let own_ids = features.iter().any(|f| f.get("properties").and_then(|p| p.get("id")).is_some());
    if ids && !own_ids {
        at.insert("id".to_owned(), 0);
        keys.push("id".to_owned());
    }
    for feature in features {
        for key in feature.get("properties").and_then(Value::as_object).into_iter().flat_map(Map::keys) {
            if !at.contains_key(key) {
                at.insert(key.clone(), keys.len());
                keys.push(key.clone());
            }
        }
    }
    within_limits(features.len(), keys.len())?;
    let mut faults = Faults::new();
    let mut rows = Vec::with_capacity(features.len());
    for (number, feature) in features.iter().enumerate() {
        let place = format!("feature {}", number + 1);
        if feature.get("type").and_then(Value::as_str) != Some("Feature") {
            faults.push(ImportFault::new("a feature", "something else in the list").row(&place));
            continue;
        }
        let mut cells = vec![Cell::Empty; keys.len()];
        if ids && !own_ids {
            cells[0] = feature.get("id").map_or(Cell::Empty, cell);
        }
        for (key, value) in &properties(feature) {
            if let Some(at) = at.get(key) {
                cells[*at] = cell(value);
            }
        }
        rows.push(Row { place, cells, shape: shape(feature.get("geometry")) });
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let crs = crs(whole.get("crs"));
    Ok(Table { layer: None, columns: column_names(keys), rows, crs, notes: Notes::default() })
}

fn cell(value: &Value) -> Cell {
    match value {
        Value::Null => Cell::Empty,
        Value::Bool(flag) => Cell::Flag(*flag),
        Value::Number(number) => number.as_f64().map_or(Cell::Empty, Cell::Number),
        Value::String(text) => Cell::text(text),
        nested => Cell::Nested(nested.clone()),
    }
}

/// The coordinate system of the older `crs` member; without one the format's own, WGS84 longitude and latitude.
fn crs(member: Option<&Value>) -> Crs {
    let Some(name) = member.and_then(|m| m.get("properties")).and_then(|p| p.get("name")).and_then(Value::as_str) else {
        return Crs::LonLat("WGS84, as GeoJSON has it");
    };
    let upper = name.to_uppercase();
    if upper.contains("CRS84") {
        return Crs::LonLat("WGS84");
    }
    let code = upper.rsplit([':', '/']).next().and_then(|tail| tail.parse::<u32>().ok());
    match code {
        Some(code) if upper.contains("EPSG") => from_epsg(code),
        _ => Crs::Other(name.chars().take(60).collect()),
    }
}
