//! The plans of the desk's folder.

use super::edits::blocking;
use super::extract::Json;
use super::plan::state;
use crate::Desk;
use crate::api::edit::Problem;
use crate::api::importing::{NewPlan, OpenPlan, PlanFile};
use crate::api::plan::PlanState;
use crate::folder;
use axum::extract::State;
use std::sync::Arc;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

/// The routes of this file.
pub fn routes() -> OpenApiRouter<Arc<Desk>> {
    OpenApiRouter::new().routes(routes!(plans, new)).routes(routes!(open)).routes(routes!(demo))
}

/// The plans in the desk's folder.
#[utoipa::path(get, path = "/api/plans", tag = "plans",
    responses((status = 200, body = [PlanFile]), (status = "default", body = Problem, content_type = "application/problem+json")))]
async fn plans(State(desk): State<Arc<Desk>>) -> Result<Json<Vec<PlanFile>>, Problem> {
    blocking(move || folder::plans(&desk)).await.map(Json)
}

/// Begin a new plan from a boundary and heights that were sent, and open it. Never over another.
#[utoipa::path(post, path = "/api/plans", tag = "plans", request_body = NewPlan,
    responses((status = 200, body = PlanState), (status = "default", body = Problem, content_type = "application/problem+json")))]
async fn new(State(desk): State<Arc<Desk>>, Json(asked): Json<NewPlan>) -> Result<Json<PlanState>, Problem> {
    let begun = move || {
        let notes = folder::begin_new(&desk, &asked)?;
        let mut state = state(&desk)?;
        let notice: Vec<String> = state.notice.take().into_iter().chain(notes).collect();
        state.notice = (!notice.is_empty()).then(|| notice.join("; "));
        Ok(state)
    };
    blocking(begun).await.map(Json)
}

/// Open another plan of the desk's folder, in every window.
#[utoipa::path(post, path = "/api/plans/open", tag = "plans", request_body = OpenPlan,
    responses((status = 200, body = PlanState), (status = "default", body = Problem, content_type = "application/problem+json")))]
async fn open(State(desk): State<Arc<Desk>>, Json(asked): Json<OpenPlan>) -> Result<Json<PlanState>, Problem> {
    blocking(move || folder::open(&desk, &asked.file).and_then(|()| state(&desk))).await.map(Json)
}

/// Write the demonstration into the desk's folder under a name that is free, and open it.
#[utoipa::path(post, path = "/api/plans/demo", tag = "plans",
    responses((status = 200, body = PlanState), (status = "default", body = Problem, content_type = "application/problem+json")))]
async fn demo(State(desk): State<Arc<Desk>>) -> Result<Json<PlanState>, Problem> {
    blocking(move || folder::begin_demo(&desk).and_then(|()| state(&desk))).await.map(Json)
}
