//! Every limit of the config, reached.

use std::{
    io::{Read, Write},
    net::TcpStream,
    time::Duration,
};

use bytes::Bytes;
use futures::StreamExt;
use obvert_proto::{
    common::v1::{
        ImportTableHeader, ImportTableRequest, WatchRecordsRequest, Write as Envelope,
        import_table_request::Part,
    },
    project::v1::{
        CreateRecordRequest, Document, ListProjectsRequest, Record,
        project_service_client::ProjectServiceClient, record::Body,
    },
};
use tokio::time::timeout;
use tonic::{Code, Request};
use tonic_types::StatusExt;

use super::support::{PATIENCE, Server};

#[tokio::test]
async fn a_message_over_the_limit_is_refused() {
    let server = Server::start("[limits]\nmessage_bytes = 65536");
    let mut client = ProjectServiceClient::new(server.keyed().await);
    let document = Document {
        title: "x".repeat(70_000),
        ..Document::default()
    };
    let record = Record {
        meta: None,
        body: Some(Body::Document(document)),
    };
    let request = CreateRecordRequest {
        write: Some(Envelope {
            request_id: "r".into(),
            ..Envelope::default()
        }),
        project: "p".into(),
        record_id: "d".into(),
        record: Some(record),
    };
    let refused = client.create_record(request).await.expect_err("too large");
    assert_eq!(refused.code(), Code::ResourceExhausted, "{refused}");
    let reason = refused
        .get_details_error_info()
        .expect("an ErrorInfo")
        .reason;
    assert_eq!(reason, "TOO_LARGE");
    assert!(refused.message().contains("65536"), "{refused}");
}

#[tokio::test]
async fn headers_over_the_limit_are_refused() {
    let server = Server::start("[limits]\nheader_list_bytes = 8192");
    let mut client = ProjectServiceClient::new(server.keyed().await);
    let mut request = Request::new(ListProjectsRequest {});
    request
        .metadata_mut()
        .insert("x-long", "y".repeat(9_000).parse().expect("ascii"));
    client
        .list_projects(request)
        .await
        .expect_err("headers too long");
    let mut client = ProjectServiceClient::new(server.keyed().await);
    client
        .list_projects(ListProjectsRequest {})
        .await
        .expect("short headers pass");
}

#[tokio::test]
async fn one_call_too_many_is_answered_unavailable_with_a_time_to_wait() {
    let server = Server::start("[limits]\ncalls = 1");
    let stuck = stuck_import(&server).await;
    let refused = eventually_refused(&server).await;
    assert_eq!(refused.code(), Code::Unavailable);
    assert_eq!(
        refused
            .get_details_error_info()
            .expect("an ErrorInfo")
            .reason,
        "OVERLOADED"
    );
    assert!(refused.get_details_retry_info().is_some());
    stuck.abort();
    let mut client = ProjectServiceClient::new(server.keyed().await);
    let served = async {
        while client.list_projects(ListProjectsRequest {}).await.is_err() {
            tokio::time::sleep(Duration::from_millis(20)).await;
        }
    };
    timeout(PATIENCE, served)
        .await
        .expect("there is room again");
}

#[tokio::test]
async fn a_stream_whose_sender_falls_silent_is_given_up() {
    let server = Server::start("[limits]\nstream_idle_s = 1");
    let ended = timeout(PATIENCE, stuck_import(&server).await)
        .await
        .expect("it ends");
    let refused = ended.expect("not cancelled").expect_err("given up");
    assert!(
        refused.message().contains("nothing came for 1 s"),
        "{refused}"
    );
}

#[tokio::test]
async fn a_caller_s_own_shorter_deadline_is_honoured() {
    let server = Server::start("");
    let mut client = ProjectServiceClient::new(server.keyed().await);
    // A quick call may beat the timer, so it is asked again until the timer wins.
    let late = async {
        loop {
            let mut request = Request::new(ListProjectsRequest {});
            request.set_timeout(Duration::from_nanos(1));
            if let Err(late) = client.list_projects(request).await {
                return late;
            }
        }
    };
    let late = timeout(PATIENCE, late).await.expect("the timer wins once");
    assert!(
        matches!(late.code(), Code::DeadlineExceeded | Code::Cancelled),
        "{late}"
    );
}

#[tokio::test]
async fn streams_beyond_the_limit_of_a_connection_wait_for_their_turn() {
    let server = Server::start("[limits]\nstreams_per_connection = 2");
    let client = ProjectServiceClient::new(server.keyed().await);
    let mut open = Vec::new();
    for _ in 0..2 {
        let watch = WatchRecordsRequest {
            project: "office".into(),
            after_revision: 0,
        };
        open.push(
            client
                .clone()
                .watch_records(watch)
                .await
                .expect("a stream")
                .into_inner(),
        );
    }
    let mut third = client.clone();
    let waiting = timeout(
        Duration::from_millis(500),
        third.list_projects(ListProjectsRequest {}),
    );
    assert!(waiting.await.is_err(), "a third stream got through");
    drop(open);
    let mut third = client.clone();
    let served = timeout(PATIENCE, third.list_projects(ListProjectsRequest {})).await;
    served.expect("a place is free").expect("it is served");
}

#[test]
fn a_connection_beyond_the_limit_is_closed() {
    let server = Server::start("[limits]\nconnections = 1");
    let first = TcpStream::connect(server.address).expect("the first is taken");
    std::thread::sleep(Duration::from_millis(200));
    let mut second = TcpStream::connect(server.address).expect("the kernel takes it");
    second.set_read_timeout(Some(PATIENCE)).expect("a timeout");
    let _ = second.write_all(b"GET /healthz HTTP/1.1\r\nhost: x\r\n\r\n");
    let mut answer = Vec::new();
    let read = second.read_to_end(&mut answer);
    assert!(
        answer.is_empty(),
        "{read:?} {}",
        String::from_utf8_lossy(&answer)
    );
    drop(first);
}

#[test]
fn a_connection_past_its_age_is_ended() {
    let server = Server::start("[limits]\nconnection_age_s = 1");
    let mut stream = TcpStream::connect(server.address).expect("taken");
    stream.set_read_timeout(Some(PATIENCE)).expect("a timeout");
    let mut answer = Vec::new();
    stream
        .read_to_end(&mut answer)
        .expect("closed by the server, not by our patience");
}

#[test]
fn a_client_that_begins_a_request_and_never_ends_its_head_is_let_go() {
    let server = Server::start("[limits]\nheader_read_s = 1");
    for begun in [
        "",
        "GET / HTTP/1.1\r\nhost: somewhere-long-enough\r\nx-slow: ",
    ] {
        let mut stream = TcpStream::connect(server.address).expect("taken");
        stream.set_read_timeout(Some(PATIENCE)).expect("a timeout");
        stream.write_all(begun.as_bytes()).expect("sent");
        let mut answer = Vec::new();
        stream
            .read_to_end(&mut answer)
            .expect("closed by the server, not by our patience");
        assert!(!answer.starts_with(b"HTTP/1.1 200"));
    }
}

#[test]
fn a_client_that_answers_no_ping_is_cut_off() {
    let server = Server::start("[limits]\nkeepalive_interval_s = 1\nkeepalive_timeout_s = 1");
    let answer = server.silent_http2();
    assert!(!answer.is_empty(), "it spoke HTTP/2 first");
}

/// An import whose sender never sends the table.
pub(super) async fn stuck_import(
    server: &Server,
) -> tokio::task::JoinHandle<Result<(), tonic::Status>> {
    let mut client = ProjectServiceClient::new(server.keyed().await);
    let header = ImportTableHeader {
        write: Some(Envelope {
            request_id: "stuck".into(),
            ..Envelope::default()
        }),
        project: "p".into(),
        collection: "segments".into(),
        ..ImportTableHeader::default()
    };
    let parts = [
        Part::Header(header),
        Part::Data(Bytes::from_static(b"Pipe ID\n")),
    ];
    tokio::spawn(async move {
        loop {
            let first = parts
                .clone()
                .map(|part| ImportTableRequest { part: Some(part) });
            let endless = futures::stream::iter(first).chain(futures::stream::pending());
            match client.import_table(endless).await {
                // Another call had the only place just then.
                Err(refused) if refused.code() == Code::Unavailable => {}
                ended => return ended.map(|_| ()),
            }
        }
    })
}

/// First refusal of a call, once the stuck one has arrived.
async fn eventually_refused(server: &Server) -> tonic::Status {
    let mut client = ProjectServiceClient::new(server.keyed().await);
    let refused = async {
        loop {
            match client.list_projects(ListProjectsRequest {}).await {
                Ok(_) => tokio::time::sleep(Duration::from_millis(20)).await,
                Err(refused) => return refused,
            }
        }
    };
    timeout(PATIENCE, refused)
        .await
        .expect("the limit is reached")
}
