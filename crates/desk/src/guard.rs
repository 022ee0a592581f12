//! Who is let in. The desk answers the browser of the person at this machine, and a program that was told the key; nobody else.
//!
//! - The name it is asked by must be its own, or a page elsewhere could point a name of its own at this machine.
//! - A request that another page makes is refused, whatever it carries: by `Origin`, and by what the browser tells of where it comes from.
//! - Everything of the plan needs the key of this run, in a cookie that no script can read, or in `Authorization: Bearer`; under
//!   `/features` also in the address, since many programs that read layers can send nothing else.
//! - Every answer forbids the page to run, load or frame anything that is not the desk's own.

use crate::api::edit::Problem;
use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use rand::RngExt;
use std::fmt::Write;
use std::hint::black_box;
use std::sync::Arc;

/// Bytes of a key.
const KEY_BYTES: usize = 32;

/// What every page may do: what is the desk's own, and nothing else. Styles are files; the one sheet that stands in a page, the one that
/// tells a phone how to trust the desk, is named by its hash.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self' 'sha256-mjJoG1JjYgMSSg4wQxwhe0DuCe8o7F2INVcST4P/+cc='; img-src 'self' data: blob:; connect-src 'self'; \
font-src 'self'; worker-src 'self'; manifest-src 'self'; frame-ancestors 'none'; base-uri 'none'; form-action 'none'";

/// What is sent with every answer.
const HEADERS: [(HeaderName, &str); 7] = [
    (header::CONTENT_SECURITY_POLICY, POLICY),
    (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (header::X_FRAME_OPTIONS, "DENY"),
    (header::REFERRER_POLICY, "no-referrer"),
    (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
    (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
    (HeaderName::from_static("permissions-policy"), "geolocation=(), camera=(), microphone=()"),
];

/// Shown where the page is asked for without the key.
const NO_KEY: &str = "<!doctype html><html lang=\"en\"><meta charset=\"utf-8\"><meta name=\"viewport\" content=\"width=device-width\"><title>greyhen</title>\
<main><h1>This desk needs its key</h1><p>Open the address that the desk told when it was started; it ends in <code>?key=</code> and letters. \
Each start has a key of its own.</p></main></html>";

/// The key of a run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Key(String);

impl Key {
    /// A key nobody can guess.
    pub fn random() -> Key {
        let bytes: [u8; KEY_BYTES] = rand::rng().random();
        Key(bytes.iter().fold(String::new(), |mut text, byte| {
            let _ = write!(text, "{byte:02x}");
            text
        }))
    }

    /// The key, as it stands in the address.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// Whether it is this one. Takes as long for a near miss as for a far one.
    fn is(&self, told: &str) -> bool {
        let (own, told) = (self.0.as_bytes(), told.as_bytes());
        let differ = own.iter().enumerate().fold(own.len() ^ told.len(), |differ, (at, byte)| {
            black_box(differ | usize::from(byte ^ told.get(at).copied().unwrap_or_default()))
        });
        black_box(differ) == 0
    }
}

/// What a request is measured against.
#[derive(Clone, Debug)]
pub struct Guard {
    port: u16,
    key: Key,
}

/// Why a request is not let in.
enum Refused {
    /// It was asked by another name.
    Name,
    /// Another page asks.
    Stranger,
    /// The key is missing or another.
    NoKey,
}

impl Guard {
    /// A guard of a desk that listens at a port.
    pub fn new(port: u16, key: Key) -> Guard {
        Guard { port, key }
    }

    /// The names it may be asked by.
    fn names(&self) -> [String; 3] {
        ["127.0.0.1", "localhost", "[::1]"].map(|name| format!("{name}:{}", self.port))
    }

    /// The name of its cookie: cookies do not tell ports apart.
    fn cookie(&self) -> String {
        format!("greyhen_{}", self.port)
    }

    fn judge(&self, request: &Request) -> Result<(), Refused> {
        let headers = request.headers();
        let host = self.host(request).ok_or(Refused::Name)?;
        let path = request.uri().path();
        let guarded = is_guarded(path);
        let in_address = is_within(path, "/features") && key_of(request.uri().query()).is_some_and(|told| self.key.is(&told));
        let bearer = in_address || bearer(headers).is_some_and(|told| self.key.is(told));
        let reads = matches!(*request.method(), Method::GET | Method::HEAD | Method::OPTIONS);
        // A browser opens a socket with GET and does not ask first: it is held to what writing is held to.
        let careful = !reads || headers.contains_key(header::UPGRADE);
        let site = headers.get("sec-fetch-site").map(HeaderValue::as_bytes);
        match headers.get(header::ORIGIN) {
            Some(origin) if origin.as_bytes() != format!("http://{host}").as_bytes() => return Err(Refused::Stranger),
            None if careful && !bearer && !matches!(site, Some(b"same-origin" | b"none")) => return Err(Refused::Stranger),
            _ => {}
        }
        if guarded && !matches!(site, None | Some(b"same-origin" | b"none")) {
            return Err(Refused::Stranger);
        }
        if guarded && !bearer && !self.has_cookie(headers) {
            return Err(Refused::NoKey);
        }
        Ok(())
    }

    /// The name it is asked by, where it is one of its own: named once, and the same in the address where it stands there too.
    fn host(&self, request: &Request) -> Option<String> {
        let mut named = request.headers().get_all(header::HOST).iter();
        let host = named.next()?.to_str().ok()?.to_ascii_lowercase();
        let own = named.next().is_none() && self.names().contains(&host);
        let same = request.uri().authority().is_none_or(|authority| authority.as_str().eq_ignore_ascii_case(&host));
        (own && same).then_some(host)
    }

    fn has_cookie(&self, headers: &HeaderMap) -> bool {
        let name = self.cookie();
        let cookies = headers.get_all(header::COOKIE).iter().filter_map(|value| value.to_str().ok());
        cookies.flat_map(|all| all.split(';')).filter_map(|one| one.trim().split_once('=')).any(|(of, told)| of == name && self.key.is(told))
    }

    /// The answer to the address that was printed: the key goes into the cookie, and out of sight.
    fn welcome(&self, told: &str) -> Response {
        if !self.key.is(told) {
            return (StatusCode::UNAUTHORIZED, [(header::CONTENT_TYPE, "text/html; charset=utf-8")], NO_KEY).into_response();
        }
        let cookie = format!("{}={}; HttpOnly; SameSite=Strict; Path=/", self.cookie(), self.key.0);
        (StatusCode::SEE_OTHER, [(header::SET_COOKIE, cookie), (header::LOCATION, "/".to_string())]).into_response()
    }
}

/// Whether an address tells of the plan. What else there is, the page itself, is the same for everybody.
fn is_guarded(path: &str) -> bool {
    ["/api", "/features"].iter().any(|room| is_within(path, room))
}

fn is_within(path: &str, room: &str) -> bool {
    path.strip_prefix(room).is_some_and(|rest| rest.is_empty() || rest.starts_with('/'))
}

fn bearer(headers: &HeaderMap) -> Option<&str> {
    let told = headers.get(header::AUTHORIZATION)?.to_str().ok()?;
    let (scheme, key) = told.split_once(' ')?;
    scheme.eq_ignore_ascii_case("bearer").then(|| key.trim())
}

/// Let a request in or refuse it; put the headers on every answer, and every refusal into the form of a problem.
pub async fn watch(State(guard): State<Arc<Guard>>, request: Request, next: Next) -> Response {
    let path = request.uri().path().to_string();
    let mut answer = match guard.judge(&request) {
        Err(Refused::Name) => Problem::new("forbidden", "This desk is asked for by another name than its own").into_response(),
        Err(Refused::Stranger) => Problem::new("forbidden", "Only the desk's own page may ask for this").into_response(),
        Err(Refused::NoKey) => Problem::new("no_key", "The key of this run is missing: open the address that was printed at the start").into_response(),
        Ok(()) if path == "/" => match key_of(request.uri().query()) {
            Some(key) => guard.welcome(&key),
            None if guard.has_cookie(request.headers()) => next.run(request).await,
            None => (StatusCode::UNAUTHORIZED, [(header::CONTENT_TYPE, "text/html; charset=utf-8")], NO_KEY).into_response(),
        },
        Ok(()) => next.run(request).await,
    };
    answer = as_problem(answer);
    dress(&mut answer);
    let headers = answer.headers_mut();
    if is_guarded(&path) || !headers.contains_key(header::CACHE_CONTROL) {
        headers.insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
    }
    answer
}

/// Put the headers of every answer on one.
pub(crate) fn dress(answer: &mut Response) {
    for (name, value) in &HEADERS {
        answer.headers_mut().insert(name.clone(), HeaderValue::from_static(value));
    }
}

fn key_of(query: Option<&str>) -> Option<String> {
    query?.split('&').filter_map(|one| one.split_once('=')).find(|(name, _)| *name == "key").map(|(_, key)| key.to_string())
}

/// What the machinery refuses in plain text, in the form of a problem.
pub(crate) fn as_problem(answer: Response) -> Response {
    let status = answer.status();
    let kind = answer.headers().get(header::CONTENT_TYPE).map(HeaderValue::as_bytes);
    if !(status.is_client_error() || status.is_server_error()) || kind.is_some_and(|kind| !kind.starts_with(b"text/plain")) {
        return answer;
    }
    let (kind, title) = match status {
        StatusCode::NOT_FOUND => ("not_found", "There is nothing at this address"),
        StatusCode::METHOD_NOT_ALLOWED => ("wrong_method", "This address is not asked in this way"),
        StatusCode::PAYLOAD_TOO_LARGE => ("too_large", "More was sent than is taken at once"),
        StatusCode::UNSUPPORTED_MEDIA_TYPE => ("wrong_type", "The body is of another type than is needed"),
        _ if status.is_client_error() => ("bad_request", "The request could not be understood"),
        _ => ("failed", "The desk could not do this"),
    };
    let mut problem = Problem::new(kind, title).into_response();
    *problem.status_mut() = status;
    if let Some(allow) = answer.headers().get(header::ALLOW) {
        problem.headers_mut().insert(header::ALLOW, allow.clone());
    }
    problem
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_key_is_itself_alone() {
        let (key, other) = (Key::random(), Key::random());
        assert_eq!(key.as_str().len(), 2 * KEY_BYTES);
        assert!(key.is(key.as_str()) && !key.is(other.as_str()) && !key.is("") && !key.is(&key.as_str()[1..]) && !key.is(&format!("{}0", key.as_str())));
    }

    #[test]
    fn no_style_runs_but_files_and_the_one_sheet_named() {
        use base64::{Engine, engine::general_purpose::STANDARD};
        use sha2::{Digest, Sha256};
        let page = include_str!("field/how.html");
        let (_, rest) = page.split_once("<style>").unwrap_or_default();
        let (sheet, after) = rest.split_once("</style>").unwrap_or_default();
        let hash = format!("'sha256-{}'", STANDARD.encode(Sha256::digest(sheet)));
        assert!(!sheet.is_empty() && !after.contains("<style") && !page.contains(" style="));
        assert!(POLICY.contains(&hash), "the sheet of field/how.html is {hash} now");
        assert!(!POLICY.contains("unsafe"));
    }

    #[test]
    fn what_tells_of_the_plan_is_guarded() {
        for path in ["/api", "/api/plan", "/features", "/features/collections"] {
            assert!(is_guarded(path), "{path}");
        }
        for path in ["/", "/assets/a.js", "/apis"] {
            assert!(!is_guarded(path), "{path}");
        }
    }
}
