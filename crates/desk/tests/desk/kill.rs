//! A desk that is killed in a storm of edits loses none that it acknowledged, and at most those in flight come on top.
//!
//! `GREYHEN_KILLS` sets how many kills (default 4), `GREYHEN_KILL_SEED` the chance.
#![cfg(unix)]

use crate::server::{Client, Server, holding, stick};
use holding::Plan;
use serde_json::json;
use std::collections::BTreeSet;
use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;

const CHILD: &str = "GREYHEN_DESK_CHILD";
/// Windows that edit at once.
const WINDOWS: usize = 2;
/// Edits of one storm.
const EDITS: usize = 200;

/// Not a test of its own: the desk that is killed. Without its variable it does nothing.
#[test]
fn child() {
    let Some(plan) = std::env::var_os(CHILD) else { return };
    let server = Server::on(Path::new(&plan));
    println!("\nat {} {}", server.at, server.key);
    loop {
        std::thread::sleep(Duration::from_secs(60));
    }
}

fn variable(name: &str, otherwise: u64) -> u64 {
    std::env::var(name).ok().and_then(|v| v.parse().ok()).unwrap_or(otherwise)
}

/// What a window sent: ids that were acknowledged, and the one that was in flight at the end.
fn storm(c: Client, kill: u64, window: usize) -> (Vec<String>, Option<String>) {
    let mut acknowledged = Vec::new();
    let Ok(plan) = c.try_api("GET", "/api/plan", None) else { return (acknowledged, None) };
    let mut version = plan.json()["version"].as_u64().unwrap();
    for n in 0..EDITS / WINDOWS {
        let id = format!("{kill}-{window}-{n}");
        match c.try_api("POST", "/api/edits", Some(&json!({"version": version, "edits": [stick(&id)]}))) {
            Ok(reply) => {
                assert_eq!(reply.status, 200, "{}", reply.text());
                version = reply.json()["version"].as_u64().unwrap();
                acknowledged.push(id);
            }
            Err(_) => return (acknowledged, Some(id)),
        }
    }
    (acknowledged, None)
}

#[test]
fn a_kill_in_a_storm_of_edits_loses_at_most_the_edits_in_flight() {
    if std::env::var_os(CHILD).is_some() {
        return;
    }
    let kills = variable("GREYHEN_KILLS", 4);
    let mut chance = variable("GREYHEN_KILL_SEED", 1);
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plan.gpkg");
    drop(Plan::create(&path, &holding(), false).unwrap());
    let mut must: BTreeSet<String> = BTreeSet::new();
    let (mut cut_short, mut kept_in_flight) = (0, 0);
    for kill in 0..kills {
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args(["--exact", "kill::child", "--nocapture", "--test-threads=1"])
            .env(CHILD, &path)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut lines = BufReader::new(child.stdout.take().unwrap()).lines().map_while(Result::ok);
        let told = lines.find_map(|line| line.strip_prefix("at ").map(str::to_string)).expect("the desk opens the plan after a kill");
        let (at, key) = told.split_once(' ').unwrap();
        let c = Client { at: at.parse().unwrap(), key: key.into() };
        // The first request waits for the year to be worked out; the storm is what is timed.
        c.api("GET", "/api/plan", None);
        let windows: Vec<_> = (0..WINDOWS).map(|window| (c.clone(), window)).map(|(c, window)| std::thread::spawn(move || storm(c, kill, window))).collect();
        // A linear congruence is chance enough for a moment (Knuth's constants, MMIX).
        chance = chance.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        std::thread::sleep(Duration::from_millis(20 + (chance >> 33) % 600));
        child.kill().unwrap();
        child.wait().unwrap();
        let mut flying = BTreeSet::new();
        for window in windows {
            let (acknowledged, in_flight) = window.join().unwrap();
            must.extend(acknowledged);
            cut_short += usize::from(in_flight.is_some());
            flying.extend(in_flight);
        }
        let plan = Plan::open(&path).unwrap();
        plan.check().unwrap();
        let there: BTreeSet<String> = plan.holding().unwrap().sticks.iter().map(|s| s.id.clone()).collect();
        let lost: Vec<_> = must.difference(&there).collect();
        assert!(lost.is_empty(), "kill {kill}: acknowledged and lost: {lost:?}");
        let more: Vec<String> = there.difference(&must).cloned().collect();
        assert!(more.iter().all(|id| flying.contains(id)), "kill {kill}: {more:?} beyond those in flight, {flying:?}");
        kept_in_flight += more.len();
        must = there;
        // The history goes with the rows: the last one that is there is what would be taken back.
        let last = plan.history().unwrap().undo;
        assert!(must.is_empty() || last.as_ref().is_some_and(|label| must.iter().any(|id| label.contains(&format!(" {id} ")))), "{last:?}");
    }
    println!("{kills} kills, {} edits kept, {cut_short} windows cut short, {kept_in_flight} edits kept that were not acknowledged", must.len());
    assert!(cut_short > 0, "no kill met a storm under way");
}
