//! A desk on a small invented holding, and a page that asks it.

use axum::Router;
use axum::body::Body;
use axum::http::{Method, Request, StatusCode};
use chrono::NaiveDate;
use desk::api::ask::Ask;
use desk::guard::{Guard, Key};
use desk::{Answer, Answers, Desk, Progress, Start, Trouble};
use geo::{MultiPolygon, Point, Rect};
use guidance::{Country, Guidance};
use holding::plan::Plan;
use holding::{About, Holding, Lek, Measure, Patch, PlanOption, Visit};
use http_body_util::BodyExt;
use serde_json::{Value, json};
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, LazyLock};
use std::time::{Duration, Instant};
use tempfile::TempDir;
use tower::ServiceExt;

/// The tables, read once.
static TABLES: LazyLock<Arc<Guidance>> = LazyLock::new(|| Arc::new(Guidance::load().unwrap()));

const PORT: u16 = 7373;

fn square(west: f64, south: f64, side_m: f64) -> MultiPolygon<f64> {
    MultiPolygon(vec![Rect::new((west, south), (west + side_m, south + side_m)).to_polygon()])
}

/// A square kilometre of moor with a lek in the middle.
pub fn holding() -> Holding {
    let mut patch = Patch::new("p1", square(384_000.0, 529_000.0, 1000.0));
    patch.name = "Whìn Rigg".to_string();
    patch.phase1 = Some("D1.1".to_string());
    let lek = Lek::new("L1", "Cold Rig", Point::new(384_500.0, 529_500.0));
    let visit = |id: &str, month: u32| Visit { id: id.into(), lek: "L1".into(), date: NaiveDate::from_ymd_opt(2026, month, 20).unwrap(), cocks: Some(7), ..Visit::default() };
    Holding {
        about: About { name: "Whin Farm".into(), country: Country::England, epsg: 27700, cell_m: 10.0, as_at: NaiveDate::from_ymd_opt(2026, 9, 1), ..About::default() },
        boundary: Some(square(384_000.0, 529_000.0, 1000.0)),
        patches: vec![patch],
        leks: vec![lek],
        visits: vec![visit("v1", 4), visit("v2", 8)],
        options: vec![PlanOption { number: 1, name: "More trees".into(), note: String::new() }],
        ..Holding::default()
    }
}

/// Answers as a test wants them.
#[derive(Default)]
pub struct Scripted {
    /// Questions of the trend are answered once this is set.
    pub open: AtomicBool,
    /// How many are being answered now.
    pub at_work: std::sync::atomic::AtomicUsize,
    /// The most that ever were at a time.
    pub most: std::sync::atomic::AtomicUsize,
}

impl Answers for Scripted {
    fn answer(&self, ask: &Ask, start: &Start, progress: &dyn Progress) -> Result<Answer, Trouble> {
        let now = self.at_work.fetch_add(1, Ordering::SeqCst) + 1;
        self.most.fetch_max(now, Ordering::SeqCst);
        let answer = self.found(ask, start, progress);
        self.at_work.fetch_sub(1, Ordering::SeqCst);
        answer
    }
}

impl Scripted {
    fn found(&self, ask: &Ask, start: &Start, progress: &dyn Progress) -> Result<Answer, Trouble> {
        match ask {
            Ask::Trend {} => {
                progress.now("counting on");
                while !self.open.load(Ordering::SeqCst) && !progress.stopped() {
                    std::thread::sleep(Duration::from_millis(2));
                }
                Ok(Answer { document: json!({"trend": "level"}), ..Answer::default() })
            }
            Ask::Explain { of } if of == "breaks" => {
                self.at_work.fetch_sub(1, Ordering::SeqCst);
                panic!("as the test wants it")
            }
            Ask::Explain { of } if of == "nothing" => Err(Trouble(vec!["`nothing` is no figure. Hint: greyhen guidance list".into(), "and so it stays. Hint: ask for another".into()])),
            Ask::Explain { of } => Ok(Answer { document: json!({"of": of, "plan": start.holding.about.name}), ..Answer::default() }),
            Ask::Suggest(asked) => {
                let shape = square(384_050.0, 529_050.0, 120.0);
                let measure = Measure { id: "wood-1".into(), option: asked.option, kind: "wood".into(), shape, ..blank() };
                Ok(Answer { document: json!({"measures": [{}]}), measures: vec![measure], files: vec![] })
            }
            Ask::Handover { option, .. } => {
                let mut files = vec![("plan.pdf".to_string(), b"%PDF".to_vec()), ("gis/measures.gpkg".to_string(), vec![1, 2, 3]), ("manifest.json".to_string(), b"{}".to_vec())];
                if option == &Some(9) {
                    files.push(("../out.txt".to_string(), vec![0]));
                }
                Ok(Answer { document: json!({}), measures: vec![], files })
            }
            other => panic!("not asked here: {other:?}"),
        }
    }
}

fn blank() -> Measure {
    Measure { id: String::new(), option: 0, kind: String::new(), year: None, shape: MultiPolygon(vec![]), line: geo::MultiLineString(vec![]), facts: holding::Extra::new() }
}

/// A page before a desk.
pub struct Page {
    pub desk: Arc<Desk>,
    pub answers: Arc<Scripted>,
    pub folder: TempDir,
    router: Router,
    key: Key,
}

impl Page {
    /// On the small holding.
    pub fn new() -> Page {
        Page::on(&holding())
    }

    /// On a holding.
    pub fn on(holding: &Holding) -> Page {
        let page = Page::empty();
        let path = page.path("hill.gpkg");
        drop(Plan::create(&path, holding, false).unwrap());
        page.desk.open(&path).unwrap();
        page
    }

    /// Without a plan.
    pub fn empty() -> Page {
        let folder = tempfile::tempdir().unwrap();
        let answers = Arc::new(Scripted::default());
        let desk = Arc::new(Desk::new(folder.path(), TABLES.clone(), answers.clone()));
        let key = Key::random();
        let router = desk::serve::app(desk.clone(), Guard::new(PORT, key.clone()));
        Page { desk, answers, folder, router, key }
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// Names in the folder, hidden ones too.
    pub fn names(&self) -> Vec<String> {
        let mut names: Vec<String> = std::fs::read_dir(self.folder.path()).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        names
    }

    pub fn version(&self) -> u64 {
        self.desk.snapshot().version
    }

    /// Ask with a body as it is; status, kind of content, how it is to be shown, and the bytes.
    pub async fn raw(&self, method: Method, path: &str, kind: &str, body: impl Into<Body>) -> (StatusCode, String, String, Vec<u8>) {
        let request = Request::builder()
            .method(method)
            .uri(path)
            .header("host", format!("127.0.0.1:{PORT}"))
            .header("authorization", format!("Bearer {}", self.key.as_str()))
            .header("content-type", kind)
            .body(body.into())
            .unwrap();
        let answer = self.router.clone().oneshot(request).await.unwrap();
        let header = |name: &str| answer.headers().get(name).map_or(String::new(), |v| v.to_str().unwrap().to_string());
        let (status, kind, shown) = (answer.status(), header("content-type"), header("content-disposition"));
        (status, kind, shown, answer.into_body().collect().await.unwrap().to_bytes().to_vec())
    }

    async fn json(&self, method: Method, path: &str, body: impl Into<Body>) -> (StatusCode, Value) {
        let (status, kind, _, bytes) = self.raw(method, path, "application/json", body).await;
        let value: Value = serde_json::from_slice(&bytes).unwrap_or_else(|e| panic!("{path}: {e}: {}", String::from_utf8_lossy(&bytes)));
        if status.as_u16() >= 400 {
            assert_eq!(kind, "application/problem+json", "{path}: {value}");
            assert!(value["kind"].is_string() && value["title"].is_string() && value["faults"].is_array(), "{path}: {value}");
        }
        (status, value)
    }

    pub async fn get(&self, path: &str) -> (StatusCode, Value) {
        self.json(Method::GET, path, Body::empty()).await
    }

    pub async fn post(&self, path: &str, body: Value) -> (StatusCode, Value) {
        self.json(Method::POST, path, body.to_string()).await
    }

    pub async fn delete(&self, path: &str) -> (StatusCode, Value) {
        self.json(Method::DELETE, path, Body::empty()).await
    }

    /// Send a file; its number and what was told of it.
    pub async fn upload(&self, name: &str, bytes: impl Into<Vec<u8>>) -> (u64, Value) {
        let (status, told) = self.json(Method::POST, &format!("/api/uploads?name={name}"), bytes.into()).await;
        assert_eq!(status, StatusCode::OK, "{told}");
        (told["id"].as_u64().unwrap(), told)
    }

    /// Ask a question; the number of the job.
    pub async fn ask(&self, ask: Value) -> u64 {
        let (status, job) = self.post("/api/jobs", ask).await;
        assert_eq!(status, StatusCode::OK, "{job}");
        job["id"].as_u64().unwrap()
    }

    /// A job once it stands in one of some states.
    pub async fn until(&self, id: u64, states: &[&str]) -> Value {
        let began = Instant::now();
        loop {
            let (status, job) = self.get(&format!("/api/jobs/{id}")).await;
            assert_eq!(status, StatusCode::OK, "{job}");
            if states.contains(&job["state"].as_str().unwrap()) {
                return job;
            }
            assert!(began.elapsed() < Duration::from_secs(60), "job {id} never came to {states:?}: {job}");
            tokio::time::sleep(Duration::from_millis(5)).await;
        }
    }
}
