//! The socket: news to every page, strokes newest first.

use crate::server::{Client, Server, stick};
use serde_json::{Value, json};
use std::net::TcpStream;
use std::time::Duration;
use tungstenite::client::IntoClientRequest;
use tungstenite::{Message, WebSocket};

fn socket(c: &Client) -> WebSocket<TcpStream> {
    let mut request = format!("ws://{}/api/live", c.at).into_client_request().unwrap();
    request.headers_mut().insert("authorization", format!("Bearer {}", c.key).parse().unwrap());
    let stream = TcpStream::connect(c.at).unwrap();
    stream.set_read_timeout(Some(Duration::from_secs(20))).unwrap();
    tungstenite::client(request, stream).unwrap().0
}

fn hear(socket: &mut WebSocket<TcpStream>) -> Value {
    loop {
        if let Message::Text(text) = socket.read().unwrap() {
            return serde_json::from_str(&text).unwrap();
        }
    }
}

fn stroke(number: u64) -> Message {
    json!({"say": "stroke", "stroke": number, "year": 0, "measure": {"option": 1, "kind": "wood", "geometry": null, "facts": {}}}).to_string().into()
}

#[test]
fn every_page_hears_of_every_change() {
    let server = Server::new();
    let c = server.client();
    let (mut one, mut two) = (socket(&c), socket(&c));
    let version = c.version();
    let done = c.done(version, json!([stick("s")]));
    for page in [&mut one, &mut two] {
        let heard = hear(page);
        assert_eq!((&heard["say"], &heard["version"], &heard["label"], &heard["ids"]), (&json!("changed"), &done["version"], &done["label"], &json!(["s"])));
    }
    c.api("POST", "/api/undo", Some(&json!({"version": done["version"]})));
    assert_eq!(hear(&mut two)["label"], "taken back: stick s drawn");
    // A refused edit is no news; the next is.
    c.edit(version, json!([{"do": "drop_visit", "id": "nobody"}]));
    c.done(c.version(), json!([stick("t")]));
    hear(&mut one);
    assert_eq!(hear(&mut one)["ids"], json!(["t"]));
}

#[test]
fn strokes_are_answered_in_order_up_to_the_newest() {
    let server = Server::new();
    let c = server.client();
    server.desk.snapshot().base().unwrap();
    let mut page = socket(&c);
    for number in 1..=50 {
        page.send(stroke(number)).unwrap();
    }
    let mut last = 0;
    while last < 50 {
        let heard = hear(&mut page)["stroke"].as_u64().unwrap();
        assert!(heard > last, "stroke {heard} after stroke {last}");
        last = heard;
    }
    // A pen that is lifted is not waited for.
    page.send(json!({"say": "lifted"}).to_string().into()).unwrap();
    page.send(stroke(52)).unwrap();
    assert_eq!(hear(&mut page)["stroke"], 52);
}

#[test]
fn what_is_no_message_is_told_and_the_socket_stays() {
    let server = Server::new();
    let mut page = socket(&server.client());
    for bad in ["{", "{\"say\": \"sing\"}", "[]", "{\"say\": \"lifted\", \"more\": 1}"] {
        page.send(bad.into()).unwrap();
        let heard = hear(&mut page);
        assert_eq!((&heard["say"], &heard["stroke"]), (&json!("trouble"), &json!(0)), "{bad}");
    }
    page.send(stroke(3)).unwrap();
    assert_eq!(hear(&mut page)["stroke"], 3, "the socket is still there");
    // Ending the desk lets the page go, and does not wait for it.
    let before = std::time::Instant::now();
    drop(server);
    assert!(before.elapsed() < Duration::from_secs(5));
    assert!(matches!(page.read(), Ok(Message::Close(_)) | Err(_)));
}
