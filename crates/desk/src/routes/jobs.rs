//! Questions asked as jobs, and the files they make.

use super::edits::blocking;
use super::extract::{Json, Path};
use crate::Desk;
use crate::api::ask::{Ask, Job, Keep, Kept};
use crate::api::edit::Problem;
use crate::jobs::Jobs;
use crate::keep::{keep, name_of};
use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use std::sync::Arc;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

/// The routes of this file.
pub fn routes() -> OpenApiRouter<Arc<Desk>> {
    OpenApiRouter::new().routes(routes!(ask, all)).routes(routes!(one, stop)).routes(routes!(file)).routes(routes!(keep_files))
}

/// Ask a question. It is worked on as soon as its turn comes; the socket tells how it goes.
#[utoipa::path(post, path = "/api/jobs", tag = "jobs", request_body = Ask,
    responses((status = 200, body = Job), (status = "default", body = Problem, content_type = "application/problem+json")))]
async fn ask(State(desk): State<Arc<Desk>>, Json(ask): Json<Ask>) -> Result<Json<Job>, Problem> {
    Jobs::ask(&desk, ask).map(Json)
}

/// The jobs of this run that are still told, newest first, without their documents.
#[utoipa::path(get, path = "/api/jobs", tag = "jobs",
    responses((status = 200, body = [Job]), (status = "default", body = Problem, content_type = "application/problem+json")))]
async fn all(State(desk): State<Arc<Desk>>) -> Json<Vec<Job>> {
    Json(desk.jobs.all())
}

/// A job, with its document once it is done.
#[utoipa::path(get, path = "/api/jobs/{id}", tag = "jobs", params(("id" = u64, Path, description = "Number of the job")),
    responses((status = 200, body = Job), (status = "default", body = Problem, content_type = "application/problem+json")))]
async fn one(State(desk): State<Arc<Desk>>, Path(id): Path<u64>) -> Result<Json<Job>, Problem> {
    desk.jobs.get(id).map(Json)
}

/// Stop a job; what it made so far is thrown away.
#[utoipa::path(delete, path = "/api/jobs/{id}", tag = "jobs", params(("id" = u64, Path, description = "Number of the job")),
    responses((status = 200, body = Job), (status = "default", body = Problem, content_type = "application/problem+json")))]
async fn stop(State(desk): State<Arc<Desk>>, Path(id): Path<u64>) -> Result<Json<Job>, Problem> {
    Jobs::stop(&desk, id).map(Json)
}

/// A file that a job made.
#[utoipa::path(get, path = "/api/jobs/{id}/files/{*name}", tag = "jobs",
    params(("id" = u64, Path, description = "Number of the job"), ("name" = String, Path, description = "Name of the file as the job tells it")),
    responses((status = 200, description = "The file", content_type = "application/octet-stream"), (status = "default", body = Problem, content_type = "application/problem+json")))]
async fn file(State(desk): State<Arc<Desk>>, Path((id, name)): Path<(u64, String)>) -> Result<Response, Problem> {
    let files = desk.jobs.files(id)?;
    let (_, bytes) = files.iter().find(|(of, _)| *of == name).ok_or_else(|| Problem::not_found("The job made no file of that name, or it is no longer kept"))?;
    let (kind, shown) = kind_of(&name);
    let how = if shown { "inline" } else { "attachment" };
    let called: String = name.rsplit('/').next().unwrap_or_default().chars().filter(|c| c.is_ascii_alphanumeric() || "-_. ".contains(*c)).collect();
    Ok(([(header::CONTENT_TYPE, kind.to_string()), (header::CONTENT_DISPOSITION, format!("{how}; filename=\"{called}\""))], bytes.clone()).into_response())
}

/// What a file is by its ending, and whether a browser shows it by itself.
fn kind_of(name: &str) -> (&'static str, bool) {
    match name.rsplit_once('.').map_or("", |(_, ending)| ending) {
        "pdf" => ("application/pdf", true),
        "png" => ("image/png", true),
        "svg" => ("image/svg+xml", true),
        "csv" => ("text/csv; charset=utf-8", false),
        "json" => ("application/json", false),
        "geojson" => ("application/geo+json", false),
        "gpkg" => ("application/geopackage+sqlite3", false),
        "gpx" => ("application/gpx+xml", false),
        "ics" => ("text/calendar; charset=utf-8", false),
        "kml" => ("application/vnd.google-earth.kml+xml", false),
        "tif" => ("image/tiff", false),
        "txt" | "md" => ("text/plain; charset=utf-8", false),
        "xlsx" => ("application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", false),
        "zip" => ("application/zip", false),
        _ => ("application/octet-stream", false),
    }
}

/// Write the files of a job into a new folder beside the plan: all of them or none, and never over another.
#[utoipa::path(post, path = "/api/jobs/{id}/keep", tag = "jobs", request_body = Keep, params(("id" = u64, Path, description = "Number of the job")),
    responses((status = 200, body = Kept), (status = "default", body = Problem, content_type = "application/problem+json")))]
async fn keep_files(State(desk): State<Arc<Desk>>, Path(id): Path<u64>, Json(asked): Json<Keep>) -> Result<Json<Kept>, Problem> {
    let job = desk.jobs.get(id)?;
    let files = desk.jobs.files(id)?;
    if files.is_empty() {
        return Err(Problem::refused("There is nothing to keep", ["the job made no files, or they are no longer kept: ask for the hand-over again".to_string()]));
    }
    let folder = name_of("folder", &asked.folder)?;
    blocking(move || keep(&desk.folder, &folder, &files).map(|_| Kept { folder, files: job.files })).await.map(Json)
}
