//! The routes, one file a group. Each group is a function that gives its `OpenApiRouter<Arc<Desk>>`; `all` puts them together.

pub mod birds;
pub mod document;
pub mod edits;
pub mod extract;
pub mod ground;
pub mod imports;
pub mod jobs;
pub mod live;
pub mod measures;
pub mod plan;
pub mod plans;
pub mod search;
pub mod season;
pub mod uploads;
pub mod worked;
pub mod year;

use crate::Desk;
use crate::api::ask::Job;
use crate::api::live::{FromPage, ToPage};
use axum::Router;
use std::sync::Arc;
use utoipa::OpenApi;
use utoipa_axum::router::OpenApiRouter;

#[derive(OpenApi)]
#[openapi(info(title = "greyhen desk", description = "One plan on a local page. Places are in the plan's own coordinates, metres.", version = "1", license(name = "MIT OR Apache-2.0")),
    components(schemas(FromPage, ToPage, Job)))]
struct Start;

/// Every route, and what they are.
pub fn all(desk: Arc<Desk>) -> (Router, utoipa::openapi::OpenApi) {
    let (router, api) = OpenApiRouter::with_openapi(Start::openapi())
        .merge(plan::routes())
        .merge(edits::routes())
        .merge(live::routes())
        .merge(jobs::routes())
        .merge(birds::routes())
        .merge(search::routes())
        .merge(uploads::routes())
        .merge(imports::routes())
        .merge(plans::routes())
        .merge(ground::routes())
        .merge(season::routes())
        .merge(year::routes())
        .merge(measures::routes())
        .merge(document::routes())
        .split_for_parts();
    // The same for every desk; another `all` of the same one changes nothing.
    let _ = desk.document.set(document::whole(&api));
    (router.method_not_allowed_fallback(wrong_method).with_state(desk), api)
}

async fn wrong_method() -> crate::api::edit::Problem {
    crate::api::edit::Problem::new("wrong_method", "This address is not asked in this way")
}
