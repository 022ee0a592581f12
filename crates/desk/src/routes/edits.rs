//! Edits of the plan, taking back, doing again.

use super::extract::Json;
use crate::Desk;
use crate::api::edit::{EditRequest, Edited, Problem, Turn};
use axum::extract::State;
use std::sync::Arc;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

/// The routes of this file.
pub fn routes() -> OpenApiRouter<Arc<Desk>> {
    OpenApiRouter::new().routes(routes!(edit)).routes(routes!(undo)).routes(routes!(redo))
}

/// Work that reads or writes the disk, or computes, on a thread where it may.
///
/// # Errors
/// What the work gives; `failed`, where it broke off.
pub async fn blocking<T: Send + 'static>(work: impl FnOnce() -> Result<T, Problem> + Send + 'static) -> Result<T, Problem> {
    let done = tokio::task::spawn_blocking(work).await;
    done.unwrap_or_else(|_| Err(Problem::new("failed", "The desk could not do this; the plan is as it was")))
}

/// Change the plan: all edits of the request are one step, on the disk when this is answered.
#[utoipa::path(post, path = "/api/edits", tag = "edits", request_body = EditRequest,
    responses((status = 200, body = Edited), (status = "default", body = Problem, content_type = "application/problem+json")))]
async fn edit(State(desk): State<Arc<Desk>>, Json(request): Json<EditRequest>) -> Result<Json<Edited>, Problem> {
    blocking(move || desk.edit(&request)).await.map(Json)
}

/// Take the last step back.
#[utoipa::path(post, path = "/api/undo", tag = "edits", request_body = Turn,
    responses((status = 200, body = Edited), (status = "default", body = Problem, content_type = "application/problem+json")))]
async fn undo(State(desk): State<Arc<Desk>>, Json(turn): Json<Turn>) -> Result<Json<Edited>, Problem> {
    blocking(move || desk.undo(turn)).await.map(Json)
}

/// Do the step last taken back again.
#[utoipa::path(post, path = "/api/redo", tag = "edits", request_body = Turn,
    responses((status = 200, body = Edited), (status = "default", body = Problem, content_type = "application/problem+json")))]
async fn redo(State(desk): State<Arc<Desk>>, Json(turn): Json<Turn>) -> Result<Json<Edited>, Problem> {
    blocking(move || desk.redo(turn)).await.map(Json)
}
