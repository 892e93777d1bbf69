//! What a subcontractor could learn of others beside their records: taken ids, full pages, tokens,
//! commits, and what a reference finds.

use std::time::Duration;

use obvert_proto::{
    common::v1::{ListRecordsRequest, WatchRecordsRequest},
    project::v1::{
        BeginUploadRequest, CreateRecordRequest, FinishUploadRequest, Record, Role,
        UploadPartsRequest, attachment_service_client::AttachmentServiceClient,
        project_service_client::ProjectServiceClient,
    },
};
use tonic::{Code, Status};
use tonic_types::StatusExt;

use super::{
    own::{NONE, THEIRS, name, survey, world},
    world::{PROJECT, World, keyed, write},
};

/// The same refusal of two requests that differ in one word.
#[track_caller]
fn alike(one: &Status, word: &str, other: &Status, other_word: &str) {
    assert_eq!(one.code(), Code::InvalidArgument, "{one}");
    assert_eq!(one.code(), other.code());
    assert_eq!(one.message().replace(word, other_word), other.message());
    let fields = |status: &Status| {
        let details = status.get_details_bad_request().expect("violations");
        let fields = details.field_violations.into_iter();
        let text = |v: tonic_types::FieldViolation| format!("{}: {}", v.field, v.description);
        fields.map(text).collect::<Vec<_>>()
    };
    let renamed = fields(one)
        .into_iter()
        .map(|row| row.replace(word, other_word));
    assert_eq!(renamed.collect::<Vec<_>>(), fields(other));
}

#[tokio::test]
async fn an_id_says_nothing_of_whether_another_has_taken_it() {
    let world = world().await;
    let key = world.key("cutter", &[(PROJECT, Role::Subcontractor)]).await;
    let taken = world.try_write(&key, "theirs", survey("K. L.")).await;
    let free = world.try_write(&key, "none", survey("K. L.")).await;
    let (taken, free) = (taken.unwrap_err(), free.unwrap_err());
    alike(&taken, "theirs", &free, "none");
    assert!(taken.message().contains("begins with cutter-"), "{taken}");
    // Its own ids are told as taken, and so are all ids to who reads them.
    world.write(&key, "cutter-1", survey("K. L.")).await;
    let again = ProjectServiceClient::new(world.channel.clone())
        .create_record(keyed(&key, creation("cutter-1", "again")))
        .await;
    assert_eq!(again.unwrap_err().code(), Code::AlreadyExists);
    let crew = world.key("crew", &[(PROJECT, Role::Crew)]).await;
    let taken = world.try_write(&crew, "theirs", survey("K. L.")).await;
    assert_eq!(taken.unwrap_err().code(), Code::AlreadyExists);
}

#[tokio::test]
async fn an_upload_says_nothing_of_another_s_file_and_does_not_reach_into_it() {
    let world = World::start().await;
    let office = world.server.key();
    let key = world.key("cutter", &[(PROJECT, Role::Subcontractor)]).await;
    let mut client = AttachmentServiceClient::new(world.channel.clone());
    client
        .begin_upload(keyed(&office, beginning("film")))
        .await
        .unwrap();
    let film = client.begin_upload(keyed(&key, beginning("film"))).await;
    let none = client.begin_upload(keyed(&key, beginning("none"))).await;
    alike(&film.unwrap_err(), "film", &none.unwrap_err(), "none");
    let part = |id: &str| UploadPartsRequest {
        project: PROJECT.into(),
        attachment_id: id.into(),
        offset_bytes: 0,
        data: b"not the film".as_slice().into(),
    };
    let film = client
        .upload_parts(keyed(&key, tokio_stream::once(part("film"))))
        .await;
    let none = client
        .upload_parts(keyed(&key, tokio_stream::once(part("none"))))
        .await;
    alike(&film.unwrap_err(), "film", &none.unwrap_err(), "none");
    let resumed = client.begin_upload(keyed(&office, beginning("film"))).await;
    assert_eq!(resumed.unwrap().into_inner().received_bytes, 0);
    client
        .begin_upload(keyed(&key, beginning("cutter-film")))
        .await
        .unwrap();
}

#[tokio::test]
async fn a_reference_says_nothing_of_another_s_record() {
    let world = world().await;
    let key = world.key("cutter", &[(PROJECT, Role::Subcontractor)]).await;
    world.write(&key, "cutter-1", survey("K. L.")).await;
    let mut client = AttachmentServiceClient::new(world.channel.clone());
    client
        .begin_upload(keyed(&key, beginning("cutter-film")))
        .await
        .unwrap();
    let mut finish = async |subject: &str| {
        let request = FinishUploadRequest {
            write: write(&format!("about-{}", subject.replace('/', "-"))),
            project: PROJECT.into(),
            attachment_id: "cutter-film".into(),
            size_bytes: 3,
            sha256: vec![7; 32],
            file_name: "film.mp4".into(),
            media_type: "video/mp4".into(),
            subjects: vec![subject.into()],
        };
        client
            .finish_upload(keyed(&key, request))
            .await
            .unwrap_err()
    };
    let (theirs, none) = (finish(THEIRS).await, finish(NONE).await);
    alike(&theirs, "theirs", &none, "none");
    assert!(
        theirs.message().contains("which you did not write"),
        "{theirs}"
    );
    for allowed in ["fieldSurveys/cutter-1", "segments/s-1"] {
        let lacking = finish(&format!("projects/{PROJECT}/{allowed}")).await;
        let reason = lacking.get_details_error_info().unwrap().reason;
        assert_eq!(
            reason, "UPLOAD_INCOMPLETE",
            "only its bytes are missing: {lacking}"
        );
    }
}

#[tokio::test]
async fn pages_and_their_tokens_hold_own_records_only() {
    let world = world().await;
    let key = world.key("cutter", &[(PROJECT, Role::Subcontractor)]).await;
    let office = world.server.key();
    for id in ["a-1", "b-1", "cutter-0", "d-1", "e-1"] {
        world.write(&office, id, survey("A. B.")).await;
    }
    for id in ["cutter-1", "cutter-2", "cutter-3"] {
        world.write(&key, id, survey("K. L.")).await;
    }
    let mut client = ProjectServiceClient::new(world.channel.clone());
    let (mut pages, mut token) = (Vec::new(), String::new());
    loop {
        let request = ListRecordsRequest {
            project: PROJECT.into(),
            collection: "fieldSurveys".into(),
            page_size: 2,
            page_token: token,
            ..ListRecordsRequest::default()
        };
        let page = client.list_records(keyed(&key, request)).await.unwrap();
        let page = page.into_inner();
        token = page.next_page_token;
        let ids = page.records.into_iter().map(name);
        let last = |name: String| name.rsplit('/').next().unwrap().to_owned();
        pages.push(ids.map(last).collect::<Vec<_>>());
        if token.is_empty() {
            break;
        }
        assert!(token.ends_with("/cutter-2"), "{token}");
    }
    assert_eq!(pages, [vec!["cutter-1", "cutter-2"], vec!["cutter-3"]]);
}

#[tokio::test]
async fn a_stream_is_silent_while_others_write() {
    let world = world().await;
    let key = world.key("cutter", &[(PROJECT, Role::Subcontractor)]).await;
    let mut client = ProjectServiceClient::new(world.channel.clone());
    let watch = WatchRecordsRequest {
        project: PROJECT.into(),
        after_revision: 0,
    };
    let stream = client.watch_records(keyed(&key, watch)).await;
    let mut stream = stream.unwrap().into_inner();
    let office = world.server.key();
    world.write(&office, "d-1", survey("A. B.")).await;
    let first = tokio::time::timeout(Duration::from_millis(500), stream.message());
    assert!(first.await.is_err(), "another's commit was told");
    world.write(&key, "cutter-1", survey("K. L.")).await;
    let own = stream.message().await.unwrap().unwrap();
    let names: Vec<_> = own.records.into_iter().map(name).collect();
    assert_eq!(names, [format!("projects/{PROJECT}/fieldSurveys/cutter-1")]);
}

fn beginning(id: &str) -> BeginUploadRequest {
    BeginUploadRequest {
        project: PROJECT.into(),
        attachment_id: id.into(),
        size_bytes: 3,
        sha256: vec![7; 32],
    }
}

fn creation(id: &str, request_id: &str) -> CreateRecordRequest {
    CreateRecordRequest {
        write: write(request_id),
        project: PROJECT.into(),
        record_id: id.into(),
        record: Some(Record {
            meta: None,
            body: Some(survey("K. L.")),
        }),
    }
}
