//! Nobody but the desk's own page, and programs that were told the key, is let in; nothing that is sent breaks it.

use crate::server::{Client, Server, Silent, guidance, stick};
use serde_json::{Value, json};

#[test]
fn only_the_desks_own_names_are_answered() {
    let server = Server::new();
    let c = server.client();
    let (bearer, port) = (format!("Bearer {}", c.key), c.at.port());
    for host in [format!("127.0.0.1:{port}"), format!("localhost:{port}"), format!("LOCALHOST:{port}"), format!("[::1]:{port}")] {
        assert_eq!(c.ask("GET", "/api/plan", &[("Host", &host), ("Authorization", &bearer)], b"").status, 200, "{host}");
    }
    for host in ["evil.example".to_string(), format!("evil.example:{port}"), "127.0.0.1".into(), format!("127.0.0.1:{}", port ^ 1), format!("127.0.0.1.evil.example:{port}"), format!("localhost.:{port}")] {
        c.ask("GET", "/api/plan", &[("Host", &host), ("Authorization", &bearer)], b"").problem(403, "forbidden");
        assert_eq!(c.ask("GET", "/", &[("Host", &host)], b"").status, 403, "{host}");
        assert_eq!(c.ask("GET", &format!("/?key={}", c.key), &[("Host", &host)], b"").header("set-cookie"), "", "{host}");
    }
    let own = c.host();
    assert_eq!(c.ask("GET", "/api/plan", &[("Host", &own), ("Host", "evil.example"), ("Authorization", &bearer)], b"").status, 403);
    assert_eq!(c.ask("GET", "http://evil.example/api/plan", &[("Host", &own), ("Authorization", &bearer)], b"").status, 403);
}

#[test]
fn the_key_opens_and_nothing_else_does() {
    let server = Server::new();
    let (c, other) = (server.client(), Server::new().client());
    let host = c.host();
    let welcome = c.ask("GET", &format!("/?key={}", c.key), &[("Host", &host)], b"");
    assert_eq!((welcome.status, welcome.header("location")), (303, "/"));
    let cookie = welcome.header("set-cookie").to_string();
    for part in ["HttpOnly", "SameSite=Strict", "Path=/"] {
        assert!(cookie.contains(part), "{cookie}");
    }
    let cookie = cookie.split(';').next().unwrap().to_string();
    assert_eq!(c.ask("GET", "/api/plan", &[("Host", &host), ("Cookie", &format!("a=b; {cookie}"))], b"").status, 200);
    assert_eq!(c.ask("GET", "/", &[("Host", &host), ("Cookie", &cookie)], b"").status, 200);
    let name = cookie.split('=').next().unwrap();
    let wrong = [
        vec![],
        vec![("Cookie", format!("{name}={}", other.key))],
        vec![("Cookie", format!("{name}="))],
        vec![("Cookie", format!("x={}", c.key))],
        vec![("Authorization", format!("Bearer {}", other.key))],
        vec![("Authorization", format!("Bearer {}", &c.key[..63]))],
        vec![("Authorization", format!("Basic {}", c.key))],
    ];
    for headers in wrong {
        let mut all = vec![("Host", host.as_str())];
        all.extend(headers.iter().map(|(name, value)| (*name, value.as_str())));
        for path in ["/api/plan", "/api/nothing", "/features", "/api/openapi.json", "/api/live"] {
            c.ask("GET", path, &all, b"").problem(401, "no_key");
        }
    }
    let page = c.ask("GET", "/", &[("Host", &host)], b"");
    assert!(page.status == 401 && page.header("content-type").starts_with("text/html") && page.text().contains("?key="), "{page:?}");
    assert_eq!(c.ask("GET", &format!("/?key={}", other.key), &[("Host", &host)], b"").status, 401);
    // The key is in no address of the interface.
    c.ask("GET", &format!("/api/plan?key={}", c.key), &[("Host", &host)], b"").problem(401, "no_key");
}

#[test]
fn other_pages_of_the_browser_are_refused() {
    let server = Server::new();
    let c = server.client();
    let (host, own) = (c.host(), format!("http://{}", c.host()));
    let welcome = c.ask("GET", &format!("/?key={}", c.key), &[("Host", &host)], b"");
    let cookie = welcome.header("set-cookie").split(';').next().unwrap().to_string();
    let body = json!({"version": c.version(), "edits": [stick("by the page")]}).to_string();
    let ask = |headers: &[(&str, &str)]| {
        let mut all = vec![("Host", host.as_str()), ("Cookie", cookie.as_str()), ("Content-Type", "application/json")];
        all.extend(headers);
        c.ask("POST", "/api/edits", &all, body.as_bytes())
    };
    for origin in ["http://evil.example", "null", "https://127.0.0.1", "http://127.0.0.1", "http://localhost:1", "", "file://"] {
        ask(&[("Origin", origin)]).problem(403, "forbidden");
    }
    ask(&[("Origin", &format!("http://localhost:{}", c.at.port()))]).problem(403, "forbidden");
    ask(&[]).problem(403, "forbidden");
    ask(&[("Sec-Fetch-Site", "cross-site")]).problem(403, "forbidden");
    ask(&[("Sec-Fetch-Site", "same-site")]).problem(403, "forbidden");
    ask(&[("Origin", &own), ("Sec-Fetch-Site", "cross-site")]).problem(403, "forbidden");
    assert_eq!(server.desk.snapshot().holding.sticks.len(), 0);
    // Reading across sites is refused too, where the browser says that it is; and a socket is opened by the own page alone.
    for headers in [vec![("Sec-Fetch-Site", "same-site")], vec![("Origin", "http://evil.example")]] {
        let mut all = vec![("Host", host.as_str()), ("Cookie", cookie.as_str())];
        all.extend(headers);
        c.ask("GET", "/api/plan", &all, b"").problem(403, "forbidden");
        all.extend([("Connection", "Upgrade"), ("Upgrade", "websocket"), ("Sec-WebSocket-Version", "13"), ("Sec-WebSocket-Key", "dGhlIHNhbXBsZSBub25jZQ==")]);
        c.ask("GET", "/api/live", &all, b"").problem(403, "forbidden");
    }
    let bare = [("Host", host.as_str()), ("Cookie", &cookie), ("Connection", "Upgrade"), ("Upgrade", "websocket"), ("Sec-WebSocket-Version", "13"), ("Sec-WebSocket-Key", "dGhlIHNhbXBsZSBub25jZQ==")];
    c.ask("GET", "/api/live", &bare, b"").problem(403, "forbidden");
    let done = ask(&[("Origin", &own), ("Sec-Fetch-Site", "same-origin")]);
    assert_eq!(done.status, 200, "{}", done.text());
    // No other site is ever told that it may.
    assert!(done.headers.iter().all(|(name, _)| !name.starts_with("access-control")));
}

#[test]
fn every_answer_forbids_what_is_not_the_desks_own() {
    let server = Server::new();
    let c = server.client();
    let host = c.host();
    let bearer = format!("Bearer {}", c.key);
    for path in ["/", "/api/plan", "/api/nothing", "/nothing"] {
        for headers in [vec![("Host", host.as_str())], vec![("Host", host.as_str()), ("Authorization", bearer.as_str())], vec![("Host", "evil.example")]] {
            let reply = c.ask("GET", path, &headers, b"");
            let policy = reply.header("content-security-policy");
            for part in ["default-src 'none'", "script-src 'self';", "connect-src 'self'", "frame-ancestors 'none'", "base-uri 'none'", "form-action 'none'"] {
                assert!(policy.contains(part), "{path}: {policy}");
            }
            assert!(!policy.contains("unsafe-eval") && !policy.contains("http"), "{policy}");
            for (name, value) in [("x-content-type-options", "nosniff"), ("referrer-policy", "no-referrer"), ("cross-origin-opener-policy", "same-origin"), ("cross-origin-resource-policy", "same-origin")] {
                assert_eq!(reply.header(name), value, "{path}");
            }
            if path.starts_with("/api") {
                assert_eq!(reply.header("cache-control"), "no-store");
            }
        }
    }
}

#[test]
fn no_file_outside_the_page_is_given() {
    let server = Server::new();
    let c = server.client();
    let host = c.host();
    for path in [
        "/assets/..%2f..%2fplan.gpkg", "/assets/../../plan.gpkg", "/../Cargo.toml", "/..%2fCargo.toml", "/%2e%2e/%2e%2e/etc/passwd", "//etc/passwd", "/assets/..\\..\\plan.gpkg",
        "/.git/config", "/assets/", "/index.html/", "/plan.gpkg", "/assets/%00", "/assets/%c0%ae%c0%ae/x",
    ] {
        let reply = c.ask("GET", path, &[("Host", &host)], b"");
        reply.problem(404, "not_found");
    }
    c.ask("POST", "/index.html", &[("Host", &host), ("Authorization", &format!("Bearer {}", c.key))], b"").problem(405, "wrong_method");
}

#[test]
fn whatever_is_sent_is_answered_in_the_form_of_a_problem() {
    let server = Server::new();
    let c = server.client();
    let (host, bearer) = (c.host(), format!("Bearer {}", c.key));
    let post = |path: &str, kind: &str, body: &[u8]| c.ask("POST", path, &[("Host", &host), ("Authorization", &bearer), ("Content-Type", kind)], body);
    let json = "application/json";
    post("/api/edits", json, &vec![b' '; desk::serve::BODY_MAX + 1]).problem(413, "too_large");
    post("/api/edits", "text/plain", b"{}").problem(415, "wrong_type");
    for bad in [&b"{"[..], b"", b"[]", b"null", b"\xff\xfe{}", b"{\"version\": 1e400, \"edits\": []}", b"{\"version\": -1, \"edits\": []}", b"{\"version\": 1, \"edits\": [], \"more\": 1}"] {
        let problem = post("/api/edits", json, bad).problem(400, "bad_request");
        assert!(!problem["faults"][0]["found"].as_str().unwrap().is_empty(), "{problem}");
    }
    let deep = |n: usize| format!("{{\"version\": 1, \"edits\": [{{\"do\": \"set_feature\", \"layer\": \"sticks\", \"id\": \"s\", \"set\": {{\"note\": {}{}}}}}]}}", "[".repeat(n), "]".repeat(n));
    post("/api/edits", json, deep(100_000).as_bytes()).problem(400, "bad_request");
    post("/api/edits", json, deep(300).as_bytes()).problem(400, "bad_request");
    let version = c.version();
    c.edit(version, json!([])).problem(400, "bad_request");
    let many: Vec<Value> = (0..600).map(|n| stick(&n.to_string())).collect();
    c.edit(version, json!(many)).problem(400, "bad_request");
    c.api("GET", "/api/nothing", None).problem(404, "not_found");
    c.api("DELETE", "/api/plan", None).problem(405, "wrong_method");
    c.api("GET", "/api/edits", None).problem(405, "wrong_method");
    c.api("GET", "/api/live", None).problem(400, "bad_request");
    assert_eq!(c.version(), version, "nothing was changed");
}

/// Names that want to be more than names.
pub fn hostile() -> Vec<String> {
    vec![
        "<b>bold</b><script>alert(1)</script>".into(),
        "=1+1".into(),
        "@SUM(A1)".into(),
        "'; DROP TABLE options; --".into(),
        "\u{202e}desrever\u{202c} \u{2066}x".into(),
        "two\r\nlines\tand a tab".into(),
        "x".repeat(300),
        "\u{1F426}\u{200D}\u{2B1B} ü e\u{301} \u{0}".replace('\0', ""),
        "../../etc/passwd".into(),
        "{{7*7}} ${7*7} %s %n".into(),
        "\u{7f}\u{1b}[31mred".into(),
    ]
}

#[test]
fn hostile_names_are_kept_to_the_letter_and_do_nothing() {
    let server = Server::new();
    let c = server.client();
    let mut version = c.version();
    for (at, name) in hostile().into_iter().enumerate() {
        let edits = json!([
            {"do": "add_option", "name": name},
            {"do": "set_feature", "layer": "patches", "id": "p1", "set": {"name": name, "note": name, "other": {name.clone(): name}}},
            {"do": "put_visit", "lek": "L1", "date": format!("2025-04-{:02}", at + 1), "cocks": 3, "observer": name, "weather": name, "note": name},
        ]);
        version = c.done(version, edits)["version"].as_u64().unwrap();
        let now = server.desk.snapshot();
        let patch = &now.holding.patches[0];
        assert_eq!((&patch.name, &patch.note, patch.extra.get(&name)), (&name, &name, Some(&json!(name))));
        let visit = now.holding.visits.last().unwrap();
        assert_eq!((&visit.observer, &visit.weather, &visit.note), (&name, &name, &name));
        assert_eq!(now.holding.options.last().unwrap().name, name.trim());
        let plan = c.get("/api/plan");
        assert!(plan["options"].as_array().unwrap().iter().any(|o| o["name"] == name.trim()));
        // What is told of it stays on one line, and short.
        let undo = plan["undo"].as_str().unwrap();
        assert!(undo.chars().count() < 120 && !undo.contains(['\n', '\r']), "{undo}");
    }
    for (what, name) in [("a NUL", "a\0b".to_string()), ("too long", "x".repeat(1001))] {
        let problem = c.edit(version, json!([{"do": "add_option", "name": name}])).problem(422, "refused");
        assert_eq!(problem["faults"][0]["at"], "name", "{what}");
    }
    let (plan, _folder) = server.ended();
    let plan = holding::Plan::open(&plan).unwrap();
    plan.check().unwrap();
    assert_eq!(plan.holding().unwrap().options.len(), 1 + hostile().len());
}

#[test]
fn what_was_sent_goes_with_the_run_whoever_still_holds_the_desk() {
    let folder = tempfile::tempdir().unwrap();
    let desk = std::sync::Arc::new(desk::Desk::new(folder.path(), guidance(), std::sync::Arc::new(Silent)));
    let bound = desk::serve::bind(Some(0)).unwrap();
    let c = Client { at: bound.address().at, key: bound.address().key.as_str().into() };
    let running = desk.clone();
    let run = std::thread::spawn(move || bound.run(running, None).unwrap());
    let sent = c.api("POST", "/api/uploads?name=leks.csv", Some(&serde_json::json!("lek,date")));
    assert_eq!(sent.status, 200, "{}", sent.text());
    let path = desk.uploads.get("upload", 1).map(|kept| kept.path().to_path_buf()).unwrap();
    assert!(path.exists());
    desk.stop();
    run.join().unwrap();
    assert!(!path.exists(), "{} is still there", path.display());
}
