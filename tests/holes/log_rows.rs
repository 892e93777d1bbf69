//! Whatever a request holds, the log keeps one event a row.

use bytes::Bytes;
use serde_json::Value;
use std::fs;

use crate::fuzz::{
    schema::{filled, methods},
    service_face::call,
};
use crate::server::support::{Server, prepared};

const FORGED: &str = "x\n{\"level\":\"ERROR\",\"fields\":{\"message\":\"forged\"}}\r\u{1b}[2J\u{7}";

#[tokio::test(flavor = "multi_thread")]
async fn line_ends_and_control_characters_of_requests_forge_no_row() {
    let server = Server::start_told(prepared(""), "debug");
    let channel = server.channel().await;
    for method in methods() {
        let message = filled(&method.input(), 0, FORGED);
        let _ = call(&channel, &server.key(), &method, Bytes::from(message)).await;
    }
    for path in [
        "/projects/x%0a%0d%1b%5b2J",
        "/%0aforged",
        "/issuer/x%0aforged",
    ] {
        let head = format!(
            "GET {path} HTTP/1.1\r\nauthorization: Bearer {}\r\nuser-agent: x\u{1b}[2J",
            server.key()
        );
        server.http(&head, "");
    }
    let key = server.key();
    let log = fs::read_to_string(server.folder.path().join("stderr.log")).unwrap();
    assert!(log.lines().count() > 20, "the log says something: {log}");
    // The last row may be under way.
    let whole = &log[..log.rfind('\n').unwrap()];
    for row in whole.lines() {
        let read: Value =
            serde_json::from_str(row).unwrap_or_else(|error| panic!("{error}: {row}"));
        assert_ne!(read["fields"]["message"], "forged", "{row}");
        let printable = |c: char| !c.is_control();
        assert!(row.chars().all(printable), "{row:?}");
    }
    assert!(!log.contains(&key[4..40]), "a key is in the log");
}
