//! Open streams are cut when their key is revoked.

use obvert_proto::{
    common::v1::{WatchRecordsRequest, Write},
    project::v1::{
        BeginUploadRequest, DownloadRequest, FinishUploadRequest, RevokeKeyRequest, Role,
        UploadPartsRequest, access_service_client::AccessServiceClient,
        attachment_service_client::AttachmentServiceClient,
        project_service_client::ProjectServiceClient,
    },
};
use sha2::{Digest, Sha256};
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
    tokio::time::sleep(std::time::Duration::from_secs(3)).await;
    let ended = end_of(&mut stream).await;
    assert_eq!(ended.code(), Code::Unauthenticated, "{ended}");
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
