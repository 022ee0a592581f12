//! What stands in the way of a request, as an answer.

use crate::api::edit::{Problem, ProblemFault};
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};

impl Problem {
    /// A problem of a kind, with one sentence.
    pub fn new(kind: &str, title: impl Into<String>) -> Problem {
        Problem { kind: kind.to_string(), title: title.into(), faults: Vec::new(), version: None, theirs: Vec::new() }
    }

    /// Understood, but it cannot be done: every fault in words.
    pub fn refused(title: impl Into<String>, faults: impl IntoIterator<Item = String>) -> Problem {
        let faults = faults.into_iter().map(|found| ProblemFault { found, ..ProblemFault::default() }).collect();
        Problem { faults, ..Problem::new("refused", title) }
    }

    /// Nothing of that name is there.
    pub fn not_found(title: impl Into<String>) -> Problem {
        Problem::new("not_found", title)
    }

    /// The request itself is wrong.
    pub fn bad_request(title: impl Into<String>, faults: Vec<ProblemFault>) -> Problem {
        Problem { faults, ..Problem::new("bad_request", title) }
    }

    /// The status it is sent with.
    pub fn status(&self) -> StatusCode {
        match self.kind.as_str() {
            "bad_request" => StatusCode::BAD_REQUEST,
            "no_key" => StatusCode::UNAUTHORIZED,
            "forbidden" => StatusCode::FORBIDDEN,
            "not_found" => StatusCode::NOT_FOUND,
            "wrong_method" => StatusCode::METHOD_NOT_ALLOWED,
            "wrong_type" => StatusCode::UNSUPPORTED_MEDIA_TYPE,
            "changed" | "taken" => StatusCode::CONFLICT,
            "too_large" => StatusCode::PAYLOAD_TOO_LARGE,
            "refused" => StatusCode::UNPROCESSABLE_ENTITY,
            _ => StatusCode::INTERNAL_SERVER_ERROR,
        }
    }
}

impl IntoResponse for Problem {
    fn into_response(self) -> Response {
        (self.status(), [(header::CONTENT_TYPE, "application/problem+json")], serde_json::to_string(&self).unwrap_or_default()).into_response()
    }
}
