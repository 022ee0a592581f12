//! The desk's side of the field page: what came in, what waits, which phones are paired.

use super::edits::blocking;
use super::extract::{Json, Path};
use crate::api::edit::Problem;
use crate::api::field::{Decision, Device, EntryState, FieldState, Pairing, PairingRequest};
use crate::state::Desk;
use axum::extract::State;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use std::sync::Arc;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

/// The routes.
pub fn routes() -> OpenApiRouter<Arc<Desk>> {
    OpenApiRouter::new()
        .routes(routes!(state))
        .routes(routes!(begin, end))
        .routes(routes!(forget))
        .routes(routes!(decide))
        .routes(routes!(photo))
}

/// How the field page stands: addresses, phones, and what came in.
#[utoipa::path(get, path = "/api/field", responses((status = 200, body = FieldState), (status = "4XX", body = Problem, content_type = "application/problem+json")))]
async fn state(State(desk): State<Arc<Desk>>) -> Result<Json<FieldState>, Problem> {
    blocking(move || desk.field_state()).await.map(Json)
}

/// Begin to pair a phone: a code to be typed there.
#[utoipa::path(post, path = "/api/field/pairing", request_body = PairingRequest,
    responses((status = 200, body = Pairing), (status = "4XX", body = Problem, content_type = "application/problem+json")))]
async fn begin(State(desk): State<Arc<Desk>>, Json(asked): Json<PairingRequest>) -> Result<Json<Pairing>, Problem> {
    desk.begin_pairing(asked.exact_leks).map(Json)
}

/// End the pairing under way.
#[utoipa::path(delete, path = "/api/field/pairing", responses((status = 204), (status = "4XX", body = Problem, content_type = "application/problem+json")))]
async fn end(State(desk): State<Arc<Desk>>) -> Result<StatusCode, Problem> {
    desk.end_pairing().map(|()| StatusCode::NO_CONTENT)
}

/// Let a phone in no more.
#[utoipa::path(delete, path = "/api/field/devices/{id}", params(("id" = u64, Path,)),
    responses((status = 200, body = Vec<Device>), (status = "4XX", body = Problem, content_type = "application/problem+json")))]
async fn forget(State(desk): State<Arc<Desk>>, Path(id): Path<u64>) -> Result<Json<Vec<Device>>, Problem> {
    desk.forget_device(id).map(Json)
}

/// Decide what is done with an entry.
#[utoipa::path(post, path = "/api/field/entries/{id}", params(("id" = String, Path,)), request_body = Decision,
    responses((status = 200, body = EntryState), (status = "4XX", body = Problem, content_type = "application/problem+json")))]
async fn decide(State(desk): State<Arc<Desk>>, Path(id): Path<String>, Json(decision): Json<Decision>) -> Result<Json<EntryState>, Problem> {
    blocking(move || desk.decide(&id, &decision)).await.map(Json)
}

/// The photograph of an entry.
#[utoipa::path(get, path = "/api/field/entries/{id}/photo", params(("id" = String, Path,)),
    responses((status = 200, body = Vec<u8>, content_type = "image/jpeg"), (status = "4XX", body = Problem, content_type = "application/problem+json")))]
async fn photo(State(desk): State<Arc<Desk>>, Path(id): Path<String>) -> Result<Response, Problem> {
    let jpeg = blocking(move || desk.photo(&id)).await?;
    Ok(([(header::CONTENT_TYPE, "image/jpeg")], jpeg).into_response())
}
