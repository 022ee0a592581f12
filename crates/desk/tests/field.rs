//! Phones and the desk: who is let in, what leaves, and that what comes in is taken once and never lost.

use desk::api::ask::Ask;
use desk::api::edit::Turn;
use desk::field::FieldOptions;
use desk::{Answer, Answers, Desk, Progress, Start, Trouble};
use geo_types::{Point, polygon};
use guidance::Guidance;
use holding::grid_ref::lonlat_from_grid;
use holding::{Holding, Lek, Plan, Visit};
use rustls::pki_types::pem::PemObject;
use rustls::pki_types::{CertificateDer, ServerName};
use serde_json::{Value, json};
use std::io::{Read, Write};
use std::net::{IpAddr, Ipv4Addr, TcpStream};
use std::sync::Arc;

struct Silent;

impl Answers for Silent {
    fn answer(&self, _: &Ask, _: &Start, _: &dyn Progress) -> Result<Answer, Trouble> {
        Err(Trouble(vec![]))
    }
}

fn holding() -> Holding {
    let land = polygon![(x: 390_000.0, y: 532_000.0), (x: 392_000.0, y: 532_000.0), (x: 392_000.0, y: 534_000.0), (x: 390_000.0, y: 534_000.0)];
    let visit = Visit { id: "v1".into(), lek: "l1".into(), date: "2026-04-12".parse().unwrap(), cocks: Some(4), hens: Some(1), observer: "Ann Other".into(), ..Visit::default() };
    Holding { boundary: Some(land.into()), leks: vec![Lek::new("l1", "<b>Top</b>", Point::new(390_725.0, 532_525.0))], visits: vec![visit], ..Holding::default() }
}

struct Field {
    desk: Arc<Desk>,
    port: u16,
    _runtime: tokio::runtime::Runtime,
    folder: tempfile::TempDir,
}

fn field(exact_leks: bool) -> Field {
    let folder = tempfile::tempdir().unwrap();
    let plan = folder.path().join("hill.gpkg");
    drop(Plan::create(&plan, &holding(), false).unwrap());
    let desk = Arc::new(Desk::new(folder.path(), Arc::new(Guidance::load().unwrap()), Arc::new(Silent)));
    desk.open(&plan).unwrap();
    let options = FieldOptions { folder: folder.path().join("keep"), at: Some(IpAddr::V4(Ipv4Addr::LOCALHOST)), port: Some(0), exact_leks };
    let bound = desk::field::bind(&options).unwrap();
    let address = bound.field().addresses()[0].clone();
    let port = address.split(':').nth(2).unwrap().split('/').next().unwrap().parse().unwrap();
    let runtime = tokio::runtime::Runtime::new().unwrap();
    runtime.spawn(bound.serve(desk.clone()));
    // Ready when it answers.
    while desk.begin_pairing(None).is_err() {
        std::thread::sleep(std::time::Duration::from_millis(5));
    }
    Field { desk, port, _runtime: runtime, folder }
}

#[derive(Debug)]
struct Said {
    status: u16,
    head: String,
    body: String,
}

impl Said {
    fn json(&self) -> Value {
        serde_json::from_str(&self.body).unwrap_or_else(|_| panic!("{self:?}"))
    }
}

fn talk(mut line: impl Read + Write, request: &str) -> Said {
    line.write_all(request.as_bytes()).unwrap();
    let mut all = Vec::new();
    let mut part = [0; 4096];
    while let Ok(n @ 1..) = line.read(&mut part) {
        all.extend_from_slice(&part[..n]);
    }
    let all = String::from_utf8_lossy(&all).into_owned();
    let (head, body) = all.split_once("\r\n\r\n").unwrap_or((&all, ""));
    Said { status: head.split(' ').nth(1).and_then(|code| code.parse().ok()).unwrap_or_default(), head: head.to_lowercase(), body: body.into() }
}

impl Field {
    /// A request over HTTPS by a phone that trusts the desk's authority and nobody else.
    fn ask(&self, method: &str, path: &str, headers: &str, body: &str) -> Said {
        let pem = std::fs::read(self.folder.path().join("keep/authority.pem")).unwrap();
        let mut roots = rustls::RootCertStore::empty();
        roots.add(CertificateDer::from_pem_slice(&pem).unwrap()).unwrap();
        let config = rustls::ClientConfig::builder_with_provider(Arc::new(rustls::crypto::ring::default_provider()));
        let config = config.with_safe_default_protocol_versions().unwrap().with_root_certificates(roots).with_no_client_auth();
        let name = ServerName::from(IpAddr::V4(Ipv4Addr::LOCALHOST));
        let line = rustls::StreamOwned::new(rustls::ClientConnection::new(Arc::new(config), name).unwrap(), TcpStream::connect(("127.0.0.1", self.port)).unwrap());
        let host = if headers.contains("Host:") { String::new() } else { format!("Host: 127.0.0.1:{}\r\n", self.port) };
        let length = body.len();
        talk(line, &format!("{method} {path} HTTP/1.1\r\n{host}{headers}Connection: close\r\nContent-Type: application/json\r\nContent-Length: {length}\r\n\r\n{body}"))
    }

    fn post(&self, path: &str, cookie: &str, body: &Value) -> Said {
        let port = self.port;
        self.ask("POST", path, &format!("Origin: https://127.0.0.1:{port}\r\nCookie: {cookie}\r\n"), &body.to_string())
    }

    fn pair(&self) -> String {
        let code = self.desk.begin_pairing(None).unwrap().code;
        let said = self.post("/field/pair", "", &json!({"code": code, "name": "Ann's \u{202e}phone"}));
        assert_eq!(said.status, 201, "{said:?}");
        let cookie = said.head.lines().find_map(|line| line.strip_prefix("set-cookie: ")).unwrap();
        assert!(["secure", "httponly", "samesite=strict", "path=/"].iter().all(|word| cookie.contains(word)), "{cookie}");
        // Names of cookies keep their case.
        cookie.split(';').next().unwrap().replace("__host-", "__Host-")
    }
}

fn entry(n: u32, what: Value) -> Value {
    json!({"id": format!("00000000-0000-4000-8000-{n:012}"), "made_at": "2026-04-12T04:30:00Z", "observer": "ann other", "place": null, "what": what})
}

fn count(lek: &str, date: &str, cocks: u32) -> Value {
    json!({"is": "visit", "lek": lek, "date": date, "start": "05:10", "cocks": cocks, "hens": 1, "weather": "", "note": "=1+1"})
}

#[test]
fn a_phone_is_let_in_by_the_code_and_told_squares_alone() {
    let field = field(false);
    let wrong = field.ask("GET", "/field/book", "", "");
    assert_eq!((wrong.status, wrong.json()["kind"].clone()), (401, json!("no_key")));
    let cookie = field.pair();
    let book = field.ask("GET", "/field/book", &format!("Cookie: {cookie}\r\n"), "").json();
    assert_eq!(book["leks"], json!([{"id": "l1", "name": "<b>Top</b>", "square": "NY 90 32", "exact": null}]));
    assert_eq!(book["device"], "Ann's phone");
    // Nothing else of the desk answers here.
    for path in ["/api/plan", "/features", "/api/field", "/field/../api/plan", "/field/%2e%2e/index.html"] {
        let said = field.ask("GET", path, &format!("Cookie: {cookie}\r\n"), "");
        assert_eq!(said.status, 404, "{path}: {said:?}");
        assert!(said.head.contains("application/problem+json"), "{path}");
    }
    let page = field.ask("GET", "/field/", "", "");
    assert!(page.status == 200 && page.head.contains("content-security-policy: default-src 'none'"), "{page:?}");
}

#[test]
fn exact_places_leave_only_where_that_was_said() {
    let field = field(true);
    let cookie = field.pair();
    let book = field.ask("GET", "/field/book", &format!("Cookie: {cookie}\r\n"), "").json();
    assert_eq!(book["leks"][0]["exact"], "NY 9072 3252");
}

#[test]
fn strangers_are_kept_out() {
    let field = field(false);
    let cookie = field.pair();
    let body = entry(1, json!({"is": "note", "text": "x"})).to_string();
    let port = field.port;
    for (headers, status) in [
        (format!("Host: moss.example:{port}\r\nOrigin: https://moss.example:{port}\r\nCookie: {cookie}\r\n"), 403),
        (format!("Origin: https://moss.example\r\nCookie: {cookie}\r\n"), 403),
        (format!("Cookie: {cookie}\r\n"), 403),
        (format!("Origin: https://127.0.0.1:{port}\r\nCookie: __Host-greyhen-field=0\r\n"), 401),
    ] {
        assert_eq!(field.ask("POST", "/field/entries", &headers, &body).status, status, "{headers}");
    }
    let large = entry(2, json!({"is": "photo", "text": "", "jpeg": "A".repeat(800_000)}));
    assert_eq!(field.post("/field/entries", &cookie, &large).status, 413);
    // By plain HTTP: how to trust, and the certificate; nothing else.
    let plain = |path: &str| talk(TcpStream::connect(("127.0.0.1", port)).unwrap(), &format!("GET {path} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nConnection: close\r\n\r\n"));
    assert!(plain("/").body.contains("Let your phone trust the desk"));
    assert!(plain("/authority.crt").head.contains("application/x-x509-ca-cert"));
    assert_eq!(plain("/field/book").status, 404);
    let forgotten = field.desk.begin_pairing(None).unwrap();
    assert_eq!(forgotten.tries, 5);
}

#[test]
fn what_comes_in_is_taken_once_and_waits_where_it_disagrees() {
    let field = field(false);
    let cookie = field.pair();
    let send = |entry: &Value| field.post("/field/entries", &cookie, entry);
    let (lon, lat) = lonlat_from_grid(391_000.0, 533_000.0).unwrap();
    let (far_lon, far_lat) = lonlat_from_grid(399_000.0, 533_000.0).unwrap();
    let at = |mut entry: Value, lon: f64, lat: f64, off: f64| {
        entry["place"] = json!({"lon": lon, "lat": lat, "accuracy_m": off});
        entry
    };
    let holding = || field.desk.snapshot().holding.clone();

    let new = entry(1, count("l1", "2026-04-20", 3));
    for _ in 0..3 {
        assert_eq!(send(&new).json()["state"], "merged");
    }
    assert_eq!(holding().visits.len(), 2);
    assert_eq!((holding().visits[1].observer.as_str(), holding().visits[1].note.as_str()), ("ann other", "=1+1"));

    // The same count by another way is there already; another number of the same morning waits.
    assert_eq!(send(&entry(2, count("l1", "2026-04-12", 4))).json()["state"], "merged");
    let differs = send(&entry(3, count("l1", "2026-04-12", 7))).json();
    assert!(differs["state"] == "waiting" && differs["why"].as_str().unwrap().contains("4 cocks, 1 hen"), "{differs}");
    assert_eq!(send(&entry(4, count("gone", "2026-04-21", 2))).json()["state"], "waiting");
    assert_eq!(holding().visits.len(), 2);

    let stick = |n, cm: f64| entry(n, json!({"is": "stick", "height_cm": cm, "date": "2026-04-12", "note": ""}));
    assert_eq!(send(&at(stick(5, 31.5), lon, lat, 6.0)).json()["state"], "merged");
    assert_eq!(holding().sticks[0].height_cm, 31.5);
    let there = holding().sticks[0].at;
    assert!((there.x() - 391_000.0).abs() < 0.1 && (there.y() - 533_000.0).abs() < 0.1, "{there:?}");
    for (entry, why) in [(stick(6, 20.0), "no place"), (at(stick(7, 20.0), far_lon, far_lat, 6.0), "outside the land"), (at(stick(8, 20.0), lon, lat, 300.0), "300 m")] {
        let said = send(&entry).json();
        assert!(said["state"] == "waiting" && said["why"].as_str().unwrap().contains(why), "{said}");
    }
    let probe = at(entry(9, json!({"is": "probe", "depth_cm": 120.0, "date": "2026-04-12"})), lon, lat, 6.0);
    assert_eq!(send(&probe).json()["state"], "merged");
    assert_eq!(send(&entry(10, json!({"is": "note", "text": "<b>=1+1</b>"}))).json()["state"], "kept");
    for bad in [json!({"is": "stick", "height_cm": -1.0, "date": "2026-04-12", "note": ""}), json!({"is": "photo", "text": "", "jpeg": "aGVsbG8="}), json!({"is": "cloud"})] {
        assert!([400, 422].contains(&send(&entry(11, bad)).status));
    }
    assert_eq!((holding().sticks.len(), holding().probes.len()), (1, 1));

    // Taken back at the desk: the probe is gone, and the entry waits for a person, also when the phone sends it again.
    field.desk.undo(Turn { version: field.desk.snapshot().version }).unwrap();
    assert_eq!(holding().probes.len(), 0);
    let again = send(&probe).json();
    assert!(again["state"] == "waiting" && again["why"].as_str().unwrap().contains("taken back"), "{again}");
    field.desk.redo(Turn { version: field.desk.snapshot().version }).unwrap();
    assert_eq!(holding().probes.len(), 1);
    assert_eq!(send(&probe).json()["state"], "merged");
    assert_eq!(holding().probes.len(), 1);
}
