//! Packages through the service: refused while a point is held, made once, served in parts.

use std::sync::Arc;

use futures::StreamExt;
use obvert_access::Caller;
use obvert_closeout::{Closeout, package};
use obvert_ledger::{Draft, Ledger, LedgerConfig, NewEntry, Stored};
use obvert_proto::{
    acceptance::v1::LaboratoryReport,
    closeout::v1::{
        AssemblePackageRequest, AssemblePackageResponse, DownloadPackageRequest, Release,
        ReleaseKind, closeout_service_server::CloseoutService,
    },
    common::v1::Write,
    pool,
    project::v1::{Parcel, Role, RoleBinding},
    rules,
};
use prost::{Message, Name};
use prost_reflect::DynamicMessage;
use tonic::{Request, Status};
use tonic_types::StatusExt;

use super::sample::{NATIVE, press, sealed, signed, signed_under, signer, verified};
use crate::closeout::fixture::{Fixture, SEGMENT, full, on};

/// A ledger in a folder of its own.
pub(crate) struct Store {
    pub(crate) folder: tempfile::TempDir,
    pub(crate) ledger: Ledger,
}

impl Store {
    pub(crate) async fn empty() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let ledger = Ledger::open(LedgerConfig::new(folder.path()))
            .await
            .unwrap();
        Self { folder, ledger }
    }
}

pub(crate) fn caller(role: Role) -> Caller {
    Caller {
        principal: "person/ruan-ashgill".into(),
        key_id: "k-1".into(),
        bindings: vec![RoleBinding {
            project: "*".into(),
            role: role.into(),
        }],
        expire_time_ms: i64::MAX,
        shift: None,
    }
}

/// Writes a fixture's records, each at the revision that it has.
pub(crate) async fn stored(fixture: &Fixture) -> Store {
    let store = Store::empty().await;
    file(&store.ledger, fixture).await;
    store
}

/// Writes a fixture's records and their files into a ledger.
pub(crate) async fn file(ledger: &Ledger, fixture: &Fixture) {
    for project in ["office", "quillfern"] {
        let prefix = format!("projects/{project}");
        let mut own: Vec<&Stored> = fixture
            .former
            .iter()
            .chain(fixture.records.values())
            .collect();
        own.retain(|s| s.name == prefix || s.name.starts_with(&format!("{prefix}/")));
        for revision in 1..=own.iter().map(|s| s.revision).max().unwrap_or(0) {
            let entry = match own.iter().find(|stored| stored.revision == revision) {
                Some(stored) => entry(stored),
                None => filler(&prefix, revision),
            };
            let caller = own.iter().find(|stored| stored.revision == revision);
            let draft = Draft {
                project: project.into(),
                caller: caller
                    .map(|stored| stored.caller.clone())
                    .unwrap_or_default(),
                request_id: String::new(),
                request_digest: [0; 32],
                reason: String::new(),
                commit_time_ms: fixture.time_ms,
                observed_time_ms: caller.and_then(|stored| stored.observed_time_ms),
                asserts: Vec::new(),
                entries: vec![entry],
            };
            assert_eq!(ledger.commit(draft).await.unwrap().revision, revision);
        }
    }
    for blob in [sealed(), NATIVE.into()] {
        ledger.blobs().put(blob).await.unwrap();
    }
}

fn entry(stored: &Stored) -> NewEntry {
    let message = pool().get_message_by_name(&stored.type_name).unwrap();
    let message = DynamicMessage::decode(message, stored.body.clone()).unwrap();
    let mut refers: Vec<_> = rules::references(&message)
        .into_iter()
        .map(|r| r.name)
        .collect();
    refers.sort();
    refers.dedup();
    NewEntry {
        name: stored.name.clone(),
        type_name: stored.type_name.clone(),
        body: stored.body.clone(),
        refers,
        claims: Vec::new(),
    }
}

/// A record that nothing names, where the fixture's counter went on.
fn filler(prefix: &str, revision: i64) -> NewEntry {
    NewEntry {
        name: format!("{prefix}/parcels/filler-{revision}"),
        type_name: Parcel::full_name(),
        body: Parcel::default().encode_to_vec().into(),
        refers: Vec::new(),
        claims: Vec::new(),
    }
}

pub(crate) fn request<T>(message: T, caller: Caller) -> Request<T> {
    let mut request = Request::new(message);
    request.extensions_mut().insert(caller);
    request
}

pub(crate) async fn assembled(
    service: &Closeout,
    id: &str,
) -> Result<Vec<AssemblePackageResponse>, Status> {
    let write = Some(Write {
        request_id: id.into(),
        ..Write::default()
    });
    let message = AssemblePackageRequest {
        write,
        segment: SEGMENT.into(),
        with_people: false,
    };
    let answers = service
        .assemble_package(request(message, caller(Role::Owner)))
        .await?;
    answers
        .into_inner()
        .collect::<Vec<_>>()
        .await
        .into_iter()
        .collect()
}

#[tokio::test(flavor = "multi_thread")]
async fn an_accepted_segment_is_packed_once_and_served_as_stored() {
    let store = stored(&signed()).await;
    let service = Closeout::new(store.ledger.clone(), Some(Arc::new(press())));
    let answers = assembled(&service, "one").await.unwrap();
    assert!(answers.len() > 2, "progress comes before the package");
    let last = answers.last().unwrap();
    let (meta, package) = (last.meta.clone().unwrap(), last.package.clone().unwrap());
    let again = assembled(&service, "one").await.unwrap();
    assert_eq!(again.len(), 1, "the same request builds nothing");
    assert_eq!(again[0].package.as_ref().unwrap(), &package);
    let mut bytes = Vec::new();
    for offset in [0, 1_000] {
        let message = DownloadPackageRequest {
            name: meta.name.clone(),
            offset_bytes: offset,
        };
        let parts = service
            .download_package(request(message, caller(Role::Auditor)))
            .await;
        let mut parts = parts.unwrap().into_inner();
        bytes.truncate(usize::try_from(offset).unwrap());
        while let Some(part) = parts.next().await {
            bytes.extend_from_slice(&part.unwrap().data);
        }
    }
    assert_eq!(bytes.len() as i64, package.size_bytes);
    let found = verified(&bytes, Some(&package.signer_fingerprint)).unwrap();
    assert_eq!(found.revision, package.project_revision.to_string());
}

#[tokio::test(flavor = "multi_thread")]
async fn a_held_segment_is_refused_with_each_point_that_holds_it() {
    let mut fixture = signed();
    fixture.remove("leakTests/t-1");
    let store = stored(&fixture).await;
    let service = Closeout::new(store.ledger.clone(), Some(Arc::new(press())));
    let refused = assembled(&service, "one").await.unwrap_err();
    let details = refused.get_error_details();
    assert_eq!(details.error_info().unwrap().reason, "POINTS_HELD");
    let held = &details.precondition_failure().unwrap().violations;
    assert!(
        held.iter().any(|held| held.subject.contains("leak")),
        "{held:?}"
    );
}

/// Accepted on a variance of the laboratory report, in its last days when it was given.
fn accepted_on_a_variance() -> Fixture {
    signed_under("", |fixture| {
        fixture.edit("laboratoryReports/y-1", |report: &mut LaboratoryReport| {
            let specimens = report.specimens.iter_mut();
            specimens.for_each(|s| s.flexural_modulus_mpa = 7900.0);
        });
        let name = full(&format!("releases/r-{}", fixture.revision));
        let kind = ReleaseKind::Variance;
        fixture.sign("laboratory-report", kind, "engineer", "stiff enough");
        let stored = fixture.records.get_mut(&name).unwrap();
        let mut release = Release::decode(stored.body.clone()).unwrap();
        release.valid_until_date = on("2026-06-30");
        stored.body = release.encode_to_vec().into();
    })
}

#[tokio::test(flavor = "multi_thread")]
async fn no_package_is_issued_on_a_variance_that_ran_out_since_the_last_commit() {
    let store = stored(&accepted_on_a_variance()).await;
    let service = Closeout::new(store.ledger.clone(), Some(Arc::new(press())));
    let refused = assembled(&service, "one").await.unwrap_err();
    let details = refused.get_error_details();
    assert_eq!(details.error_info().unwrap().reason, "POINTS_HELD");
    let held = &details.precondition_failure().unwrap().violations;
    let report = held
        .iter()
        .find(|held| held.subject.contains("laboratory-report"));
    assert!(
        report
            .unwrap()
            .description
            .contains("ran out on 2026-06-30"),
        "{held:?}"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_role_without_the_right_is_refused_before_anything_else() {
    let store = stored(&signed()).await;
    let service = Closeout::new(store.ledger.clone(), None);
    let write = Some(Write {
        request_id: "one".into(),
        ..Write::default()
    });
    let message = AssemblePackageRequest {
        write,
        segment: SEGMENT.into(),
        with_people: false,
    };
    let refused = service
        .assemble_package(request(message, caller(Role::Crew)))
        .await;
    let refused = refused.err().unwrap();
    assert_eq!(
        refused.get_error_details().error_info().unwrap().reason,
        "NOT_ALLOWED"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_signing_key_is_announced_once() {
    let store = Store::empty().await;
    package::announce(&store.ledger, &signer(), 1_000)
        .await
        .unwrap();
    package::announce(&store.ledger, &signer(), 2_000)
        .await
        .unwrap();
    assert_eq!(
        store.ledger.head("office".into()).await.unwrap().revision,
        1
    );
}
