//! Limits on how much is sent and kept: uploads, cure logs, packages.

use std::fs;

use obvert_proto::{
    closeout::v1::{AssemblePackageRequest, closeout_service_client::CloseoutServiceClient},
    installation::v1::{
        ImportCureLogRequest, import_cure_log_request::Part,
        installation_service_client::InstallationServiceClient,
    },
    project::v1::{
        BeginUploadRequest, UploadPartsRequest, attachment_service_client::AttachmentServiceClient,
    },
};
use tempfile::TempDir;
use tonic::{Code, Status};
use tonic_types::StatusExt;

use super::{
    matrix::world::{PROJECT, World, keyed, write},
    support::{Server, prepared},
};
use crate::{
    audit::copied_store,
    closeout::fixture::SEGMENT,
    package::{assembling::stored, sample::signed},
    services::{
        cure_log::{TRAVEL_M, csv, head},
        pipe::with_run,
    },
};

#[tokio::test(flavor = "multi_thread")]
async fn a_document_over_its_bytes_or_memory_is_refused_and_the_server_goes_on() {
    let store = stored(&signed()).await;
    store.ledger.close().await;
    for (limits, code, logged) in [
        ("document_bytes = 1024", Code::ResourceExhausted, "at most"),
        (
            "typeset_memory_bytes = 50331648",
            Code::Internal,
            "could not be typeset",
        ),
    ] {
        let server = over(&store.folder, limits);
        let refused = assembled(&server).await;
        assert_eq!(refused.code(), code, "{refused}");
        let log = fs::read_to_string(server.folder.path().join("stderr.log")).unwrap();
        assert!(log.contains(logged), "{log}");
        let page = server.http("GET /sign-in HTTP/1.1", "");
        assert!(page.starts_with("HTTP/1.1 200"), "{page}");
    }
}

/// Refusal of the package of the clean segment.
async fn assembled(server: &Server) -> Status {
    let mut client = CloseoutServiceClient::new(server.channel().await);
    let request = AssemblePackageRequest {
        write: write("package"),
        segment: SEGMENT.into(),
        with_people: false,
    };
    let steps = client.assemble_package(keyed(&server.key(), request)).await;
    let mut steps = steps.unwrap().into_inner();
    loop {
        match steps.message().await {
            Ok(step) => assert!(step.is_some_and(|step| step.package.is_none())),
            Err(refused) => return refused,
        }
    }
}

/// Asserts that something was refused for its size, in words that name the limit.
#[track_caller]
fn too_large(refused: &Status, limit: &str) {
    let reason = refused
        .get_details_error_info()
        .expect("an ErrorInfo")
        .reason;
    assert_eq!(
        (refused.code(), reason.as_str()),
        (Code::ResourceExhausted, "TOO_LARGE")
    );
    assert!(refused.message().contains(limit), "{refused}");
}

/// A server over a copy of a store that was closed.
fn over(store: &TempDir, limits: &str) -> Server {
    let folder = prepared(&format!("[limits]\n{limits}"));
    copied_store(store.path(), folder.path());
    Server::start_in(folder)
}

#[tokio::test]
async fn a_part_of_an_upload_over_the_limit_is_refused_and_one_at_it_taken() {
    let world = World::start_with("[limits]\nupload_part_bytes = 262144").await;
    let key = world.server.key();
    let mut client = AttachmentServiceClient::new(world.channel.clone());
    let begin = BeginUploadRequest {
        project: PROJECT.into(),
        attachment_id: "film".into(),
        size_bytes: 262_144,
        sha256: vec![7; 32],
    };
    client.begin_upload(keyed(&key, begin)).await.unwrap();
    let mut send = async |bytes: usize| {
        let part = UploadPartsRequest {
            project: PROJECT.into(),
            attachment_id: "film".into(),
            offset_bytes: 0,
            data: vec![1; bytes].into(),
        };
        client
            .upload_parts(keyed(&key, tokio_stream::once(part)))
            .await
    };
    too_large(&send(262_145).await.unwrap_err(), "at most 262144");
    let taken = send(262_144).await.unwrap().into_inner();
    assert_eq!(taken.received_bytes, 262_144);
}

#[tokio::test]
async fn a_cure_log_over_the_limit_of_rows_or_bytes_is_refused() {
    let (store, client) = with_run().await;
    drop(client);
    store.ledger.close().await;
    for (limits, travel_m, told) in [
        ("cure_rows = 50", TRAVEL_M, "more than 50 rows"),
        // Some 14,000 rows.
        (
            "cure_file_bytes = 1048576",
            470.0,
            "larger than 1048576 bytes",
        ),
    ] {
        let server = over(&store.folder, limits);
        let mut client = InstallationServiceClient::new(server.channel().await);
        let parts = [
            Part::Header(head("c-1", None)),
            Part::Data(csv(travel_m).into()),
        ];
        let sent = parts.map(|part| ImportCureLogRequest { part: Some(part) });
        let sent = keyed(&server.key(), tokio_stream::iter(sent));
        let refused = client.import_cure_log(sent).await.unwrap_err();
        too_large(&refused, told);
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_package_over_the_limit_of_entries_or_bytes_is_refused() {
    let store = stored(&signed()).await;
    store.ledger.close().await;
    for (limits, told) in [
        ("package_entries = 32", "takes 32 entries"),
        ("package_bytes = 1048576", "and 1048576 bytes"),
    ] {
        let server = over(&store.folder, limits);
        let refused = assembled(&server).await;
        too_large(&refused, told);
    }
}
