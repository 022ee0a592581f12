//! A plan outlives a kill at any moment: it opens, it is sound, and it holds every step that was acknowledged.
//!
//! A second process opens the plan and writes numbered states, telling each commit through a pipe; it is killed
//! (SIGKILL) after a random while, or as soon as pages are being written; then the plan must hold exactly the last state told, or the one after it.
//! `GREYHEN_KILLS` sets how many kills (default 40), `GREYHEN_KILL_SEED` the chance.
#![cfg(unix)]

mod full_holding;

use full_holding::{assert_same, line, square};
use geo_types::Point;
use ground::{Frame, Grid};
use holding::*;
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

const CHILD: &str = "GREYHEN_KILL_CHILD";

/// The state after step `n`: everything in it tells `n`, so half a step would show.
fn state(n: u32) -> Holding {
    let v = n as f32;
    let patch = |i: u32| Patch {
        note: format!("step {n}"),
        height_cm: Some(v),
        ..Patch::new(format!("p{i}"), square(400_000.0 + f64::from(i * 50 + n % 7), 518_000.0, 40.0))
    };
    let stick = |i: u32| Stick { id: format!("s{i}"), at: Point::new(400_000.0 + f64::from(i), 518_000.0 + f64::from(n % 100)), height_cm: v, date: None, note: String::new() };
    let wood = Wood { stems: (0..1 + n % 4).map(|i| Stems { tree: Tree::Birch, stems_per_ha: v + i as f32, height_m: None, age_yr: None }).collect(), ..Wood::new("w", square(401_000.0, 518_000.0, 90.0)) };
    Holding {
        about: About { note: n.to_string(), ..Default::default() },
        boundary: Some(square(400_000.0, 518_000.0, 1000.0 + f64::from(n))),
        patches: (0..25 + n % 10).map(patch).collect(),
        sticks: (0..60 + n % 30).map(stick).collect(),
        woods: vec![wood],
        ditches: vec![Ditch::new(format!("d{n}"), line(&[(400_000.0, 518_000.0), (400_100.0, 518_000.0 + f64::from(n))]))],
        heights: Some(Grid::filled(Frame::square(400_000.0, 520_000.0, 10.0, 30, 20), (n / 8) as f32)),
        ..Default::default()
    }
}

/// Not a test of its own: the process that is killed. Without its variable it does nothing.
#[test]
fn child() {
    let Some(path) = std::env::var_os(CHILD) else { return };
    let mut plan = Plan::open(Path::new(&path)).expect("the plan opens after a kill");
    let start: u32 = plan.holding().expect("the plan is whole after a kill").about.note.parse().expect("a step number");
    for n in start + 1.. {
        let next = state(n);
        if n % 3 == 0 {
            plan.step("kind by kind", |step| {
                step.replace(&next.sticks)?;
                step.replace(&next.patches)?;
                step.replace(&next.woods)?;
                step.remove::<Ditch>(&format!("d{}", n - 1))?;
                step.put(&next.ditches[0])?;
                step.set_boundary(next.boundary.as_ref())?;
                step.set_heights(next.heights.as_ref())?;
                step.set_about(&next.about)
            })
            .expect("a step");
        } else {
            plan.save(&next).expect("a save");
        }
        let mut out = std::io::stdout().lock();
        writeln!(out, "\nack {n}").and_then(|()| out.flush()).expect("somebody listens");
    }
}

struct Chance(u64);

impl Chance {
    /// SplitMix64 (Steele, Lea and Flood 2014).
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }
}

fn variable(name: &str, otherwise: u64) -> u64 {
    std::env::var(name).ok().and_then(|v| v.parse().ok()).unwrap_or(otherwise)
}

#[test]
fn a_kill_at_any_moment_loses_at_most_the_step_under_way() {
    if std::env::var_os(CHILD).is_some() {
        return;
    }
    let kills = variable("GREYHEN_KILLS", 40);
    let mut chance = Chance(variable("GREYHEN_KILL_SEED", 1));
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plan.gpkg");
    drop(Plan::create(&path, &state(0), false).unwrap());
    let journal = folder.path().join("plan.gpkg-journal");
    let (mut hot, mut ahead, mut told) = (0, 0, 0u32);
    let mut kill = 0;
    while kill < kills {
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args(["--exact", "child", "--nocapture", "--test-threads=1"])
            .env(CHILD, &path)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let out = child.stdout.take().unwrap();
        let (first, started) = std::sync::mpsc::channel();
        let listener = std::thread::spawn(move || {
            let mut last = None;
            for line in BufReader::new(out).lines().map_while(Result::ok) {
                if let Some(n) = line.strip_prefix("ack ").and_then(|n| n.parse::<u32>().ok()) {
                    last = Some(n);
                    first.send(()).ok();
                }
            }
            last
        });
        // Four in five fall in the midst of saving, the rest around the opening.
        if kill % 5 != 0 {
            started.recv_timeout(Duration::from_secs(60)).expect("the child commits");
        }
        // A journal whose first byte is 0 holds nothing yet: no page of the plan itself had been written.
        let is_hot = || std::fs::read(&journal).is_ok_and(|bytes| bytes.first().is_some_and(|b| *b != 0));
        if kill % 3 == 1 {
            // Aimed: as soon as pages of the plan are being written.
            let until = Instant::now() + Duration::from_millis(500);
            while Instant::now() < until && !is_hot() {}
        } else {
            std::thread::sleep(Duration::from_micros(chance.next() % 60_000));
        }
        child.kill().unwrap();
        let output = child.wait_with_output().unwrap();
        assert!(!String::from_utf8_lossy(&output.stderr).contains("panicked"), "{}", String::from_utf8_lossy(&output.stderr));
        told = listener.join().unwrap().unwrap_or(told).max(told);

        hot += u64::from(is_hot());
        let plan = if kill % 2 == 0 { Plan::open_read_only(&path) } else { Plan::open(&path) };
        let plan = plan.unwrap_or_else(|error| panic!("kill {kill}: {error}"));
        plan.check().unwrap();
        let found = plan.holding().unwrap_or_else(|faults| panic!("kill {kill}: {faults:?}"));
        let n: u32 = found.about.note.parse().unwrap();
        assert!(n == told || n == told + 1, "kill {kill}: told {told}, found {n}");
        assert_same(&state(n), &found);
        ahead += u64::from(n > told);
        told = n;
        let writable = plan.is_writable();
        drop(plan);
        assert!(!is_hot(), "kill {kill}: the journal was played back");
        if writable {
            assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1, "kill {kill}: one file is left");
        }
        kill += 1;
    }
    println!("{kill} kills, {told} steps: {hot} left a journal to play back, {ahead} fell between commit and word of it");
    assert!(kills < 40 || hot > 0, "no kill struck a transaction: the test has lost its bite");
}
