//! The plans of the folder, and new ones.

use crate::support::{Page, holding};
use axum::http::StatusCode;
use holding::plan::Plan;
use serde_json::{Value, json};

const BOUNDARY: &str = r#"{"type":"FeatureCollection","crs":{"type":"name","properties":{"name":"urn:ogc:def:crs:EPSG::27700"}},"features":[
{"type":"Feature","properties":{},"geometry":{"type":"Polygon","coordinates":[[[384000,529000],[385000,529000],[385000,530000],[384000,530000],[384000,529000]]]}}]}"#;

fn heights() -> String {
    let row = ["300.5"; 60].join(" ");
    format!("ncols 60\nnrows 60\nxllcorner 381500\nyllcorner 526500\ncellsize 100\nNODATA_value -9999\n{}\n", [row.as_str(); 60].join("\n"))
}

fn files(told: &Value) -> Vec<(&str, bool)> {
    told.as_array().unwrap().iter().map(|p| (p["file"].as_str().unwrap(), p["open"].as_bool().unwrap())).collect()
}

#[tokio::test]
async fn a_plan_begins_from_what_was_sent() {
    let page = Page::empty();
    let (boundary, _) = page.upload("land.geojson", BOUNDARY).await;
    let (tile, told) = page.upload("tile.asc", heights()).await;
    assert_eq!(told["format"], "text grid of heights (.asc)");
    let new = json!({"file": "High Moor", "name": "High <b>Moor</b>", "country": "Scotland", "boundary": boundary, "heights": [tile], "as_at": "2026-06-01"});
    let (status, plan) = page.post("/api/plans", new.clone()).await;
    assert_eq!(status, StatusCode::OK, "{plan}");
    assert_eq!((plan["file"].as_str(), plan["name"].as_str(), plan["country"].as_str()), (Some("High Moor.gpkg"), Some("High <b>Moor</b>"), Some("Scotland")));
    assert_eq!((plan["writable"].as_bool(), plan["as_at"].as_str()), (Some(true), Some("2026-06-01")));
    let frame = page.desk.snapshot().holding.heights.as_ref().unwrap().frame;
    assert_eq!(frame.dx_m, 10.0);
    assert_eq!(page.desk.snapshot().holding.about.heights_source, "tile.asc, 100 m cells");
    // Never over another.
    assert_eq!(page.post("/api/plans", new.clone()).await.0, StatusCode::CONFLICT);
    let with = |key: &str, value: Value| {
        let mut with = new.clone();
        with["file"] = json!("other");
        with[key] = value;
        with
    };
    for (key, value) in [("file", json!("../out")), ("file", json!(".hidden")), ("file", json!("a/b")), ("name", json!("")), ("name", json!("a\u{202e}b")), ("country", json!("Elsewhere"))] {
        let (status, told) = page.post("/api/plans", with(key, value.clone())).await;
        assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY, "{key} {value}: {told}");
    }
    assert_eq!(page.post("/api/plans", with("boundary", json!(77))).await.0, StatusCode::NOT_FOUND);
    // Heights that lie elsewhere, and a boundary that is none.
    let (far, _) = page.upload("far.asc", heights().replace("381500", "181500")).await;
    let (status, told) = page.post("/api/plans", with("heights", json!([far]))).await;
    assert_eq!((status, told["faults"].to_string().contains("no height lies within")), (StatusCode::UNPROCESSABLE_ENTITY, true), "{told}");
    assert_eq!(page.post("/api/plans", with("boundary", json!(tile))).await.0, StatusCode::UNPROCESSABLE_ENTITY);
    // What is wrong with the one is told beside what is wrong with the other, each by the name it was sent under.
    let (none, _) = page.upload("none.asc", "ncols 0\n").await;
    let both = json!({"boundary": tile, "heights": [far, none]});
    let mut asked = new.clone();
    asked["file"] = json!("other");
    asked.as_object_mut().unwrap().extend(both.as_object().unwrap().clone());
    let (_, told) = page.post("/api/plans", asked).await;
    let at: Vec<&str> = told["faults"].as_array().unwrap().iter().map(|f| f["at"].as_str().unwrap()).collect();
    assert!(at[0].starts_with("tile.asc") && at[1..].iter().all(|at| at.starts_with("none.asc")) && at.len() > 1, "{told}");
    assert!(told["faults"].as_array().unwrap().iter().all(|f| f["needed"] != "" && f["found"] != ""), "{told}");
    assert_eq!(page.names(), ["High Moor.gpkg"]);
}

#[tokio::test]
async fn plans_are_told_and_opened_by_their_names_alone() {
    let page = Page::new();
    let mut second = holding();
    second.about.name = "Far Moor".to_string();
    drop(Plan::create(&page.path("far.gpkg"), &second, false).unwrap());
    std::fs::write(page.path("broken.gpkg"), "not a plan").unwrap();
    std::fs::write(page.path("notes.txt"), "notes").unwrap();
    let outside = tempfile::tempdir().unwrap();
    let elsewhere = outside.path().join("secret.gpkg");
    drop(Plan::create(&elsewhere, &second, false).unwrap());
    #[cfg(unix)]
    std::os::unix::fs::symlink(&elsewhere, page.path("link.gpkg")).unwrap();
    let (_, told) = page.get("/api/plans").await;
    assert_eq!(files(&told), [("broken.gpkg", false), ("far.gpkg", false), ("hill.gpkg", true)]);
    assert_eq!((told[1]["name"].as_str(), told[2]["name"].as_str()), (Some("Far Moor"), Some("Whin Farm")));
    let trouble = told[0]["trouble"].as_str().unwrap();
    assert!(!trouble.is_empty() && !trouble.contains(page.folder.path().to_str().unwrap()), "{trouble}");
    for none in ["link.gpkg", "notes.txt", "none.gpkg"] {
        assert_eq!(page.post("/api/plans/open", json!({"file": none})).await.0, StatusCode::NOT_FOUND, "{none}");
    }
    for bad in ["../secret.gpkg", elsewhere.to_str().unwrap(), "", ".."] {
        assert_eq!(page.post("/api/plans/open", json!({"file": bad})).await.0, StatusCode::UNPROCESSABLE_ENTITY, "{bad}");
    }
    let (status, _) = page.post("/api/plans/open", json!({"file": "broken.gpkg"})).await;
    assert!(status.as_u16() >= 400);
    assert_eq!(page.desk.snapshot().holding.about.name, "Whin Farm");
    let before = page.version();
    let (status, plan) = page.post("/api/plans/open", json!({"file": "far.gpkg"})).await;
    assert_eq!((status, plan["name"].as_str()), (StatusCode::OK, Some("Far Moor")), "{plan}");
    assert!(plan["version"].as_u64().unwrap() > before);
    assert_eq!(files(&page.get("/api/plans").await.1), [("broken.gpkg", false), ("far.gpkg", true), ("hill.gpkg", false)]);
    // The one that was left can be opened by others now.
    assert!(Plan::open(&page.path("hill.gpkg")).is_ok());
}

#[tokio::test]
async fn the_demonstration_is_written_anew_beside_what_is_there() {
    let page = Page::empty();
    let (status, plan) = page.post("/api/plans/demo", json!({})).await;
    assert_eq!((status, plan["file"].as_str()), (StatusCode::OK, Some("demo.gpkg")), "{plan}");
    assert!(plan["leks"].as_array().unwrap().len() > 1 && plan["lacks"].as_array().unwrap().is_empty(), "{plan}");
    std::fs::write(page.path("field/mine.txt"), "mine").unwrap();
    let (_, plan) = page.post("/api/plans/demo", json!({})).await;
    assert_eq!(plan["file"], "demo-2.gpkg");
    assert_eq!(page.names(), ["demo-2.gpkg", "demo.gpkg", "field"]);
    assert!(page.path("field/mine.txt").is_file());
}
