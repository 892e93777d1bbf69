//! The clean segment in a ledger: gathered, evaluated and released over the service.

use obvert_access::Caller as Principal;
use obvert_closeout::{Closeout, load_segment};
use obvert_ledger::{Ledger, LedgerConfig};
use obvert_proto::{
    closeout::v1::{
        CheckPlanRequest, CreateRecordRequest, EvaluateProjectRequest, EvaluateSegmentRequest,
        ListReleasesRequest, ListReleasesResponse, Plan, PointState, Record, ReleaseKind,
        ReleasePointRequest, closeout_service_server::CloseoutService, record::Body,
    },
    common::v1::Write,
    project::v1::{Role, RoleBinding},
};
use tempfile::TempDir;
use tokio_stream::StreamExt;
use tonic::{Code, Request};
use tonic_types::StatusExt;

use super::{
    Fixture,
    fixture::{PLAN, SEGMENT, asked::PLANS, full, store},
    point,
};

/// The clean segment in a store, with the service over it.
pub(super) struct Site {
    _folder: TempDir,
    pub(super) ledger: Ledger,
    pub(super) closeout: Closeout,
    pub(super) fixture: Fixture,
}

impl Site {
    pub(super) async fn clean() -> Self {
        Self::of(Fixture::clean(), PLAN).await
    }

    pub(super) async fn of(mut fixture: Fixture, plan: &str) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let ledger = Ledger::open(LedgerConfig::new(folder.path()))
            .await
            .unwrap();
        store::fill_under(&ledger, &mut fixture, plan).await;
        let closeout = Closeout::new(ledger.clone(), None);
        Self {
            _folder: folder,
            ledger,
            closeout,
            fixture,
        }
    }

    /// Who released what, now.
    pub(super) async fn given(&self) -> ListReleasesResponse {
        self.given_at(0).await
    }

    pub(super) async fn given_at(&self, revision: i64) -> ListReleasesResponse {
        let request = ListReleasesRequest {
            segment: SEGMENT.into(),
            revision,
        };
        let answer = self.closeout.list_releases(by(Role::Auditor, request));
        answer.await.unwrap().into_inner()
    }

    pub(super) async fn release(
        &self,
        role: Role,
        request: ReleasePointRequest,
    ) -> Result<PointState, tonic::Status> {
        let answer = self
            .closeout
            .release_point(by(role, request))
            .await?
            .into_inner();
        Ok(answer.status.unwrap().state())
    }
}

pub(super) fn by<T>(role: Role, message: T) -> Request<T> {
    let mut request = Request::new(message);
    let principal = if role == Role::Office {
        "person/ines-holt"
    } else {
        "person/other"
    };
    request.extensions_mut().insert(Principal {
        principal: principal.into(),
        key_id: "k-1".into(),
        bindings: vec![RoleBinding {
            project: "quillfern".into(),
            role: role.into(),
        }],
        expire_time_ms: i64::MAX,
        shift: None,
    });
    request
}

fn write(request_id: &str) -> Option<Write> {
    Some(Write {
        request_id: request_id.into(),
        ..Write::default()
    })
}

pub(super) fn ready(request_id: &str, kind: ReleaseKind, note: &str) -> ReleasePointRequest {
    ReleasePointRequest {
        write: write(request_id),
        segment: SEGMENT.into(),
        point: "ready-to-line".into(),
        release_kind: kind.into(),
        note: note.into(),
        valid_until_date: None,
    }
}

pub(super) fn reason(status: &tonic::Status) -> String {
    status.get_details_error_info().unwrap().reason
}

#[tokio::test]
async fn a_stored_segment_is_gathered_whole() {
    let site = Site::clean().await;
    let loaded = load_segment(&site.ledger, SEGMENT, 0).await.unwrap();
    let names: Vec<_> = loaded
        .gathered
        .records
        .iter()
        .map(|stored| stored.name.as_str())
        .collect();
    let unlinked = |name: &String| name.ends_with("/quillfern") || name.contains("/plans/");
    let expected: Vec<_> = site
        .fixture
        .records
        .keys()
        .filter(|name| !unlinked(name))
        .map(String::as_str)
        .collect();
    assert_eq!(names, expected);
    for status in loaded
        .status()
        .points
        .iter()
        .filter(|p| p.state() != PointState::Released)
    {
        assert!(
            ["ready-to-line", "final-acceptance"].contains(&status.point.as_str()),
            "{status:?}"
        );
    }
    assert_eq!(loaded.plan_ref.name, full("plans/itp"));
}

#[tokio::test]
async fn a_point_is_released_once_by_its_role_and_the_same_request_gets_the_same_answer() {
    let site = Site::clean().await;
    let request = || ready("q-1", ReleaseKind::Release, "");
    let refused = site.release(Role::Owner, request()).await.unwrap_err();
    assert_eq!(
        (refused.code(), reason(&refused).as_str()),
        (Code::PermissionDenied, "NOT_ALLOWED")
    );
    assert_eq!(
        site.release(Role::Inspector, request()).await.unwrap(),
        PointState::Released
    );
    let before = site.ledger.head("quillfern".into()).await.unwrap().revision;
    assert_eq!(
        site.release(Role::Inspector, request()).await.unwrap(),
        PointState::Released
    );
    assert_eq!(
        site.ledger.head("quillfern".into()).await.unwrap().revision,
        before
    );
    let other = ready("q-1", ReleaseKind::Release, "another note");
    let reused = site.release(Role::Inspector, other).await.unwrap_err();
    assert_eq!(reason(&reused), "REQUEST_ID_REUSED");
}

#[tokio::test]
async fn who_recorded_the_result_does_not_release_it() {
    let site = Site::clean().await;
    let mut request = by(Role::Inspector, ready("q-1", ReleaseKind::Release, ""));
    let caller = request.extensions_mut().get_mut::<Principal>().unwrap();
    caller.principal = "person/ines-holt".into();
    let refused = site.closeout.release_point(request).await.unwrap_err();
    assert_eq!(reason(&refused), "NOT_ALLOWED");
    assert!(
        refused.message().contains("ask another person"),
        "{}",
        refused.message()
    );
}

#[tokio::test]
async fn a_release_against_the_evidence_is_refused_with_every_finding() {
    let site = Site::clean().await;
    let last = ReleasePointRequest {
        point: "final-acceptance".into(),
        ..ready("q-1", ReleaseKind::Release, "")
    };
    let refused = site.release(Role::Owner, last).await.unwrap_err();
    assert_eq!(
        (refused.code(), reason(&refused).as_str()),
        (Code::FailedPrecondition, "POINTS_HELD")
    );
    let held = refused
        .get_details_precondition_failure()
        .unwrap()
        .violations;
    assert!(held[0].description.contains("ready-to-line"), "{held:?}");
    let without_note = ready("q-2", ReleaseKind::Variance, " ");
    let refused = site
        .release(Role::Engineer, without_note)
        .await
        .unwrap_err();
    assert_eq!(reason(&refused), "FIELDS_INVALID");
    let whole = ready("q-3", ReleaseKind::Variance, "why not");
    assert_eq!(
        reason(&site.release(Role::Engineer, whole).await.unwrap_err()),
        "ACT_REFUSED"
    );
    let lapse = ready("q-4", ReleaseKind::Lapse, "");
    assert_eq!(
        reason(&site.release(Role::Inspector, lapse).await.unwrap_err()),
        "ACT_REFUSED"
    );
    let unknown = ReleasePointRequest {
        point: "redy".into(),
        ..ready("q-5", ReleaseKind::Release, "")
    };
    assert_eq!(
        reason(&site.release(Role::Inspector, unknown).await.unwrap_err()),
        "FIELDS_INVALID"
    );
}

#[tokio::test]
async fn evaluation_reads_at_a_revision_and_over_the_whole_project() {
    let site = Site::clean().await;
    let ask = |revision| EvaluateSegmentRequest {
        segment: SEGMENT.into(),
        revision,
    };
    let early = site
        .closeout
        .evaluate_segment(by(Role::Auditor, ask(1)))
        .await
        .unwrap();
    let early = early.into_inner();
    assert_eq!(early.revision, 1);
    let beyond = site
        .closeout
        .evaluate_segment(by(Role::Auditor, ask(99_999)))
        .await
        .unwrap_err();
    let wrong = beyond.get_details_bad_request().unwrap().field_violations;
    assert!(
        wrong[0]
            .description
            .contains("is 99999, the newest of project quillfern is"),
        "{wrong:?}"
    );
    assert_eq!(point(&early, "sample-trace").state(), PointState::Held);
    let now = site
        .closeout
        .evaluate_segment(by(Role::Auditor, ask(0)))
        .await
        .unwrap()
        .into_inner();
    assert_eq!(point(&now, "sample-trace").state(), PointState::Released);
    let all = EvaluateProjectRequest {
        project: "quillfern".into(),
        revision: 0,
    };
    let all = site
        .closeout
        .evaluate_project(by(Role::Auditor, all))
        .await
        .unwrap()
        .into_inner();
    let all: Vec<_> = all.map(Result::unwrap).collect().await;
    assert_eq!(all, [now]);
}

#[tokio::test]
async fn a_plan_with_faults_is_not_written() {
    let site = Site::clean().await;
    let create = |source: String| CreateRecordRequest {
        write: write(&source[..20]),
        project: "quillfern".into(),
        record_id: "itp-2".into(),
        record: Some(Record {
            meta: None,
            body: Some(Body::Plan(Plan {
                title: "Lining of rear-easement sewers: inspection and test plan".into(),
                owner: "Marrowby Sanitary District".into(),
                plan_revision: "C".into(),
                source,
            })),
        }),
    };
    let wrong = PLAN.replace("evaluator = \"pull-in\"", "evaluator = \"pul-in\"");
    let refused = site
        .closeout
        .create_record(by(Role::Office, create(wrong.clone())))
        .await
        .unwrap_err();
    assert_eq!(reason(&refused), "PLAN_INVALID");
    let fields = refused.get_details_bad_request().unwrap().field_violations;
    assert!(fields[0].field.starts_with("row "), "{fields:?}");
    assert!(
        fields[0].description.contains("did you mean \"pull-in\"?"),
        "{fields:?}"
    );
    let checked = site
        .closeout
        .check_plan(by(
            Role::Owner,
            CheckPlanRequest {
                source: wrong,
                ..CheckPlanRequest::default()
            },
        ))
        .await;
    assert_eq!(checked.unwrap().into_inner().faults.len(), 1);
    site.closeout
        .create_record(by(Role::Office, create(PLAN.into())))
        .await
        .unwrap();
}

#[tokio::test]
async fn every_example_plan_is_checked_without_a_fault() {
    let site = Site::clean().await;
    for (file, text) in PLANS {
        let request = CheckPlanRequest {
            source: (*text).into(),
            project: "quillfern".into(),
        };
        let checked = site.closeout.check_plan(by(Role::Owner, request)).await;
        let checked = checked.unwrap().into_inner();
        assert!(checked.faults.is_empty(), "{file}: {:?}", checked.faults);
        assert!(checked.points.len() >= 25, "{file}");
        assert!(checked.findings.is_empty(), "{:?}", checked.findings);
    }
}
