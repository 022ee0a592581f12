//! What a phone can ask: the page, to be paired, the list of leks, to send an entry. Nothing else of the desk is here.

use super::Field;
use super::pairing::{Kept, NAME_MAX};
use crate::api::edit::{Problem, ProblemFault};
use crate::api::field::{Entry, FieldBook, FieldLek, Pair, Received};
use crate::guard;
use crate::page::file;
use crate::routes::extract::Json;
use crate::state::{Desk, held};
use axum::Router;
use axum::extract::{DefaultBodyLimit, FromRequestParts, Request, State};
use axum::http::request::Parts;
use axum::http::{HeaderMap, HeaderValue, Method, StatusCode, header};
use axum::middleware::{Next, from_fn, from_fn_with_state};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use holding::grid_ref::format_grid_ref;
use std::sync::Arc;

/// The most a request may carry, bytes: a photograph in base64 and the words to it.
const BODY_MAX: usize = 700_000;
/// Its cookie: only over HTTPS, only from this very machine, for all its addresses.
const COOKIE: &str = "__Host-greyhen-field";
/// How long a phone stays paired, seconds: browsers keep no cookie longer than 400 days.
const PAIRED_SECONDS: u64 = 400 * 24 * 3600;
/// Figures of a grid reference to the kilometre, and to ten metres.
const SQUARE_FIGURES: usize = 4;
const EXACT_FIGURES: usize = 8;

const HOW: &str = include_str!("how.html");

#[derive(Clone)]
struct Shared {
    desk: Arc<Desk>,
    field: Arc<Field>,
}

/// What is answered over HTTPS.
pub(super) fn secure(desk: Arc<Desk>, field: Arc<Field>) -> Router {
    let shared = Shared { desk, field: field.clone() };
    let told = Router::new()
        .route("/field/pair", post(pair))
        .route("/field/book", get(book))
        .route("/field/entries", post(entries))
        .with_state(shared);
    plain_routes(field.clone())
        .merge(told)
        .route("/", get(|| async { Redirect::to("/field/") }))
        .fallback(page)
        .layer(DefaultBodyLimit::max(BODY_MAX))
        .layer(from_fn_with_state(field, watch))
        .layer(from_fn(dressed))
}

/// What is answered by plain HTTP: how a phone comes to trust the desk, and the certificate for it.
pub(super) fn plain(field: Arc<Field>) -> Router {
    let nothing = || async { Problem::not_found("Only the certificate and how to trust it are given here; the page itself is at https") };
    plain_routes(field.clone())
        .route("/", get(|| async { how() }))
        .route("/field/", get(|| async { how() }))
        .fallback(nothing)
        .layer(DefaultBodyLimit::max(0))
        .layer(from_fn_with_state(field, watch))
        .layer(from_fn(dressed))
}

fn plain_routes(field: Arc<Field>) -> Router {
    let certificate = move || async move {
        let kind = [(header::CONTENT_TYPE, "application/x-x509-ca-cert"), (header::CONTENT_DISPOSITION, "attachment; filename=\"greyhen-field.crt\"")];
        (kind, field.authority.certificate())
    };
    Router::new().route("/authority.crt", get(certificate)).route("/field/how", get(|| async { how() }))
}

fn how() -> Response {
    ([(header::CONTENT_TYPE, "text/html; charset=utf-8")], HOW).into_response()
}

/// Files of the page.
async fn page(request: Request) -> Response {
    let path = request.uri().path();
    if !matches!(*request.method(), Method::GET | Method::HEAD) {
        return Problem::new("wrong_method", "This address is not asked in this way").into_response();
    }
    match path.strip_prefix("/field/") {
        Some("") => file("field/index.html", request.headers()),
        Some(_) => file(path.trim_start_matches('/'), request.headers()),
        None => Problem::not_found("There is nothing at this address").into_response(),
    }
}

/// Asked by one of its own names, and by its own page where something is sent.
async fn watch(State(field): State<Arc<Field>>, request: Request, next: Next) -> Response {
    let headers = request.headers();
    let host = headers.get(header::HOST).and_then(|host| host.to_str().ok()).map(str::to_owned).or_else(|| request.uri().authority().map(ToString::to_string));
    let Some(host) = host.filter(|host| field.is_called(host)) else {
        return Problem::new("forbidden", "This desk is asked for by another name than its own").into_response();
    };
    let reads = matches!(*request.method(), Method::GET | Method::HEAD | Method::OPTIONS);
    let own = format!("https://{host}");
    let origin = headers.get(header::ORIGIN).map(|origin| origin.as_bytes() == own.as_bytes());
    if origin == Some(false) || (!reads && origin.is_none()) {
        return Problem::new("forbidden", "Only the field page itself may send").into_response();
    }
    next.run(request).await
}

/// The headers of every answer, and the form of every refusal.
async fn dressed(request: Request, next: Next) -> Response {
    let mut answer = guard::as_problem(next.run(request).await);
    guard::dress(&mut answer);
    // The page may ask where it is and take pictures; nothing else may.
    answer.headers_mut().insert("permissions-policy", HeaderValue::from_static("geolocation=(self), camera=(self), microphone=()"));
    if !answer.headers().contains_key(header::CACHE_CONTROL) {
        answer.headers_mut().insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
    }
    answer
}

/// A paired phone.
struct Paired(Kept);

impl FromRequestParts<Shared> for Paired {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, shared: &Shared) -> Result<Self, Problem> {
        let token = cookie(&parts.headers).unwrap_or_default();
        held(&shared.field.pairings).known(token, &shared.desk.plan_path()).map(Paired)
    }
}

fn cookie(headers: &HeaderMap) -> Option<&str> {
    let cookies = headers.get_all(header::COOKIE).iter().filter_map(|value| value.to_str().ok());
    cookies.flat_map(|all| all.split(';')).filter_map(|one| one.trim().split_once('=')).find(|(name, _)| *name == COOKIE).map(|(_, token)| token)
}

async fn pair(State(shared): State<Shared>, Json(asked): Json<Pair>) -> Result<Response, Problem> {
    let name: String = asked.name.trim().chars().filter(|c| !c.is_control() && !holding::words::turns(*c)).collect();
    if name.is_empty() || name.chars().count() > NAME_MAX {
        let fault = ProblemFault { at: "name".into(), needed: format!("1 to {NAME_MAX} letters"), found: format!("{} letters", name.chars().count()), hint: "such as the name of whose phone it is".into() };
        return Err(Problem::bad_request("The phone needs a name", vec![fault]));
    }
    let plan = shared.desk.plan_path();
    let (token, kept) = held(&shared.field.pairings).pair(asked.code.trim(), &name, &plan, super::today())?;
    let cookie = format!("{COOKIE}={token}; Secure; HttpOnly; SameSite=Strict; Path=/; Max-Age={PAIRED_SECONDS}");
    let book = of_plan(&shared.desk, &kept);
    Ok((StatusCode::CREATED, [(header::SET_COOKIE, cookie)], Json(book)).into_response())
}

async fn book(State(shared): State<Shared>, Paired(kept): Paired) -> Json<FieldBook> {
    Json(of_plan(&shared.desk, &kept))
}

async fn entries(State(shared): State<Shared>, Paired(kept): Paired, Json(entry): Json<Entry>) -> Result<Json<Received>, Problem> {
    let desk = shared.desk;
    let taken = tokio::task::spawn_blocking(move || desk.receive(&kept.name, &entry)).await;
    taken.map_err(|_| Problem::new("failed", "The entry could not be taken in; it stays on the phone"))?.map(Json)
}

/// What a phone needs before it leaves, and no more.
fn of_plan(desk: &Desk, kept: &Kept) -> FieldBook {
    let holding = desk.snapshot().holding.clone();
    let grid = |at: geo_types::Point<f64>, figures| Some(at).filter(|_| holding.about.epsg == 27700).and_then(|at| format_grid_ref(at.x(), at.y(), figures));
    let lek = |lek: &holding::Lek| FieldLek {
        id: lek.id.clone(),
        name: lek.called().to_owned(),
        square: grid(lek.at, SQUARE_FIGURES).unwrap_or_default(),
        exact: grid(lek.at, EXACT_FIGURES).filter(|_| kept.exact_leks),
    };
    FieldBook { plan: holding.about.name.clone(), device: kept.name.clone(), leks: holding.leks.iter().map(lek).collect() }
}
