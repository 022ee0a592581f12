//! The queue of questions.

use crate::support::Page;
use axum::http::{Method, StatusCode};
use desk::api::live::ToPage;
use serde_json::json;
use std::sync::atomic::Ordering;

#[tokio::test]
async fn two_are_worked_on_side_by_side_and_the_others_wait() {
    let page = Page::new();
    let mut news = page.desk.news();
    let ids = [page.ask(json!({"ask": "trend"})).await, page.ask(json!({"ask": "trend"})).await, page.ask(json!({"ask": "trend"})).await];
    let working = page.until(ids[0], &["working"]).await;
    assert_eq!(working["version"].as_u64(), Some(page.version()));
    page.until(ids[1], &["working"]).await;
    // Both are being answered: the year is worked out, and told is what is done now.
    for id in &ids[..2] {
        while page.until(*id, &["working"]).await["now"] != "counting on" {}
    }
    assert_eq!(page.until(ids[2], &["waiting"]).await["seconds"], 0.0);
    page.answers.open.store(true, Ordering::SeqCst);
    for id in ids {
        let done = page.until(id, &["done"]).await;
        assert_eq!(done["answer"], json!({"trend": "level"}));
        assert_eq!(done["now"], "");
    }
    assert_eq!(page.answers.most.load(Ordering::SeqCst), 2);
    // Every step is told, none with the document.
    let mut told = Vec::new();
    while let Ok(news) = news.try_recv() {
        let ToPage::Job(job) = news else { continue };
        assert_eq!(job.answer, None);
        told.push((job.id, format!("{:?}", job.state), job.now));
    }
    let states = |id: u64| -> Vec<&str> {
        let mut states: Vec<&str> = told.iter().filter(|(of, ..)| *of == id).map(|(_, state, _)| state.as_str()).collect();
        states.dedup();
        states
    };
    for id in ids {
        assert_eq!(states(id), ["Waiting", "Working", "Done"]);
    }
    let (_, all) = page.get("/api/jobs").await;
    let order: Vec<u64> = all.as_array().unwrap().iter().map(|job| job["id"].as_u64().unwrap()).collect();
    assert_eq!(order, [ids[2], ids[1], ids[0]]);
}

#[tokio::test]
async fn a_job_is_stopped_wherever_it_stands_and_frees_its_place() {
    let page = Page::new();
    let ids = [page.ask(json!({"ask": "trend"})).await, page.ask(json!({"ask": "trend"})).await, page.ask(json!({"ask": "trend"})).await];
    page.until(ids[0], &["working"]).await;
    for id in [ids[2], ids[0]] {
        let (status, stopped) = page.delete(&format!("/api/jobs/{id}")).await;
        assert_eq!((status, stopped["state"].as_str()), (StatusCode::OK, Some("stopped")));
    }
    // The place of the stopped one goes to another while the second still works.
    let next = page.ask(json!({"ask": "explain", "of": "season.brood"})).await;
    assert_eq!(page.until(next, &["done"]).await["answer"]["plan"], "Whin Farm");
    page.answers.open.store(true, Ordering::SeqCst);
    page.until(ids[1], &["done"]).await;
    // What comes of a stopped one is thrown away.
    let (_, stopped) = page.get(&format!("/api/jobs/{}", ids[0])).await;
    assert_eq!((stopped["state"].as_str(), stopped["answer"].is_null()), (Some("stopped"), true));
    // One that is over stays as it is; one that never was is not found.
    assert_eq!(page.delete(&format!("/api/jobs/{}", ids[1])).await.1["state"], "done");
    assert_eq!(page.delete("/api/jobs/999").await.0, StatusCode::NOT_FOUND);
    assert_eq!(page.delete("/api/jobs/x").await.0, StatusCode::BAD_REQUEST);
}

#[tokio::test]
async fn failing_and_breaking_off_are_told_and_the_next_goes_on() {
    let page = Page::new();
    let ids = [page.ask(json!({"ask": "explain", "of": "nothing"})).await, page.ask(json!({"ask": "explain", "of": "breaks"})).await, page.ask(json!({"ask": "explain", "of": "a"})).await];
    let failed = page.until(ids[0], &["failed"]).await;
    assert_eq!(failed["faults"], json!(["`nothing` is no figure", "and so it stays. Hint: ask for another"]));
    let broken = page.until(ids[1], &["failed"]).await;
    assert!(broken["faults"][0].as_str().unwrap().contains("fault of the program"), "{broken}");
    page.until(ids[2], &["done"]).await;
    // A plan without a lek has no year to work out: that is told, not hidden.
    let mut bare = crate::support::holding();
    bare.leks.clear();
    bare.visits.clear();
    let page = Page::on(&bare);
    let id = page.ask(json!({"ask": "trend"})).await;
    let job = page.until(id, &["failed", "working"]).await;
    assert!(job["state"] == "working" || !job["faults"].as_array().unwrap().is_empty(), "{job}");
    page.answers.open.store(true, Ordering::SeqCst);
    let (status, _) = page.post("/api/jobs", json!({"ask": "explain", "of": "a", "more": 1})).await;
    assert_eq!(status, StatusCode::BAD_REQUEST);
}

#[tokio::test]
async fn the_last_thirty_are_kept_and_no_more_than_fifty_wait() {
    let page = Page::new();
    let mut ids = Vec::new();
    for n in 0..40 {
        let id = page.ask(json!({"ask": "explain", "of": n.to_string()})).await;
        page.until(id, &["done"]).await;
        ids.push(id);
    }
    assert_eq!(page.get(&format!("/api/jobs/{}", ids[9])).await.0, StatusCode::NOT_FOUND);
    assert_eq!(page.get(&format!("/api/jobs/{}", ids[10])).await.1["answer"]["of"], "10");
    let mut refused = None;
    for _ in 0..60 {
        let (status, told) = page.post("/api/jobs", json!({"ask": "trend"})).await;
        if status != StatusCode::OK {
            refused = Some((status, told));
            break;
        }
    }
    assert_eq!(refused.map(|(status, told)| (status, told["kind"].clone())), Some((StatusCode::CONFLICT, json!("taken"))));
    page.answers.open.store(true, Ordering::SeqCst);
}

#[tokio::test]
async fn what_is_put_forward_is_laid_by_the_job_and_not_in_another_plan() {
    let page = Page::new();
    let ask = json!({"ask": "suggest", "kind": "wood", "option": 1});
    let id = page.ask(ask.clone()).await;
    assert_eq!(page.until(id, &["done"]).await["measures"], 1);
    let lay = |version: u64, id: u64| json!({"version": version, "edits": [{"do": "lay", "job": id}]});
    let (status, laid) = page.post("/api/edits", lay(page.version(), id)).await;
    assert_eq!((status, &laid["ids"]), (StatusCode::OK, &json!(["wood-1"])), "{laid}");
    assert_eq!(page.desk.snapshot().holding.measures.len(), 1);
    let (status, _) = page.post("/api/undo", json!({"version": page.version()})).await;
    assert_eq!((status, page.desk.snapshot().holding.measures.len()), (StatusCode::OK, 0));
    // Another plan is opened: what was put forward for this one is not laid in that.
    drop(holding::plan::Plan::create(&page.path("other.gpkg"), &crate::support::holding(), false).unwrap());
    assert_eq!(page.post("/api/plans/open", json!({"file": "other.gpkg"})).await.0, StatusCode::OK);
    assert_eq!(page.get(&format!("/api/jobs/{id}")).await.0, StatusCode::NOT_FOUND);
    let (status, told) = page.post("/api/edits", lay(page.version(), id)).await;
    assert!(status.is_client_error(), "{told}");
    assert!(page.desk.snapshot().holding.measures.is_empty());
}

#[tokio::test]
async fn files_are_fetched_by_their_names_and_kept_whole_or_not_at_all() {
    let page = Page::new();
    let id = page.ask(json!({"ask": "handover", "option": 1})).await;
    let job = page.until(id, &["done"]).await;
    assert_eq!(job["files"][1], json!({"name": "gis/measures.gpkg", "bytes": 3}));
    let (status, kind, shown, bytes) = page.raw(Method::GET, &format!("/api/jobs/{id}/files/gis/measures.gpkg"), "", "").await;
    assert_eq!((status, kind.as_str(), shown.as_str(), bytes), (StatusCode::OK, "application/geopackage+sqlite3", "attachment; filename=\"measures.gpkg\"", vec![1, 2, 3]));
    let (_, kind, shown, _) = page.raw(Method::GET, &format!("/api/jobs/{id}/files/plan.pdf"), "", "").await;
    assert_eq!((kind.as_str(), shown.as_str()), ("application/pdf", "inline; filename=\"plan.pdf\""));
    for none in ["measures.gpkg", "gis/../plan.pdf", "..%2f..%2fhill.gpkg", "gis%2Fnone"] {
        assert_eq!(page.get(&format!("/api/jobs/{id}/files/{none}")).await.0, StatusCode::NOT_FOUND, "{none}");
    }
    let keep = format!("/api/jobs/{id}/keep");
    for bad in ["", " ", ".hidden", "..", "a/b", "a\\b", "C:", "nul.txt", "name\u{202e}", "a\r\nb", &"x".repeat(101)] {
        let (status, told) = page.post(&keep, json!({"folder": bad})).await;
        assert_eq!((status, told["faults"][0]["at"].as_str()), (StatusCode::UNPROCESSABLE_ENTITY, Some("folder")), "{bad:?}");
    }
    let (status, kept) = page.post(&keep, json!({"folder": "Hand-over 2027"})).await;
    assert_eq!((status, kept["files"].as_array().unwrap().len()), (StatusCode::OK, 3), "{kept}");
    assert_eq!(std::fs::read(page.path("Hand-over 2027/gis/measures.gpkg")).unwrap(), [1, 2, 3]);
    std::fs::write(page.path("Hand-over 2027/mine.txt"), "mine").unwrap();
    assert_eq!(page.post(&keep, json!({"folder": "Hand-over 2027"})).await.0, StatusCode::CONFLICT);
    assert_eq!(std::fs::read(page.path("Hand-over 2027/mine.txt")).unwrap(), b"mine");
    // A file that would lead out of the folder: nothing is kept, nothing is left lying about.
    let id = page.ask(json!({"ask": "handover", "option": 9})).await;
    page.until(id, &["done"]).await;
    assert_eq!(page.post(&format!("/api/jobs/{id}/keep"), json!({"folder": "more"})).await.0, StatusCode::INTERNAL_SERVER_ERROR);
    assert_eq!(page.names(), ["Hand-over 2027", "hill.gpkg"]);
    // Without files there is nothing to keep.
    let id = page.ask(json!({"ask": "explain", "of": "a"})).await;
    page.until(id, &["done"]).await;
    assert_eq!(page.post(&format!("/api/jobs/{id}/keep"), json!({"folder": "more"})).await.0, StatusCode::UNPROCESSABLE_ENTITY);
}
