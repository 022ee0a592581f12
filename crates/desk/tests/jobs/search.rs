//! Finding things, and what was counted.

use crate::support::{Page, holding};
use axum::http::StatusCode;
use serde_json::Value;
use std::time::Instant;

async fn hits(page: &Page, asked: &str) -> Vec<(String, String)> {
    let (status, hits) = page.get(&format!("/api/search?q={asked}")).await;
    assert_eq!(status, StatusCode::OK, "{hits}");
    let told = |hit: &Value| (hit["what"].as_str().unwrap().to_string(), hit["id"].as_str().unwrap().to_string());
    hits.as_array().unwrap().iter().map(told).collect()
}

fn is(hit: Option<&(String, String)>, what: &str, id: &str) -> bool {
    hit.is_some_and(|(of, called)| of == what && called == id)
}

#[tokio::test]
async fn everything_of_the_plan_and_the_books_is_found_best_first() {
    let page = Page::new();
    assert!(is(hits(&page, "COLD%20rig").await.first(), "lek", "L1"));
    assert!(is(hits(&page, "whin%20rigg").await.first(), "feature", "p1"));
    assert!(is(hits(&page, "m%C3%B3re%20trees").await.first(), "option", "1"));
    assert!(is(hits(&page, "fence_near_lek").await.first(), "rule", "fence_near_lek"));
    assert!(is(hits(&page, "reach.brood_m").await.first(), "figure", "reach.brood_m"));
    assert!(hits(&page, "wood").await.iter().any(|hit| hit.0 == "kind" && hit.1 == "wood"));
    assert_eq!(hits(&page, "e").await.len(), 30);
    assert!(hits(&page, "").await.is_empty() && hits(&page, "%20%27%22%3C%29").await.is_empty());
    assert!(hits(&page, "zzzzqqq").await.is_empty());
    assert_eq!(page.get(&format!("/api/search?q={}", "x".repeat(201))).await.0, StatusCode::BAD_REQUEST);
    assert_eq!(page.get("/api/search").await.0, StatusCode::BAD_REQUEST);
}

#[tokio::test]
async fn a_large_plan_is_searched_while_one_types() {
    let mut large = holding();
    let patch = large.patches[0].clone();
    large.patches = (0..3000).map(|n| holding::Patch { id: format!("p{n}"), name: format!("Moss {n}"), ..patch.clone() }).collect();
    let page = Page::on(&large);
    let began = Instant::now();
    let found = hits(&page, "moss%202999").await;
    let took = began.elapsed();
    assert!(is(found.first(), "feature", "p2999"));
    // Without optimisation; a release is several times faster.
    assert!(took.as_millis() < 1500, "{took:?}");
    println!("3000 patches searched in {took:?}");
}

#[tokio::test]
async fn visits_say_whether_they_count() {
    let page = Page::new();
    let (status, visits) = page.get("/api/visits").await;
    assert_eq!(status, StatusCode::OK);
    let visits = visits.as_array().unwrap();
    assert_eq!((visits[0]["id"].as_str(), visits[0]["valid"].as_bool()), (Some("v2"), Some(false)));
    assert!(!visits[0]["why_not"].as_str().unwrap().is_empty());
    assert_eq!((visits[1]["id"].as_str(), visits[1]["valid"].as_bool(), visits[1]["lek_name"].as_str()), (Some("v1"), Some(true), Some("Cold Rig")));
}
