//! Calls and pages that take too long, or come when there is no room.

use std::{
    io::{Read, Write},
    net::TcpStream,
    time::Duration,
};

use bytes::Bytes;
use obvert_proto::{
    common::v1::WatchRecordsRequest,
    project::v1::{ListProjectsRequest, project_service_client::ProjectServiceClient},
};
use tokio::time::timeout;
use tonic::{Code, Request, client::Grpc, codegen::http::uri::PathAndQuery};
use tonic_types::StatusExt;

use super::{
    limits::stuck_import,
    support::{PATIENCE, Server},
};
use crate::fuzz::service_face::Raw;

#[tokio::test]
async fn a_unary_call_that_never_sends_its_message_is_given_up() {
    let server = Server::start("[limits]\nunary_deadline_s = 1");
    let mut client = Grpc::new(server.channel().await);
    client.ready().await.unwrap();
    let mut request = Request::new(futures::stream::pending::<Bytes>());
    let bearer = format!("Bearer {}", server.key()).parse().unwrap();
    request.metadata_mut().insert("authorization", bearer);
    let path = PathAndQuery::from_static("/obvert.project.v1.ProjectService/ListProjects");
    let call = client.client_streaming(request, path, Raw);
    let late = timeout(PATIENCE, call).await.unwrap().unwrap_err();
    assert_eq!(late.code(), Code::DeadlineExceeded, "{late}");
    assert!(late.message().contains("longer than 1000 ms"), "{late}");
}

#[test]
fn a_caller_s_own_shorter_deadline_is_kept_by_the_server_itself() {
    let server = Server::start("");
    let mut stream = TcpStream::connect(server.address).unwrap();
    stream.set_read_timeout(Some(PATIENCE)).unwrap();
    // By hand and over HTTP/1.1, so that no timer of a client answers in the server's place.
    let head = format!(
        "POST /obvert.project.v1.ProjectService/ListProjects HTTP/1.1\r\nhost: {}\r\n\
         authorization: Bearer {}\r\ncontent-type: application/grpc\r\nte: trailers\r\n\
         grpc-timeout: 200m\r\ncontent-length: 100\r\nconnection: close\r\n\r\n",
        server.address,
        server.key()
    );
    stream.write_all(head.as_bytes()).unwrap();
    let mut answer = Vec::new();
    stream.read_to_end(&mut answer).unwrap();
    let answer = String::from_utf8_lossy(&answer).to_lowercase();
    assert!(answer.contains("grpc-status: 4"), "{answer}");
    assert!(
        answer.replace("%20", " ").contains("longer than 200 ms"),
        "{answer}"
    );
}

#[test]
fn a_form_that_never_ends_is_given_up() {
    let server = Server::start("[limits]\nunary_deadline_s = 1");
    let mut stream = TcpStream::connect(server.address).unwrap();
    stream.set_read_timeout(Some(PATIENCE)).unwrap();
    let head = format!(
        "POST /sign-in HTTP/1.1\r\nhost: {0}\r\norigin: http://{0}\r\ncontent-length: 100\r\n\
         content-type: application/x-www-form-urlencoded\r\n\r\nkey=",
        server.address
    );
    stream.write_all(head.as_bytes()).unwrap();
    let mut answer = Vec::new();
    stream.read_to_end(&mut answer).unwrap();
    let answer = String::from_utf8_lossy(&answer);
    assert!(answer.starts_with("HTTP/1.1 408"), "{answer}");
    assert!(answer.contains("took too long"), "{answer}");
}

#[tokio::test]
async fn one_open_stream_too_many_is_answered_unavailable_until_another_ends() {
    let server = Server::start("[limits]\nopen_streams = 2");
    let watch = async || {
        // A connection each, since the limit is over all of them.
        let mut client = ProjectServiceClient::new(server.keyed().await);
        let request = WatchRecordsRequest {
            project: "office".into(),
            after_revision: 0,
        };
        client.watch_records(request).await
    };
    let open = [watch().await.unwrap(), watch().await.unwrap()];
    let refused = watch().await.expect_err("a third one");
    assert_eq!(refused.code(), Code::Unavailable);
    assert!(
        refused.message().contains("2 streams are open"),
        "{refused}"
    );
    assert!(refused.get_details_retry_info().is_some());
    let mut client = ProjectServiceClient::new(server.keyed().await);
    let served = client.list_projects(ListProjectsRequest {}).await;
    served.expect("a unary call needs no such place");
    drop(open);
    let again = async {
        while watch().await.is_err() {
            tokio::time::sleep(Duration::from_millis(20)).await;
        }
    };
    timeout(PATIENCE, again).await.expect("there is room again");
}

#[tokio::test]
async fn pages_and_calls_share_the_room_and_health_is_told_without_any() {
    let server = Server::start("[limits]\ncalls = 1");
    let stuck = stuck_import(&server).await;
    let page = |path: &str| server.http(&format!("GET {path} HTTP/1.1"), "");
    let shed = async {
        loop {
            let answer = page("/sign-in");
            if !answer.starts_with("HTTP/1.1 200") {
                return answer;
            }
            tokio::time::sleep(Duration::from_millis(20)).await;
        }
    };
    let shed = timeout(PATIENCE, shed).await.unwrap();
    assert!(shed.starts_with("HTTP/1.1 503"), "{shed}");
    assert!(shed.contains("retry-after: 1"), "{shed}");
    assert!(page("/healthz").starts_with("HTTP/1.1 200"));
    stuck.abort();
}
