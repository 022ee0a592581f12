//! What the desk can be asked, for programs: the OpenAPI document, with the documents the command line prints.

use super::extract::Json;
use crate::Desk;
use axum::extract::State;
use serde_json::{Value, json};
use std::sync::Arc;
use utoipa::openapi::OpenApi;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

macro_rules! documents {
    ($($name:literal as $title:literal),* $(,)?) => {
        /// The documents of the command line: their name among the schemas, and their schema.
        const DOCUMENTS: &[(&str, &str)] = &[$(($title, include_str!(concat!("../../../../docs/schemas/", $name, ".json")))),*];
    };
}

documents!(
    "ahead" as "AheadDocument",
    "assess" as "AssessDocument",
    "birds" as "BirdsDocument",
    "check" as "CheckDocument",
    "compare" as "CompareDocument",
    "counts-after" as "AfterDocument",
    "counts-dawns" as "DawnsDocument",
    "counts-found" as "FoundDocument",
    "counts-trend" as "TrendDocument",
    "explain" as "ExplainDocument",
    "spend" as "SpendDocument",
    "suggest" as "SuggestDocument",
    "works" as "WorksDocument",
);

/// The routes of this file.
pub fn routes() -> OpenApiRouter<Arc<Desk>> {
    OpenApiRouter::new().routes(routes!(document))
}

/// This document.
#[utoipa::path(get, path = "/api/openapi.json", tag = "document", responses((status = 200, description = "This document", body = Object)))]
async fn document(State(desk): State<Arc<Desk>>) -> Json<Value> {
    Json(desk.document.get().cloned().unwrap_or_default())
}

/// The whole document: the routes, and among the schemas the documents that answers of jobs hold.
pub fn whole(api: &OpenApi) -> Value {
    let mut whole = serde_json::to_value(api).unwrap_or_default();
    // A part of a path that takes the rest of it is marked for the router alone.
    if let Some(paths) = whole["paths"].as_object_mut() {
        *paths = std::mem::take(paths).into_iter().map(|(path, of)| (path.replace("{*", "{"), of)).collect();
    }
    for (name, schema) in DOCUMENTS {
        let mut schema: Value = serde_json::from_str(schema).unwrap_or_else(|_| json!({}));
        if let Some(schema) = schema.as_object_mut() {
            schema.remove("$schema");
        }
        whole["components"]["schemas"][*name] = schema;
    }
    whole
}

#[cfg(test)]
mod tests {
    use super::DOCUMENTS;

    #[test]
    fn documents_are_schemas_that_stand_alone() {
        for (name, schema) in DOCUMENTS {
            assert!(serde_json::from_str::<serde_json::Value>(schema).is_ok_and(|s| s.is_object()), "{name}");
            assert!(!schema.contains("\"$ref\"") && !schema.contains("\"$id\""), "{name} refers to what does not come with it");
        }
    }
}
