use super::Service;
use geo_types::{Point, polygon};
use holding::{About, Holding, Lek, Measure, Patch, Visit};
use serde_json::{Value, json};
use std::sync::Arc;

const HOSTILE: &str = "<b>=1+1</b>\u{202e}\r\n/?&#%\"'";

fn plan(epsg: u32) -> Holding {
    let square = |x: f64, y: f64| polygon![(x: x, y: y), (x: x, y: y + 100.0), (x: x + 100.0, y: y + 100.0), (x: x + 100.0, y: y)].into();
    let mut patches: Vec<Patch> = (0..5u32).map(|n| Patch::new(format!("p{n}"), square(390_000.0 + 1_000.0 * f64::from(n), 532_000.0))).collect();
    patches[0].surveyed = "2026-04-10".parse().ok();
    patches[1].surveyed = "2026-06-10".parse().ok();
    patches[2].id = HOSTILE.into();
    patches[2].name = HOSTILE.into();
    let visit = |id: &str, date: &str| Visit { id: id.into(), lek: "l1".into(), date: date.parse().unwrap(), cocks: Some(4), ..Visit::default() };
    Holding {
        about: About { epsg, name: HOSTILE.into(), ..About::default() },
        patches,
        leks: vec![Lek::new("l1", "Top", Point::new(390_025.25, 532_025.5))],
        visits: vec![visit("v1", "2026-04-12"), visit("v2", "2026-05-02")],
        measures: (1..=2).map(|option| Measure { id: format!("m{option}"), option, kind: "wood".into(), ..Measure::default() }).collect(),
        ..Holding::default()
    }
}

fn ask(address: &str) -> Result<super::Reply, crate::api::edit::Problem> {
    ask_of(27700, address)
}

fn ask_of(epsg: u32, address: &str) -> Result<super::Reply, crate::api::edit::Problem> {
    let (path, query) = address.split_once('?').unwrap_or((address, ""));
    let path: Vec<&str> = path.split('/').filter(|part| !part.is_empty()).collect();
    let query: Vec<(String, String)> = form_urlencoded::parse(query.as_bytes()).into_owned().collect();
    let key = query.iter().find(|(name, _)| name == "key").map(|(_, key)| key.clone());
    Service::new(Arc::new(plan(epsg)), "http://127.0.0.1:1/features", key).answer(&path, &query)
}

fn ids(address: &str) -> Vec<String> {
    let body = ask(address).unwrap().body;
    body["features"].as_array().unwrap().iter().map(|f| f["id"].as_str().unwrap().to_owned()).collect()
}

fn link(body: &Value, rel: &str) -> Option<String> {
    body["links"].as_array().unwrap().iter().find(|link| link["rel"] == rel).map(|link| link["href"].as_str().unwrap().to_owned())
}

#[test]
fn pages_follow_each_other_and_carry_the_key() {
    let mut seen = Vec::new();
    let mut next = Some("http://127.0.0.1:1/features/collections/patches/items?limit=2&key=a%26b".to_owned());
    while let Some(address) = next {
        let body = ask(address.strip_prefix("http://127.0.0.1:1/features").unwrap()).unwrap().body;
        assert_eq!(body["numberMatched"], 5);
        seen.extend(body["features"].as_array().unwrap().iter().map(|f| f["id"].clone()));
        assert!(seen.len() <= 5, "pages do not end");
        assert!(link(&body, "self").unwrap().contains("key=a%26b"));
        next = link(&body, "next");
    }
    assert_eq!(seen, [json!("p0"), json!("p1"), json!(HOSTILE), json!("p3"), json!("p4")]);
    assert!(!link(&ask("").unwrap().body, "data").unwrap().contains("key"), "a key that came in a header stays out of links");
}

#[test]
fn metres_are_exact_and_degrees_are_the_grid_s_own() {
    let metres = ask("collections/leks/items?crs=http://www.opengis.net/def/crs/EPSG/0/27700").unwrap();
    assert_eq!(metres.body["features"][0]["geometry"], json!({"type": "Point", "coordinates": [390_025.25, 532_025.5]}));
    assert_eq!(metres.crs.as_deref(), Some("http://www.opengis.net/def/crs/EPSG/0/27700"));
    let degrees = ask("collections/leks/items").unwrap();
    let at = &degrees.body["features"][0]["geometry"]["coordinates"];
    let (lon, lat) = (at[0].as_f64().unwrap(), at[1].as_f64().unwrap());
    let (east, north) = holding::grid_ref::grid_from_lonlat(lon, lat).unwrap();
    assert!((east - 390_025.25).abs() < 0.001 && (north - 532_025.5).abs() < 0.001, "{east} {north}");
    assert_eq!(degrees.crs.as_deref(), Some("http://www.opengis.net/def/crs/OGC/1.3/CRS84"));
}

#[test]
fn boxes_days_and_columns_choose() {
    let (lon, lat) = holding::grid_ref::lonlat_from_grid(391_050.0, 532_050.0).unwrap();
    assert_eq!(ids(&format!("collections/patches/items?bbox={},{},{},{}", lon - 1e-4, lat - 1e-4, lon + 1e-4, lat + 1e-4)), ["p1"]);
    let grid = "bbox-crs=http://www.opengis.net/def/crs/EPSG/0/27700";
    assert_eq!(ids(&format!("collections/patches/items?bbox=390050,532050,391010,532060&{grid}")), ["p0", "p1"]);
    assert_eq!(ids(&format!("collections/patches/items?bbox=390050,532050,-9,391010,532060,9&{grid}")), ["p0", "p1"]);
    assert_eq!(ids("collections/patches/items?datetime=2026-04-10T06:00:00Z"), ["p0"]);
    assert_eq!(ids("collections/patches/items?datetime=../2026-12-31"), ["p0", "p1"]);
    assert_eq!(ids("collections/visits/items?datetime=2026-04-13/.."), ["v2"]);
    assert_eq!(ids("collections/leks/items?datetime=1900-01-01"), ["l1"], "a layer without days has nothing to choose by");
    assert_eq!(ids("collections/measures/items?option_number=2"), ["m2"]);
    assert_eq!(ids("collections/patches/items?flush=false&limit=1&offset=4"), ["p4"]);
    assert_eq!(ids("collections/patches/items?offset=99"), Vec::<String>::new());
}

#[test]
fn every_fault_of_a_query_is_told_at_once() {
    let problem = ask("collections/patches/items?bbox=1,2&crs=EPSG:3857&limit=0&offset=-1&datetime=soon&colour=red&name=a&name=b").unwrap_err();
    let at: Vec<&str> = problem.faults.iter().map(|fault| fault.at.as_str()).collect();
    assert_eq!(at, ["colour", "name", "crs", "bbox", "datetime", "limit", "offset"]);
    assert_eq!(problem.kind, "bad_request");
    for wrong in ["collections/patches/items?bbox=2,2,1,1&bbox-crs=http://www.opengis.net/def/crs/EPSG/0/27700", "?x=1", "collections/leks/items/l1?limit=1"] {
        assert_eq!(ask(wrong).unwrap_err().kind, "bad_request", "{wrong}");
    }
    for gone in ["collections/rates", "collections/crews/items", "collections/clouds", "collections/leks/items/nobody", "else", "collections/leks/items/l1/more"] {
        assert_eq!(ask(gone).unwrap_err().kind, "not_found", "{gone}");
    }
}

#[test]
fn hostile_names_are_values_and_nothing_else() {
    let service = Service::new(Arc::new(plan(27700)), "http://127.0.0.1:1/features", None);
    let one = service.answer(&["collections", "patches", "items", HOSTILE], &[]).unwrap().body;
    assert_eq!((&one["id"], &one["properties"]["name"]), (&json!(HOSTILE), &json!(HOSTILE)));
    let own = link(&one, "self").unwrap();
    assert!(own.is_ascii() && !own.contains(['<', '"', '\'', ' ', '\r', '\n']), "{own}");
    let back: Value = serde_json::from_str(&one.to_string()).unwrap();
    assert_eq!(back, one);
    assert_eq!(service.answer(&[], &[]).unwrap().body["title"], HOSTILE);
}

#[test]
fn a_plan_off_the_national_grid_gives_its_own_metres_and_says_so() {
    let landing = ask_of(32630, "").unwrap().body;
    assert!(landing["description"].as_str().unwrap().contains("only for plans on the national grid"));
    assert_eq!(ask_of(32630, "conformance").unwrap().body["conformsTo"], json!([]));
    let page = ask_of(32630, "collections/leks/items").unwrap();
    assert_eq!(page.crs.as_deref(), Some("http://www.opengis.net/def/crs/EPSG/0/32630"));
    assert_eq!(page.body["features"][0]["geometry"]["coordinates"], json!([390_025.25, 532_025.5]));
    assert_eq!(ask_of(32630, "collections/leks/items?crs=http://www.opengis.net/def/crs/OGC/1.3/CRS84").unwrap_err().kind, "bad_request");
}

#[test]
fn places_beyond_the_grid_are_named_not_dropped() {
    let mut holding = plan(27700);
    holding.leks.push(Lek::new("far", "Far", Point::new(-5e6, 1e7)));
    let service = Service::new(Arc::new(holding), "http://127.0.0.1:1/features", None);
    let problem = service.answer(&["collections", "leks", "items"], &[]).unwrap_err();
    assert_eq!(problem.faults.iter().map(|fault| fault.at.as_str()).collect::<Vec<_>>(), ["leks far"]);
    let metres = [("crs".to_owned(), "http://www.opengis.net/def/crs/EPSG/0/27700".to_owned())];
    assert_eq!(service.answer(&["collections", "leks", "items"], &metres).unwrap().body["numberReturned"], 2);
}

#[test]
fn every_address_of_the_api_document_answers() {
    let api = ask("api").unwrap().body;
    assert_eq!(api["openapi"], "3.0.3");
    for (path, what) in api["paths"].as_object().unwrap() {
        if !path.contains("{id}") {
            let reply = ask(path).unwrap_or_else(|problem| panic!("{path}: {problem:?}"));
            assert!(what["get"]["responses"]["200"]["content"].get(reply.media).is_some(), "{path}");
        }
    }
}
