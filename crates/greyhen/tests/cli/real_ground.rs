//! Real heights: four tiles of OS Terrain 50 in Teesdale with an invented boundary, vegetation and leks on them.
//! Contains OS data (c) Crown copyright and database right 2013. Steps aside, saying so, where the tiles are not at hand.

use std::path::{Path, PathBuf};
use std::process::Command;

fn tiles() -> Option<Vec<PathBuf>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../shared/data/heights_teesdale");
    let tiles: Vec<PathBuf> = ["ny82", "ny83", "ny92", "ny93"].iter().map(|n| folder.join(format!("{n}.zip"))).collect();
    tiles.iter().all(|t| t.exists()).then_some(tiles)
}

/// A plan on the tiles with an invented boundary, 64 patches and two leks, and what runs a command on it.
fn plan(dir: &Path, tiles: &[PathBuf]) -> impl Fn(&[&str]) -> String {
    let at = |name: &str| dir.join(name);
    let ring = |w: f64, s: f64, e: f64, n: f64| format!("POLYGON(({w} {s},{e} {s},{e} {n},{w} {n},{w} {s}))");
    let (w, s) = (WEST_M, SOUTH_M);
    std::fs::write(at("boundary.csv"), format!("id,wkt\n1,\"{}\"\n", ring(w, s, w + SIDE_M, s + SIDE_M))).unwrap();
    let mut patches = String::from("id,name,phase1,heather_pct,sedge_grass_pct,moss_pct,height_cm,height_sd_cm,wkt\n");
    for r in 0..8 {
        for c in 0..8 {
            let (x, y) = (w + c as f64 * 500.0, s + r as f64 * 500.0);
            let (code, heather, grass, moss, height) = [("D1.1", 65, 15, 10, 28), ("E1.6.1", 35, 20, 30, 20), ("B1.1", 3, 75, 8, 12), ("E2.1", 5, 35, 30, 30)][(r * 3 + c) % 4];
            patches += &format!("{r}{c},Patch {r}{c},{code},{heather},{grass},{moss},{height},{},\"{}\"\n", height / 2, ring(x, y, x + 500.0, y + 500.0));
        }
    }
    std::fs::write(at("patches.csv"), patches).unwrap();
    std::fs::write(at("leks.csv"), "id,name,easting,northing\n1,Invented West,389600,531700\n2,Invented East,391000,532500\n").unwrap();
    std::fs::write(at("visits.csv"), "id,lek,date,cocks\n1,1,2026-04-20,6\n2,2,2026-04-21,9\n").unwrap();
    let dir = dir.to_path_buf();
    let run = move |arguments: &[&str]| {
        let out = Command::new(env!("CARGO_BIN_EXE_greyhen")).args(arguments).current_dir(&dir).output().unwrap();
        assert!(out.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&out.stderr));
        String::from_utf8(out.stdout).unwrap()
    };
    let mut new = vec!["new", "real.gpkg", "--boundary", "boundary.csv", "--country", "England", "--as-at", "2026-06-01", "--heights"];
    new.extend(tiles.iter().map(|t| t.to_str().unwrap()));
    run(&new);
    for (kind, file) in [("patches", "patches.csv"), ("leks", "leks.csv"), ("visits", "visits.csv")] {
        run(&["import", "real.gpkg", kind, file]);
    }
    run
}

const WEST_M: f64 = 388_000.0;
const SOUTH_M: f64 = 530_000.0;
const SIDE_M: f64 = 4_000.0;

#[test]
fn a_plan_on_real_heights_assesses_and_hands_over() {
    let Some(tiles) = tiles() else {
        println!("stepped aside: the Teesdale tiles are not at hand");
        return;
    };
    let dir = tempfile::tempdir().unwrap();
    let run = plan(dir.path(), &tiles);
    let assess: serde_json::Value = serde_json::from_str(&run(&["assess", "real.gpkg", "--json", "--show-leks"])).unwrap();
    // The height model says E390025 N532025 is 530.1 m; leks a few hundred metres off lie within the tile's range there.
    for lek in assess["leks"].as_array().unwrap() {
        let altitude = lek["ground"]["altitude_m"].as_f64().unwrap();
        assert!((400.0..700.0).contains(&altitude), "{altitude}");
        assert!(lek["ground"]["view_disc"].as_f64().is_some_and(|v| (0.0..=1.0).contains(&v)));
        assert!(lek["seasons"][5]["supply_ha"]["p50"].as_f64().unwrap() > 1.0);
    }
    run(&["handover", "real.gpkg", "--to", "pack", "--date", "2026-06-20", "--no-pages"]);
    assert!(["ledger.xlsx", "gis/results.gpkg"].iter().all(|f| dir.path().join("pack").join(f).exists()));
}

/// Woods and spending on real relief: within limits, off the leks, with their bounds.
#[test]
fn woods_and_money_are_put_forward_on_real_heights() {
    let Some(tiles) = tiles() else {
        println!("stepped aside: the Teesdale tiles are not at hand");
        return;
    };
    let dir = tempfile::tempdir().unwrap();
    let run = plan(dir.path(), &tiles);
    run(&["option", "real.gpkg", "add", "Woods"]);
    let said = run(&["suggest", "real.gpkg", "wood", "--draws", "8", "--cell", "20", "--ha", "20", "--option", "1", "--show-leks", "--json"]);
    let said: serde_json::Value = serde_json::from_str(&said).unwrap();
    let woods = said["measures"].as_array().unwrap();
    assert!(woods.len() >= 4 && said["gap"].as_f64().unwrap() <= 0.03, "{} woods, gap {}", woods.len(), said["gap"]);
    let mut ha = 0.0;
    for wood in woods {
        let figure = |what: &str| wood["figures"].as_array().unwrap().iter().find(|f| f["what"] == what).unwrap()["amount"].as_f64().unwrap();
        ha += figure("area");
        assert!((1.0..=5.0).contains(&figure("area")) && (1.3..=2.2).contains(&figure("shape index")), "{wood}");
        for ring in wood["geometry"]["coordinates"].as_array().unwrap().iter().flat_map(|p| p.as_array().unwrap()) {
            for corner in ring.as_array().unwrap() {
                let (x, y) = (corner[0].as_f64().unwrap(), corner[1].as_f64().unwrap());
                assert!((WEST_M..=WEST_M + SIDE_M).contains(&x) && (SOUTH_M..=SOUTH_M + SIDE_M).contains(&y), "{x} {y}");
                for (lx, ly) in [(389_600.0_f64, 531_700.0_f64), (391_000.0, 532_500.0)] {
                    assert!((lx - x).hypot(ly - y) > 200.0, "a wood at {x} {y} stands on a lek");
                }
            }
        }
    }
    assert!(ha <= 20.0 + 1e-6, "{ha} ha");
    let money: serde_json::Value = serde_json::from_str(&run(&["spend", "real.gpkg", "--draws", "8", "--cell", "20", "--budget", "20000", "--points", "2", "--seconds", "5", "--json"])).unwrap();
    for point in money["frontier"].as_array().unwrap() {
        let at = |name: &str| point[name].as_f64().unwrap();
        assert!(at("spent_gbp") <= at("budget_gbp") && at("objective") <= at("upper_bound") + 1e-9 && at("objective") > 0.0, "{point}");
    }
}
