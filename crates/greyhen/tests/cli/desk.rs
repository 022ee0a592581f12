//! The desk answers as the command line does.

use crate::program::{demonstration, greyhen, run, text};
use crate::schema::holds_schema;
use serde_json::{Value, json};
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// A desk that was started, ended with the test.
struct Started {
    desk: Child,
    host: String,
    key: String,
}

impl Started {
    fn on(plan: &str) -> Started {
        let mut desk = Command::new(env!("CARGO_BIN_EXE_greyhen")).args(["desk", plan, "--port", "0"]).stdout(Stdio::piped()).spawn().unwrap();
        let mut line = String::new();
        BufReader::new(desk.stdout.take().unwrap()).read_line(&mut line).unwrap();
        let address = line.trim().strip_prefix("Open http://").unwrap_or_else(|| panic!("{line}"));
        let (host, key) = address.split_once("/?key=").unwrap();
        Started { desk, host: host.to_string(), key: key.to_string() }
    }

    /// Ask; the status and the bytes of the answer.
    fn ask(&self, method: &str, path: &str, body: &str) -> (u16, Vec<u8>) {
        let mut line = TcpStream::connect(&self.host).unwrap();
        let length = body.len();
        write!(
            line,
            "{method} {path} HTTP/1.1\r\nHost: {}\r\nAuthorization: Bearer {}\r\nContent-Type: application/json\r\nContent-Length: {length}\r\nConnection: close\r\n\r\n{body}",
            self.host, self.key
        )
        .unwrap();
        let mut all = Vec::new();
        line.read_to_end(&mut all).unwrap();
        let end = all.windows(4).position(|w| w == b"\r\n\r\n").unwrap();
        let head = String::from_utf8_lossy(&all[..end]).into_owned();
        assert!(!head.to_lowercase().contains("transfer-encoding"), "{head}");
        (head.split(' ').nth(1).unwrap().parse().unwrap(), all[end + 4..].to_vec())
    }

    fn json(&self, method: &str, path: &str, body: &str) -> Value {
        let (status, bytes) = self.ask(method, path, body);
        let value: Value = serde_json::from_slice(&bytes).unwrap_or_else(|e| panic!("{e}: {}", String::from_utf8_lossy(&bytes)));
        assert_eq!(status, 200, "{method} {path}: {value}");
        value
    }

    /// A question and its answer.
    fn answer(&self, question: &Value) -> Value {
        let id = self.json("POST", "/api/jobs", &question.to_string())["id"].as_u64().unwrap();
        let began = Instant::now();
        loop {
            let job = self.json("GET", &format!("/api/jobs/{id}"), "");
            match job["state"].as_str().unwrap() {
                "waiting" | "working" => assert!(began.elapsed() < Duration::from_secs(600), "{question}: {job}"),
                "done" => return job,
                _ => panic!("{question}: {job}"),
            }
            std::thread::sleep(Duration::from_millis(20));
        }
    }
}

impl Drop for Started {
    fn drop(&mut self) {
        let _ = self.desk.kill();
        let _ = self.desk.wait();
    }
}

/// A demonstration with a wood in option 1 and an option 2 without measures.
fn with_options(folder: &Path) -> String {
    let plan = demonstration(folder);
    let ledger: Value = serde_json::from_str(&run(0, &["assess", &plan, "--draws", "2", "--json"]).0).unwrap();
    let on = ledger["leks"][0]["seasons"][3]["losses"][0]["stands"][0]["id"].as_str().unwrap();
    run(0, &["option", &plan, "add", "Trees"]);
    run(0, &["measure", &plan, "add", "wood", "--option", "1", "--on", on]);
    run(0, &["option", &plan, "add", "Water"]);
    plan
}

/// A question, the command that answers the same (FILE stands for the plan), and the schema of both.
fn questions() -> Vec<(Value, &'static str, &'static str)> {
    vec![
        (json!({"ask": "assess"}), "assess FILE --show-leks", "assess.json"),
        (json!({"ask": "assess", "option": 1, "year": 10}), "assess FILE --option 1 --year 10 --show-leks", "assess.json"),
        (json!({"ask": "ahead", "option": 1, "years": [0, 10]}), "ahead FILE --option 1 --at 0,10 --show-leks", "ahead.json"),
        (json!({"ask": "compare", "options": [1, 2]}), "compare FILE 1 2", "compare.json"),
        (json!({"ask": "check"}), "check FILE --show-leks", "check.json"),
        (json!({"ask": "check", "option": 1}), "check FILE --option 1 --show-leks", "check.json"),
        (json!({"ask": "suggest", "kind": "water", "option": 2, "most": 2}), "suggest FILE water --most 2 --show-leks", "suggest.json"),
        (json!({"ask": "suggest", "kind": "fence", "option": 2}), "suggest FILE fence --show-leks", "suggest.json"),
        (json!({"ask": "works", "option": 1}), "works FILE --option 1 --show-leks", "works.json"),
        (json!({"ask": "birds", "options": [1]}), "birds FILE --option 1 --show-leks", "birds.json"),
        (json!({"ask": "trend"}), "counts FILE trend", "counts-trend.json"),
        (json!({"ask": "dawns", "base": "NY845293"}), "counts FILE dawns --base NY845293 --show-leks", "counts-dawns.json"),
        (json!({"ask": "found"}), "counts FILE found", "counts-found.json"),
        (json!({"ask": "after"}), "counts FILE after --show-leks", "counts-after.json"),
        (json!({"ask": "explain", "of": "reach.brood_m"}), "explain reach.brood_m", "explain.json"),
        (json!({"ask": "explain", "of": "fence_near_lek"}), "explain fence_near_lek", "explain.json"),
        (json!({"ask": "explain", "of": "wood"}), "measure FILE kinds wood", "kinds.json"),
    ]
}

#[test]
fn every_question_is_answered_as_the_command_answers_it() {
    let folder = tempfile::tempdir().unwrap();
    let plan = with_options(folder.path());
    let desk = Started::on(&plan);
    for (question, command, schema) in questions() {
        let arguments: Vec<&str> = command.split(' ').map(|word| if word == "FILE" { plan.as_str() } else { word }).chain(["--json"]).collect();
        let printed = text(&greyhen(&arguments).stdout);
        let mut printed = holds_schema(schema, &printed);
        let job = desk.answer(&question);
        let mut answered = holds_schema(schema, &job["answer"].to_string());
        // The page knows no paths; and what is put forward there is meant for an option.
        for document in [&mut printed, &mut answered] {
            document.as_object_mut().unwrap().remove("file");
            if question["ask"] == "suggest" {
                document.as_object_mut().unwrap().remove("option");
                for measure in document["measures"].as_array_mut().unwrap() {
                    measure.as_object_mut().unwrap().remove("option");
                }
            }
        }
        assert!(printed == answered, "{question}\n{}", first_difference("$", &printed, &answered));
        if question["ask"] == "suggest" {
            assert_eq!(job["measures"].as_u64().unwrap() as usize, answered["measures"].as_array().unwrap().len());
        }
    }
}

/// Where two documents differ first.
fn first_difference(path: &str, a: &Value, b: &Value) -> String {
    match (a, b) {
        (Value::Object(x), Value::Object(y)) if x.keys().eq(y.keys()) => {
            x.keys().find(|k| x[*k] != y[*k]).map_or(String::new(), |k| first_difference(&format!("{path}.{k}"), &x[k], &y[k]))
        }
        (Value::Array(x), Value::Array(y)) if x.len() == y.len() => {
            (0..x.len()).find(|i| x[*i] != y[*i]).map_or(String::new(), |i| first_difference(&format!("{path}[{i}]"), &x[i], &y[i]))
        }
        _ => format!("{path}: {a:.300}\nand: {b:.300}"),
    }
}

#[test]
fn designers_and_the_hand_over_answer_on_the_desk_too() {
    let folder = tempfile::tempdir().unwrap();
    let plan = with_options(folder.path());
    let desk = Started::on(&plan);
    // Without a base nothing is said of ways, and nothing of where the observer starts.
    let dawns = holds_schema("counts-dawns.json", &desk.answer(&json!({"ask": "dawns"}))["answer"].to_string());
    let outing = &dawns["mornings"][0]["outings"][0];
    assert!(outing["leave_base"].is_null() && outing["driving_min"].is_null() && outing["visits"][0]["drive_min"].is_null(), "{outing}");
    assert_eq!((&dawns["withheld"], &outing["base"]), (&json!(false), &json!("")));
    for question in [
        json!({"ask": "suggest", "kind": "wood", "option": 2, "ha": 6.0, "seconds": 3.0}),
        json!({"ask": "suggest", "kind": "heather", "option": 2, "years": 3, "seconds": 3.0}),
        json!({"ask": "suggest", "kind": "grazing", "option": 2}),
    ] {
        let job = desk.answer(&question);
        let document = holds_schema("suggest.json", &job["answer"].to_string());
        assert!(job["measures"].as_u64().unwrap() > 0, "{question}");
        assert_eq!(document["measures"][0]["option"], 2);
    }
    // What the command refuses the desk refuses, without telling anybody to type.
    let id = desk.json("POST", "/api/jobs", &json!({"ask": "suggest", "kind": "wood", "option": 7, "ha": -1.0}).to_string())["id"].as_u64().unwrap();
    let mut job = desk.json("GET", &format!("/api/jobs/{id}"), "");
    while job["state"] == "waiting" || job["state"] == "working" {
        job = desk.json("GET", &format!("/api/jobs/{id}"), "");
    }
    assert_eq!(job["faults"], json!(["ha: -1; needed: a number above 0"]));
    let job = desk.answer(&json!({"ask": "handover", "option": 1}));
    let listed = holds_schema("manifest.json", &job["answer"].to_string());
    let files = job["files"].as_array().unwrap();
    assert_eq!(files.len(), listed["files"].as_array().unwrap().len() + 1, "the list itself, and all it lists");
    assert_eq!(listed["lek_places"], "withheld");
    let id = job["id"].as_u64().unwrap();
    let (status, bytes) = desk.ask("GET", &format!("/api/jobs/{id}/files/{}", files[0]["name"].as_str().unwrap()), "");
    assert_eq!((status, bytes.len() as u64), (200, files[0]["bytes"].as_u64().unwrap()));
    desk.json("POST", &format!("/api/jobs/{id}/keep"), r#"{"folder": "pack"}"#);
    for file in files {
        let kept = std::fs::metadata(folder.path().join("pack").join(file["name"].as_str().unwrap())).unwrap();
        assert_eq!(Some(kept.len()), file["bytes"].as_u64());
    }
}
