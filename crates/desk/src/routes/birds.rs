//! What was counted.

use super::edits::blocking;
use super::extract::Json;
use crate::Desk;
use crate::api::birds::VisitState;
use crate::api::edit::Problem;
use axum::extract::State;
use birds::visits::{Window, place_of, refused};
use holding::{Lek, Visit, Word};
use std::collections::HashMap;
use std::sync::Arc;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

/// The routes of this file.
pub fn routes() -> OpenApiRouter<Arc<Desk>> {
    OpenApiRouter::new().routes(routes!(visits))
}

/// Every dawn visit of the plan, newest first, and whether it counts.
#[utoipa::path(get, path = "/api/visits", tag = "birds",
    responses((status = 200, body = [VisitState]), (status = "default", body = Problem, content_type = "application/problem+json")))]
async fn visits(State(desk): State<Arc<Desk>>) -> Result<Json<Vec<VisitState>>, Problem> {
    blocking(move || told(&desk)).await.map(Json)
}

fn told(desk: &Desk) -> Result<Vec<VisitState>, Problem> {
    let now = desk.snapshot();
    let holding = &now.holding;
    let window = Window::of(&now.guidance, holding.about.country).map_err(|unknown| Problem::new("failed", unknown.to_string()))?;
    let refused = refused(holding, &window, place_of(holding));
    let names: HashMap<&str, &str> = holding.leks.iter().map(|lek| (lek.id.as_str(), Lek::called(lek))).collect();
    let mut visits: Vec<&Visit> = holding.visits.iter().collect();
    visits.sort_by(|a, b| (b.date, b.start, &b.id).cmp(&(a.date, a.start, &a.id)));
    let state = |v: &Visit| {
        let why_not = refused.get(v.id.as_str()).cloned().unwrap_or_default();
        VisitState {
            id: v.id.clone(),
            lek: v.lek.clone(),
            lek_name: (*names.get(v.lek.as_str()).unwrap_or(&v.lek.as_str())).to_string(),
            date: v.date,
            known_to: v.known_to.word().to_string(),
            start: v.start.map(|t| t.format("%H:%M").to_string()),
            cocks: v.cocks,
            hens: v.hens,
            observer: v.observer.clone(),
            weather: v.weather.clone(),
            note: v.note.clone(),
            valid: why_not.is_empty(),
            why_not,
        }
    };
    Ok(visits.into_iter().map(state).collect())
}
