//! An orderly end, and a store that is whole after it.

use std::{io::Write, net::TcpStream, time::Duration};

use obvert_ledger::tools;
use obvert_proto::{
    common::v1::WatchRecordsRequest, project::v1::project_service_client::ProjectServiceClient,
};

use super::{certificate::encrypted, support::Server};

#[test]
fn a_server_told_to_stop_ends_with_0_and_leaves_a_closed_journal() {
    let mut server = Server::start("");
    server.terminate();
    assert_eq!(server.ended().code(), Some(0));
    let report = tools::verify(&server.folder.path().join("store")).expect("a store");
    assert!(report.closed && report.findings.is_empty(), "{report:?}");
}

#[tokio::test]
async fn a_stream_that_never_ends_does_not_keep_the_server_up() {
    let mut server = Server::start("[limits]\nshutdown_s = 1");
    let mut client = ProjectServiceClient::new(server.keyed().await);
    let watch = WatchRecordsRequest {
        project: "office".into(),
        after_revision: 0,
    };
    let mut stream = client
        .watch_records(watch)
        .await
        .expect("a stream")
        .into_inner();
    stream
        .message()
        .await
        .expect("the first commit")
        .expect("a commit");
    server.terminate();
    tokio::time::sleep(Duration::from_millis(50)).await;
    assert_eq!(server.ended().code(), Some(0));
}

#[test]
fn a_client_stuck_in_the_middle_of_a_request_does_not_keep_the_server_up() {
    let mut server = Server::start("[limits]\nshutdown_s = 1");
    let mut stuck = TcpStream::connect(server.address).expect("taken");
    stuck
        .write_all(b"POST /sign-in HTTP/1.1\r\nhost: x\r\ncontent-length: 100\r\n\r\nkey=")
        .expect("sent");
    std::thread::sleep(Duration::from_millis(50));
    server.terminate();
    assert_eq!(server.ended().code(), Some(0));
    drop(stuck);
}

#[test]
fn a_client_that_shakes_no_hand_does_not_keep_the_server_up() {
    let mut server = Server::start_in(encrypted("[limits]\nshutdown_s = 1\ntls_handshake_s = 600"));
    let silent = TcpStream::connect(server.address).expect("taken");
    std::thread::sleep(Duration::from_millis(50));
    server.terminate();
    assert_eq!(server.ended().code(), Some(0));
    drop(silent);
}

#[tokio::test]
async fn a_client_that_never_reads_its_stream_does_not_keep_the_server_up() {
    let mut server = Server::start("[limits]\nshutdown_s = 1");
    let mut client = ProjectServiceClient::new(server.keyed().await);
    let mut unread = Vec::new();
    for _ in 0..20 {
        let watch = WatchRecordsRequest {
            project: "office".into(),
            after_revision: 0,
        };
        unread.push(client.watch_records(watch).await.expect("a stream"));
    }
    server.terminate();
    assert_eq!(server.ended().code(), Some(0));
    drop(unread);
}
