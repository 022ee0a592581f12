//! Finding things by a few letters.

use super::extract::{Json, Query};
use crate::Desk;
use crate::api::edit::{Problem, ProblemFault};
use crate::api::plan::Hit;
use crate::search::search;
use axum::extract::State;
use serde::Deserialize;
use std::sync::Arc;
use utoipa::IntoParams;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

/// Letters that may be asked for.
const ASKED_MAX: usize = 200;

/// The routes of this file.
pub fn routes() -> OpenApiRouter<Arc<Desk>> {
    OpenApiRouter::new().routes(routes!(find))
}

/// What is looked for.
#[derive(Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
struct Asked {
    /// A few letters or words of a name, an id or a line about the thing.
    #[param(max_length = 200)]
    q: String,
}

/// Features, measures, leks, options, figures, rules and kinds of measure that fit, best first, thirty at most.
#[utoipa::path(get, path = "/api/search", tag = "plan", params(Asked),
    responses((status = 200, body = [Hit]), (status = "default", body = Problem, content_type = "application/problem+json")))]
async fn find(State(desk): State<Arc<Desk>>, Query(asked): Query<Asked>) -> Result<Json<Vec<Hit>>, Problem> {
    let letters = asked.q.chars().count();
    if letters > ASKED_MAX {
        let fault = ProblemFault { at: "q".into(), needed: format!("at most {ASKED_MAX} letters"), found: letters.to_string(), hint: "a few letters of a name do".into() };
        return Err(Problem::bad_request("Too much is asked for at once", vec![fault]));
    }
    Ok(Json(search(&desk.snapshot(), &asked.q)))
}
