//! The plan that is open.

use super::edits::blocking;
use super::extract::Json;
use crate::Desk;
use crate::api::edit::Problem;
use crate::api::plan::{LastCount, LayerCount, LekState, OptionState, PlanState};
use crate::snapshot::{DRAWS, Snapshot};
use axum::extract::State;
use geo::BoundingRect;
use holding::{Holding, Lek};
use measures::rules::Context;
use measures::{kind, option};
use std::sync::Arc;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

/// The routes of this file.
pub fn routes() -> OpenApiRouter<Arc<Desk>> {
    OpenApiRouter::new().routes(routes!(plan))
}

/// The plan that is open: what it is, its leks and options, what can be taken back. With an empty `file`, none is open.
#[utoipa::path(get, path = "/api/plan", tag = "plan",
    responses((status = 200, body = PlanState), (status = "default", body = Problem, content_type = "application/problem+json")))]
async fn plan(State(desk): State<Arc<Desk>>) -> Result<Json<PlanState>, Problem> {
    blocking(move || state(&desk)).await.map(Json)
}

/// The plan as it is now.
///
/// # Errors
/// A figure of the guidance that is missing.
pub fn state(desk: &Desk) -> Result<PlanState, Problem> {
    // Read first: what can be taken back may only be older than what is shown, and then the version says so.
    let (file, now) = (desk.file(), desk.snapshot());
    let holding = &now.holding;
    let none = file.path.as_os_str().is_empty();
    let lacks = if none { vec![] } else { lacks(&now) };
    Ok(PlanState {
        file: file.name(),
        name: holding.about.name.clone(),
        country: holding.about.country.to_string(),
        epsg: holding.about.epsg,
        projection: file.projection,
        as_at: holding.about.as_at,
        version: now.version,
        writable: file.writable,
        notice: file.notice,
        extent: extent(holding),
        leks: holding.leks.iter().map(|lek| lek_state(&now, lek)).collect::<Result<_, _>>().map_err(unknown)?,
        options: options(&now, lacks.is_empty()).map_err(unknown)?,
        layers: layers(holding),
        undo: file.history.undo.filter(|_| file.writable),
        redo: file.history.redo.filter(|_| file.writable),
        guidance_edition: now.guidance.edition().to_string(),
        draws: DRAWS,
        cell_m: holding.about.cell_m,
        lacks,
    })
}

fn unknown(unknown: guidance::Unknown) -> Problem {
    Problem::new("failed", unknown.to_string())
}

fn lacks(now: &Snapshot) -> Vec<String> {
    match now.base() {
        Ok(_) => vec![],
        Err(problem) => problem.faults.into_iter().map(|fault| fault.found).collect(),
    }
}

fn lek_state(now: &Snapshot, lek: &Lek) -> Result<LekState, guidance::Unknown> {
    let holding = &now.holding;
    let years = birds::visits::by_year(holding, &lek.id, &now.guidance, birds::visits::place_of(holding)(lek))?;
    let last_count = years.iter().rev().find_map(|year| Some(LastCount { year: year.year, cocks: year.cocks? }));
    // Also where the plan lacks something for a ledger.
    let target_cocks = habitat::target_cocks(holding, &now.guidance, lek)?;
    Ok(LekState { id: lek.id.clone(), name: lek.called().to_string(), at: [lek.at.x(), lek.at.y()], target_cocks, last_count })
}

fn options(now: &Snapshot, ground: bool) -> Result<Vec<OptionState>, guidance::Unknown> {
    let base = if ground { now.base().ok() } else { None };
    let context = base.as_ref().map(|base| Context::new(&now.holding, &now.guidance, base));
    let each = |option: &holding::PlanOption| {
        let (mut gbp, mut faults) = ([0.0; 3], vec![]);
        if let Some(context) = &context {
            for cost in option::costs(context, option.number)? {
                gbp = std::array::from_fn(|i| gbp[i] + cost.gbp[i]);
            }
            let said = |fault: option::MeasureFault| format!("{}: {}", fault.measure, words(fault.fault));
            faults = option::faults(context, option.number).into_iter().map(said).collect();
        }
        let measures = now.holding.measures.iter().filter(|m| m.option == option.number).count();
        Ok(OptionState { number: option.number, name: option.name.clone(), note: option.note.clone(), measures, gbp, faults })
    };
    now.holding.options.iter().map(each).collect()
}

fn words(fault: kind::Fault) -> String {
    let fault = crate::session::of_measure(fault);
    let hint = if fault.hint.is_empty() { String::new() } else { format!(". {}", fault.hint) };
    format!("{}: {}; needed: {}{hint}", fault.at, fault.found, fault.needed)
}

/// West, south, east, north of the heights, else of everything that has a place.
fn extent(holding: &Holding) -> [f64; 4] {
    if let Some(heights) = &holding.heights {
        let frame = &heights.frame;
        return [frame.west_m, frame.south_m(), frame.east_m(), frame.north_m];
    }
    let mut all = [f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY];
    let mut add = |rect: Option<geo::Rect<f64>>| {
        if let Some(rect) = rect {
            all = [all[0].min(rect.min().x), all[1].min(rect.min().y), all[2].max(rect.max().x), all[3].max(rect.max().y)];
        }
    };
    add(holding.boundary.as_ref().and_then(BoundingRect::bounding_rect));
    holding.parcels.iter().for_each(|f| add(f.shape.bounding_rect()));
    holding.patches.iter().for_each(|f| add(f.shape.bounding_rect()));
    holding.woods.iter().for_each(|f| add(f.shape.bounding_rect()));
    holding.leks.iter().for_each(|f| add(Some(f.at.bounding_rect())));
    if all.iter().all(|v| v.is_finite()) { all } else { [0.0; 4] }
}

fn layers(holding: &Holding) -> Vec<LayerCount> {
    let boundary = ("boundary", usize::from(holding.boundary.is_some()));
    let ground = holding.counts().into_iter().filter(|(kind, _)| *kind != "options");
    std::iter::once(boundary).chain(ground).map(|(layer, features)| LayerCount { layer: layer.into(), features }).collect()
}
