//! Files: resumed after a cut, refused when they are not whole, invisible until they are.

use bytes::Bytes;
use futures::TryStreamExt;
use obvert_project::Attachments;
use obvert_proto::project::v1::{
    BeginUploadRequest, DownloadRequest, FinishUploadRequest, Record, Role, UploadPartsRequest,
    attachment_service_client::AttachmentServiceClient,
    attachment_service_server::AttachmentServiceServer, record::Body,
};
use rand::RngExt;
use sha2::{Digest, Sha256};
use tonic::{Status, service::interceptor::InterceptedService};

use super::store::{
    As, PROJECT, Store, caller, fact, named, office, reason, violates, write, write_as,
};

type Files = AttachmentServiceClient<InterceptedService<AttachmentServiceServer<Attachments>, As>>;

const ID: &str = "video-014";
const PART: usize = 300_000;

fn files(store: &Store, role: Role) -> Files {
    let server = AttachmentServiceServer::new(Attachments::new(store.ledger.clone()));
    AttachmentServiceClient::new(InterceptedService::new(server, As(caller(role, PROJECT))))
}

fn random_file(bytes: usize) -> Bytes {
    let mut data = vec![0_u8; bytes];
    rand::rng().fill(data.as_mut_slice());
    data.into()
}

async fn begin(client: &mut Files, file: &[u8]) -> Result<i64, Status> {
    let request = BeginUploadRequest {
        project: PROJECT.into(),
        attachment_id: ID.into(),
        size_bytes: file.len() as i64,
        sha256: Sha256::digest(file).to_vec(),
    };
    Ok(client
        .begin_upload(request)
        .await?
        .into_inner()
        .received_bytes)
}

/// Sends bytes from `start` to `end` in parts, the first one naming the upload.
async fn send(client: &mut Files, file: &Bytes, start: usize, end: usize) -> Result<i64, Status> {
    let starts = (start..end).step_by(PART);
    let parts: Vec<_> = starts
        .map(|at| UploadPartsRequest {
            project: if at == start {
                PROJECT.into()
            } else {
                String::new()
            },
            attachment_id: if at == start {
                ID.into()
            } else {
                String::new()
            },
            offset_bytes: at as i64,
            data: file.slice(at..end.min(at + PART)),
        })
        .collect();
    let answer = client.upload_parts(tokio_stream::iter(parts)).await?;
    Ok(answer.into_inner().received_bytes)
}

fn finishing(file: &[u8]) -> FinishUploadRequest {
    FinishUploadRequest {
        write: write(),
        project: PROJECT.into(),
        attachment_id: ID.into(),
        size_bytes: file.len() as i64,
        sha256: Sha256::digest(file).to_vec(),
        file_name: "014 before.mp4".into(),
        media_type: "video/mp4".into(),
        subjects: vec![format!("projects/{PROJECT}")],
    }
}

async fn finish(client: &mut Files, request: FinishUploadRequest) -> Result<Record, Status> {
    Ok(client.finish_upload(request).await?.into_inner())
}

async fn download(client: &mut Files, offset_bytes: i64) -> Result<Vec<u8>, Status> {
    let request = DownloadRequest {
        name: named("attachments", ID),
        offset_bytes,
    };
    let parts = client.download(request).await?.into_inner();
    let parts: Vec<_> = parts.try_collect().await?;
    assert!(parts.iter().all(|part| part.data.len() <= 256 << 10));
    Ok(parts.iter().flat_map(|part| part.data.to_vec()).collect())
}

#[tokio::test]
async fn an_upload_cut_at_any_byte_resumes_there_and_is_read_back_from_any_offset() {
    let store = Store::with_project().await;
    let mut crew = files(&store, Role::Crew);
    let file = random_file(2_000_000);
    assert_eq!(begin(&mut crew, &file).await.unwrap(), 0);
    let cut = rand::rng().random_range(1..file.len());
    assert_eq!(send(&mut crew, &file, 0, cut).await.unwrap(), cut as i64);
    let refused = finish(&mut crew, finishing(&file)).await.unwrap_err();
    assert_eq!(reason(&refused), "UPLOAD_INCOMPLETE", "cut at {cut}");
    assert_eq!(fact(&refused, "received_bytes"), cut.to_string());
    assert_eq!(fact(&refused, "declared_bytes"), "2000000");
    assert_eq!(
        reason(&download(&mut crew, 0).await.unwrap_err()),
        "RECORD_NOT_FOUND"
    );
    let mut resumed = files(&store, Role::Crew);
    assert_eq!(
        begin(&mut resumed, &file).await.unwrap(),
        cut as i64,
        "cut at {cut}"
    );
    send(&mut resumed, &file, cut, file.len()).await.unwrap();
    let record = finish(&mut resumed, finishing(&file)).await.unwrap();
    let Some(Body::Attachment(attachment)) = record.body else {
        panic!("{record:?}")
    };
    assert_eq!(attachment.size_bytes, 2_000_000);
    assert_eq!(download(&mut crew, 0).await.unwrap(), file);
    for offset in [cut, file.len() - 1, file.len()] {
        assert_eq!(
            download(&mut crew, offset as i64).await.unwrap(),
            file[offset..]
        );
    }
    let beyond = download(&mut crew, 2_000_001).await.unwrap_err();
    violates(&beyond, &[("offset_bytes", "give 0 to 2000000")]);
}

#[tokio::test]
async fn bytes_of_another_digest_are_refused_and_nothing_of_them_is_visible() {
    let store = Store::with_project().await;
    let mut crew = files(&store, Role::Crew);
    let (file, other) = (random_file(400_000), random_file(400_000));
    begin(&mut crew, &file).await.unwrap();
    send(&mut crew, &other, 0, other.len()).await.unwrap();
    let before = store.revision().await;
    let refused = finish(&mut crew, finishing(&file)).await.unwrap_err();
    assert_eq!(reason(&refused), "UPLOAD_INCOMPLETE");
    assert_ne!(
        fact(&refused, "received_sha256"),
        fact(&refused, "declared_sha256")
    );
    assert_eq!(store.revision().await, before);
    assert_eq!(
        reason(&download(&mut crew, 0).await.unwrap_err()),
        "RECORD_NOT_FOUND"
    );
    for data in [&file, &other] {
        let digest = Sha256::digest(data).into();
        assert_eq!(store.ledger.blobs().size(digest).await.unwrap(), None);
    }
    assert_eq!(
        begin(&mut crew, &file).await.unwrap(),
        0,
        "the wrong bytes are gone"
    );
    send(&mut crew, &file, 0, file.len()).await.unwrap();
    finish(&mut crew, finishing(&file)).await.unwrap();
}

#[tokio::test]
async fn a_part_that_leaves_a_gap_or_is_too_large_is_refused_and_what_came_before_is_kept() {
    let store = Store::with_project().await;
    let mut crew = files(&store, Role::Crew);
    let file = random_file(1_500_000);
    begin(&mut crew, &file).await.unwrap();
    send(&mut crew, &file, 0, 1_000).await.unwrap();
    let refused = send(&mut crew, &file, 1_001, 2_000).await.unwrap_err();
    assert_eq!(reason(&refused), "UPLOAD_INCOMPLETE");
    assert_eq!(fact(&refused, "received_bytes"), "1000");
    let large = UploadPartsRequest {
        project: PROJECT.into(),
        attachment_id: ID.into(),
        offset_bytes: 1_000,
        data: file.slice(0..(1 << 20) + 1),
    };
    let refused = crew
        .upload_parts(tokio_stream::iter([large]))
        .await
        .unwrap_err();
    assert_eq!(reason(&refused), "TOO_LARGE");
    assert_eq!(begin(&mut crew, &file).await.unwrap(), 1_000);
}

#[tokio::test]
async fn a_refused_record_keeps_the_bytes_so_that_only_the_record_is_sent_again() {
    let store = Store::with_project().await;
    let mut crew = files(&store, Role::Crew);
    let file = random_file(50_000);
    begin(&mut crew, &file).await.unwrap();
    send(&mut crew, &file, 0, file.len()).await.unwrap();
    let wrong = FinishUploadRequest {
        file_name: "films/014.mp4".into(),
        ..finishing(&file)
    };
    let refused = finish(&mut crew, wrong).await.unwrap_err();
    violates(&refused, &[("attachment.file_name", "without its folder")]);
    let wrong = FinishUploadRequest {
        subjects: vec![named("segments", "s-9")],
        ..finishing(&file)
    };
    let refused = finish(&mut crew, wrong).await.unwrap_err();
    violates(&refused, &[("attachment.subjects[0]", "does not exist")]);
    let right = FinishUploadRequest {
        write: write_as("film-1"),
        ..finishing(&file)
    };
    let first = finish(&mut crew, right.clone()).await.unwrap();
    let again = finish(&mut crew, right).await.unwrap();
    assert_eq!(first, again);
    let held = begin(&mut crew, &random_file(10)).await.unwrap_err();
    assert_eq!(reason(&held), "RECORD_EXISTS");
    assert_eq!(begin(&mut crew, &file).await.unwrap(), 50_000);
}

#[tokio::test]
async fn a_file_of_no_bytes_is_stored_and_read_back() {
    let store = Store::with_project().await;
    let mut crew = files(&store, Role::Crew);
    begin(&mut crew, b"").await.unwrap();
    finish(&mut crew, finishing(b"")).await.unwrap();
    assert_eq!(download(&mut crew, 0).await.unwrap(), b"");
}

#[tokio::test]
async fn who_may_not_store_files_is_denied_before_anything_is_said_of_them() {
    let store = Store::with_project().await;
    let mut auditor = files(&store, Role::Auditor);
    let file = random_file(10);
    let denied = begin(&mut auditor, &file).await.unwrap_err();
    assert_eq!(reason(&denied), "NOT_ALLOWED");
    let denied = send(&mut auditor, &file, 0, 10).await.unwrap_err();
    assert_eq!(reason(&denied), "NOT_ALLOWED");
    let denied = finish(&mut auditor, finishing(&file)).await.unwrap_err();
    assert_eq!(reason(&denied), "NOT_ALLOWED");
    let record = Record {
        meta: None,
        body: Some(Body::Attachment(Default::default())),
    };
    let mut register = store.projects(office());
    let Some(body) = record.body else {
        unreachable!()
    };
    let refused = super::store::create(&mut register, PROJECT, "a-1", body)
        .await
        .unwrap_err();
    let words = super::store::violations(&refused).join("\n");
    assert!(words.contains("an RPC of its own writes it"), "{words}");
}
