//! Clients that stay too long, and pages over TLS by HTTP/2.

use std::{future::poll_fn, time::Duration};

use bytes::Bytes;
use obvert_proto::{
    common::v1::{
        ImportTableHeader, ImportTableRequest, WatchRecordsRequest, Write,
        import_table_request::Part,
    },
    project::v1::{ListProjectsRequest, project_service_client::ProjectServiceClient},
};
use tokio::{sync::mpsc, time::timeout};
use tokio_stream::wrappers::ReceiverStream;
use tonic::{
    Request,
    body::Body,
    codegen::{Service, http},
    metadata::{Ascii, MetadataValue},
    transport::{Channel, Endpoint},
};
use tonic_types::StatusExt;

use super::{
    certificate::{encrypted, secure_endpoint},
    support::{PATIENCE, Server},
};

/// Frame of HTTP/2 by which a server says that it takes no new streams.
const GOAWAY: u8 = 7;

#[test]
fn a_connection_past_its_age_is_told_so_before_it_is_ended() {
    let server = Server::start("[limits]\nconnection_age_s = 1\nshutdown_s = 1");
    let answer = server.silent_http2();
    let mut kinds = Vec::new();
    let mut rest = &answer[..];
    while let [a, b, c, kind, _, _, _, _, _, after @ ..] = rest {
        kinds.push(*kind);
        let length = usize::from(*a) << 16 | usize::from(*b) << 8 | usize::from(*c);
        rest = &after[length..];
    }
    assert!(kinds.contains(&GOAWAY), "frames {kinds:?}");
}

#[tokio::test]
async fn a_call_under_way_on_a_connection_past_its_age_is_still_answered() {
    let server = Server::start("[limits]\nconnection_age_s = 1");
    let mut client = ProjectServiceClient::new(server.keyed().await);
    let header = ImportTableHeader {
        write: Some(Write {
            request_id: "slow".into(),
            ..Write::default()
        }),
        project: "p".into(),
        collection: "segments".into(),
        ..ImportTableHeader::default()
    };
    let (parts, sent) = mpsc::channel(4);
    let part = |part| ImportTableRequest { part: Some(part) };
    parts.send(part(Part::Header(header))).await.unwrap();
    let call = tokio::spawn(async move { client.import_table(ReceiverStream::new(sent)).await });
    tokio::time::sleep(Duration::from_millis(1_500)).await;
    assert!(!call.is_finished(), "it waits for the table");
    let row = Bytes::from_static(b"Pipe ID\n");
    parts.send(part(Part::Data(row))).await.unwrap();
    drop(parts);
    let answer = timeout(PATIENCE, call).await.unwrap().unwrap();
    let refused = answer.expect_err("a table without a map");
    assert!(refused.get_details_error_info().is_some(), "{refused}");
}

#[tokio::test]
async fn a_stream_that_its_client_never_reads_does_not_keep_the_server_up() {
    let mut server = Server::start("[limits]\nshutdown_s = 1");
    // With a window of nothing, not one byte of an answer may be sent.
    let endpoint = Endpoint::from_shared(format!("http://{}", server.address)).unwrap();
    let channel = endpoint.initial_stream_window_size(0).connect().await;
    let mut client = ProjectServiceClient::new(channel.unwrap());
    let mut request = Request::new(watch());
    request
        .metadata_mut()
        .insert("authorization", bearer(&server));
    let mut unread = client.watch_records(request).await.unwrap().into_inner();
    let first = timeout(Duration::from_millis(300), unread.message());
    assert!(first.await.is_err(), "the window lets something through");
    server.terminate();
    assert_eq!(server.ended().code(), Some(0));
}

#[tokio::test]
async fn a_connection_has_a_hundred_streams_unless_told_otherwise() {
    let server = Server::start("");
    let mut client = ProjectServiceClient::new(server.keyed().await);
    let mut open = Vec::new();
    for _ in 0..100 {
        open.push(client.watch_records(watch()).await.unwrap());
    }
    let one_more = client.list_projects(ListProjectsRequest {});
    let waiting = timeout(Duration::from_millis(500), one_more);
    assert!(waiting.await.is_err(), "one more got through");
    drop(open);
    let served = timeout(PATIENCE, client.list_projects(ListProjectsRequest {})).await;
    served.expect("a place is free").expect("it is served");
}

#[tokio::test]
async fn a_browser_signs_in_over_tls_by_h2_and_other_sites_do_not() {
    let server = Server::start_in(encrypted(""));
    let mut channel = secure_endpoint(&server).connect().await.unwrap();
    let own = format!("https://{}", server.address);
    let form = format!("key={}", server.key());
    let foreign = post(&mut channel, &server, "https://other.invalid", &form).await;
    assert_eq!(foreign.status(), 403);
    let answer = post(&mut channel, &server, &own, &form).await;
    assert_eq!(answer.status(), 303, "{answer:?}");
    let cookie = answer.headers()["set-cookie"].to_str().unwrap();
    let pair = cookie.split(';').next().unwrap();
    let page = http::Request::get(format!("{own}/")).header("cookie", pair);
    let page = call(&mut channel, page.body(Body::empty()).unwrap()).await;
    assert_eq!(page.status(), 200, "{page:?}");
}

async fn post(
    channel: &mut Channel,
    server: &Server,
    origin: &str,
    form: &str,
) -> http::Response<Body> {
    let request = http::Request::post(format!("https://{}/sign-in", server.address))
        .header("origin", origin)
        .header("content-type", "application/x-www-form-urlencoded");
    let request = request.body(Body::new(form.to_owned())).unwrap();
    call(channel, request).await
}

async fn call(channel: &mut Channel, request: http::Request<Body>) -> http::Response<Body> {
    poll_fn(|context| channel.poll_ready(context))
        .await
        .unwrap();
    channel.call(request).await.unwrap()
}

fn watch() -> WatchRecordsRequest {
    WatchRecordsRequest {
        project: "office".into(),
        after_revision: 0,
    }
}

fn bearer(server: &Server) -> MetadataValue<Ascii> {
    format!("Bearer {}", server.key()).parse().unwrap()
}
