//! Kills of an importing program: the plan always opens and holds all of an import or none of it.
//!
//! `GREYHEN_KILLS` sets the number of kills (default 25).
#![cfg(unix)]

use holding::plan::Plan;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

#[test]
fn an_import_that_is_killed_leaves_all_or_nothing() {
    let kills: usize = std::env::var("GREYHEN_KILLS").ok().and_then(|k| k.parse().ok()).unwrap_or(25);
    let dir = tempfile::tempdir().unwrap();
    let at = |name: &str| dir.path().join(name);
    std::fs::write(at("boundary.csv"), "id,wkt\n1,\"POLYGON((390000 520000,393000 520000,393000 523000,390000 523000,390000 520000))\"\n").unwrap();
    const ROWS: usize = 3000;
    let mut sticks = String::from("id,easting,northing,height_cm\n");
    for i in 0..ROWS {
        sticks += &format!("ROUND-{i},{},{},{}\n", 390_000 + (i * 37) % 3000, 520_000 + (i * 91) % 3000, 5 + i % 40);
    }
    let greyhen = |arguments: &[&str]| {
        let mut c = Command::new(env!("CARGO_BIN_EXE_greyhen"));
        c.args(arguments).current_dir(dir.path()).stdout(Stdio::null()).stderr(Stdio::null());
        c
    };
    assert!(greyhen(&["new", "hill.gpkg", "--boundary", "boundary.csv"]).status().unwrap().success());
    // How long a whole import takes sets the moments of killing.
    std::fs::write(at("sticks.csv"), sticks.replace("ROUND", "first")).unwrap();
    let begun = Instant::now();
    assert!(greyhen(&["import", "hill.gpkg", "sticks", "sticks.csv"]).status().unwrap().success());
    let whole = begun.elapsed();
    let mut luck = 12_345u64;
    let (mut held, mut cut) = (ROWS, 0);
    for round in 0..kills {
        // A plan that only grows would slow every round: begin again now and then.
        if held > 20 * ROWS {
            std::fs::remove_file(at("hill.gpkg")).unwrap();
            assert!(greyhen(&["new", "hill.gpkg", "--boundary", "boundary.csv"]).status().unwrap().success());
            held = 0;
        }
        std::fs::write(at("sticks.csv"), sticks.replace("ROUND", &format!("r{round}"))).unwrap();
        luck = luck.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
        // Importing into a plan that holds something already takes longer than the first time.
        let wait = whole.mul_f64((luck >> 40) as f64 / (1u64 << 24) as f64 * 3.0);
        let mut child = greyhen(&["import", "hill.gpkg", "sticks", "sticks.csv"]).spawn().unwrap();
        std::thread::sleep(wait.max(Duration::from_millis(1)));
        child.kill().unwrap();
        let done = child.wait().unwrap().success();
        let plan = Plan::open(&at("hill.gpkg")).unwrap();
        plan.check().unwrap();
        let now = plan.holding().unwrap().sticks.len();
        assert!(now == held || now == held + ROWS, "round {round}: {held} before, {now} after");
        assert!(!done || now == held + ROWS, "round {round}: the import said it was done");
        cut += usize::from(now == held);
        held = now;
    }
    println!("{kills} kills, {cut} of them before the import was whole");
    assert!(cut > 0, "no kill came before the end: the test tries nothing");
}
