//! Two windows on one plan: neither writes over the other unawares, and nothing is lost.

use crate::server::{Server, stick};
use serde_json::{Value, json};

#[test]
fn what_both_changed_is_told_and_what_one_changed_is_let_by() {
    let server = Server::new();
    let c = server.client();
    let seen = c.version();
    let first = c.done(seen, json!([{"do": "set_feature", "layer": "patches", "id": "p1", "set": {"height_cm": 30}}]));
    assert_eq!((first["others"].as_u64(), &first["touched"], &first["ids"]), (Some(0), &json!(["survey"]), &json!(["p1"])));
    // Another window, still on the older version: another patch is let by, the same one is told.
    let second = c.done(seen, json!([{"do": "set_feature", "layer": "patches", "id": "p2", "set": {"height_cm": 31}}]));
    assert_eq!(second["others"], 1);
    let problem = c.edit(seen, json!([{"do": "set_feature", "layer": "patches", "id": "p1", "set": {"note": "wet"}}])).problem(409, "changed");
    assert_eq!((problem["version"].as_u64(), &problem["theirs"]), (second["version"].as_u64(), &json!(["patch p1 changed"])));
    assert_eq!(server.desk.snapshot().holding.patches[0].note, "");
    // On the version it is told of, it goes through.
    c.done(second["version"].as_u64().unwrap(), json!([{"do": "set_feature", "layer": "patches", "id": "p1", "set": {"note": "wet"}}]));
    // A version of another run, and one that is not yet.
    c.edit(3, json!([stick("s")])).problem(409, "changed");
    c.edit(c.version() + 1, json!([stick("s")])).problem(409, "changed");
}

#[test]
fn an_option_is_not_taken_out_under_the_hands_of_who_draws_in_it() {
    let server = Server::new();
    let c = server.client();
    let seen = c.version();
    let care = json!({"do": "put_measure", "option": 1, "kind": "lek_care", "facts": {"lek": "L1", "work": "short"}});
    c.done(seen, json!([care]));
    let theirs = c.edit(seen, json!([{"do": "drop_option", "number": 1}])).problem(409, "changed")["theirs"].to_string();
    assert!(theirs.contains("laid in option 1"), "{theirs}");
    // Two that draw in it do not meet; who names it does not either.
    assert_eq!(c.done(seen, json!([care]))["others"], 1);
    c.done(seen, json!([{"do": "name_option", "number": 1, "name": "More trees"}]));
    c.edit(seen, json!([{"do": "name_option", "number": 1, "name": "Fewer sheep"}])).problem(409, "changed");
    let now = c.version();
    c.done(now, json!([{"do": "drop_option", "number": 1}]));
    assert_eq!(c.edit(now, json!([care])).problem(409, "changed")["theirs"], json!(["option 1 (More trees) taken out"]));
    let problem = c.edit(c.version(), json!([care])).problem(422, "refused");
    assert_eq!(problem["faults"][0]["at"], "option", "{problem}");
}

#[test]
fn taking_back_waits_until_the_page_has_seen_everything() {
    let server = Server::new();
    let c = server.client();
    let mine = c.done(c.version(), json!([stick("mine")]));
    c.done(mine["version"].as_u64().unwrap(), json!([stick("theirs")]));
    let problem = c.api("POST", "/api/undo", Some(&json!({"version": mine["version"]}))).problem(409, "changed");
    assert_eq!(problem["theirs"], json!(["stick theirs drawn"]));
    assert_eq!(server.desk.snapshot().holding.sticks.len(), 2);
}

#[test]
fn a_repeated_request_is_done_once() {
    let server = Server::new();
    let c = server.client();
    let request = json!({"version": c.version(), "once": "abc", "edits": [{"do": "add_option", "name": "Once"}]});
    let first = c.api("POST", "/api/edits", Some(&request));
    let again = c.api("POST", "/api/edits", Some(&request));
    assert_eq!((first.status, first.json()), (200, again.json()));
    assert_eq!(server.desk.snapshot().holding.options.len(), 2);
    let threads: Vec<_> = (0..8).map(|_| {
        let (c, request) = (c.clone(), json!({"version": c.version(), "once": "many", "edits": [{"do": "add_option", "name": "At once"}]}));
        std::thread::spawn(move || c.api("POST", "/api/edits", Some(&request)).json())
    }).collect();
    let answers: Vec<Value> = threads.into_iter().map(|t| t.join().unwrap()).collect();
    assert!(answers.iter().all(|answer| *answer == answers[0]), "{answers:?}");
    assert_eq!(server.desk.snapshot().holding.options.len(), 3);
}

#[test]
fn two_windows_that_edit_at_once_lose_nothing() {
    let server = Server::new();
    let edits_of = |window: usize| {
        let c = server.client();
        std::thread::spawn(move || {
            let mut version = c.version();
            let mut met = 0;
            for n in 0..40 {
                // Each its own sticks, and both the same patch: whoever meets the other looks again and says it anew.
                let edits = json!([stick(&format!("{window}-{n}")), {"do": "set_feature", "layer": "patches", "id": "p1", "set": {"note": format!("{window}-{n}")}}]);
                loop {
                    let reply = c.edit(version, edits.clone());
                    let answer = reply.json();
                    version = answer["version"].as_u64().unwrap();
                    if reply.status == 200 {
                        break;
                    }
                    reply.problem(409, "changed");
                    met += 1;
                }
            }
            met
        })
    };
    let (one, two) = (edits_of(1), edits_of(2));
    let met = one.join().unwrap() + two.join().unwrap();
    assert!(met > 0, "they never met, so nothing was tried");
    let mut ids: Vec<String> = server.desk.snapshot().holding.sticks.iter().map(|s| s.id.clone()).collect();
    ids.sort();
    let mut all: Vec<String> = (1..=2).flat_map(|window| (0..40).map(move |n| format!("{window}-{n}"))).collect();
    all.sort();
    assert_eq!(ids, all);
    let (plan, _folder) = server.ended();
    let on_disk = holding::Plan::open_read_only(&plan).unwrap().holding().unwrap();
    assert_eq!(on_disk.sticks.len(), 80);
    assert!(on_disk.patches[0].note.ends_with("-39"), "{}", on_disk.patches[0].note);
}
