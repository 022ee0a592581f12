//! One writer at a time; readers beside it.

mod full_holding;

use full_holding::{assert_same, full};
use holding::{About, Holding, Plan};
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::atomic::{AtomicBool, Ordering};

const CHILD: &str = "GREYHEN_HOLD_CHILD";

/// Not a test of its own: a second process that holds the plan open. Without its variable it does nothing.
#[test]
fn child() {
    let Some(path) = std::env::var_os(CHILD) else { return };
    let plan = Plan::open(Path::new(&path)).unwrap();
    let mut out = std::io::stdout().lock();
    writeln!(out, "\nopen").and_then(|()| out.flush()).unwrap();
    std::io::stdin().lines().next();
    drop(plan);
}

fn holder(path: &Path) -> Child {
    let mut child = Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "child", "--nocapture", "--test-threads=1"])
        .env(CHILD, path)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let out = BufReader::new(child.stdout.as_mut().unwrap());
    assert!(out.lines().map_while(Result::ok).any(|line| line == "open"));
    child
}

fn about(note: &str) -> About {
    About { note: note.into(), ..Default::default() }
}

#[test]
fn a_second_writer_in_another_process_is_refused_by_name_and_a_reader_is_not() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plan.gpkg");
    drop(Plan::create(&path, &full(), false).unwrap());
    let mut child = holder(&path);
    let error = Plan::open(&path).err().expect("the second writer is refused");
    assert!(error.is_taken(), "{error}");
    let words = error.to_string();
    assert!(words.contains(&format!("process {}", child.id())) && words.contains("since 20"), "{words}");
    assert_same(&full(), &Plan::open_read_only(&path).unwrap().holding().unwrap());
    // Killed outright: nothing stale stands in the way.
    child.kill().unwrap();
    child.wait().unwrap();
    drop(Plan::open(&path).unwrap());
    // Closed in good order: likewise.
    let mut child = holder(&path);
    drop(child.stdin.take());
    child.wait().unwrap();
    drop(Plan::open(&path).unwrap());
}

#[test]
fn a_second_writer_never_slips_in_between_two_commits() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plan.gpkg");
    let mut plan = Plan::create(&path, &Holding::default(), false).unwrap();
    let done = AtomicBool::new(false);
    let refusals = std::thread::scope(|scope| {
        let intruder = scope.spawn(|| {
            let mut refusals = 0;
            while !done.load(Ordering::Relaxed) {
                let error = Plan::open(&path).err().expect("the second writer is refused");
                assert!(error.is_taken(), "{error}");
                refusals += 1;
            }
            refusals
        });
        for n in 0..150 {
            plan.step("a note", |step| step.set_about(&about(&n.to_string()))).unwrap();
        }
        done.store(true, Ordering::Relaxed);
        intruder.join().unwrap()
    });
    assert!(refusals > 0);
    assert_eq!(plan.holding().unwrap().about.note, "149");
    drop(plan);
    Plan::open(&path).unwrap();
}

#[test]
fn a_reader_sees_the_last_step_and_a_failed_step_leaves_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plan.gpkg");
    let mut plan = Plan::create(&path, &full(), false).unwrap();
    let reader = Plan::open_read_only(&path).unwrap();
    plan.step("a note", |step| step.set_about(&about("first"))).unwrap();
    assert_eq!(reader.holding().unwrap().about.note, "first");
    let mut bad = full().patches;
    bad[0].wetness = Some(7.0);
    bad[2].height_cm = Some(f32::NAN);
    bad[3].id = bad[1].id.clone();
    let error = plan
        .step("two things", |step| {
            step.set_about(&about("second"))?;
            step.replace(&bad)
        })
        .unwrap_err()
        .to_string();
    for word in ["3 faults", "`wetness`: needed a number from 0 to 1", "found 7", "`height_cm`", "found `NaN`", "a second time"] {
        assert!(error.contains(word), "{word} is not in {error}");
    }
    assert_eq!(reader.holding().unwrap().about.note, "first");
    assert_eq!(plan.holding().unwrap().about.note, "first");
    assert!(Plan::open(&path).err().unwrap().is_taken(), "the writer still has the plan");
}
