//! The ground, now and ahead, and its relief.

use super::extract::{Json, Query};
use super::worked::{OptionYear, newest, worked};
use crate::api::edit::Problem;
use crate::api::ground::{Ground, GroundAhead, Picture};
use crate::state::Desk;
use crate::work::ground::layers;
use crate::work::picture::Png;
use axum::extract::State;
use std::sync::Arc;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

/// The routes of the ground.
pub fn routes() -> OpenApiRouter<Arc<Desk>> {
    OpenApiRouter::new().routes(routes!(ground)).routes(routes!(ground_ahead)).routes(routes!(relief)).routes(routes!(relief_png))
}

/// Every layer of the plan, drawn in its own coordinates.
#[utoipa::path(get, path = "/api/ground", tag = "ground", responses((status = 200, description = "The ground", body = Ground)))]
async fn ground(State(desk): State<Arc<Desk>>) -> Result<Json<Ground>, Problem> {
    worked(&desk, |desk| {
        let s = desk.snapshot();
        layers(&s.holding, &s.guidance, s.version).map(Json).map_err(|e| Problem::refused("The ground cannot be drawn", [e.to_string()]))
    })
    .await
}

/// Woods and open ground as they stand in a year ahead under an option.
#[utoipa::path(get, path = "/api/ground-ahead", tag = "ground", params(OptionYear), responses(
    (status = 200, description = "What stands then", body = GroundAhead),
    (status = 400, description = "The year lies beyond the ruler", body = Problem, content_type = "application/problem+json"),
    (status = 404, description = "There is no such option", body = Problem, content_type = "application/problem+json"),
    (status = 422, description = "What the plan lacks for a ledger", body = Problem, content_type = "application/problem+json")))]
async fn ground_ahead(State(desk): State<Arc<Desk>>, Query(asked): Query<OptionYear>) -> Result<Json<GroundAhead>, Problem> {
    worked(&desk, move |desk| {
        let (version, _, course) = desk.work.courses.under(|| newest(desk), asked.option, asked.year)?;
        let stood = &course.year(asked.year)?.ground;
        let (woods, patches) = (stood.woods.clone(), stood.patches.clone());
        Ok(Json(GroundAhead { version, option: asked.option, year: asked.year, woods, patches }))
    })
    .await
}

/// Where the relief lies.
#[utoipa::path(get, path = "/api/relief", tag = "ground", responses(
    (status = 200, description = "Its place", body = Picture),
    (status = 404, description = "The plan has no heights", body = Problem, content_type = "application/problem+json")))]
async fn relief(State(desk): State<Arc<Desk>>) -> Result<Json<Picture>, Problem> {
    worked(&desk, |desk| Ok(Json(desk.work.relief(&desk.snapshot())?.place.clone()))).await
}

/// The relief, a veil to lay over the ground.
#[utoipa::path(get, path = "/api/relief.png", tag = "ground", responses(
    (status = 200, description = "The picture", body = Vec<u8>, content_type = "image/png"),
    (status = 404, description = "The plan has no heights", body = Problem, content_type = "application/problem+json")))]
async fn relief_png(State(desk): State<Arc<Desk>>) -> Result<Png, Problem> {
    worked(&desk, |desk| Ok(Png::clone(&*desk.work.relief(&desk.snapshot())?))).await
}
