//! Releases and variances: when they stand, and when they no longer do.

use obvert_proto::{
    acceptance::v1::{LaboratoryReport, Survey},
    closeout::v1::{Claim, ClaimDecision, Plan, PointState, Release, ReleaseKind},
    common::v1::RecordRef,
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

fn accepted() -> (Fixture, String) {
    let mut fixture = Fixture::clean();
    let status = fixture.signed();
    assert!(status.accepted);
    (fixture, point(&status, "final-acceptance").release.clone())
}

fn thinner(fixture: &mut Fixture, reading_mm: f64) {
    fixture.edit("laboratoryReports/y-1", |y: &mut LaboratoryReport| {
        y.wall_readings_mm[0] = reading_mm
    });
}

fn claim(acceptance: &str) -> Claim {
    Claim {
        segment: full("segments/s-1"),
        acceptance: acceptance.into(),
        records: vec![full("laboratoryReports/y-1")],
        description: "a reading of the wall was corrected".into(),
        raised_time: at("2026-06-10 13:00"),
        raised_by: "owner".into(),
        claim_number: 1,
        ..Claim::default()
    }
}

#[test]
fn after_acceptance_changed_facts_ask_for_a_claim_and_open_nothing_by_themselves() {
    let (mut fixture, acceptance) = accepted();
    thinner(&mut fixture, 4.8);
    let codes = |fixture: &Fixture| {
        let status = fixture.status();
        assert!(!status.accepted);
        let last = point(&status, "final-acceptance");
        assert!(last.reopened);
        let codes: Vec<_> = super::holding(last)
            .iter()
            .map(ToString::to_string)
            .collect();
        (last.state(), codes)
    };
    assert_eq!(
        codes(&fixture),
        (PointState::Held, vec!["claim-not-raised".to_owned()])
    );
    fixture.add("claims/c-1", claim(&acceptance));
    assert_eq!(
        codes(&fixture),
        (PointState::Held, vec!["claim-open".to_owned()])
    );
    fixture.edit("claims/c-1", |claim: &mut Claim| {
        claim.decision = ClaimDecision::WithoutEffect.into();
    });
    assert_eq!(codes(&fixture), (PointState::AwaitsRelease, Vec::new()));
    assert!(fixture.signed().accepted);
}

#[test]
fn a_claim_against_an_older_acceptance_does_not_stand_for_a_newer_change() {
    let (mut fixture, acceptance) = accepted();
    thinner(&mut fixture, 4.8);
    let decided = Claim {
        decision: ClaimDecision::WithoutEffect.into(),
        ..claim(&acceptance)
    };
    fixture.add("claims/c-1", decided);
    assert!(fixture.signed().accepted);
    thinner(&mut fixture, 4.9);
    let status = fixture.status();
    let last = point(&status, "final-acceptance");
    assert_eq!(super::holding(last), ["claim-not-raised"]);
}

#[test]
fn a_plan_changed_half_way_is_said_and_each_release_keeps_the_plan_it_was_judged_by() {
    let mut fixture = Fixture::clean();
    let old = Plan {
        source: super::fixture::PLAN.into(),
        ..Plan::default()
    };
    fixture.put(&full("plans/itp"), &old);
    let former = fixture.records.remove(&full("plans/itp")).unwrap();
    let old_ref = RecordRef {
        name: full("plans/itp"),
        revision: former.revision,
    };
    fixture.former.push(former);
    fixture.sign("ready-to-line", ReleaseKind::Release, "inspector", "");
    let name = fixture
        .records
        .keys()
        .find(|n| n.contains("/releases/"))
        .unwrap()
        .clone();
    let stored = fixture.records.get_mut(&name).unwrap();
    let mut release: Release = prost::Message::decode(stored.body.clone()).unwrap();
    release.plan = Some(old_ref.clone());
    stored.body = prost::Message::encode_to_vec(&release).into();
    let changed = super::fixture::PLAN.replacen("value = 21\n", "value = 14\n", 1);
    fixture.plan = obvert_closeout::plan::parse(&changed).unwrap();
    let status = fixture.status();
    let ready = point(&status, "ready-to-line");
    assert_eq!(
        ready.state(),
        PointState::Released,
        "its own limits are the same"
    );
    assert_eq!(ready.judged_by, Some(old_ref));
    let said = status.plan_changes.join("\n");
    assert!(said.contains("by which ready-to-line stands"), "{said}");
    assert!(
        said.contains("laboratory_report_due_days was <= 21 days"),
        "{said}"
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
    assert_eq!(varied.released_by, "person/engineer (engineer)");
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
    let status = fixture.status();
    assert_eq!(
        point(&status, "laboratory-report").valid_until_date,
        on("2026-06-20")
    );
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
        message.contains("CCTV survey V-ready and passed point"),
        "{message}"
    );
}

#[test]
fn a_correction_that_changes_no_value_is_noted_beside_the_release_that_stands() {
    let mut fixture = Fixture::clean();
    fixture.sign("ready-to-line", ReleaseKind::Release, "inspector", "");
    let survey = full("surveys/v-ready");
    let first = fixture.records[&survey].revision;
    let mut names = fixture.records.keys();
    let name = names.find(|n| n.contains("/releases/")).unwrap().clone();
    let stored = fixture.records.get_mut(&name).unwrap();
    let mut release: Release = prost::Message::decode(stored.body.clone()).unwrap();
    release.evidence = vec![RecordRef {
        name: survey,
        revision: first,
    }];
    stored.body = prost::Message::encode_to_vec(&release).into();
    let notes = |fixture: &Fixture| {
        let status = fixture.status();
        let ready = point(&status, "ready-to-line");
        assert_eq!(ready.state(), PointState::Released);
        let notes = ready.findings.iter();
        let notes = notes.filter(|f| f.code == "release-re-evaluated" && !f.holds);
        notes.map(|f| f.message.clone()).collect::<Vec<_>>()
    };
    assert!(notes(&fixture).is_empty(), "nothing was corrected");
    fixture.edit("surveys/v-ready", |survey: &mut Survey| {
        survey.operator = "another".into()
    });
    let said = notes(&fixture);
    assert_eq!(said.len(), 1);
    assert!(said[0].starts_with("re-evaluated, unchanged: "), "{said:?}");
    assert!(said[0].contains("CCTV survey V-ready; neither"), "{said:?}");
}
