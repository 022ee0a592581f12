//! Bodies, queries and paths, read with every refusal told as a [`Problem`].

use crate::api::edit::{Problem, ProblemFault};
use axum::extract::rejection::{JsonRejection, PathRejection, QueryRejection};
use axum::extract::{FromRequest, FromRequestParts, Request};
use axum::http::StatusCode;
use axum::http::request::Parts;
use axum::response::{IntoResponse, Response};
use serde::Serialize;
use serde::de::DeserializeOwned;

/// A JSON body; as an answer, a document.
#[derive(Clone, Copy, Debug, Default)]
pub struct Json<T>(pub T);

/// What stands behind the question mark.
#[derive(Clone, Copy, Debug, Default)]
pub struct Query<T>(pub T);

/// The parts of the address.
#[derive(Clone, Copy, Debug, Default)]
pub struct Path<T>(pub T);

impl<S: Send + Sync, T: DeserializeOwned> FromRequest<S> for Json<T> {
    type Rejection = Problem;

    async fn from_request(request: Request, state: &S) -> Result<Self, Problem> {
        let read = axum::Json::from_request(request, state).await;
        read.map(|axum::Json(body)| Json(body)).map_err(|refused: JsonRejection| problem("body", refused.status(), refused.body_text()))
    }
}

impl<T: Serialize> IntoResponse for Json<T> {
    fn into_response(self) -> Response {
        axum::Json(self.0).into_response()
    }
}

impl<S: Send + Sync, T: DeserializeOwned> FromRequestParts<S> for Query<T> {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, Problem> {
        let read = axum::extract::Query::from_request_parts(parts, state).await;
        read.map(|axum::extract::Query(query)| Query(query))
            .map_err(|refused: QueryRejection| problem("query", refused.status(), refused.body_text()))
    }
}

impl<S: Send + Sync, T: DeserializeOwned + Send> FromRequestParts<S> for Path<T> {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, Problem> {
        let read = axum::extract::Path::from_request_parts(parts, state).await;
        read.map(|axum::extract::Path(path)| Path(path))
            .map_err(|refused: PathRejection| problem("path", refused.status(), refused.body_text()))
    }
}

/// What was refused, as a problem of its status.
pub fn problem(at: &str, status: StatusCode, found: String) -> Problem {
    let (kind, title) = match status {
        StatusCode::PAYLOAD_TOO_LARGE => ("too_large", "More was sent than is taken at once"),
        StatusCode::UNSUPPORTED_MEDIA_TYPE => ("wrong_type", "The body must be JSON (Content-Type: application/json)"),
        _ => ("bad_request", "The request could not be understood"),
    };
    Problem { faults: vec![ProblemFault { at: at.to_string(), found, ..ProblemFault::default() }], ..Problem::new(kind, title) }
}
