//! The plan's file moved, replaced or taken away under the running desk: nothing is written where nobody would find it, and the desk goes
//! on where the file is now. Elsewhere than on Unix the system does not let an open file be moved.
#![cfg(unix)]

use crate::server::{Client, Server, holding, stick};
use holding::Plan;
use serde_json::{Value, json};
use std::fs;

fn open(c: &Client, file: &str) -> Value {
    let reply = c.api("POST", "/api/plans/open", Some(&json!({"file": file})));
    assert_eq!(reply.status, 200, "{}", reply.text());
    reply.json()
}

fn refused(c: &Client, edit: Value) {
    let problem = c.edit(c.version(), json!([edit])).problem(422, "refused");
    assert!(problem["faults"][0]["found"].as_str().unwrap().contains("moved"), "{problem}");
}

fn sticks(server: &Server) -> Vec<String> {
    server.desk.snapshot().holding.sticks.iter().map(|stick| stick.id.clone()).collect()
}

#[test]
fn a_plan_that_was_moved_is_edited_on_where_it_is_now() {
    let server = Server::new();
    let c = server.client();
    c.done(c.version(), json!([stick("before")]));
    fs::rename(&server.plan, server.plan.with_file_name("hill.gpkg")).unwrap();
    refused(&c, stick("astray"));
    c.api("POST", "/api/undo", Some(&json!({"version": c.version()}))).problem(422, "refused");
    let state = open(&c, "hill.gpkg");
    assert_eq!((&state["file"], &state["writable"]), (&json!("hill.gpkg"), &json!(true)), "{}", state["notice"]);
    c.done(c.version(), json!([stick("after")]));
    assert_eq!(sticks(&server), ["before", "after"]);
}

#[test]
fn a_plan_put_in_the_place_of_the_open_one_is_not_taken_for_it() {
    let server = Server::new();
    let c = server.client();
    c.done(c.version(), json!([stick("before")]));
    let other = server.plan.with_file_name("other.gpkg");
    drop(Plan::create(&other, &holding(), false).unwrap());
    fs::rename(&other, &server.plan).unwrap();
    refused(&c, stick("astray"));
    open(&c, "plan.gpkg");
    assert!(sticks(&server).is_empty(), "what is there now is shown");
    c.done(c.version(), json!([stick("after")]));
    assert_eq!(sticks(&server), ["after"]);
}

#[test]
fn a_plan_taken_away_is_told_and_another_can_be_opened() {
    let server = Server::new();
    let c = server.client();
    drop(Plan::create(&server.plan.with_file_name("other.gpkg"), &holding(), false).unwrap());
    fs::remove_file(&server.plan).unwrap();
    refused(&c, stick("astray"));
    c.api("POST", "/api/plans/open", Some(&json!({"file": "plan.gpkg"}))).problem(404, "not_found");
    open(&c, "other.gpkg");
    c.done(c.version(), json!([stick("after")]));
}

#[test]
fn a_disk_that_refuses_is_told_and_the_edit_goes_through_once_it_takes_it() {
    let server = Server::new();
    let c = server.client();
    // The engine can begin no journal where a folder is in its way: as on a full disk, or in a folder that cannot be written.
    let journal = server.plan.with_file_name("plan.gpkg-journal");
    fs::create_dir(&journal).unwrap();
    let problem = c.edit(c.version(), json!([stick("later")])).problem(500, "failed");
    assert!(problem["title"].as_str().unwrap().ends_with("nothing was changed") && problem["faults"][0]["hint"] != "", "{problem}");
    assert!(sticks(&server).is_empty());
    fs::remove_dir(&journal).unwrap();
    c.done(c.version(), json!([stick("later")]));
    assert_eq!(sticks(&server), ["later"]);
}
