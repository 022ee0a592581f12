//! What a collection is: its layer's words, its extent, its systems, its columns.

use super::crs::{System, lonlat_box};
use super::filter::day_column;
use super::link::{GEOJSON, JSON, SCHEMA};
use super::Service;
use geo::BoundingRect;
use geo_types::{Coord, Rect};
use holding::plan::layer::{Layer, LayerColumn, LayerRow, Places, Takes, rows};
use serde_json::{Map, Value, json};

/// Every collection.
pub(super) fn all(service: &Service) -> Value {
    let collections: Vec<Value> = service.layers().iter().map(|layer| one(service, layer)).collect();
    let systems: Vec<String> = service.systems().into_iter().map(System::uri).collect();
    json!({
        "links": [service.links.link("self", JSON, "the layers of the plan", &["collections"])],
        "crs": systems,
        "collections": collections,
    })
}

/// One collection.
pub(super) fn one(service: &Service, layer: &Layer) -> Value {
    let systems: Vec<String> = service.systems().into_iter().map(System::uri).collect();
    let path = ["collections", layer.name];
    let below = |last| ["collections", layer.name, last];
    let mut told = json!({
        "id": layer.name,
        "title": layer.title,
        "description": layer.meaning,
        "itemType": "feature",
        "links": [
            service.links.link("self", JSON, layer.title, &path),
            service.links.link("items", GEOJSON, "its features", &below("items")),
            service.links.link("describedby", SCHEMA, "its columns", &below("schema")),
        ],
        "crs": systems,
        "storageCrs": System::Plan(service.holding.about.epsg).uri(),
    });
    let rows = rows(&service.holding, layer.name).unwrap_or_default();
    if let (Value::Object(told), Some(extent)) = (&mut told, extent(service, layer, &rows)) {
        told.insert("extent".into(), extent);
    }
    told
}

/// Where and when the rows of a layer lie; `None` where neither is known.
fn extent(service: &Service, layer: &Layer, rows: &[LayerRow]) -> Option<Value> {
    let mut extent = Map::new();
    let round = rows.iter().filter_map(|row| row.place.as_ref()?.bounding_rect()).reduce(joined);
    if let Some(bbox) = round.filter(|_| service.systems().contains(&System::LonLat)).and_then(lonlat_box) {
        extent.insert("spatial".into(), json!({"bbox": [bbox], "crs": System::LonLat.uri()}));
    }
    if let Some(at) = day_column(layer) {
        let mut days: Vec<&str> = rows.iter().filter_map(|row| row.values[at].as_str()).collect();
        days.sort_unstable();
        if let (Some(first), Some(last)) = (days.first(), days.last()) {
            let interval = json!([[format!("{first}T00:00:00Z"), format!("{last}T23:59:59Z")]]);
            extent.insert("temporal".into(), json!({"interval": interval, "trs": "http://www.opengis.net/def/uom/ISO-8601/0/Gregorian"}));
        }
    }
    (!extent.is_empty()).then_some(Value::Object(extent))
}

fn joined(a: Rect<f64>, b: Rect<f64>) -> Rect<f64> {
    let low = Coord { x: a.min().x.min(b.min().x), y: a.min().y.min(b.min().y) };
    let high = Coord { x: a.max().x.max(b.max().x), y: a.max().y.max(b.max().y) };
    Rect::new(low, high)
}

/// A JSON Schema of a collection's features: the columns with their units and the values they take.
pub(super) fn schema(service: &Service, layer: &Layer) -> Value {
    let columns: Map<String, Value> = layer.columns.iter().map(|column| (column.name.to_owned(), column_schema(column))).collect();
    let place = match layer.places {
        None => json!({"type": "null"}),
        Some(places) => json!({"description": places_in_words(places), "type": ["object", "null"]}),
    };
    json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": service.links.to(&["collections", layer.name, "schema"], &[]),
        "title": layer.title,
        "description": layer.meaning,
        "type": "object",
        "required": ["type", "geometry", "properties"],
        "properties": {
            "type": {"const": "Feature"},
            "id": {"type": "string"},
            "geometry": place,
            "properties": {"type": "object", "required": columns.keys().collect::<Vec<_>>(), "properties": columns},
        },
    })
}

fn column_schema(column: &LayerColumn) -> Value {
    let (kind, format) = match column.takes {
        Takes::Text | Takes::Words(_) => ("string", None),
        Takes::Whole => ("integer", None),
        Takes::Number => ("number", None),
        Takes::YesNo => ("boolean", None),
        Takes::Day => ("string", Some("date")),
        Takes::Time => ("string", None),
        Takes::Json => ("object", None),
    };
    let mut told = Map::new();
    told.insert("title".into(), json!(column.meaning));
    told.insert("type".into(), if column.required { json!(kind) } else { json!([kind, "null"]) });
    let unit = Some(column.unit).filter(|unit| !unit.is_empty() && matches!(column.takes, Takes::Whole | Takes::Number));
    for (name, value) in [("format", format.map(|f| json!(f))), ("x-unit", unit.map(|unit| json!(unit)))] {
        told.extend(value.map(|value| (name.to_owned(), value)));
    }
    if let Some((least, most)) = column.range {
        told.insert("minimum".into(), json!(least));
        told.insert("maximum".into(), json!(most));
    }
    if let Takes::Words(words) = &column.takes {
        let empty = (!column.required).then_some(Value::Null);
        told.insert("enum".into(), words.iter().map(|word| json!(word)).chain(empty).collect());
    }
    Value::Object(told)
}

fn places_in_words(places: Places) -> &'static str {
    match places {
        Places::Points => "a Point",
        Places::Lines => "a MultiLineString",
        Places::Areas => "a MultiPolygon",
        Places::Either => "areas, lines or a collection of both; null where the work has no place",
    }
}
