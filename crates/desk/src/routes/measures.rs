//! Kinds of measure, measures with what they come to, findings of the rules.

use super::extract::{Json, Query};
use super::worked::{OfOption, newest, worked};
use crate::api::edit::Problem;
use crate::api::plan::{FindingState, KindState, MeasureState};
use crate::state::Desk;
use crate::work::courses::known;
use crate::work::measures;
use axum::extract::State;
use std::sync::Arc;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

/// The routes of measures.
pub fn routes() -> OpenApiRouter<Arc<Desk>> {
    OpenApiRouter::new().routes(routes!(kinds)).routes(routes!(measures_of)).routes(routes!(findings))
}

/// The kinds of measure, in the order of the book.
#[utoipa::path(get, path = "/api/kinds", tag = "measures", responses((status = 200, description = "The kinds", body = [KindState])))]
async fn kinds(State(desk): State<Arc<Desk>>) -> Result<Json<Vec<KindState>>, Problem> {
    let s = desk.snapshot();
    measures::kinds(&s.holding, &s.guidance).map(Json)
}

/// The measures of an option, or of every option, with what they cost and what is wrong with them.
#[utoipa::path(get, path = "/api/measures", tag = "measures", params(OfOption), responses(
    (status = 200, description = "The measures", body = [MeasureState]),
    (status = 400, description = "The option is not a number", body = Problem, content_type = "application/problem+json"),
    (status = 404, description = "There is no such option", body = Problem, content_type = "application/problem+json"),
    (status = 422, description = "What the plan lacks for a ledger", body = Problem, content_type = "application/problem+json")))]
async fn measures_of(State(desk): State<Arc<Desk>>, Query(asked): Query<OfOption>) -> Result<Json<Vec<MeasureState>>, Problem> {
    worked(&desk, move |desk| {
        let (_, start) = newest(desk)?;
        known(&start.holding, asked.option)?;
        measures::measures(&start, asked.option).map(Json)
    })
    .await
}

/// What the rules find: on the ground, or on the ground as an option leaves it and on its measures.
#[utoipa::path(get, path = "/api/findings", tag = "measures", params(OfOption), responses(
    (status = 200, description = "The findings: those on measures, then those on the ground; the heaviest first in each", body = [FindingState]),
    (status = 400, description = "The option is not a number", body = Problem, content_type = "application/problem+json"),
    (status = 404, description = "There is no such option", body = Problem, content_type = "application/problem+json"),
    (status = 422, description = "What the plan lacks for a ledger", body = Problem, content_type = "application/problem+json")))]
async fn findings(State(desk): State<Arc<Desk>>, Query(asked): Query<OfOption>) -> Result<Json<Vec<FindingState>>, Problem> {
    worked(&desk, move |desk| {
        let (_, start) = newest(desk)?;
        known(&start.holding, asked.option)?;
        if asked.option.is_none() {
            return Ok(Json(measures::findings(&desk.work.found(&start)?, &start.guidance)));
        }
        let (_, start, course) = desk.work.courses.under(|| newest(desk), asked.option, 0)?;
        Ok(Json(measures::findings(course.findings()?, &start.guidance)))
    })
    .await
}
