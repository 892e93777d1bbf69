//! Grades of paper: what a lone transcription holds, what releases it, and what opens it again.

use obvert_ledger::Caller;
use obvert_proto::{
    closeout::v1::PointState,
    common::v1::PaperGrade,
    material::v1::LinerCertificate,
    project::v1::{Attachment, PaperAnswer, PaperCheck},
};

use super::{
    Fixture,
    fixture::{full, ms},
    held_in, holding, point,
};

const CERTIFICATE: &str = "certificates/c-1";
const POINT: &str = "certified-wall";

/// The clean segment whose certificate the office typed from an original.
fn transcribed() -> Fixture {
    let mut fixture = Fixture::clean();
    fixture.edit(CERTIFICATE, |paper: &mut LinerCertificate| {
        paper.grade = PaperGrade::Transcribed.into();
        paper.attachments = vec![full("attachments/certificate-1")];
    });
    fixture
}

/// What somebody says of the certificate as it is now.
fn compare(fixture: &mut Fixture, who: &str, answer: PaperAnswer) {
    let (role, link) = match who.split_once('/') {
        Some(("issuer", _)) => ("issuer", full("issuerLinks/x-1")),
        _ => (who.trim_start_matches("person/"), String::new()),
    };
    let check = PaperCheck {
        paper: full(CERTIFICATE),
        paper_revision: fixture.records[&full(CERTIFICATE)].revision,
        originals: vec![full("attachments/certificate-1")],
        answer: answer.into(),
        remark: "length".into(),
        issuer_link: link,
    };
    let caller = Caller {
        principal: who.into(),
        role: role.into(),
        key_id: "k-3".into(),
    };
    let name = full(&format!("paperChecks/x-{}", fixture.revision));
    fixture.put_by(&name, &check, caller);
}

#[track_caller]
fn released(fixture: &Fixture) {
    let status = fixture.status();
    let status = point(&status, POINT);
    assert_eq!(
        status.state(),
        PointState::Released,
        "{:?}",
        status.findings
    );
}

#[test]
fn a_lone_transcription_holds_and_says_what_to_do() {
    let fixture = transcribed();
    held_in(&fixture, POINT, "paper-grade-too-low", CERTIFICATE);
    let status = fixture.status();
    let said = &point(&status, POINT).findings[0].message;
    for words in [
        "person/ines-holt",
        "another role than office",
        "obvert paper check",
        "obvert paper link",
    ] {
        assert!(said.contains(words), "{words} is missing in: {said}");
    }
}

#[test]
fn a_transcription_without_its_original_is_told_to_attach_it_first() {
    let mut fixture = transcribed();
    fixture.edit(CERTIFICATE, |paper: &mut LinerCertificate| {
        paper.attachments.clear()
    });
    let status = fixture.status();
    let said = &point(&status, POINT).findings[0].message;
    assert!(said.contains("attach the original"), "{said}");
}

#[test]
fn a_second_role_s_check_releases_and_a_digit_changed_after_it_holds_again() {
    let mut fixture = transcribed();
    compare(&mut fixture, "person/engineer", PaperAnswer::Agrees);
    released(&fixture);
    fixture.edit(CERTIFICATE, |paper: &mut LinerCertificate| {
        paper.length_m += 0.1
    });
    held_in(&fixture, POINT, "paper-changed-after-check", CERTIFICATE);
    compare(&mut fixture, "person/engineer", PaperAnswer::Agrees);
    released(&fixture);
}

#[test]
fn another_original_after_the_check_holds_again() {
    let mut fixture = transcribed();
    compare(&mut fixture, "person/engineer", PaperAnswer::Agrees);
    let second = Attachment {
        subjects: vec![full(CERTIFICATE)],
        ..Attachment::default()
    };
    fixture.add("attachments/second-sheet", second);
    held_in(&fixture, POINT, "paper-changed-after-check", CERTIFICATE);
}

#[test]
fn a_point_that_takes_the_issuer_s_word_only_is_held_by_a_second_role_s() {
    let mut fixture = transcribed();
    let plan = fixture.plan.points.iter_mut().find(|p| p.id == POINT);
    plan.unwrap().least_grade = PaperGrade::ConfirmedByIssuer;
    compare(&mut fixture, "person/engineer", PaperAnswer::Agrees);
    held_in(&fixture, POINT, "paper-grade-too-low", CERTIFICATE);
    compare(&mut fixture, "issuer/harrowmere", PaperAnswer::Agrees);
    released(&fixture);
}

#[test]
fn an_issuer_s_word_against_a_paper_holds_whoever_else_agrees() {
    let mut fixture = transcribed();
    compare(&mut fixture, "person/engineer", PaperAnswer::Agrees);
    compare(&mut fixture, "issuer/harrowmere", PaperAnswer::Differs);
    held_in(&fixture, POINT, "paper-differs", CERTIFICATE);
    fixture.edit(CERTIFICATE, |paper: &mut LinerCertificate| {
        paper.length_m += 0.1
    });
    compare(&mut fixture, "person/engineer", PaperAnswer::Agrees);
    held_in(&fixture, POINT, "paper-differs", CERTIFICATE);
    compare(&mut fixture, "issuer/harrowmere", PaperAnswer::Agrees);
    released(&fixture);
}

#[test]
fn a_difference_that_one_found_is_not_settled_by_another() {
    let mut fixture = transcribed();
    compare(&mut fixture, "person/inspector", PaperAnswer::Differs);
    compare(&mut fixture, "person/engineer", PaperAnswer::Agrees);
    held_in(&fixture, POINT, "paper-differs", CERTIFICATE);
    compare(&mut fixture, "person/inspector", PaperAnswer::Agrees);
    released(&fixture);
}

#[test]
fn a_correction_settles_what_a_second_role_found_but_is_a_lone_transcription_itself() {
    let mut fixture = transcribed();
    compare(&mut fixture, "person/inspector", PaperAnswer::Differs);
    fixture.edit(CERTIFICATE, |paper: &mut LinerCertificate| {
        paper.length_m += 0.1
    });
    let status = fixture.status();
    let codes = holding(point(&status, POINT));
    assert_eq!(codes, ["paper-grade-too-low"]);
}

#[test]
fn a_grade_that_somebody_wrote_into_a_record_counts_for_nothing() {
    for typed in [
        PaperGrade::CheckedBySecondRole,
        PaperGrade::ConfirmedByIssuer,
    ] {
        let mut fixture = transcribed();
        fixture.edit(CERTIFICATE, |paper: &mut LinerCertificate| {
            paper.grade = typed.into();
        });
        held_in(&fixture, POINT, "paper-grade-too-low", CERTIFICATE);
    }
}

#[test]
fn the_time_of_a_check_does_not_matter_to_a_release() {
    let mut fixture = transcribed();
    compare(&mut fixture, "person/engineer", PaperAnswer::Agrees);
    let before = fixture.status();
    fixture.time_ms = ms("2026-06-12 09:00");
    compare(&mut fixture, "person/inspector", PaperAnswer::Agrees);
    let after = fixture.status();
    let digest = |status| point(status, POINT).facts_digest.clone();
    assert_eq!(digest(&before), digest(&after));
}
