//! The year sheet.

use super::extract::{Json, Query};
use super::worked::{OptionYear, newest, worked};
use crate::api::edit::Problem;
use crate::api::year::YearSheet;
use crate::state::Desk;
use crate::work::courses::known;
use crate::work::sheet;
use axum::extract::State;
use std::sync::Arc;
use std::time::Instant;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

/// The routes of the year sheet.
pub fn routes() -> OpenApiRouter<Arc<Desk>> {
    OpenApiRouter::new().routes(routes!(year_sheet))
}

/// The year sheet of an option in a year.
#[utoipa::path(get, path = "/api/year-sheet", tag = "year", params(OptionYear), responses(
    (status = 200, description = "The sheet", body = YearSheet),
    (status = 400, description = "The year lies beyond the ruler", body = Problem, content_type = "application/problem+json"),
    (status = 404, description = "There is no such option", body = Problem, content_type = "application/problem+json"),
    (status = 422, description = "What the plan lacks for a ledger", body = Problem, content_type = "application/problem+json")))]
async fn year_sheet(State(desk): State<Arc<Desk>>, Query(asked): Query<OptionYear>) -> Result<Json<YearSheet>, Problem> {
    worked(&desk, move |desk| {
        let since = Instant::now();
        let mut sheet = of(desk, asked)?;
        sheet.took_ms = since.elapsed().as_secs_f64() * 1e3;
        Ok(Json(sheet))
    })
    .await
}

/// The ground as surveyed is the same under every option.
fn of(desk: &Desk, asked: OptionYear) -> Result<YearSheet, Problem> {
    if asked.year == 0 {
        let (version, start) = newest(desk)?;
        known(&start.holding, asked.option)?;
        return Ok(YearSheet { option: asked.option, ..sheet::surveyed(&start, version) });
    }
    let (version, start, course) = desk.work.courses.under(|| newest(desk), asked.option, asked.year)?;
    Ok(sheet::ahead(&start, version, asked.option, &course.year(asked.year)?.ledger))
}
