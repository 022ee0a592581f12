//! Features, a page of them or one.

use super::crs::System;
use super::filter::{self, Filter};
use super::link::{GEOJSON, JSON};
use super::{Reply, Service};
use crate::api::edit::{Problem, ProblemFault};
use holding::plan::layer::{Layer, LayerRow, rows};
use serde_json::{Map, Value, json};

/// A page of a layer's features.
pub(super) fn page(service: &Service, layer: &Layer, query: &[(String, String)]) -> Result<Reply, Problem> {
    let filter = filter::read(query, layer, &service.systems())?;
    let rows = rows(&service.holding, layer.name).unwrap_or_default();
    let matched: Vec<&LayerRow> = rows.iter().filter(|row| filter.takes(row, layer)).collect();
    let page = matched.iter().skip(filter.offset).take(filter.limit);
    let features = told(page.copied(), layer, filter.system)?;
    let returned = features.len();
    let body = json!({
        "type": "FeatureCollection",
        "links": links(service, layer, query, &filter, matched.len()),
        "timeStamp": chrono::DateTime::<chrono::Utc>::from(std::time::SystemTime::now()).to_rfc3339_opts(chrono::SecondsFormat::Secs, true),
        "numberMatched": matched.len(),
        "numberReturned": returned,
        "features": features,
    });
    Ok(Reply { media: GEOJSON, crs: Some(filter.system.uri()), body })
}

/// One feature.
pub(super) fn one(service: &Service, layer: &Layer, id: &str, query: &[(String, String)]) -> Result<Reply, Problem> {
    let asked: Vec<_> = query.iter().filter(|(name, _)| name == "crs").cloned().collect();
    let faults = filter::unknown(query, &["crs"]);
    if !faults.is_empty() {
        return Err(filter::refused(faults));
    }
    let filter = filter::read(&asked, layer, &service.systems())?;
    let rows = rows(&service.holding, layer.name).unwrap_or_default();
    let row = rows.iter().find(|row| row.id == id).ok_or_else(|| Problem::not_found(format!("No such feature in {}", layer.name)))?;
    let mut body = told([row], layer, filter.system)?.remove(0);
    if let Value::Object(body) = &mut body {
        let own = json!({"rel": "self", "type": GEOJSON, "title": "this feature", "href": service.links.to(&["collections", layer.name, "items", id], query)});
        let whole = service.links.link("collection", JSON, layer.title, &["collections", layer.name]);
        body.insert("links".into(), json!([own, whole]));
    }
    Ok(Reply { media: GEOJSON, crs: Some(filter.system.uri()), body })
}

fn links(service: &Service, layer: &Layer, query: &[(String, String)], filter: &Filter, matched: usize) -> Vec<Value> {
    let path = ["collections", layer.name, "items"];
    let to = |rel: &str, title: &str, offset: Option<usize>| {
        let mut query = query.to_vec();
        if let Some(offset) = offset {
            query.retain(|(name, _)| name != "offset");
            query.push(("offset".into(), offset.to_string()));
        }
        json!({"rel": rel, "type": GEOJSON, "title": title, "href": service.links.to(&path, &query)})
    };
    let mut links = vec![to("self", "this page", None), service.links.link("collection", JSON, layer.title, &path[..2])];
    if filter.offset.saturating_add(filter.limit) < matched {
        links.push(to("next", "the next page", Some(filter.offset + filter.limit)));
    }
    if filter.offset > 0 {
        links.push(to("prev", "the page before", Some(filter.offset.saturating_sub(filter.limit))));
    }
    links
}

/// Rows as GeoJSON features; every one that cannot be put in the system asked for is named.
fn told<'r>(rows: impl IntoIterator<Item = &'r LayerRow>, layer: &Layer, system: System) -> Result<Vec<Value>, Problem> {
    let mut faults = Vec::new();
    let mut features = Vec::new();
    for row in rows {
        match row.place.as_ref().map(|place| system.geojson(place)).transpose() {
            Ok(place) => {
                let names = layer.columns.iter().map(|column| column.name.to_owned());
                let properties: Map<String, Value> = names.zip(row.values.iter().cloned()).collect();
                features.push(json!({"type": "Feature", "id": row.id, "geometry": place, "properties": properties}));
            }
            Err(outside) => faults.push(ProblemFault {
                at: format!("{} {}", layer.name, row.id),
                needed: "a place that has a longitude and latitude by the national grid's transformation".into(),
                found: outside.to_string(),
                hint: "ask for the plan's own metres with crs, or leave the place out with bbox".into(),
            }),
        }
    }
    if faults.is_empty() { Ok(features) } else { Err(Problem { faults, ..Problem::new("refused", "Some places have no longitude and latitude") }) }
}
