//! Open streams are cut when their key is revoked.

use std::time::Duration;

use futures::StreamExt;
use obvert_proto::{
    common::v1::{WatchRecordsRequest, Write},
    project::v1::{
        BeginUploadRequest, DownloadRequest, FinishUploadRequest, ListProjectsRequest,
        RevokeKeyRequest, Role, UploadPartsRequest, access_service_client::AccessServiceClient,
        attachment_service_client::AttachmentServiceClient,
        project_service_client::ProjectServiceClient,
    },
};
use sha2::{Digest, Sha256};
use tokio::task::JoinHandle;
use tonic::{Code, Status, Streaming};

use super::{
    matrix::world::{PROJECT, World, keyed, write},
    support::PATIENCE,
};

const MIB: usize = 1 << 20;
/// More than a connection holds on its way to a reader who waits.
const PARTS: usize = 24;

#[tokio::test]
async fn a_watch_ends_when_its_key_is_revoked() {
    let world = World::start().await;
    let key = world.key("watcher", &[(PROJECT, Role::Auditor)]).await;
    let mut client = ProjectServiceClient::new(world.channel.clone());
    let watch = WatchRecordsRequest {
        project: PROJECT.into(),
        after_revision: 0,
    };
    let mut stream = client
        .watch_records(keyed(&key, watch))
        .await
        .unwrap()
        .into_inner();
    stream.message().await.unwrap().unwrap();
    revoke(&world, "watcher").await;
    let ended = end_of(&mut stream).await;
    assert_eq!(ended.code(), Code::Unauthenticated, "{ended}");
    assert!(ended.message().contains("the key was revoked"), "{ended}");
}

#[tokio::test]
async fn a_download_breaks_off_when_its_key_is_revoked() {
    let world = World::start().await;
    upload(&world).await;
    let key = world.key("reader", &[(PROJECT, Role::Auditor)]).await;
    let mut client = AttachmentServiceClient::new(world.channel.clone());
    let request = DownloadRequest {
        name: format!("projects/{PROJECT}/attachments/video"),
        offset_bytes: 0,
    };
    let mut stream = client
        .download(keyed(&key, request))
        .await
        .unwrap()
        .into_inner();
    stream.message().await.unwrap().unwrap();
    revoke(&world, "reader").await;
    // The reader waits, so that the sender cannot have sent all before it looks at the key again.
    tokio::time::sleep(Duration::from_secs(3)).await;
    let ended = end_of(&mut stream).await;
    assert_eq!(ended.code(), Code::Unauthenticated, "{ended}");
}

#[tokio::test]
async fn within_five_seconds_a_revoked_key_has_no_call_no_page_and_no_stream_left() {
    let world = World::start().await;
    let key = world.key("lost", &[(PROJECT, Role::Crew)]).await;
    let session = session(&world, &key);
    let page = || {
        world
            .server
            .http(&format!("GET / HTTP/1.1\r\ncookie: {session}"), "")
    };
    assert!(page().starts_with("HTTP/1.1 200"));
    let mut register = ProjectServiceClient::new(world.channel.clone());
    let watch = WatchRecordsRequest {
        project: PROJECT.into(),
        after_revision: 0,
    };
    let stream = register.watch_records(keyed(&key, watch)).await;
    let mut stream = stream.unwrap().into_inner();
    stream.message().await.unwrap().unwrap();
    let sending = endless_upload(&world, &key).await;
    revoke(&world, "lost").await;
    let promised = tokio::time::Instant::now() + Duration::from_secs(5);
    let call = register
        .list_projects(keyed(&key, ListProjectsRequest {}))
        .await;
    assert_eq!(call.unwrap_err().code(), Code::Unauthenticated);
    let answer = page();
    assert!(answer.starts_with("HTTP/1.1 303"), "{answer}");
    let ended = tokio::time::timeout_at(promised, end_of(&mut stream)).await;
    let ended = ended.expect("the stream outlives its key");
    assert_eq!(ended.code(), Code::Unauthenticated, "{ended}");
    let ended = tokio::time::timeout_at(promised, sending).await;
    let ended = ended.expect("the upload outlives its key").unwrap();
    assert_eq!(ended.unwrap_err().code(), Code::Unauthenticated);
}

/// Cookie of a session that a key begins.
fn session(world: &World, key: &str) -> String {
    let head = format!(
        "POST /sign-in HTTP/1.1\r\norigin: http://{}\r\n\
         content-type: application/x-www-form-urlencoded",
        world.server.address
    );
    let answer = world.server.http(&head, &format!("key={key}"));
    let mut rows = answer.lines();
    let cookie = rows.find_map(|row| row.strip_prefix("set-cookie: "));
    cookie.unwrap().split(';').next().unwrap().to_owned()
}

/// An upload that has sent one part and says no more.
async fn endless_upload(world: &World, key: &str) -> JoinHandle<Result<(), Status>> {
    let mut client = AttachmentServiceClient::new(world.channel.clone());
    let begin = BeginUploadRequest {
        project: PROJECT.into(),
        attachment_id: "endless".into(),
        size_bytes: 9,
        sha256: vec![7; 32],
    };
    client.begin_upload(keyed(key, begin)).await.unwrap();
    let part = UploadPartsRequest {
        project: PROJECT.into(),
        attachment_id: "endless".into(),
        offset_bytes: 0,
        data: b"part".as_slice().into(),
    };
    let parts = futures::stream::iter([part]).chain(futures::stream::pending());
    let request = keyed(key, parts);
    tokio::spawn(async move { client.upload_parts(request).await.map(drop) })
}

/// How a stream ends, whatever it still holds.
async fn end_of<T>(stream: &mut Streaming<T>) -> Status {
    let ended = async {
        loop {
            match stream.message().await {
                Ok(Some(_)) => {}
                Ok(None) => panic!("the stream ended in order"),
                Err(status) => return status,
            }
        }
    };
    tokio::time::timeout(PATIENCE, ended)
        .await
        .expect("the stream is not cut")
}

async fn revoke(world: &World, id: &str) {
    let request = RevokeKeyRequest {
        write: write("revoke").map(|write| Write {
            reason: "laptop lost".into(),
            ..write
        }),
        name: format!("projects/office/keys/{id}"),
    };
    let mut client = AccessServiceClient::new(world.channel.clone());
    client
        .revoke_key(keyed(&world.server.key(), request))
        .await
        .unwrap();
}

/// Stores one large file as the office.
async fn upload(world: &World) {
    let part: Vec<u8> = (0..MIB).map(|i| (i * 7 % 251) as u8).collect();
    let mut hasher = Sha256::new();
    (0..PARTS).for_each(|_| hasher.update(&part));
    let (sha256, size_bytes) = (hasher.finalize().to_vec(), (PARTS * MIB) as i64);
    let part = bytes::Bytes::from(part);
    let (project, attachment_id) = (PROJECT.to_owned(), "video".to_owned());
    let office = world.server.key();
    let mut client = AttachmentServiceClient::new(world.channel.clone());
    let begin = BeginUploadRequest {
        project: project.clone(),
        attachment_id: attachment_id.clone(),
        size_bytes,
        sha256: sha256.clone(),
    };
    client.begin_upload(keyed(&office, begin)).await.unwrap();
    let sent = (project.clone(), attachment_id.clone());
    let parts = (0..PARTS).map(move |place| UploadPartsRequest {
        project: sent.0.clone(),
        attachment_id: sent.1.clone(),
        offset_bytes: (place * MIB) as i64,
        data: part.clone(),
    });
    let parts = tokio_stream::iter(parts.collect::<Vec<_>>());
    client.upload_parts(keyed(&office, parts)).await.unwrap();
    let finish = FinishUploadRequest {
        write: write("finish"),
        project,
        attachment_id,
        size_bytes,
        sha256,
        file_name: "video.mp4".into(),
        media_type: "video/mp4".into(),
        subjects: Vec::new(),
    };
    client.finish_upload(keyed(&office, finish)).await.unwrap();
}
