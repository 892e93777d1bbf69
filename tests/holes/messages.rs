//! Refusals say what is wrong with the request and nothing about the machine they come from.

use bytes::Bytes;
use obvert_ledger::LedgerError;
use obvert_proto::{Problem, common::v1::Reason};
use obvert_records::refusal;
use tonic::{Code, Status};
use tonic_types::StatusExt;

use crate::fuzz::{
    schema::{filled, methods, path},
    service_face::call,
};
use crate::server::support::Server;

/// Words of operating systems, libraries and Rust's own way of printing values.
const INTERNALS: [&str; 17] = [
    "sled",
    "os error",
    "No such file",
    "prost",
    "tonic",
    "hyper",
    "h2 ",
    "panicked",
    ".rs:",
    "::",
    "Some(",
    "None",
    "Err(",
    "Ok(",
    "Decode",
    "tempfile",
    "typst",
];

fn check(what: &str, text: &str, folder: &str) {
    for word in INTERNALS.iter().chain(&[folder, "/tmp"]) {
        assert!(!text.contains(word), "{what} says {word:?}: {text}");
    }
}

/// Everything that a status tells its caller.
fn told(status: &Status) -> String {
    let details = status.get_error_details();
    let facts = details.error_info().map(|info| info.metadata.clone());
    let fields = details
        .bad_request()
        .map(|wrong| wrong.field_violations.clone());
    let fields = fields.unwrap_or_default();
    let fields = fields
        .iter()
        .map(|f| format!("{}: {}", f.field, f.description));
    let facts = facts
        .unwrap_or_default()
        .into_iter()
        .map(|(name, value)| format!("{name}={value}"));
    let all: Vec<_> = fields.chain(facts).collect();
    format!("{} {}", status.message(), all.join("; "))
}

#[tokio::test(flavor = "multi_thread")]
async fn a_sweep_of_bad_requests_is_refused_without_internals() {
    let server = Server::start("");
    let folder = server.folder.path().display().to_string();
    let channel = server.channel().await;
    let mut refused = 0;
    for method in methods() {
        let cut = filled(&method.input(), 0, "projects/quillfern/segments/s-1");
        let messages = [
            filled(&method.input(), 0, "projects/quillfern/segments/s-1"),
            filled(&method.input(), 1, "../../etc/passwd"),
            filled(&method.input(), 2, ""),
            filled(&method.input(), 3, &"9".repeat(5_000)),
            Vec::new(),
            vec![0xff; 40],
            b"\x0a\x02\xc3\x28".to_vec(),
            cut[..cut.len() / 2].to_vec(),
        ];
        for message in messages {
            let answer = call(&channel, &server.key(), &method, Bytes::from(message)).await;
            let Err(status) = answer else {
                continue;
            };
            refused += 1;
            let name = path(&method);
            assert_ne!(status.code(), Code::Unknown, "{name}: {status:?}");
            check(&name, &told(&status), &folder);
            let info = status.get_details_error_info();
            let own = info.is_some_and(|info| info.domain == "obvert" && !info.reason.is_empty());
            let by_transport = matches!(
                status.code(),
                Code::Unimplemented | Code::OutOfRange | Code::DeadlineExceeded
            );
            assert!(own || by_transport, "{name} gives no reason: {status:?}");
        }
    }
    assert!(refused > 300, "{refused} refusals");
    for row in [
        "GET /projects/%ff HTTP/1.1",
        "GET /issuer/%ff HTTP/1.1",
        "PUT / HTTP/1.1",
    ] {
        let head = format!("{row}\r\nauthorization: Bearer {}", server.key());
        let page = server.http(&head, "");
        let body = page.split("\r\n\r\n").nth(1).unwrap_or_default();
        check(row, body, &folder);
    }
}

#[test]
fn a_fault_below_is_told_as_a_fault_of_the_server_and_no_more() {
    let what = "IO error: No such file or directory (os error 2) at /srv/obvert/index".to_owned();
    for problem in [
        refusal(LedgerError::Index { what: what.clone() }),
        Problem::new(Reason::Internal, what.clone()).fact("path", &what),
    ] {
        let status = Status::from(problem);
        assert_eq!(status.code(), Code::Internal);
        check("an internal fault", &told(&status), "/srv");
        assert!(status.message().contains("its log says why"), "{status:?}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn reflection_answers_the_authenticated_only() {
    let server = Server::start("");
    let head = |key: &str| {
        format!(
            "POST /grpc.reflection.v1.ServerReflection/ServerReflectionInfo HTTP/1.1\r\n\
             content-type: application/grpc\r\nte: trailers\r\nauthorization: Bearer {key}"
        )
    };
    let unknown = server.http(&head(&obvert_access::fresh_key([9; 32])), "");
    assert!(unknown.contains("grpc-status: 16"), "{unknown}");
    let known = server.http(&head(&server.key()), "");
    assert!(!known.contains("grpc-status: 16"), "{known}");
}
