//! Files brought into the plan.

use super::edits::blocking;
use super::extract::Json;
use crate::Desk;
use crate::api::edit::Problem;
use crate::api::importing::{ImportRequest, Imported};
use crate::importing::import;
use axum::extract::State;
use std::sync::Arc;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

/// The routes of this file.
pub fn routes() -> OpenApiRouter<Arc<Desk>> {
    OpenApiRouter::new().routes(routes!(bring_in))
}

/// Look at how a file would come in, or bring it in: whole, as one step that can be taken back, or not at all.
#[utoipa::path(post, path = "/api/imports", tag = "imports", request_body = ImportRequest,
    responses((status = 200, body = Imported), (status = "default", body = Problem, content_type = "application/problem+json")))]
async fn bring_in(State(desk): State<Arc<Desk>>, Json(request): Json<ImportRequest>) -> Result<Json<Imported>, Problem> {
    blocking(move || import(&desk, &request)).await.map(Json)
}
