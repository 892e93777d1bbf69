//! A ledger in a temporary folder, callers, and clients that call a service in this process.

use std::sync::atomic::{AtomicU32, Ordering};

use obvert_access::{AccessLog, Caller};
use obvert_ledger::{Ledger, LedgerConfig};
use obvert_project::Projects;
use obvert_proto::{
    common::v1::{GetRecordRequest, Write},
    project::v1::{
        self as project, Role, RoleBinding, project_service_client::ProjectServiceClient,
        project_service_server::ProjectServiceServer, record::Body,
    },
};
use tempfile::TempDir;
use tonic::{
    Request, Status,
    service::{Interceptor, interceptor::InterceptedService},
};
use tonic_types::StatusExt;

/// The invented project that most of these tests play in.
pub(crate) const PROJECT: &str = "quillfern";

/// A ledger of its own.
pub(crate) struct Store {
    pub(crate) folder: TempDir,
    pub(crate) ledger: Ledger,
    pub(crate) log: AccessLog,
}

impl Store {
    pub(crate) async fn empty() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let ledger = Ledger::open(LedgerConfig::new(folder.path()))
            .await
            .unwrap();
        let log = AccessLog::open(folder.path()).unwrap();
        Self {
            folder,
            ledger,
            log,
        }
    }

    /// A ledger with the project [`PROJECT`].
    pub(crate) async fn with_project() -> Self {
        let store = Self::empty().await;
        let mut client = store.projects(office());
        create(&mut client, PROJECT, PROJECT, contract("America/New_York"))
            .await
            .unwrap();
        store
    }

    pub(crate) fn projects(&self, caller: Caller) -> Register {
        let server =
            ProjectServiceServer::new(Projects::new(self.ledger.clone(), self.log.clone()));
        ProjectServiceClient::new(InterceptedService::new(server, As(caller)))
    }

    /// Revision of [`PROJECT`].
    pub(crate) async fn revision(&self) -> i64 {
        self.ledger.head(PROJECT.into()).await.unwrap().revision
    }
}

/// Client of the register.
pub(crate) type Register =
    ProjectServiceClient<InterceptedService<ProjectServiceServer<Projects>, As>>;

/// Puts a caller on each request, as the server's access layer does.
#[derive(Clone)]
pub(crate) struct As(pub(crate) Caller);

impl Interceptor for As {
    fn call(&mut self, mut request: Request<()>) -> Result<Request<()>, Status> {
        request.extensions_mut().insert(self.0.clone());
        Ok(request)
    }
}

/// The contractor's office, in every project.
pub(crate) fn office() -> Caller {
    caller(Role::Office, "*")
}

pub(crate) fn caller(role: Role, project: &str) -> Caller {
    Caller {
        principal: format!("person/{}", obvert_access::role_word(role)),
        key_id: "k-1".into(),
        bindings: vec![RoleBinding {
            project: project.into(),
            role: role.into(),
        }],
        expire_time_ms: i64::MAX,
        shift: None,
    }
}

/// An envelope with a request id of its own.
pub(crate) fn write() -> Option<Write> {
    static NEXT: AtomicU32 = AtomicU32::new(0);
    write_as(&format!("r-{}", NEXT.fetch_add(1, Ordering::Relaxed)))
}

pub(crate) fn write_as(request_id: &str) -> Option<Write> {
    Some(Write {
        request_id: request_id.into(),
        ..Write::default()
    })
}

/// An envelope that revises a state.
pub(crate) fn revising(etag: &str) -> Option<Write> {
    let reason = "typed wrong at first".into();
    write().map(|write| Write {
        reason,
        etag: etag.into(),
        ..write
    })
}

pub(crate) async fn create(
    client: &mut Register,
    project: &str,
    id: &str,
    body: Body,
) -> Result<project::Record, Status> {
    let record = Some(project::Record {
        meta: None,
        body: Some(body),
    });
    let (project, record_id) = (project.into(), id.into());
    let request = project::CreateRecordRequest {
        write: write(),
        project,
        record_id,
        record,
    };
    client
        .create_record(request)
        .await
        .map(tonic::Response::into_inner)
}

pub(crate) async fn revise(
    client: &mut Register,
    name: &str,
    etag: &str,
    body: Body,
) -> Result<project::Record, Status> {
    let record = Some(project::Record {
        meta: None,
        body: Some(body),
    });
    let request = project::ReviseRecordRequest {
        write: revising(etag),
        name: name.into(),
        record,
    };
    client
        .revise_record(request)
        .await
        .map(tonic::Response::into_inner)
}

pub(crate) async fn get(client: &mut Register, name: &str) -> Result<project::Record, Status> {
    let request = GetRecordRequest {
        name: name.into(),
        revision: 0,
    };
    client
        .get_record(request)
        .await
        .map(tonic::Response::into_inner)
}

/// Full name in [`PROJECT`].
pub(crate) fn named(collection: &str, id: &str) -> String {
    format!("projects/{PROJECT}/{collection}/{id}")
}

pub(crate) fn contract(time_zone: &str) -> Body {
    Body::Project(project::Project {
        title: "Quillfern Lane rear easements".into(),
        contract_number: "MSD-2026-07".into(),
        owner: "Marrowby Sanitary District".into(),
        contractor: "Copperbeck Utilities".into(),
        time_zone: time_zone.into(),
        pay_length_basis: 2,
        ..project::Project::default()
    })
}

pub(crate) fn segment(owner_id: &str, upstream: &str, downstream: &str) -> project::Segment {
    project::Segment {
        owner_segment_id: owner_id.into(),
        upstream_manhole: upstream.into(),
        downstream_manhole: downstream.into(),
        nominal_diameter_mm: 200.0,
        length_centre_to_centre_m: 91.4,
        length_wall_to_wall_m: 90.2,
        upstream_manhole_radius_m: Some(0.6),
        downstream_manhole_radius_m: Some(0.6),
        ..project::Segment::default()
    }
}

pub(crate) fn lateral(segment: &str, station_m: f64) -> project::Lateral {
    project::Lateral {
        segment: named("segments", segment),
        station_m,
        datum: 2,
        clock_h: 10.0,
        nominal_diameter_mm: 100.0,
        state: 1,
        ..project::Lateral::default()
    }
}

/// Reason that a status carries.
pub(crate) fn reason(status: &Status) -> String {
    status
        .get_details_error_info()
        .expect("every status has an ErrorInfo")
        .reason
}

/// Fact that a status carries.
pub(crate) fn fact(status: &Status, name: &str) -> String {
    let facts = status
        .get_details_error_info()
        .expect("every status has an ErrorInfo")
        .metadata;
    facts
        .get(name)
        .cloned()
        .unwrap_or_else(|| panic!("no fact {name} among {facts:?}"))
}

/// Violations that a status carries, each `field: message`.
pub(crate) fn violations(status: &Status) -> Vec<String> {
    let found = status
        .get_details_bad_request()
        .map(|found| found.field_violations);
    let found = found.unwrap_or_default();
    found
        .into_iter()
        .map(|v| format!("{}: {}", v.field, v.description))
        .collect()
}

/// Asserts that exactly these violations came, each beginning with its field and holding its words.
#[track_caller]
pub(crate) fn violates(status: &Status, expected: &[(&str, &str)]) {
    let found = violations(status);
    for (field, words) in expected {
        let hit = found
            .iter()
            .any(|v| v.starts_with(&format!("{field}: ")) && v.contains(words));
        assert!(
            hit,
            "no violation of {field} with {words:?} among {found:#?}; {status:?}"
        );
    }
    assert_eq!(found.len(), expected.len(), "{found:#?}");
}
