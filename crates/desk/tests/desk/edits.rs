//! Every edit over the wire, what is refused, and taking back.

use crate::server::{Server, drawn, stick};
use serde_json::{Value, json};

/// The plan without what a version is.
fn holding(server: &Server) -> holding::Holding {
    let mut holding = (*server.desk.snapshot().holding).clone();
    // A missing height never equals itself; no edit touches heights.
    holding.heights = None;
    holding
}

fn turn(server: &Server, way: &str) -> Value {
    let c = server.client();
    let reply = c.api("POST", way, Some(&json!({"version": c.version()})));
    assert_eq!(reply.status, 200, "{}", reply.text());
    reply.json()
}

#[test]
fn the_plan_is_told_as_it_is() {
    let server = Server::new();
    let c = server.client();
    let plan = c.get("/api/plan");
    assert_eq!((&plan["file"], &plan["name"], &plan["epsg"], &plan["writable"]), (&json!("plan.gpkg"), &json!("Nether Whinmoss"), &json!(27700), &json!(true)));
    assert_eq!(plan["extent"], json!([389_000.0, 529_000.0, 393_000.0, 533_000.0]));
    assert_eq!(plan["lacks"], json!([]));
    assert!(plan["projection"].as_str().unwrap().starts_with("PROJCS["), "{plan}");
    assert_eq!((&plan["leks"][0]["id"], &plan["leks"][0]["at"], &plan["leks"][0]["last_count"]), (&json!("L1"), &json!([391_000.0, 531_000.0]), &Value::Null));
    assert_eq!((&plan["options"][0]["number"], &plan["options"][0]["measures"], &plan["undo"], &plan["redo"]), (&json!(1), &json!(0), &Value::Null, &Value::Null));
    let patches = plan["layers"].as_array().unwrap().iter().find(|l| l["layer"] == "patches").unwrap();
    assert_eq!(patches["features"], 4);
    assert_eq!(plan["draws"], 200);
}

#[test]
fn edits_of_every_sort_are_done_taken_back_and_done_again() {
    let server = Server::new();
    let c = server.client();
    let mut states = vec![holding(&server)];
    let wood = json!({"do": "put_measure", "option": 1, "kind": "wood", "year": 2028, "geometry": drawn(390_100.000_49, 530_100.0, 200.0), "facts": {"open_pct": "50"}});
    let steps = [
        json!([wood]),
        json!([{"do": "put_measure", "id": "wood-1", "option": 1, "kind": "wood", "year": 2029, "geometry": drawn(390_100.0, 530_100.0, 150.0), "facts": {}}]),
        json!([{"do": "add_option", "name": "After it", "copy_of": 1}]),
        json!([{"do": "name_option", "number": 2, "name": "After all"}, {"do": "put_measure", "option": 2, "kind": "lek_care", "facts": {"lek": "L1", "work": "short"}}]),
        json!([{"do": "put_visit", "lek": "L1", "date": "2025-04-20", "start": "05:10", "cocks": 7, "hens": 2, "observer": "A. Nother", "weather": "calm"}]),
        json!([{"do": "set_feature", "layer": "patches", "id": "p2", "set": {"heather_pct": 55, "height_cm": null}, "geometry": drawn(391_000.0, 530_000.0, 900.0)}]),
        json!([{"do": "set_feature", "layer": "woods", "id": "w9", "set": {"name": "Gill wood", "stems": [{"tree": "birch", "stems_per_ha": 600, "height_m": 4, "age_yr": null}]}, "geometry": drawn(390_000.0, 531_000.0, 90.0)}]),
        json!([{"do": "drop_measures", "ids": ["wood-1"]}]),
        json!([{"do": "drop_option", "number": 2}]),
        json!([{"do": "drop_feature", "layer": "woods", "id": "w9"}, {"do": "drop_feature", "layer": "patches", "id": "p4"}]),
    ];
    let mut version = c.version();
    let mut labels = Vec::new();
    for step in steps {
        let done = c.done(version, step);
        assert!(done["version"].as_u64().unwrap() > version);
        version = done["version"].as_u64().unwrap();
        labels.push(done["label"].as_str().unwrap().to_string());
        states.push(holding(&server));
    }
    let after_first = &states[1].measures[0];
    assert_eq!((after_first.id.as_str(), after_first.year, after_first.facts.get("open_pct")), ("wood-1", Some(2028), Some(&json!(50))));
    assert!(after_first.shape.0[0].exterior().0.contains(&geo_types::Coord { x: 390_100.0, y: 530_100.0 }), "rounded to the millimetre");
    assert_eq!((states[4].measures.len(), states[4].options[1].name.as_str()), (3, "After all"));
    assert_eq!((states[5].visits[0].cocks, states[5].visits[0].start), (Some(7), chrono::NaiveTime::from_hms_opt(5, 10, 0)));
    assert_eq!((states[7].woods[0].stems.len(), states[6].patches[1].height_cm), (1, None));
    assert_eq!((states[10].measures.len(), states[10].options.len(), states[10].woods.len(), states[10].patches.len()), (0, 1, 0, 3));
    assert_eq!(labels[2], "option After it added, after option 1");
    for (at, label) in labels.iter().enumerate().rev() {
        let told = c.get("/api/plan")["undo"].as_str().unwrap().to_string();
        assert_eq!(&told, label);
        assert_eq!(turn(&server, "/api/undo")["label"], format!("taken back: {label}"));
        assert!(holding(&server) == states[at], "taking back {label}");
    }
    c.api("POST", "/api/undo", Some(&json!({"version": c.version()}))).problem(422, "refused");
    for (at, label) in labels.iter().enumerate() {
        assert_eq!(c.get("/api/plan")["redo"].as_str().unwrap(), label);
        turn(&server, "/api/redo");
        assert!(holding(&server) == states[at + 1], "doing again {label}");
    }
    c.api("POST", "/api/redo", Some(&json!({"version": c.version()}))).problem(422, "refused");
    // The file says what the page was told, and can still take it back after the desk was closed.
    let (plan, _folder) = server.ended();
    let again = Server::on(&plan);
    assert!(holding(&again) == states[10]);
    assert_eq!(turn(&again, "/api/undo")["label"], format!("taken back: {}", labels[9]));
    assert!(holding(&again) == states[9]);
    again.client().done(again.client().version(), json!([stick("s")]));
    assert_eq!(again.client().get("/api/plan")["redo"], Value::Null, "a new edit drops what was taken back");
}

#[test]
fn what_is_wrong_is_told_all_at_once_and_nothing_is_written() {
    let server = Server::new();
    let c = server.client();
    let version = c.version();
    let faults = |edit: Value| -> Vec<String> {
        let problem = c.edit(version, json!([edit])).problem(422, "refused");
        problem["faults"].as_array().unwrap().iter().map(|f| f["at"].as_str().unwrap().to_string()).collect()
    };
    let measure = json!({"do": "put_measure", "option": 9, "kind": "wood", "year": 2020, "geometry": {"type": "Point", "coordinates": [1, 2]}, "facts": {"open_pct": 500, "colour": "green"}});
    assert_eq!(faults(measure), ["option", "year", "geometry", "colour", "open_pct"]);
    assert_eq!(faults(json!({"do": "put_measure", "option": 1, "kind": "castle", "facts": {}})), ["kind"]);
    assert!(faults(json!({"do": "put_measure", "option": 1, "kind": "wood", "facts": {}})).contains(&"area".to_string()));
    assert_eq!(faults(json!({"do": "put_measure", "id": "nobody", "option": 1, "kind": "lek_care", "facts": {"lek": "L1", "work": "short"}})), ["id"]);
    assert_eq!(faults(json!({"do": "set_feature", "layer": "patches", "id": "p1", "set": {"height_cm": "tall", "depth": 1, "id": "x"}})), ["depth", "height_cm", "id"]);
    assert_eq!(faults(json!({"do": "set_feature", "layer": "patches", "id": "p1", "set": {"phase": "old", "note": 7}})), ["note", "phase"]);
    assert_eq!(faults(json!({"do": "set_feature", "layer": "patches", "id": "new", "set": {}})), ["geom"]);
    assert_eq!(faults(json!({"do": "set_feature", "layer": "patches", "id": "p1", "set": {}, "geometry": {"type": "LineString", "coordinates": [[1, 2], [3, 4]]}})), ["geom"]);
    assert_eq!(faults(json!({"do": "set_feature", "layer": "sqlite_master", "id": "p1", "set": {}})), ["sqlite_master"]);
    assert_eq!(faults(json!({"do": "set_feature", "layer": "stock", "id": "s1", "set": {"parcel_id": "nobody", "class": "cow"}})), ["parcel_id"]);
    assert_eq!(faults(json!({"do": "drop_feature", "layer": "patches", "id": "nobody"})), ["id"]);
    assert_eq!(faults(json!({"do": "drop_measures", "ids": ["nobody", "no one"]})), ["ids", "ids"]);
    assert_eq!(faults(json!({"do": "lay", "job": 7})), ["job"]);
    assert_eq!(faults(json!({"do": "add_option", "name": "trees"})), ["name"]);
    assert_eq!(faults(json!({"do": "add_option", "name": " ", "copy_of": 5})), ["name", "copy_of"]);
    assert_eq!(faults(json!({"do": "drop_option", "number": 5})), ["number"]);
    assert_eq!(faults(json!({"do": "put_visit", "lek": "L9", "date": "2025-04-20", "start": "dawn"})), ["lek", "start"]);
    assert_eq!(faults(json!({"do": "put_visit", "lek": "L1", "date": "2199-04-20", "cocks": 3})), ["date"]);
    assert_eq!(faults(json!({"do": "drop_visit", "id": "nobody"})), ["id"]);
    // One that is right goes not in beside one that is wrong, and each says where it stands.
    let problem = c.edit(version, json!([stick("s"), {"do": "drop_visit", "id": "nobody"}, {"do": "lay", "job": 1}])).problem(422, "refused");
    let at: Vec<&str> = problem["faults"].as_array().unwrap().iter().map(|f| f["at"].as_str().unwrap()).collect();
    assert_eq!(at, ["edits[1].id", "edits[2].job"]);
    assert_eq!((c.version(), c.get("/api/plan")["undo"].clone()), (version, Value::Null));
    // What others stand on stays.
    let version = c.done(version, json!([{"do": "put_visit", "lek": "L1", "date": "2025-04-20", "cocks": 3}]))["version"].as_u64().unwrap();
    let problem = c.edit(version, json!([{"do": "drop_feature", "layer": "leks", "id": "L1"}])).problem(422, "refused");
    assert_eq!(problem["faults"][0]["found"], "named by 1 visit");
}

#[test]
fn what_a_job_put_forward_is_laid_under_ids_of_its_own() {
    let server = Server::new();
    let c = server.client();
    let offer = |id: &str| holding::Measure { id: id.into(), option: 1, kind: "wood".into(), shape: crate::server::square(390_100.0, 530_100.0, 100.0), ..holding::Measure::default() };
    let ask = desk::api::ask::Ask::Spend { budget_gbp: 1.0 };
    server.desk.offers.lock().unwrap().insert(4, (ask, vec![offer("wood-1"), offer("wood-1")]));
    let first = c.done(c.version(), json!([{"do": "lay", "job": 4}]));
    let again = c.done(c.version(), json!([{"do": "lay", "job": 4}]));
    assert_eq!((&first["ids"], &again["ids"]), (&json!(["wood-1", "wood-2"]), &json!(["wood-3", "wood-4"])));
    assert!(first["label"].as_str().unwrap().starts_with("2 measures laid in option 1"), "{first}");
    turn(&server, "/api/undo");
    assert_eq!(server.desk.snapshot().holding.measures.len(), 2);
}

#[test]
fn a_crossed_outline_is_mended_and_said() {
    let server = Server::new();
    let c = server.client();
    let tie = json!({"type": "Polygon", "coordinates": [[[390_000, 530_000], [390_100, 530_100], [390_100, 530_000], [390_000, 530_100], [390_000, 530_000]]]});
    let done = c.done(c.version(), json!([{"do": "set_feature", "layer": "areas", "id": "a1", "set": {"kind": "no_go"}, "geometry": tie}]));
    assert!(done["notes"][0].as_str().unwrap().contains("mended"), "{done}");
}

#[test]
fn a_plan_that_somebody_else_writes_is_open_for_reading() {
    let server = Server::new();
    let other = Server::on(&server.plan);
    let c = other.client();
    let plan = c.get("/api/plan");
    assert_eq!((&plan["writable"], plan["undo"].is_null()), (&json!(false), true));
    assert!(plan["notice"].as_str().unwrap().contains("open for writing elsewhere"), "{plan}");
    c.edit(c.version(), json!([stick("s")])).problem(422, "refused");
    assert_eq!(server.client().edit(server.client().version(), json!([stick("s")])).status, 200);
}

#[test]
fn without_a_plan_the_desk_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let desk = desk::Desk::new(folder.path(), crate::server::guidance(), std::sync::Arc::new(crate::server::Silent));
    let state = desk::routes::plan::state(&desk).unwrap();
    assert_eq!((state.file.as_str(), state.writable, state.layers.iter().map(|l| l.features).sum::<usize>()), ("", false, 0));
    let request = serde_json::from_value(json!({"version": state.version, "edits": [stick("s")]})).unwrap();
    assert_eq!(desk.edit(&request).unwrap_err().title, "No plan is open");
    assert_eq!(desk.open(&folder.path().join("none.gpkg")).unwrap_err().kind, "not_found");
    // Opening one later: pages of before are told to look anew.
    let plan = folder.path().join("plan.gpkg");
    drop(holding::Plan::create(&plan, &crate::server::holding(), false).unwrap());
    desk.open(&plan).unwrap();
    assert_eq!(desk.edit(&request).unwrap_err().kind, "changed");
    assert!(desk.snapshot().version > state.version);
}
