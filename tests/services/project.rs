//! The register's verbs: what they refuse, answer again, and keep.

use obvert_ledger::{Caller, Draft, NewEntry};
use obvert_proto::{
    common::v1::{ListRevisionsRequest, WatchRecordsRequest, Write},
    project::v1::{self as project, ListProjectsRequest, Role, record::Body},
};
use prost::{Message, Name};
use tokio_stream::StreamExt;

use super::store::{
    PROJECT, Store, caller, contract, create, get, lateral, named, office, reason, revise, segment,
    violates, write, write_as,
};

#[tokio::test]
async fn a_revision_needs_the_etag_of_the_state_that_was_read_and_old_states_stay_readable() {
    let store = Store::with_project().await;
    let mut office = store.projects(office());
    let mut pipe = segment("QL-014", "MH-7", "MH-8");
    let first = create(&mut office, PROJECT, "s-014", Body::Segment(pipe.clone()))
        .await
        .unwrap();
    let (name, etag) = (named("segments", "s-014"), first.meta.unwrap().etag);
    pipe.host_pipe_material = "clay".into();
    revise(&mut office, &name, &etag, Body::Segment(pipe.clone()))
        .await
        .unwrap();
    pipe.host_pipe_material = "concrete".into();
    let stale = revise(&mut office, &name, &etag, Body::Segment(pipe))
        .await
        .unwrap_err();
    assert_eq!(
        (stale.code(), reason(&stale)),
        (tonic::Code::Aborted, "ETAG_STALE".into())
    );
    let request = ListRevisionsRequest {
        name,
        ..ListRevisionsRequest::default()
    };
    let states = office
        .list_revisions(request)
        .await
        .unwrap()
        .into_inner()
        .records;
    let material = |record: &project::Record| match &record.body {
        Some(Body::Segment(segment)) => segment.host_pipe_material.clone(),
        other => panic!("{other:?}"),
    };
    assert_eq!(
        states.iter().map(material).collect::<Vec<_>>(),
        ["", "clay"]
    );
}

#[tokio::test]
async fn validate_only_answers_as_the_call_would_and_writes_nothing() {
    let store = Store::with_project().await;
    let mut office = store.projects(office());
    let before = store.revision().await;
    let validating = || {
        write().map(|write| Write {
            validate_only: true,
            ..write
        })
    };
    let mut pipe = segment("QL-014", "MH-7", "MH-8");
    let request = |pipe: &project::Segment| project::CreateRecordRequest {
        write: validating(),
        project: PROJECT.into(),
        record_id: "s-014".into(),
        record: Some(project::Record {
            meta: None,
            body: Some(Body::Segment(pipe.clone())),
        }),
    };
    office.create_record(request(&pipe)).await.unwrap();
    assert_eq!(store.revision().await, before);
    let absent = get(&mut office, &named("segments", "s-014"))
        .await
        .unwrap_err();
    assert_eq!(reason(&absent), "RECORD_NOT_FOUND");
    pipe.length_wall_to_wall_m = 0.5;
    let refused = office.create_record(request(&pipe)).await.unwrap_err();
    assert_eq!(reason(&refused), "FIELDS_INVALID");
}

#[tokio::test]
async fn a_repeated_request_gets_the_same_answer_and_another_body_is_refused() {
    let store = Store::with_project().await;
    let mut office = store.projects(office());
    let request = |owner_id: &str| project::CreateRecordRequest {
        write: write_as("tablet-7-0041"),
        project: PROJECT.into(),
        record_id: "s-014".into(),
        record: Some(project::Record {
            meta: None,
            body: Some(Body::Segment(segment(owner_id, "MH-7", "MH-8"))),
        }),
    };
    let first = office
        .create_record(request("QL-014"))
        .await
        .unwrap()
        .into_inner();
    let again = office
        .create_record(request("QL-014"))
        .await
        .unwrap()
        .into_inner();
    assert_eq!(first, again);
    let refused = office.create_record(request("QL-015")).await.unwrap_err();
    assert_eq!(reason(&refused), "REQUEST_ID_REUSED");
}

#[tokio::test]
async fn a_reference_to_nothing_to_another_collection_or_project_is_refused_by_its_field() {
    let store = Store::with_project().await;
    let mut office = store.projects(office());
    create(
        &mut office,
        "fernhill",
        "fernhill",
        contract("Europe/Dublin"),
    )
    .await
    .unwrap();
    let there = Body::Segment(segment("FH-1", "A", "B"));
    create(&mut office, "fernhill", "s-1", there).await.unwrap();
    let unknown = Body::Lateral(lateral("s-099", 1.0));
    let refused = create(&mut office, PROJECT, "l-1", unknown)
        .await
        .unwrap_err();
    violates(
        &refused,
        &[("lateral.segment", "names projects/quillfern/segments/s-099")],
    );
    for (name, words) in [
        (
            "projects/fernhill/segments/s-1",
            "names only its own project",
        ),
        (
            "projects/quillfern/parcels/p-1",
            "a record of segments is wanted",
        ),
    ] {
        let wrong = project::Lateral {
            segment: name.into(),
            ..lateral("s-1", 1.0)
        };
        let refused = create(&mut office, PROJECT, "l-1", Body::Lateral(wrong))
            .await
            .unwrap_err();
        violates(&refused, &[("lateral.segment", words)]);
    }
}

#[tokio::test]
async fn a_logo_is_a_small_picture() {
    let store = Store::with_project().await;
    let mut office = store.projects(office());
    let name = "projects/quillfern";
    let mut etag = get(&mut office, name).await.unwrap().meta.unwrap().etag;
    let Body::Project(project) = contract("America/New_York") else {
        panic!("no project");
    };
    for (id, media_type, size_bytes, taken) in [
        ("a-1", "application/pdf", 10, false),
        ("a-2", "image/png", (1 << 20) + 1, false),
        ("a-3", "image/svg+xml", 1 << 20, true),
    ] {
        let attachment = project::Attachment {
            file_name: "logo".into(),
            media_type: media_type.into(),
            size_bytes,
            ..project::Attachment::default()
        };
        filed(&store, id, &attachment).await;
        let project = project::Project {
            logo: named("attachments", id),
            ..project.clone()
        };
        let revised = revise(&mut office, name, &etag, Body::Project(project)).await;
        match revised {
            Ok(record) if taken => etag = record.meta.unwrap().etag,
            Err(refused) if !taken => {
                violates(
                    &refused,
                    &[("project.logo", "give an SVG or PNG of 1048576 bytes")],
                );
            }
            other => panic!("{id}: {other:?}"),
        }
    }
}

/// Writes an attachment as the ledger keeps one.
async fn filed(store: &Store, id: &str, attachment: &project::Attachment) {
    let entry = NewEntry {
        name: named("attachments", id),
        type_name: project::Attachment::full_name(),
        body: attachment.encode_to_vec().into(),
        refers: Vec::new(),
        claims: Vec::new(),
    };
    let draft = Draft {
        project: PROJECT.into(),
        caller: Caller::default(),
        request_id: String::new(),
        request_digest: [0; 32],
        reason: String::new(),
        commit_time_ms: 1_800_000_000_000,
        observed_time_ms: None,
        asserts: Vec::new(),
        entries: vec![entry],
    };
    store.ledger.commit(draft).await.unwrap();
}

#[tokio::test]
async fn a_role_is_denied_before_anything_is_said_of_what_exists() {
    let store = Store::with_project().await;
    let mut laboratory = store.projects(caller(Role::Laboratory, PROJECT));
    let wrong = Body::Segment(project::Segment::default());
    let denied = create(&mut laboratory, PROJECT, "s-014", wrong)
        .await
        .unwrap_err();
    assert_eq!(reason(&denied), "NOT_ALLOWED");
    let known = named("segments", "s-014");
    let mut office = store.projects(office());
    let pipe = Body::Segment(segment("QL-014", "MH-7", "MH-8"));
    create(&mut office, PROJECT, "s-014", pipe).await.unwrap();
    let mut stranger = store.projects(caller(Role::Auditor, "fernhill"));
    for name in [
        known.as_str(),
        "projects/quillfern/segments/s-none",
        "projects/nowhere",
    ] {
        let denied = get(&mut stranger, name).await.unwrap_err();
        assert_eq!(reason(&denied), "NOT_ALLOWED", "{name}");
    }
    let seen = stranger
        .list_projects(ListProjectsRequest {})
        .await
        .unwrap()
        .into_inner();
    assert_eq!(seen.projects, []);
    let seen = laboratory
        .list_projects(ListProjectsRequest {})
        .await
        .unwrap()
        .into_inner();
    assert_eq!(
        seen.projects[0].meta.as_ref().unwrap().name,
        "projects/quillfern"
    );
}

#[tokio::test]
async fn a_watch_sends_what_was_committed_and_goes_on_with_what_comes() {
    let store = Store::with_project().await;
    let mut office = store.projects(office());
    let request = WatchRecordsRequest {
        project: PROJECT.into(),
        after_revision: 0,
    };
    let mut watch = office.watch_records(request).await.unwrap().into_inner();
    let first = watch.next().await.unwrap().unwrap();
    assert_eq!((first.revision, first.records.len()), (1, 1));
    let pipe = Body::Segment(segment("QL-014", "MH-7", "MH-8"));
    let written = create(&mut office, PROJECT, "s-014", pipe).await.unwrap();
    let second = watch.next().await.unwrap().unwrap();
    assert_eq!(
        (second.revision, &second.records[0].body),
        (2, &written.body)
    );
}
