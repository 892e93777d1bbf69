//! Builds: packages of a whole project, cancelled, resumed, and never stalled by a document.

use std::{fs, os::unix::fs::PermissionsExt, sync::Arc, time::Duration};

use futures::StreamExt;
use obvert_closeout::{Closeout, package::Press};
use obvert_ledger::{Assert, Caller, Draft, Expect, Ledger, NewEntry, Stored};
use obvert_proto::{
    closeout::v1::{
        Build, BuildState, BuildStatus, CancelBuildRequest, StartBuildRequest, WatchBuildRequest,
        closeout_service_server::CloseoutService,
    },
    common::v1::Write,
    dates::from_unix_ms,
    project::v1::{ApiKey, Role, Segment},
};
use obvert_typeset::{ChildLimits, Children, Typesetter};
use prost::{Message, Name};
use tonic::Status;
use tonic_types::StatusExt;

use super::{
    assembling::{Store, caller, request, stored},
    sample::{press, signed},
};
use crate::closeout::fixture::{SEGMENT, full, store};

/// The accepted segment and one that is held.
pub(super) async fn two_segments() -> Store {
    let store = stored(&signed()).await;
    file_key(&store.ledger, "k-1", &key(Role::Owner)).await;
    let mut fixture = signed();
    let held = Segment {
        owner_segment_id: "MSD-2".into(),
        upstream_manhole: "MQ-1".into(),
        downstream_manhole: "MQ-2".into(),
        ..Segment::default()
    };
    fixture.put(&full("segments/s-2"), &held);
    let record = &fixture.records[&full("segments/s-2")];
    store::commit(&store.ledger, "quillfern", vec![record], fixture.time_ms).await;
    store
}

pub(super) fn service(ledger: &Ledger, press: Press) -> Closeout {
    Closeout::new(ledger.clone(), Some(Arc::new(press)))
}

pub(super) fn write(id: &str) -> Option<Write> {
    Some(Write {
        request_id: id.into(),
        ..Write::default()
    })
}

pub(super) async fn begun(service: &Closeout, id: &str) -> Result<BuildStatus, Status> {
    let message = StartBuildRequest {
        write: write(id),
        project: "quillfern".into(),
        ..StartBuildRequest::default()
    };
    let begun = service.start_build(request(message, caller(Role::Owner)));
    Ok(begun.await?.into_inner())
}

fn name(status: &BuildStatus) -> String {
    status.meta.as_ref().unwrap().name.clone()
}

/// Every state that the watch tells, up to the end.
pub(super) async fn watched(service: &Closeout, name: &str) -> Vec<Build> {
    let message = WatchBuildRequest { name: name.into() };
    let states = service.watch_build(request(message, caller(Role::Auditor)));
    let states = states.await.unwrap().into_inner();
    let states: Vec<_> = states.collect().await;
    states
        .into_iter()
        .map(|s| s.unwrap().build.unwrap())
        .collect()
}

async fn cancelled(service: &Closeout, name: &str) -> Result<Build, Status> {
    let message = CancelBuildRequest {
        write: write("stop"),
        name: name.into(),
    };
    let ended = service.cancel_build(request(message, caller(Role::Office)));
    Ok(ended.await?.into_inner().build.unwrap())
}

pub(super) async fn packages(ledger: &Ledger) -> Vec<Stored> {
    let list = ledger.list("quillfern".into(), "packages".into(), None, 100, 0);
    list.await.unwrap().items
}

pub(super) fn reason(status: &Status) -> String {
    status
        .get_error_details()
        .error_info()
        .unwrap()
        .reason
        .clone()
}

/// Writes a build as a server left it that was stopped.
pub(crate) async fn left(ledger: &Ledger, name: &str) {
    let revision = ledger.head("quillfern".into()).await.unwrap().revision;
    let known = ledger.get(name.to_owned(), 0).await.unwrap();
    let before = known.map(|stored| (stored.revision, Build::decode(stored.body).unwrap()));
    let build = Build {
        project_revision: before
            .as_ref()
            .map_or(revision, |(_, b)| b.project_revision),
        state: BuildState::Running.into(),
        total_count: 2,
        ..Build::default()
    };
    let expect = before.map_or(Expect::Absent, |(revision, _)| Expect::Revision(revision));
    let entry = NewEntry {
        name: name.into(),
        type_name: Build::full_name(),
        body: build.encode_to_vec().into(),
        refers: Vec::new(),
        claims: vec!["running-build".into()],
    };
    commit(ledger, "quillfern", entry, Some(expect)).await;
}

/// A key of the principal that builds, with a role in every project, in force for long.
pub(super) fn key(role: Role) -> ApiKey {
    ApiKey {
        principal: "person/ruan-ashgill".into(),
        bindings: caller(role).bindings,
        expire_time: Some(from_unix_ms(4_000_000_000_000)),
        ..ApiKey::default()
    }
}

/// Files a key, or its newer state.
pub(super) async fn file_key(ledger: &Ledger, id: &str, key: &ApiKey) {
    let key = ApiKey {
        secret_sha256: id.as_bytes().to_vec(),
        ..key.clone()
    };
    let entry = NewEntry {
        name: format!("projects/office/keys/{id}"),
        type_name: ApiKey::full_name(),
        body: key.encode_to_vec().into(),
        refers: Vec::new(),
        claims: Vec::new(),
    };
    commit(ledger, "office", entry, None).await;
}

async fn commit(ledger: &Ledger, project: &str, entry: NewEntry, expect: Option<Expect>) {
    let assert = expect.map(|expect| Assert {
        name: entry.name.clone(),
        expect,
    });
    let draft = Draft {
        project: project.into(),
        caller: Caller {
            principal: "person/ruan-ashgill".into(),
            role: "owner".into(),
            key_id: "k-1".into(),
        },
        request_id: String::new(),
        request_digest: [0; 32],
        reason: String::new(),
        commit_time_ms: 1_800_000_000_000,
        observed_time_ms: None,
        asserts: assert.into_iter().collect(),
        entries: vec![entry],
    };
    ledger.commit(draft).await.unwrap();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_build_makes_a_package_of_each_accepted_segment_and_says_what_holds_the_others() {
    let store = two_segments().await;
    let service = service(&store.ledger, press());
    let status = begun(&service, "one").await.unwrap();
    let states = watched(&service, &name(&status)).await;
    let last = states.last().unwrap();
    assert_eq!(last.state(), BuildState::Done);
    assert_eq!(
        (last.total_count, last.done_count, last.package_count),
        (2, 2, 1)
    );
    assert_eq!(last.gaps.len(), 1);
    assert_eq!(last.gaps[0].segment, full("segments/s-2"));
    assert!(
        !last.gaps[0].failed && !last.gaps[0].reason.is_empty(),
        "{:?}",
        last.gaps
    );
    let made = packages(&store.ledger).await;
    assert_eq!(made.len(), 1);
    let again = begun(&service, "one").await.unwrap();
    assert_eq!(name(&again), name(&status));
    assert_eq!(
        packages(&store.ledger).await.len(),
        1,
        "the same request builds nothing"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_build_that_a_stopped_server_left_goes_on_and_makes_nothing_twice() {
    let store = two_segments().await;
    let build = full("builds/b-left");
    left(&store.ledger, &build).await;
    let first = service(&store.ledger, press());
    first.resume_builds().await.unwrap();
    let last = watched(&first, &build).await.pop().unwrap();
    assert_eq!((last.state(), last.package_count), (BuildState::Done, 1));
    let made = packages(&store.ledger).await;
    left(&store.ledger, &build).await;
    let second = service(&store.ledger, press());
    second.resume_builds().await.unwrap();
    let last = watched(&second, &build).await.pop().unwrap();
    assert_eq!((last.state(), last.package_count), (BuildState::Done, 1));
    assert_eq!(packages(&store.ledger).await, made);
}

#[tokio::test(flavor = "multi_thread")]
async fn one_build_of_a_project_runs_at_a_time_and_one_that_is_given_up_makes_no_more() {
    let store = two_segments().await;
    let build = full("builds/b-left");
    left(&store.ledger, &build).await;
    let service = service(&store.ledger, press());
    let refused = begun(&service, "two").await.unwrap_err();
    assert_eq!(reason(&refused), "CLAIM_TAKEN");
    assert!(
        refused.message().contains("wait for it, or cancel it"),
        "{}",
        refused.message()
    );
    let ended = cancelled(&service, &build).await.unwrap();
    assert_eq!(ended.state(), BuildState::Cancelled);
    assert_eq!(
        cancelled(&service, &build).await.unwrap(),
        ended,
        "asked again"
    );
    service.resume_builds().await.unwrap();
    assert_eq!(watched(&service, &build).await, [ended]);
    assert!(packages(&store.ledger).await.is_empty());
    let done = begun(&service, "three").await.unwrap();
    let done = name(&done);
    assert_eq!(
        watched(&service, &done).await.pop().unwrap().state(),
        BuildState::Done
    );
    let refused = cancelled(&service, &done).await.unwrap_err();
    assert_eq!(reason(&refused), "ACT_REFUSED");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_child_that_neither_reads_nor_answers_stalls_nothing_and_is_named() {
    let store = two_segments().await;
    let idle = store.folder.path().join("idle");
    fs::write(&idle, "#!/bin/sh\nexec sleep 600\n").unwrap();
    fs::set_permissions(&idle, fs::Permissions::from_mode(0o755)).unwrap();
    let limits = ChildLimits {
        deadline: Duration::from_secs(1),
        memory_bytes: 1 << 30,
        pdf_bytes: 1 << 20,
    };
    let stuck = Press {
        typesetter: Typesetter::Children(Children::new(idle, limits)),
        ..press()
    };
    let service = service(&store.ledger, stuck);
    let status = begun(&service, "one").await.unwrap();
    let last = watched(&service, &name(&status)).await.pop().unwrap();
    assert_eq!((last.state(), last.package_count), (BuildState::Done, 0));
    let gap = last.gaps.iter().find(|gap| gap.segment == SEGMENT).unwrap();
    assert!(
        gap.failed && gap.reason.contains("longer than 1 s"),
        "{gap:?}"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_build_takes_only_segments_of_its_project_and_only_from_who_may() {
    let store = two_segments().await;
    let service = service(&store.ledger, press());
    let mut message = StartBuildRequest {
        write: write("one"),
        project: "quillfern".into(),
        segments: vec![full("segments/none"), full("runs/r-1")],
        with_people: false,
    };
    let refused = service.start_build(request(message.clone(), caller(Role::Owner)));
    let refused = refused.await.unwrap_err();
    let wrong = refused.get_error_details();
    assert_eq!(wrong.bad_request().unwrap().field_violations.len(), 2);
    message.segments = vec![SEGMENT.into()];
    let refused = service.start_build(request(message.clone(), caller(Role::Crew)));
    assert_eq!(reason(&refused.await.unwrap_err()), "NOT_ALLOWED");
    let begun = service.start_build(request(message, caller(Role::Owner)));
    let begun = begun.await.unwrap().into_inner();
    let last = watched(&service, &name(&begun)).await.pop().unwrap();
    assert_eq!((last.total_count, last.package_count), (1, 1));
}
