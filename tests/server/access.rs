//! Nobody is served without a key, except to be told whether the server lives.

use obvert_proto::{
    closeout::v1::{closeout_service_client::CloseoutServiceClient, record::Body},
    common::v1::{GetRecordRequest, ListRecordsRequest},
    project::v1::{ListProjectsRequest, project_service_client::ProjectServiceClient},
};
use tonic::{Code, Request};
use tonic_types::StatusExt;

use super::support::Server;
use crate::fuzz::service_face::Raw;

#[tokio::test]
async fn a_call_without_a_key_is_told_how_to_send_one() {
    let server = Server::start("");
    let mut client = ProjectServiceClient::new(server.channel().await);
    let refused = client
        .list_projects(ListProjectsRequest {})
        .await
        .expect_err("no key");
    assert_eq!(refused.code(), Code::Unauthenticated);
    let info = refused.get_details_error_info().expect("an ErrorInfo");
    assert_eq!(
        (info.reason.as_str(), info.domain.as_str()),
        ("NOT_AUTHENTICATED", "obvert")
    );
    assert!(refused.message().contains("authorization: Bearer"));
}

#[tokio::test]
async fn a_mistyped_key_is_told_from_an_unknown_one() {
    let server = Server::start("");
    let mut mistyped = server.key();
    let last = if mistyped.ends_with('0') { "1" } else { "0" };
    mistyped.replace_range(mistyped.len() - 1.., last);
    let unknown = obvert_access::fresh_key([7; 32]);
    for (key, words) in [(mistyped, "mistyped"), (unknown, "not known")] {
        let mut client = ProjectServiceClient::new(server.channel().await);
        let mut request = Request::new(ListProjectsRequest {});
        let bearer = format!("Bearer {key}").parse().expect("ascii");
        request.metadata_mut().insert("authorization", bearer);
        let refused = client
            .list_projects(request)
            .await
            .expect_err("a wrong key");
        assert_eq!(refused.code(), Code::Unauthenticated);
        assert!(refused.message().contains(words), "{}", refused.message());
    }
}

#[tokio::test]
async fn health_answers_without_a_key_and_names_each_service() {
    let server = Server::start("");
    for path in [
        "",
        "obvert.closeout.v1.CloseoutService",
        "obvert.design.v1.DesignService",
    ] {
        let answer = health(&server, path).await.expect("health answers");
        assert_eq!(answer, [8, 1], "SERVING is field 1 with value 1: {path}");
    }
    let unknown = health(&server, "obvert.none")
        .await
        .expect_err("an unknown service");
    assert_eq!(unknown.code(), Code::NotFound);
}

#[tokio::test]
async fn reflection_needs_a_key() {
    let server = Server::start("");
    let answer = server.http(
        "POST /grpc.reflection.v1.ServerReflection/ServerReflectionInfo HTTP/1.1\r\n\
         content-type: application/grpc",
        "",
    );
    assert!(
        answer.to_lowercase().contains("grpc-status: 16"),
        "{answer}"
    );
}

#[tokio::test]
async fn reflection_names_the_services_to_whoever_has_a_key() {
    let server = Server::start("");
    let ask = async |key: &str| {
        let mut client = tonic::client::Grpc::new(server.channel().await);
        client.ready().await.expect("ready");
        // The request to list services: field 7, an empty text.
        let list = bytes::Bytes::from_static(&[0x3a, 0]);
        let mut request = Request::new(tokio_stream::once(list));
        let bearer = format!("Bearer {key}").parse().expect("ascii");
        request.metadata_mut().insert("authorization", bearer);
        let path = "/grpc.reflection.v1.ServerReflection/ServerReflectionInfo";
        let answers = client.streaming(request, http_path(path), Raw).await?;
        answers.into_inner().message().await
    };
    let named = ask(&server.key())
        .await
        .expect("an answer")
        .expect("a list");
    let named = String::from_utf8_lossy(&named).into_owned();
    assert!(
        named.contains("obvert.closeout.v1.CloseoutService"),
        "{named}"
    );
    let refused = ask(&obvert_access::fresh_key([7; 32])).await;
    assert_eq!(
        refused.expect_err("an unknown key").code(),
        Code::Unauthenticated
    );
}

#[tokio::test]
async fn the_signer_s_public_key_is_a_record_from_the_first_start() {
    let server = Server::start("");
    let mut client = CloseoutServiceClient::new(server.keyed().await);
    let request = ListRecordsRequest {
        project: "office".into(),
        collection: "signingKeys".into(),
        ..ListRecordsRequest::default()
    };
    let listed = client
        .list_records(request)
        .await
        .expect("listed")
        .into_inner();
    let [record] = listed.records.as_slice() else {
        panic!("{listed:?}")
    };
    let Some(Body::SigningKey(key)) = &record.body else {
        panic!("{record:?}")
    };
    assert_eq!((key.public_key.len(), key.fingerprint.len()), (32, 64));
    assert!(key.replaces.is_empty());
}

#[tokio::test]
async fn a_record_that_does_not_exist_is_named() {
    let server = Server::start("");
    let mut client = ProjectServiceClient::new(server.keyed().await);
    let name = "projects/none/segments/s-1".to_owned();
    let missing = client
        .get_record(GetRecordRequest {
            name: name.clone(),
            revision: 0,
        })
        .await;
    let missing = missing.expect_err("no such record");
    assert_eq!(missing.code(), Code::NotFound);
    assert!(missing.message().contains(&name));
}

/// Asks health with bytes made by hand, so that no second copy of its types is needed.
async fn health(server: &Server, service: &str) -> Result<Vec<u8>, tonic::Status> {
    let mut client = tonic::client::Grpc::new(server.channel().await);
    client.ready().await.expect("ready");
    let path = http_path("/grpc.health.v1.Health/Check");
    let request = Request::new(service.to_owned());
    let codec = tonic_prost::ProstCodec::<String, HealthAnswer>::default();
    let answer = client.unary(request, path, codec).await?.into_inner();
    Ok(prost::Message::encode_to_vec(&answer))
}

/// Answer of the health protocol: one enum, 1 for SERVING.
#[derive(Clone, PartialEq, prost::Message)]
struct HealthAnswer {
    #[prost(int32, tag = "1")]
    status: i32,
}

fn http_path(path: &'static str) -> tonic::codegen::http::uri::PathAndQuery {
    tonic::codegen::http::uri::PathAndQuery::from_static(path)
}
