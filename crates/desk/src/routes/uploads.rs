//! Files sent by the page.

use super::edits::blocking;
use super::extract::{Json, Query};
use crate::Desk;
use crate::api::edit::Problem;
use crate::api::importing::Upload;
use crate::uploads::Coming;
use axum::body::Body;
use axum::extract::{DefaultBodyLimit, State};
use http_body_util::BodyExt;
use serde::Deserialize;
use std::sync::Arc;
use utoipa::IntoParams;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

/// The routes of this file. They count the bytes themselves.
pub fn routes() -> OpenApiRouter<Arc<Desk>> {
    OpenApiRouter::new().routes(routes!(upload)).layer(DefaultBodyLimit::disable())
}

/// What is sent.
#[derive(Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
struct Sent {
    /// The file's name, with its ending.
    #[param(max_length = 200)]
    name: String,
}

/// Send a file, as the body of the request. It is kept for this run only, and nothing of the plan changes.
#[utoipa::path(post, path = "/api/uploads", tag = "imports", params(Sent),
    request_body(content = Vec<u8>, content_type = "application/octet-stream", description = "The file"),
    responses((status = 200, body = Upload), (status = "default", body = Problem, content_type = "application/problem+json")))]
async fn upload(State(desk): State<Arc<Desk>>, Query(sent): Query<Sent>, mut body: Body) -> Result<Json<Upload>, Problem> {
    let mut coming = Coming::begin(&sent.name)?;
    while let Some(frame) = body.frame().await {
        let frame = frame.map_err(|error| Problem::bad_request(format!("The file did not come whole: {error}"), vec![]))?;
        if let Some(bytes) = frame.data_ref() {
            coming.more(bytes)?;
        }
    }
    blocking(move || coming.done(&desk.uploads)).await.map(Json)
}
