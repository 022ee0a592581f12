//! A desk that listens, on a small invented holding, and a client that can also be rude.

use desk::api::ask::Ask;
use desk::{Answer, Answers, Desk, Progress, Start, Trouble};
use geo_types::{MultiPolygon, Point, polygon};
use ground::{Frame, Grid};
use guidance::Guidance;
use holding::{Holding, Lek, Parcel, Patch, Phase, Plan, Plant, PlanOption};
use serde_json::{Value, json};
use std::io::{Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::path::{Path, PathBuf};
use std::sync::{Arc, OnceLock};
use std::time::Duration;

pub fn guidance() -> Arc<Guidance> {
    static GUIDANCE: OnceLock<Arc<Guidance>> = OnceLock::new();
    GUIDANCE.get_or_init(|| Arc::new(Guidance::load().unwrap())).clone()
}

pub fn square(west: f64, south: f64, side: f64) -> MultiPolygon<f64> {
    MultiPolygon(vec![polygon![(x: west, y: south), (x: west + side, y: south), (x: west + side, y: south + side), (x: west, y: south + side)]])
}

/// A corner of the square as GeoJSON.
pub fn drawn(west: f64, south: f64, side: f64) -> Value {
    json!({"type": "Polygon", "coordinates": [[[west, south], [west + side, south], [west + side, south + side], [west, south + side], [west, south]]]})
}

/// Four square kilometres with a lek, on cells wide enough to be quick.
pub fn holding() -> Holding {
    let mut holding = Holding { boundary: Some(square(390_000.0, 530_000.0, 2000.0)), ..Holding::default() };
    holding.about.name = "Nether Whinmoss".into();
    holding.about.cell_m = 50.0;
    holding.about.as_at = chrono::NaiveDate::from_ymd_opt(2026, 3, 1);
    let frame = Frame::square(389_000.0, 533_000.0, 50.0, 80, 80);
    let cells = (0..frame.len()).map(|at| 300.0 + (at % 80) as f32 * 0.5).collect();
    holding.heights = Grid::from_cells(frame, cells);
    holding.leks.push(Lek::new("L1", "Whin Rigg", Point::new(391_000.0, 531_000.0)));
    holding.parcels.push(Parcel::new("P1", square(390_000.0, 530_000.0, 2000.0)));
    for (at, (west, south)) in [(390_000.0, 530_000.0), (391_000.0, 530_000.0), (390_000.0, 531_000.0), (391_000.0, 531_000.0)].into_iter().enumerate() {
        let mut patch = Patch { height_cm: Some(25.0), phase: Some(Phase::Building), ..Patch::new(format!("p{}", at + 1), square(west, south, 1000.0)) };
        patch.covers.set(Plant::Heather, 40.0);
        patch.covers.set(Plant::CottonGrass, 20.0);
        holding.patches.push(patch);
    }
    holding.options.push(PlanOption { number: 1, name: "Trees".into(), note: String::new() });
    holding
}

pub struct Silent;

impl Answers for Silent {
    fn answer(&self, _: &Ask, _: &Start, _: &dyn Progress) -> Result<Answer, Trouble> {
        Err(Trouble(vec!["nobody answers here".into()]))
    }
}

/// A desk that listens until it is dropped.
pub struct Server {
    pub desk: Arc<Desk>,
    pub at: SocketAddr,
    pub key: String,
    pub plan: PathBuf,
    stop: Option<tokio::sync::oneshot::Sender<()>>,
    runs: Option<std::thread::JoinHandle<()>>,
    folder: Option<tempfile::TempDir>,
}

impl Server {
    /// On a new plan.
    pub fn new() -> Server {
        let folder = tempfile::tempdir().unwrap();
        let plan = folder.path().join("plan.gpkg");
        drop(Plan::create(&plan, &holding(), false).unwrap());
        let mut server = Server::on(&plan);
        server.folder = Some(folder);
        server
    }

    pub fn on(plan: &Path) -> Server {
        let desk = Arc::new(Desk::new(plan.parent().unwrap(), guidance(), Arc::new(Silent)));
        desk.open(plan).unwrap();
        let bound = desk::serve::bind(Some(0)).unwrap();
        let (at, key) = (bound.address().at, bound.address().key.as_str().to_string());
        let (stop, stopped) = tokio::sync::oneshot::channel();
        let serving = desk.clone();
        let runs = std::thread::spawn(move || {
            let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().unwrap();
            runtime.block_on(bound.serve(serving, async { stopped.await.unwrap_or_default() })).unwrap();
        });
        Server { desk, at, key, plan: plan.into(), stop: Some(stop), runs: Some(runs), folder: None }
    }

    pub fn client(&self) -> Client {
        Client { at: self.at, key: self.key.clone() }
    }

    /// Stop and give the plan back, closed.
    pub fn ended(mut self) -> (PathBuf, Option<tempfile::TempDir>) {
        self.end();
        // The plan is closed with the last hand on the desk.
        (self.plan.clone(), self.folder.take())
    }

    fn end(&mut self) {
        if let Some(stop) = self.stop.take() {
            let _ = stop.send(());
        }
        if let Some(runs) = self.runs.take() {
            runs.join().unwrap();
        }
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        self.end();
    }
}

/// An answer.
#[derive(Debug)]
pub struct Reply {
    pub status: u16,
    pub headers: Vec<(String, String)>,
    pub body: Vec<u8>,
}

impl Reply {
    pub fn header(&self, name: &str) -> &str {
        self.headers.iter().find(|(of, _)| of == name).map_or("", |(_, value)| value)
    }

    pub fn json(&self) -> Value {
        serde_json::from_slice(&self.body).unwrap_or_else(|error| panic!("{error}: {}", self.text()))
    }

    pub fn text(&self) -> String {
        String::from_utf8_lossy(&self.body).into_owned()
    }

    /// The problem it tells, which must be of this status and kind.
    pub fn problem(&self, status: u16, kind: &str) -> Value {
        assert_eq!((self.status, self.header("content-type")), (status, "application/problem+json"), "{}", self.text());
        let problem = self.json();
        assert_eq!(problem["kind"], kind, "{problem}");
        problem
    }
}

#[derive(Clone, Debug)]
pub struct Client {
    pub at: SocketAddr,
    pub key: String,
}

impl Client {
    /// Send bytes as they are.
    pub fn raw(&self, bytes: &[u8]) -> std::io::Result<Reply> {
        let mut stream = TcpStream::connect(self.at)?;
        stream.set_read_timeout(Some(Duration::from_secs(60)))?;
        // Who sends too much may be refused before all is sent.
        let _ = stream.write_all(bytes);
        let mut all = Vec::new();
        let read = stream.read_to_end(&mut all);
        let end = all.windows(4).position(|four| four == b"\r\n\r\n").ok_or_else(|| read.err().unwrap_or(std::io::ErrorKind::UnexpectedEof.into()))?;
        let head = String::from_utf8_lossy(&all[..end]).into_owned();
        let mut lines = head.lines();
        let status = lines.next().and_then(|line| line.split(' ').nth(1)?.parse().ok()).ok_or(std::io::ErrorKind::InvalidData)?;
        let headers: Vec<_> = lines.filter_map(|line| line.split_once(':')).map(|(name, value)| (name.to_lowercase(), value.trim().to_string())).collect();
        let body = all.split_off(end + 4);
        let length = headers.iter().find(|(name, _)| name == "content-length").and_then(|(_, n)| n.parse::<usize>().ok());
        if length.is_some_and(|length| body.len() < length) {
            return Err(std::io::ErrorKind::UnexpectedEof.into());
        }
        Ok(Reply { status, headers, body })
    }

    /// Ask with these headers and no others but the length.
    pub fn ask(&self, method: &str, path: &str, headers: &[(&str, &str)], body: &[u8]) -> Reply {
        let mut text = format!("{method} {path} HTTP/1.1\r\nConnection: close\r\nContent-Length: {}\r\n", body.len());
        headers.iter().for_each(|(name, value)| text += &format!("{name}: {value}\r\n"));
        self.raw(&[text.as_bytes(), b"\r\n", body].concat()).unwrap()
    }

    pub fn host(&self) -> String {
        self.at.to_string()
    }

    pub fn try_api(&self, method: &str, path: &str, body: Option<&Value>) -> std::io::Result<Reply> {
        let body = body.map(Value::to_string).unwrap_or_default();
        let head = format!(
            "{method} {path} HTTP/1.1\r\nConnection: close\r\nHost: {}\r\nAuthorization: Bearer {}\r\nContent-Type: application/json\r\nContent-Length: {}\r\n\r\n",
            self.host(),
            self.key,
            body.len()
        );
        self.raw(&[head.as_bytes(), body.as_bytes()].concat())
    }

    /// Ask as a program does that was told the key.
    pub fn api(&self, method: &str, path: &str, body: Option<&Value>) -> Reply {
        self.try_api(method, path, body).unwrap()
    }

    pub fn get(&self, path: &str) -> Value {
        let reply = self.api("GET", path, None);
        assert_eq!(reply.status, 200, "{path}: {}", reply.text());
        reply.json()
    }

    pub fn version(&self) -> u64 {
        self.get("/api/plan")["version"].as_u64().unwrap()
    }

    pub fn edit(&self, version: u64, edits: Value) -> Reply {
        self.api("POST", "/api/edits", Some(&json!({"version": version, "edits": edits})))
    }

    /// An edit that must be done.
    pub fn done(&self, version: u64, edits: Value) -> Value {
        let reply = self.edit(version, edits);
        assert_eq!(reply.status, 200, "{}", reply.text());
        reply.json()
    }
}

/// An edit that adds a stick with an id.
pub fn stick(id: &str) -> Value {
    json!({"do": "set_feature", "layer": "sticks", "id": id, "set": {"height_cm": 12.5}, "geometry": {"type": "Point", "coordinates": [391_000.0, 531_000.0]}})
}
