//! The documents about the service itself: landing page, conformance, its OpenAPI.

use super::crs::System;
use super::filter::{PAGE, PAGE_MOST};
use super::link::{GEOJSON, JSON, OPENAPI, SCHEMA};
use super::Service;
use holding::plan::layer::{Layer, LayerColumn, Takes};
use serde_json::{Map, Value, json};

/// The landing page.
pub(super) fn landing(service: &Service) -> Value {
    let about = &service.holding.about;
    let name = if about.name.is_empty() { "The plan" } else { &about.name };
    let to = |rel, media, title, path: &[&str]| service.links.link(rel, media, title, path);
    json!({
        "title": name,
        "description": words(service),
        "links": [
            to("self", JSON, "this page", &[]),
            to("service-desc", OPENAPI, "what can be asked, as OpenAPI 3.0", &["api"]),
            to("conformance", JSON, "the standards this follows", &["conformance"]),
            to("data", JSON, "the layers of the plan", &["collections"]),
        ],
    })
}

fn words(service: &Service) -> String {
    let epsg = service.holding.about.epsg;
    let systems = if service.systems().contains(&System::LonLat) {
        format!("Places come in longitude and latitude (by OSTN15), or exactly in the plan's own metres with crs={}.", System::Plan(epsg).uri())
    } else {
        format!(
            "Places come in the plan's own metres (EPSG:{epsg}) alone: longitude and latitude, which the standard has by default, are given only for plans on the national grid (EPSG:27700)."
        )
    };
    format!(
        "The layers of the plan, to look at and not to change. {systems} \
         This is your own desk on your own machine, opened with its key: leks are given exactly where they lie. \
         They are sensitive. Do not pass the key or what comes from here on; what is handed over is written by the hand-over, which blurs them."
    )
}

/// The standards followed.
pub(super) fn conformance(service: &Service) -> Value {
    let part_1 = ["core", "geojson", "oas30"].map(|class| format!("http://www.opengis.net/spec/ogcapi-features-1/1.0/conf/{class}"));
    let part_2 = "http://www.opengis.net/spec/ogcapi-features-2/1.0/conf/crs".to_owned();
    // Core has longitude and latitude by default; a plan without them cannot claim it.
    let lonlat = service.systems().contains(&System::LonLat);
    let classes: Vec<String> = if lonlat { part_1.into_iter().chain([part_2]).collect() } else { Vec::new() };
    json!({"conformsTo": classes})
}

/// The service's own OpenAPI document.
pub(super) fn openapi(service: &Service) -> Value {
    let mut paths = Map::new();
    let plain = |summary: &str, media: &str| json!({"get": {"summary": summary, "responses": responses(media)}});
    paths.insert("/".into(), plain("the landing page", JSON));
    paths.insert("/conformance".into(), plain("the standards this follows", JSON));
    paths.insert("/api".into(), plain("this document", OPENAPI));
    paths.insert("/collections".into(), plain("the layers of the plan", JSON));
    for layer in service.layers() {
        let at = format!("/collections/{}", layer.name);
        paths.insert(at.clone(), plain(layer.title, JSON));
        paths.insert(format!("{at}/schema"), plain("its columns", SCHEMA));
        let parameters = parameters(service, &layer);
        let summary = format!("features: {}", layer.title);
        paths.insert(format!("{at}/items"), json!({"get": {"summary": summary, "parameters": parameters, "responses": responses(GEOJSON)}}));
        let id = json!({"name": "id", "in": "path", "required": true, "schema": {"type": "string"}});
        let one = json!({"get": {"summary": "one feature", "parameters": [id, system(service, "crs")], "responses": responses(GEOJSON)}});
        paths.insert(format!("{at}/items/{{id}}"), one);
    }
    json!({
        "openapi": "3.0.3",
        "info": {"title": "Layers of the plan", "version": env!("CARGO_PKG_VERSION"), "description": words(service)},
        "servers": [{"url": service.links.base()}],
        "security": [{"header": []}, {"query": []}],
        "paths": paths,
        "components": {"securitySchemes": {
            "header": {"type": "http", "scheme": "bearer"},
            "query": {"type": "apiKey", "in": "query", "name": "key"},
        }},
    })
}

fn responses(media: &str) -> Value {
    let problem = |words: &str| json!({"description": words, "content": {"application/problem+json": {"schema": {"type": "object"}}}});
    json!({
        "200": {"description": "what was asked for", "content": {media: {"schema": {"type": "object"}}}},
        "400": problem("the query is not understood"),
        "401": problem("the key is missing"),
        "404": problem("no such resource"),
    })
}

fn system(service: &Service, name: &str) -> Value {
    let systems: Vec<String> = service.systems().into_iter().map(System::uri).collect();
    json!({"name": name, "in": "query", "schema": {"type": "string", "format": "uri", "default": systems[0], "enum": systems}})
}

fn parameters(service: &Service, layer: &Layer) -> Vec<Value> {
    let number = json!({"type": "number"});
    let bbox = json!({"type": "array", "minItems": 4, "maxItems": 6, "items": number});
    let mut all = vec![
        json!({"name": "bbox", "in": "query", "style": "form", "explode": false, "schema": bbox}),
        system(service, "bbox-crs"),
        system(service, "crs"),
        json!({"name": "datetime", "in": "query", "schema": {"type": "string"}}),
        json!({"name": "limit", "in": "query", "schema": {"type": "integer", "minimum": 1, "maximum": PAGE_MOST, "default": PAGE}}),
        json!({"name": "offset", "in": "query", "schema": {"type": "integer", "minimum": 0, "default": 0}}),
    ];
    all.extend(layer.columns.iter().filter(|column| column.takes != Takes::Json).map(by_column));
    all
}

fn by_column(column: &LayerColumn) -> Value {
    let kind = match column.takes {
        Takes::Whole => "integer",
        Takes::Number => "number",
        Takes::YesNo => "boolean",
        _ => "string",
    };
    json!({"name": column.name, "in": "query", "description": column.meaning, "schema": {"type": kind}})
}
