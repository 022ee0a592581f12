//! The page itself, carried in the program.

use crate::api::edit::Problem;
use axum::extract::Request;
use axum::http::{HeaderMap, HeaderValue, Method, StatusCode, header};
use axum::response::{IntoResponse, Response};
use rust_embed::RustEmbed;
use std::fmt::Write;

#[derive(RustEmbed)]
#[folder = "$OUT_DIR/page"]
struct Files;

/// What is built under this folder has its content in its name and never changes.
const NAMED_BY_CONTENT: &str = "assets/";

/// Give a file of the page; what is no file is not found.
pub async fn page(request: Request) -> Response {
    if !matches!(*request.method(), Method::GET | Method::HEAD) {
        return Problem::new("wrong_method", "This address is only read").into_response();
    }
    let path = request.uri().path().trim_start_matches('/');
    let path = if path.is_empty() { "index.html" } else { path };
    let plain = path.bytes().all(|b| b.is_ascii_alphanumeric() || b"-_./".contains(&b)) && path.split('/').all(|part| !part.is_empty() && !part.starts_with('.'));
    match plain.then(|| Files::get(path)).flatten() {
        Some(file) => given(path, file, request.headers()),
        None => Problem::not_found("There is nothing at this address").into_response(),
    }
}

fn given(path: &str, file: rust_embed::EmbeddedFile, asked: &HeaderMap) -> Response {
    let mark = file.metadata.sha256_hash().iter().take(16).fold(String::from("\""), |mut mark, byte| {
        let _ = write!(mark, "{byte:02x}");
        mark
    }) + "\"";
    let cached = if path.starts_with(NAMED_BY_CONTENT) { "private, max-age=31536000, immutable" } else { "no-cache" };
    let same = asked.get(header::IF_NONE_MATCH).and_then(|told| told.to_str().ok()).is_some_and(|told| told.split(',').any(|one| one.trim().trim_start_matches("W/") == mark));
    let mut answer = if same { StatusCode::NOT_MODIFIED.into_response() } else { ([(header::CONTENT_TYPE, kind_of(path))], file.data).into_response() };
    let headers = answer.headers_mut();
    headers.insert(header::CACHE_CONTROL, HeaderValue::from_static(cached));
    if let Ok(mark) = HeaderValue::from_str(&mark) {
        headers.insert(header::ETAG, mark);
    }
    answer
}

fn kind_of(path: &str) -> &'static str {
    match path.rsplit_once('.').map(|(_, ending)| ending) {
        Some("html") => "text/html; charset=utf-8",
        Some("js" | "mjs") => "text/javascript; charset=utf-8",
        Some("css") => "text/css; charset=utf-8",
        Some("svg") => "image/svg+xml",
        Some("png") => "image/png",
        Some("webp") => "image/webp",
        Some("ico") => "image/x-icon",
        Some("woff2") => "font/woff2",
        Some("json" | "map") => "application/json",
        Some("webmanifest") => "application/manifest+json",
        Some("wasm") => "application/wasm",
        Some("txt") => "text/plain; charset=utf-8",
        _ => "application/octet-stream",
    }
}
