//! Releases and variances: when they stand, and when they no longer do.

use obvert_proto::{
    acceptance::v1::{LaboratoryReport, Survey},
    closeout::v1::{PointState, Release, ReleaseKind},
    project::v1::Segment,
};

use super::{
    Fixture,
    fixture::{at, full, ms, on},
    point,
};

fn state(fixture: &Fixture, id: &str) -> PointState {
    point(&fixture.status(), id).state()
}

#[test]
fn a_hold_point_awaits_a_role_of_the_plan() {
    let mut fixture = Fixture::clean();
    assert_eq!(state(&fixture, "ready-to-line"), PointState::AwaitsRelease);
    fixture.sign("ready-to-line", ReleaseKind::Release, "owner", "");
    assert_eq!(state(&fixture, "ready-to-line"), PointState::AwaitsRelease);
    fixture.sign("ready-to-line", ReleaseKind::Lapse, "inspector", "");
    assert_eq!(
        state(&fixture, "ready-to-line"),
        PointState::AwaitsRelease,
        "a hold never lapses"
    );
    fixture.sign("ready-to-line", ReleaseKind::Release, "inspector", "");
    let status = fixture.status();
    let ready = point(&status, "ready-to-line");
    assert_eq!(ready.state(), PointState::Released);
    assert_eq!(ready.released_by, "person/inspector (inspector)");
}

#[test]
fn a_release_stands_while_values_stay_and_opens_when_they_change() {
    let mut fixture = Fixture::clean();
    assert!(fixture.signed().accepted);
    fixture.edit("surveys/v-ready", |survey: &mut Survey| {
        survey.operator = "another".into()
    });
    assert!(
        fixture.status().accepted,
        "a correction without a changed value leaves it"
    );
    fixture.edit("surveys/v-ready", |survey: &mut Survey| {
        survey.start_time = at("2026-05-04 07:10")
    });
    let status = fixture.status();
    let ready = point(&status, "ready-to-line");
    assert_eq!(ready.state(), PointState::AwaitsRelease);
    assert!(ready.reopened);
    assert!(!status.accepted);
}

#[test]
fn a_release_before_pull_in_stands_after_it() {
    let mut fixture = Fixture::clean();
    let whole = fixture.records.clone();
    let cleaning = obvert_proto::project::v1::Document {
        evidence_kind: "cleaning-log".into(),
        subjects: vec![full("segments/s-1")],
        signed_by: "crew lead".into(),
        signed_date: on("2026-05-04"),
        grade: obvert_proto::common::v1::PaperGrade::Direct.into(),
        ..Default::default()
    };
    fixture.remove("runs/r-1");
    fixture.add("documents/w-9", cleaning);
    fixture.sign("ready-to-line", ReleaseKind::Release, "inspector", "");
    assert_eq!(state(&fixture, "ready-to-line"), PointState::Released);
    fixture.records.extend(
        whole
            .into_iter()
            .filter(|(name, _)| name.ends_with("runs/r-1")),
    );
    assert_eq!(state(&fixture, "ready-to-line"), PointState::Released);
}

#[test]
fn changed_facts_of_any_point_open_the_acceptance_again() {
    let mut fixture = Fixture::clean();
    assert!(fixture.signed().accepted);
    fixture.edit("laboratoryReports/y-1", |y: &mut LaboratoryReport| {
        y.wall_readings_mm[0] = 4.8
    });
    let status = fixture.status();
    let last = point(&status, "final-acceptance");
    assert_eq!(last.state(), PointState::AwaitsRelease);
    assert!(last.reopened);
    assert!(
        last.findings
            .iter()
            .any(|f| f.message.contains("raise a claim"))
    );
}

fn soft(fixture: &mut Fixture) {
    fixture.edit("laboratoryReports/y-1", |y: &mut LaboratoryReport| {
        y.specimens
            .iter_mut()
            .for_each(|s| s.flexural_modulus_mpa = 7900.0);
    });
}

#[test]
fn a_variance_is_shown_as_one_and_only_its_roles_give_it() {
    let mut fixture = Fixture::clean();
    soft(&mut fixture);
    fixture.sign(
        "laboratory-report",
        ReleaseKind::Variance,
        "owner",
        "credit agreed",
    );
    assert_eq!(state(&fixture, "laboratory-report"), PointState::Held);
    fixture.sign("laboratory-report", ReleaseKind::Release, "engineer", "");
    assert_eq!(state(&fixture, "laboratory-report"), PointState::Held);
    fixture.sign(
        "laboratory-report",
        ReleaseKind::Variance,
        "engineer",
        "stiff enough at 4.5 mm",
    );
    let status = fixture.signed();
    let varied = point(&status, "laboratory-report");
    assert_eq!(varied.state(), PointState::Variance);
    assert_eq!(varied.reason, "stiff enough at 4.5 mm");
    assert!(status.accepted);
    let last = point(&status, "final-acceptance");
    assert!(
        last.findings
            .iter()
            .any(|f| f.code == "accepted-with-variance")
    );
}

#[test]
fn a_variance_covers_only_what_it_was_given_for() {
    let mut fixture = Fixture::clean();
    soft(&mut fixture);
    fixture.sign(
        "laboratory-report",
        ReleaseKind::Variance,
        "engineer",
        "stiff enough",
    );
    fixture.edit("laboratoryReports/y-1", |y: &mut LaboratoryReport| {
        y.specimens
            .iter_mut()
            .for_each(|s| s.flexural_modulus_mpa = 7000.0);
    });
    let status = fixture.status();
    let varied = point(&status, "laboratory-report");
    assert_eq!(varied.state(), PointState::Held);
    assert!(varied.reopened);
}

#[test]
fn a_variance_runs_out_on_its_last_day_on_site() {
    let mut fixture = Fixture::clean();
    soft(&mut fixture);
    fixture.sign(
        "laboratory-report",
        ReleaseKind::Variance,
        "engineer",
        "until the retest",
    );
    let name = fixture
        .records
        .keys()
        .find(|name| name.contains("/releases/"))
        .unwrap()
        .clone();
    let stored = fixture.records.get_mut(&name).unwrap();
    let mut release: Release = prost::Message::decode(stored.body.clone()).unwrap();
    release.valid_until_date = on("2026-06-20");
    stored.body = prost::Message::encode_to_vec(&release).into();
    fixture.time_ms = ms("2026-06-20 23:59");
    assert_eq!(state(&fixture, "laboratory-report"), PointState::Variance);
    fixture.time_ms = ms("2026-06-21 00:01");
    assert_eq!(state(&fixture, "laboratory-report"), PointState::Held);
}

#[test]
fn a_release_of_another_segment_does_not_count() {
    let mut fixture = Fixture::clean();
    fixture.sign("ready-to-line", ReleaseKind::Release, "inspector", "");
    let name = fixture
        .records
        .keys()
        .find(|name| name.contains("/releases/"))
        .unwrap()
        .clone();
    let stored = fixture.records.get_mut(&name).unwrap();
    let mut release: Release = prost::Message::decode(stored.body.clone()).unwrap();
    release.segment = full("segments/s-2");
    stored.body = prost::Message::encode_to_vec(&release).into();
    assert_eq!(state(&fixture, "ready-to-line"), PointState::AwaitsRelease);
}

#[test]
fn a_limit_changed_in_the_plan_opens_what_rested_on_it() {
    let mut fixture = Fixture::clean();
    fixture.sign("ready-to-line", ReleaseKind::Release, "inspector", "");
    let changed = super::fixture::PLAN.replace("value = 48\n", "value = 24\n");
    fixture.plan = obvert_closeout::plan::parse(&changed).unwrap();
    assert_eq!(state(&fixture, "ready-to-line"), PointState::AwaitsRelease);
    fixture.edit("segments/s-1", |segment: &mut Segment| {
        segment.location = "rear easement".into()
    });
    assert_eq!(state(&fixture, "ready-to-line"), PointState::AwaitsRelease);
}

#[test]
fn a_point_passed_by_who_recorded_its_evidence_says_so() {
    let mut fixture = Fixture::clean();
    fixture.sign("ready-to-line", ReleaseKind::Release, "inspector", "");
    let note = |fixture: &Fixture| {
        let status = fixture.status();
        let ready = point(&status, "ready-to-line");
        assert_eq!(ready.state(), PointState::Released);
        let mut notes = ready.findings.iter();
        notes
            .find(|f| f.code == "released-by-its-recorder")
            .map(|f| (f.holds, f.message.clone()))
    };
    assert_eq!(note(&fixture), None);
    let survey = fixture.records.get_mut(&full("surveys/v-ready")).unwrap();
    survey.caller.principal = "person/inspector".into();
    let (holds, message) = note(&fixture).unwrap();
    assert!(!holds);
    assert!(
        message.contains("surveys/v-ready and passed point"),
        "{message}"
    );
}
