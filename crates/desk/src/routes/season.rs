//! What a season finds on the ground for a lek.

use super::extract::{Json, Query};
use super::worked::{newest, worked};
use crate::api::edit::Problem;
use crate::api::ground::SeasonGround;
use crate::state::Desk;
use crate::work::courses::known;
use crate::work::picture::Png;
use crate::work::season::{Question, lek, season};
use axum::extract::State;
use serde::Deserialize;
use std::sync::Arc;
use utoipa::IntoParams;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

/// The routes of the season.
pub fn routes() -> OpenApiRouter<Arc<Desk>> {
    OpenApiRouter::new().routes(routes!(season_ground)).routes(routes!(season_png))
}

/// Which season of which lek, when and under what.
#[derive(Clone, Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
struct Asked {
    /// Lek by its id.
    lek: String,
    /// Season by its key.
    season: String,
    /// The option; left out: as now, nothing done.
    #[param(minimum = 1)]
    option: Option<u32>,
    /// Years ahead; left out: as surveyed.
    #[param(maximum = 30)]
    #[serde(default)]
    year: u32,
}

/// Why a season is short for a lek, and which ground could mend it.
#[utoipa::path(get, path = "/api/season", tag = "ground", params(Asked), responses(
    (status = 200, description = "The season", body = SeasonGround),
    (status = 400, description = "There is no such season or year", body = Problem, content_type = "application/problem+json"),
    (status = 404, description = "There is no such lek or option", body = Problem, content_type = "application/problem+json"),
    (status = 422, description = "What the plan lacks for a ledger", body = Problem, content_type = "application/problem+json")))]
async fn season_ground(State(desk): State<Arc<Desk>>, Query(asked): Query<Asked>) -> Result<Json<SeasonGround>, Problem> {
    worked(&desk, move |desk| on(desk, &asked, |question| question.told().map(Json))).await
}

/// The picture of a season: clear where nothing is found, stronger where more is.
#[utoipa::path(get, path = "/api/season.png", tag = "ground", params(Asked), responses(
    (status = 200, description = "The picture", body = Vec<u8>, content_type = "image/png"),
    (status = 400, description = "There is no such season or year", body = Problem, content_type = "application/problem+json"),
    (status = 404, description = "There is no such lek or option", body = Problem, content_type = "application/problem+json"),
    (status = 422, description = "What the plan lacks for a ledger", body = Problem, content_type = "application/problem+json")))]
async fn season_png(State(desk): State<Arc<Desk>>, Query(asked): Query<Asked>) -> Result<Png, Problem> {
    let nothing = || Problem::not_found("Nothing is mapped within reach of the lek in this season");
    worked(&desk, move |desk| on(desk, &asked, |question| question.png().ok_or_else(nothing))).await
}

fn on<T>(desk: &Desk, asked: &Asked, answer: impl FnOnce(&Question) -> Result<T, Problem>) -> Result<T, Problem> {
    let season = season(&asked.season)?;
    let (_, start) = newest(desk)?;
    known(&start.holding, asked.option)?;
    let lek_at = lek(&start, &asked.lek)?;
    if asked.year == 0 {
        return answer(&Question { start: &start, year: &start.base, lek: lek_at, season });
    }
    let (_, start, course) = desk.work.courses.under(|| newest(desk), asked.option, asked.year)?;
    let close = course.close(asked.year)?;
    answer(&Question { start: &start, year: &close.assessed, lek: lek(&start, &asked.lek)?, season })
}
