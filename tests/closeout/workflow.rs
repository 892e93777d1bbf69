//! Variances with an end, deviations from their step on, releases as they are replayed.

use obvert_closeout::FirstHeld;
use obvert_proto::{
    acceptance::v1::{LaboratoryReport, Nonconformance, Survey},
    closeout::v1::{PointState, ReleaseKind, ReleasePointRequest},
    common::v1::LocalDate,
    project::v1::Role,
};
use tonic_types::StatusExt;

use super::{
    Fixture,
    fixture::{
        PLAN, SEGMENT,
        asked::{STRICT, clean_under},
        at, full, on, store,
    },
    point,
    stored::{Site, ready, reason},
};

fn soft() -> Fixture {
    let mut fixture = Fixture::clean();
    fixture.edit("laboratoryReports/y-1", |y: &mut LaboratoryReport| {
        y.specimens
            .iter_mut()
            .for_each(|s| s.flexural_modulus_mpa = 7900.0);
    });
    fixture
}

fn variance(request_id: &str, until: Option<LocalDate>) -> ReleasePointRequest {
    ReleasePointRequest {
        point: "laboratory-report".into(),
        valid_until_date: until,
        ..ready(request_id, ReleaseKind::Variance, "stiff enough at 4.5 mm")
    }
}

#[tokio::test]
async fn a_variance_has_an_approver_of_the_plan_and_may_have_an_end() {
    let site = Site::of(soft(), PLAN).await;
    let refused = site.release(Role::Inspector, variance("q-1", None)).await;
    assert_eq!(reason(&refused.unwrap_err()), "NOT_ALLOWED");
    let past = variance("q-2", on("2026-01-31"));
    let over = site.release(Role::Engineer, past).await.unwrap_err();
    assert_eq!(
        reason(&over),
        "FIELDS_INVALID",
        "it ended before it was given"
    );
    let wrong = over.get_details_bad_request().unwrap().field_violations;
    assert!(
        wrong[0].description.contains("is 2026-01-31, today is"),
        "{wrong:?}"
    );
    let ahead = variance("q-3", on("2999-12-31"));
    let varied = site.release(Role::Engineer, ahead).await.unwrap();
    assert_eq!(varied, PointState::Variance);
    let given = site.given().await;
    let stands: Vec<_> = given.releases.iter().map(|given| given.stands).collect();
    assert_eq!(stands, [true]);
    let meta = given.releases[0].meta.as_ref().unwrap();
    assert_eq!(
        (meta.principal.as_str(), meta.role.as_str()),
        ("person/other", "engineer")
    );
}

/// Whether the deviation holds pull-in under the strict plan.
fn holds_pull_in(found: &str, step: &str) -> bool {
    let mut fixture = clean_under(STRICT);
    let deviation = Nonconformance {
        subjects: vec![SEGMENT.into()],
        description: "a root mass at 12 m".into(),
        found_time: at(found),
        holds_from_step: step.into(),
        ..Nonconformance::default()
    };
    fixture.add("nonconformances/z-1", deviation);
    let status = fixture.status();
    let accepted = point(&status, "nonconformances").state();
    assert_eq!(accepted, PointState::Held, "it holds acceptance always");
    point(&status, "deviations-before-pull-in").state() == PointState::Held
}

#[test]
fn a_deviation_holds_from_its_step_or_from_the_next_that_cannot_be_undone() {
    let (before, after) = ("2026-05-04 07:30", "2026-05-04 08:10");
    assert!(holds_pull_in(before, "pull-in"));
    assert!(holds_pull_in(before, "cleaning"), "an earlier step");
    assert!(!holds_pull_in(before, "reopening"), "a later step");
    assert!(holds_pull_in(before, "no such step"));
    assert!(holds_pull_in(before, ""), "pull-in comes next");
    assert!(!holds_pull_in(after, ""), "the lamps come next");
    assert!(!holds_pull_in("2026-05-06 08:00", ""), "a late one");
}

#[tokio::test]
async fn who_released_what_on_which_evidence_is_replayed_at_any_revision() {
    let site = Site::of(Fixture::clean(), PLAN).await;
    let before = site.ledger.head("quillfern".into()).await.unwrap().revision;
    let release = ready("q-1", ReleaseKind::Release, "");
    site.release(Role::Inspector, release).await.unwrap();
    let given = before + 1;
    let mut fixture = site.fixture.clone();
    fixture.edit("surveys/v-ready", |survey: &mut Survey| {
        survey.start_time = at("2026-05-04 07:10");
    });
    let later = &fixture.records[&full("surveys/v-ready")];
    store::commit(&site.ledger, "quillfern", vec![later], fixture.time_ms).await;
    assert!(
        site.given_at(before).await.releases.is_empty(),
        "not given yet"
    );
    let then = site.given_at(given).await;
    assert_eq!((then.revision, then.releases.len()), (given, 1));
    assert!(then.releases[0].stands);
    let now = site.given().await;
    let one = &now.releases[0];
    assert!(!one.stands);
    assert!(
        one.reason.contains("rested on other facts"),
        "{}",
        one.reason
    );
    let (meta, release) = (one.meta.as_ref().unwrap(), one.release.as_ref().unwrap());
    assert_eq!((meta.revision, meta.role.as_str()), (given, "inspector"));
    assert_eq!(release.plan.as_ref().unwrap().name, full("plans/itp"));
    let mut evidence = release.evidence.iter();
    let survey = evidence.find(|record| record.name == full("surveys/v-ready"));
    assert_eq!(survey.unwrap().revision, 1, "the state it was given on");
}

#[test]
fn what_holds_a_segment_is_told_before_what_only_awaits_a_release() {
    let mut fixture = Fixture::clean();
    let waits = FirstHeld::of(&fixture.status()).expect("a point that waits");
    assert_eq!(waits.reason, "awaits its release");
    fixture.edit("laboratoryReports/y-1", |report: &mut LaboratoryReport| {
        report.specimens.clear();
    });
    let status = fixture.status();
    let held = FirstHeld::of(&status).expect("a point that holds");
    let is_open = |state| matches!(state, PointState::Held | PointState::AwaitsRelease);
    let open: Vec<_> = status
        .points
        .iter()
        .filter(|p| is_open(p.state()))
        .collect();
    let first = open
        .iter()
        .find(|p| p.state() == PointState::Held)
        .expect("held");
    let why = first
        .findings
        .iter()
        .find(|finding| finding.holds)
        .expect("a finding");
    assert_eq!((&held.title, &held.reason), (&first.title, &why.message));
    assert_eq!(held.more_count, open.len() - 1);
    assert!(held.words().contains("more point"), "{}", held.words());
    assert_eq!(
        FirstHeld::of(&fixture.signed())
            .map(|held| held.title)
            .as_ref(),
        Some(&held.title)
    );
}

#[tokio::test]
async fn a_point_is_not_released_twice_and_a_note_holds_no_control_characters() {
    let site = Site::of(Fixture::clean(), PLAN).await;
    let first = ready("q-1", ReleaseKind::Release, "");
    site.release(Role::Inspector, first).await.unwrap();
    let again = ready("q-2", ReleaseKind::Release, "");
    let refused = site.release(Role::Inspector, again).await.unwrap_err();
    assert_eq!(reason(&refused), "ACT_REFUSED");
    assert!(
        refused
            .message()
            .contains("released already, by person/other"),
        "{}",
        refused.message()
    );
    assert!(site.given().await.releases[0].stands);
    let escape = "\u{1b}[2J".to_owned();
    for (note, said) in [
        (escape, "control characters"),
        ("n".repeat(2001), "2001 characters"),
    ] {
        let refused = site
            .release(Role::Inspector, ready("q-3", ReleaseKind::Release, &note))
            .await
            .unwrap_err();
        let wrong = refused.get_details_bad_request().unwrap().field_violations;
        assert!(wrong[0].description.contains(said), "{wrong:?}");
    }
}
