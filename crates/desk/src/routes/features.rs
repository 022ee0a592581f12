//! The plan's layers for standard clients, under `/features`.

use crate::api::edit::{Problem, ProblemFault};
use crate::features::{Reply, Service};
use crate::state::Desk;
use axum::Router;
use axum::extract::State;
use axum::http::{HeaderMap, HeaderName, HeaderValue, Uri, header};
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use holding::Holding;
use std::sync::Arc;

const CONTENT_CRS: HeaderName = HeaderName::from_static("content-crs");

/// The routes. They have an OpenAPI document of their own at `/features/api`.
pub fn routes() -> Router<Arc<Desk>> {
    Router::new().route("/features", get(serve)).route("/features/", get(serve)).route("/features/{*path}", get(serve))
}

async fn serve(State(desk): State<Arc<Desk>>, uri: Uri, headers: HeaderMap) -> Result<Response, Problem> {
    let host = headers.get(header::HOST).and_then(|host| host.to_str().ok()).unwrap_or("127.0.0.1").to_owned();
    let holding = desk.snapshot().holding.clone();
    let work = move || answer(holding, &host, &uri);
    tokio::task::spawn_blocking(work).await.map_err(|_| Problem::new("failed", "The layers could not be read"))?
}

/// What a plan answers at an address of a host.
///
/// # Errors
/// Nothing there, or a query that is not understood.
pub fn answer(holding: Arc<Holding>, host: &str, uri: &Uri) -> Result<Response, Problem> {
    let query: Vec<(String, String)> = form_urlencoded::parse(uri.query().unwrap_or_default().as_bytes()).into_owned().collect();
    let path = parts(uri.path())?;
    let path: Vec<&str> = path.iter().map(String::as_str).collect();
    let key = query.iter().find(|(name, _)| name == "key").map(|(_, key)| key.clone());
    Service::new(holding, format!("http://{host}/features"), key).answer(&path, &query).map(told)
}

/// The parts of an address below `/features`, each decoded by itself: an id may hold a slash.
fn parts(path: &str) -> Result<Vec<String>, Problem> {
    let below = path.strip_prefix("/features").unwrap_or(path).trim_start_matches('/');
    let below = below.strip_suffix('/').unwrap_or(below);
    if below.is_empty() {
        return Ok(Vec::new());
    }
    let decoded = |part: &str| {
        let found = || ProblemFault { at: "path".into(), needed: "UTF-8".into(), found: "bytes that are none".into(), ..ProblemFault::default() };
        let text = percent_encoding::percent_decode_str(part).decode_utf8();
        text.map(|text| text.into_owned()).map_err(|_| Problem::bad_request("The address is not understood", vec![found()]))
    };
    below.split('/').map(decoded).collect()
}

fn told(reply: Reply) -> Response {
    let mut response = ([(header::CONTENT_TYPE, reply.media)], reply.body.to_string()).into_response();
    if let Some(value) = reply.crs.and_then(|crs| HeaderValue::from_str(&format!("<{crs}>")).ok()) {
        response.headers_mut().insert(CONTENT_CRS, value);
    }
    response
}
