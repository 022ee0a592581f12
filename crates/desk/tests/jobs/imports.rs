//! Files sent and brought in.

use crate::support::Page;
use axum::http::{Method, StatusCode};
use desk::uploads::{BYTES_MAX, Coming};
use serde_json::{Value, json};

const PATCHES: &str = r#"{"type":"FeatureCollection","crs":{"type":"name","properties":{"name":"urn:ogc:def:crs:EPSG::27700"}},"features":[
{"type":"Feature","properties":{"ref":"p2","phase1":"D1.1","height":"22","surveyor":"<b>Ann</b>"},"geometry":{"type":"Polygon","coordinates":[[[384100,529100],[384300,529100],[384300,529300],[384100,529300],[384100,529100]]]}}]}"#;

const LEKS: &str = "id,name,easting,northing\nL2,=1+1,384200,529200\nL3,High Rig,384700,529800\n";

/// A request to look at an upload, or to bring it in.
fn request(page: &Page, upload: u64, kind: &str, look_only: bool) -> Value {
    json!({"upload": upload, "kind": kind, "look_only": look_only, "version": page.version()})
}

#[tokio::test]
async fn a_file_is_looked_at_then_brought_in_and_can_be_taken_back() {
    let page = Page::new();
    let before = page.version();
    let (id, told) = page.upload("leks.csv", LEKS).await;
    assert_eq!((told["name"].as_str(), told["format"].as_str(), told["bytes"].as_u64()), (Some("leks.csv"), Some("table of text (CSV)"), Some(LEKS.len() as u64)));
    let (status, looked) = page.post("/api/imports", request(&page, id, "leks", true)).await;
    assert_eq!(status, StatusCode::OK, "{looked}");
    assert_eq!((looked["features"].as_u64(), looked["version"].is_null(), looked["faults"].as_array().unwrap().len()), (Some(2), true, 0), "{looked}");
    assert_eq!(looked["columns"], json!(["id", "name", "easting", "northing"]));
    assert_eq!(looked["preview"][0]["values"]["name"], "=1+1");
    assert_eq!(looked["preview"][0]["geometry"], json!({"type": "Point", "coordinates": [384200.0, 529200.0]}));
    let name = looked["fields"].as_array().unwrap().iter().find(|f| f["field"] == "name").unwrap();
    assert_eq!((name["column"].as_str(), name["guessed"].as_bool()), (Some("name"), Some(true)));
    assert!(looked["places"].as_str().unwrap().contains("easting"), "{looked}");
    assert_eq!((page.version(), page.desk.snapshot().holding.leks.len()), (before, 1));
    let (status, done) = page.post("/api/imports", request(&page, id, "leks", false)).await;
    assert_eq!((status, done["version"].as_u64()), (StatusCode::OK, Some(page.version())), "{done}");
    assert_eq!(page.desk.snapshot().holding.leks.len(), 3);
    let (_, plan) = page.get("/api/plan").await;
    assert_eq!(plan["undo"], "2 leks brought in");
    assert_eq!(page.post("/api/undo", json!({"version": page.version()})).await.0, StatusCode::OK);
    assert_eq!(page.desk.snapshot().holding.leks.len(), 1);
    assert_eq!(page.post("/api/redo", json!({"version": page.version()})).await.0, StatusCode::OK);
    let names: Vec<String> = page.desk.snapshot().holding.leks.iter().map(|l| l.name.clone()).collect();
    assert_eq!(names, ["Cold Rig", "=1+1", "High Rig"]);
}

#[tokio::test]
async fn columns_are_told_where_the_guess_is_wrong() {
    let page = Page::new();
    let (id, told) = page.upload("moor.geojson", PATCHES).await;
    assert_eq!(told["format"], "GeoJSON");
    let mut ask = request(&page, id, "patches", true);
    let (_, looked) = page.post("/api/imports", ask.clone()).await;
    assert!(!looked["faults"].as_array().unwrap().is_empty(), "a height without a unit is asked after: {looked}");
    ask["map"] = json!({"height_cm": "height:cm"});
    let (_, looked) = page.post("/api/imports", ask.clone()).await;
    assert_eq!((looked["faults"].as_array().unwrap().len(), looked["features"].as_u64()), (0, Some(1)), "{looked}");
    let height = looked["fields"].as_array().unwrap().iter().find(|f| f["field"] == "height_cm").unwrap();
    assert_eq!((height["column"].as_str(), height["guessed"].as_bool()), (Some("height"), Some(false)));
    assert_eq!(looked["preview"][0]["values"]["height_cm"], "22");
    assert_eq!(looked["preview"][0]["geometry"]["type"], "MultiPolygon");
    ask["map"] = json!({"height_cm": "no such column"});
    let (_, looked) = page.post("/api/imports", ask).await;
    assert!(looked["faults"].to_string().contains("no such column"), "{looked}");
}

#[tokio::test]
async fn every_fault_of_a_file_is_told_and_nothing_comes_in() {
    let page = Page::new();
    let before = page.version();
    let (id, _) = page.upload("leks.csv", "id,name,easting,northing\nL1,Twice,384200,529200\nL4,Far,999999,1\nL5,Odd,east,529000\n").await;
    let (status, told) = page.post("/api/imports", request(&page, id, "leks", false)).await;
    assert_eq!((status, told["version"].is_null()), (StatusCode::OK, true), "{told}");
    let faults = told["faults"].as_array().unwrap();
    assert!(!faults.is_empty() && faults.iter().any(|f| f["at"].as_str().unwrap().contains("line")), "{told}");
    assert_eq!((page.version(), page.desk.snapshot().holding.leks.len()), (before, 1));
    // Of no use at all.
    for (name, bytes) in [("leks.csv", &b"\xff\xfe\x00\x01"[..]), ("leks.xlsx", b"PK\x03\x04 broken"), ("leks.gpkg", b"SQLite format 3\0"), ("a.png", b"\x89PNG")] {
        let (id, _) = page.upload(name, bytes).await;
        let (status, told) = page.post("/api/imports", request(&page, id, "leks", false)).await;
        assert_eq!((status, told["version"].is_null(), told["faults"].as_array().unwrap().is_empty()), (StatusCode::OK, true, false), "{name}: {told}");
    }
    for (kind, status) in [("measures", StatusCode::UNPROCESSABLE_ENTITY), ("birdsong", StatusCode::UNPROCESSABLE_ENTITY)] {
        assert_eq!(page.post("/api/imports", request(&page, id, kind, true)).await.0, status);
    }
    assert_eq!(page.post("/api/imports", request(&page, 99, "leks", true)).await.0, StatusCode::NOT_FOUND);
    assert_eq!(page.version(), before);
}

#[tokio::test]
async fn what_others_changed_is_not_written_over() {
    let page = Page::new();
    let (id, _) = page.upload("leks.csv", LEKS).await;
    let stale = request(&page, id, "leks", false);
    let edit = |version: u64, name: &str| json!({"version": version, "edits": [{"do": "add_option", "name": name}]});
    // An option of another window is no hindrance.
    assert_eq!(page.post("/api/edits", edit(page.version(), "Fewer sheep")).await.0, StatusCode::OK);
    let (status, done) = page.post("/api/imports", stale.clone()).await;
    assert_eq!((status, done["version"].as_u64()), (StatusCode::OK, Some(page.version())), "{done}");
    assert_eq!((page.desk.snapshot().holding.leks.len(), page.desk.snapshot().holding.options.len()), (3, 2));
    // The leks were changed since: the page is told to look anew.
    let (other, _) = page.upload("more.csv", LEKS.replace("L2", "L7").replace("L3", "L8")).await;
    let mut ask = stale;
    ask["upload"] = json!(other);
    let (status, told) = page.post("/api/imports", ask).await;
    assert_eq!((status, told["kind"].as_str()), (StatusCode::CONFLICT, Some("changed")), "{told}");
    assert_eq!(page.desk.snapshot().holding.leks.len(), 3);
    // Sent twice with a word of its own, it comes in once.
    let mut once = request(&page, other, "leks", false);
    once["once"] = json!("word-1");
    let (_, first) = page.post("/api/imports", once.clone()).await;
    assert_eq!(page.desk.snapshot().holding.leks.len(), 5, "{first}");
}

#[tokio::test]
async fn uploads_have_names_limits_and_an_end() {
    let page = Page::new();
    let (_, told) = page.upload("..%2F..%2Fetc%2Fleks.csv%E2%80%AE", "a,b\n1,2\n").await;
    assert_eq!(told["name"], "leks.csv");
    for name in ["", "%20", "%2F", &"x".repeat(201)] {
        let (status, ..) = page.raw(Method::POST, &format!("/api/uploads?name={name}"), "", "a").await;
        assert_eq!(status, StatusCode::BAD_REQUEST, "{name:?}");
    }
    assert_eq!(page.raw(Method::POST, "/api/uploads", "", "a").await.0, StatusCode::BAD_REQUEST);
    assert_eq!(page.raw(Method::POST, "/api/uploads?name=a.csv", "", "").await.0, StatusCode::UNPROCESSABLE_ENTITY);
    // Larger than any other body may be, and still taken.
    let (id, _) = page.upload("big.csv", vec![b'x'; 3 << 20]).await;
    assert!(page.desk.uploads.get("upload", id).is_ok());
    // The oldest go when there are too many, and their files with them.
    let path = page.desk.uploads.get("upload", id).unwrap().path().to_path_buf();
    assert!(path.is_file());
    for _ in 0..30 {
        page.upload("small.csv", "a\n1\n").await;
    }
    assert!(page.desk.uploads.get("upload", id).is_err() && !path.exists());
    let last = page.upload("last.csv", "a\n1\n").await.0;
    let path = page.desk.uploads.get("upload", last).unwrap().path().to_path_buf();
    drop(page);
    assert!(!path.exists(), "what was sent goes with the run");
}

#[test]
fn a_file_that_is_too_large_is_refused_as_it_comes() {
    let mut coming = Coming::begin("heights.tif").unwrap();
    let piece = vec![0_u8; 1 << 22];
    for _ in 0..BYTES_MAX >> 22 {
        coming.more(&piece).unwrap();
    }
    assert_eq!(coming.more(&[1]).unwrap_err().kind, "too_large");
}
