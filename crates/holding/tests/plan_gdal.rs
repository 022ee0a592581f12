//! An independent reader opens the plan without a warning and finds in it what was put in.
//!
//! Authority: GDAL (`ogrinfo`, `gdalinfo`, `gdal_translate`), whichever version is installed; skipped without.

mod full_holding;

use full_holding::{assert_same, full};
use holding::Plan;
use std::path::Path;
use std::process::Command;

/// Run a tool; its output, with nothing on the error stream.
fn run(tool: &str, args: &[&str]) -> String {
    let output = Command::new(tool).args(args).output().unwrap();
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success() && said.is_empty(), "{tool} {args:?}: {said}");
    String::from_utf8(output.stdout).unwrap()
}

fn gdal_is_here() -> bool {
    let here = Command::new("ogrinfo").arg("--version").output().is_ok();
    if !here {
        println!("skipped: GDAL's tools (gdal-bin) are not installed");
    }
    here
}

fn value_after<'a>(text: &'a str, key: &str) -> &'a str {
    text.split(key).nth(1).unwrap_or_else(|| panic!("no {key} in {text}")).lines().next().unwrap().trim()
}

#[test]
fn features_are_read_without_a_warning() {
    if !gdal_is_here() {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plan.gpkg");
    drop(Plan::create(&path, &full(), false).unwrap());
    let name = path.to_str().unwrap();
    let all = run("ogrinfo", &["-al", name]);
    assert!(!all.is_empty());
    let layers = [
        ("boundary", 1, "Multi Polygon"),
        ("parcels", 8, "Multi Polygon"),
        ("patches", 5, "Multi Polygon"),
        ("woods", 2, "Multi Polygon"),
        ("leks", 2, "Point"),
        ("broods", 2, "Point"),
        ("fences", 5, "Multi Line String"),
        ("ditches", 1, "Multi Line String"),
        ("watercourses", 1, "Multi Line String"),
        ("tracks", 3, "Multi Line String"),
        ("services", 1, "Multi Line String"),
        ("buildings", 1, "Multi Polygon"),
        ("areas", 6, "Multi Polygon"),
        ("stick_heights", 40, "Point"),
        ("peat_probes", 2, "Point"),
        ("measures", 4, "Unknown (any)"),
        ("wood_stems", 14, "None"),
        ("visits", 3, "None"),
        ("stock", 7, "None"),
        ("options", 2, "None"),
        ("about", 8, "None"),
    ];
    for (layer, count, geometry) in layers {
        let told = run("ogrinfo", &["-so", name, layer]);
        assert_eq!(value_after(&told, "Feature Count: "), count.to_string(), "{layer}");
        assert_eq!(value_after(&told, "Geometry: "), geometry, "{layer}");
        if geometry != "None" {
            assert!(told.contains("ID[\"EPSG\",27700]"), "{layer}: {told}");
            let sql = format!("SELECT HasSpatialIndex('{layer}', 'geom') AS has");
            assert!(run("ogrinfo", &["-q", name, "-sql", &sql]).contains("= 1"), "{layer}");
        }
    }
    // Found by the index: the one patch at the boundary's corner.
    let near = run("ogrinfo", &["-so", name, "patches", "-spat", "399999", "517999", "400005", "518005"]);
    assert_eq!(value_after(&near, "Feature Count: "), "1");
    // Written by GDAL, read by us.
    run("ogrinfo", &["-q", name, "-sql", "UPDATE patches SET height_cm = 12.5 WHERE id = 'bare'"]);
    run("ogrinfo", &["-q", name, "-sql", "DELETE FROM stick_heights WHERE fid > 10"]);
    let mut expected = full();
    expected.patches.last_mut().unwrap().height_cm = Some(12.5);
    expected.sticks.truncate(10);
    let plan = Plan::open(&path).unwrap();
    assert_same(&expected, &plan.holding().unwrap());
    plan.check().unwrap();
}

#[test]
fn heights_are_read_without_a_warning_and_within_a_centimetre() {
    if !gdal_is_here() {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plan.gpkg");
    drop(Plan::create(&path, &full(), false).unwrap());
    let name = path.to_str().unwrap();
    let told = run("gdalinfo", &[name]);
    for part in ["Size is 300, 270", "Origin = (400000.000000000000000,520000.000000000000000)", "Pixel Size = (10.0000", "NoData Value=-9999", "Unit Type: m", "ID[\"EPSG\",27700]"] {
        assert!(told.contains(part), "{part} is not in {told}");
    }
    let xyz = folder.path().join("out.xyz");
    run("gdal_translate", &["-q", "-of", "XYZ", name, xyz.to_str().unwrap()]);
    let grid = full().heights.unwrap();
    let mut cells = 0;
    for line in std::fs::read_to_string(Path::new(&xyz)).unwrap().lines() {
        let n: Vec<f64> = line.split(' ').map(|v| v.parse().unwrap()).collect();
        let want = f64::from(grid.at_point(n[0], n[1]).unwrap());
        assert!(if want.is_nan() { n[2] == -9999.0 } else { (n[2] - want).abs() < 0.01 }, "{line} against {want}");
        cells += 1;
    }
    assert_eq!(cells, grid.cells.len());
    assert!(run("gdallocationinfo", &["-valonly", "-geoloc", name, "400175", "519945"]).trim() == "-9999");
}
