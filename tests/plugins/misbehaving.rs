//! Each way in which a plug-in can misbehave: its own point is held with a finding that says so,
//! a plug-in beside it is heard, and every other point stands as before.

use obvert_plugins::{Kind, Plugin, Registration};
use obvert_proto::{
    closeout::v1::{PointState, PointStatus, Verdict},
    plugin::v1::{EvaluateRequest, EvaluateResponse},
};
use tonic::Status;

use super::{
    fake::{Fake, about, released},
    process::Process,
    served::{Served, registration},
    site::{Site, is_held_by, point},
};
use crate::closeout::fixture::point_of;

const BAD: &str = "bad-check";
const GOOD: &str = "good-check";

/// Asks a bad plug-in beside a good one, and looks at every point afterwards.
async fn held_by(bad: Plugin, codes: &[&str]) -> PointStatus {
    let site = Site::under(&format!("{}{}", point(BAD, ""), point(GOOD, ""))).await;
    let before = site.status().await;
    let good = Process::that_is("honest", GOOD);
    site.ask(bad);
    site.ask(good.plugin());
    site.until(GOOD, |point| point.state() == PointState::Released)
        .await;
    let told = |point: &PointStatus| codes.iter().any(|code| is_held_by(point, code));
    let after = site.until(BAD, told).await;
    for (one, other) in before.points.iter().zip(&after.points) {
        if ![BAD, GOOD].contains(&one.point.as_str()) {
            assert_eq!((&one.point, one.state()), (&other.point, other.state()));
        }
    }
    assert_eq!(point_of(&after, BAD).state(), PointState::Held);
    point_of(&after, BAD).clone()
}

/// The same with a process that misbehaves in a way.
async fn process_held_by(how: &str, code: &str) -> PointStatus {
    let bad = Process::that_is(how, BAD);
    held_by(bad.plugin(), &[code]).await
}

/// One that changes a right answer.
fn lying(change: fn(&mut EvaluateResponse)) -> Served {
    let judge = move |request: EvaluateRequest| {
        let mut answer = released(request);
        change(&mut answer);
        Ok::<_, Status>(answer)
    };
    Fake::new(BAD, judge).serve()
}

fn says(status: &PointStatus, part: &str) -> bool {
    let mut findings = status.findings.iter();
    findings.any(|finding| finding.message.contains(part))
}

#[tokio::test]
async fn one_that_hangs_is_late() {
    let status = process_held_by("hanging", "plug-in-late").await;
    assert!(says(&status, "within 0.7 s"), "{:?}", status.findings);
}

#[tokio::test]
async fn one_that_takes_connections_and_says_nothing_is_late() {
    process_held_by("silent", "plug-in-late").await;
}

#[tokio::test]
async fn one_that_does_not_run_cannot_be_reached() {
    let mut gone = Process::that_is("honest", BAD);
    gone.kill();
    let status = held_by(gone.plugin(), &["plug-in-unreachable"]).await;
    assert!(says(&status, "start it"), "{:?}", status.findings);
}

#[tokio::test]
async fn one_that_crashes_in_a_call_is_out_of_reach_or_failed() {
    let mut bad = Process::that_is("crashing", BAD);
    held_by(bad.plugin(), &["plug-in-unreachable", "plug-in-failed"]).await;
    assert!(!bad.is_running());
}

#[tokio::test]
async fn one_that_crashed_is_heard_once_it_runs_again() {
    let site = Site::under(&point(BAD, "")).await;
    let mut bad = Process::that_is("crashing", BAD);
    site.ask(bad.plugin());
    let told = ["plug-in-unreachable", "plug-in-failed"];
    site.until(BAD, |point| told.iter().any(|code| is_held_by(point, code)))
        .await;
    bad.kill();
    bad.start("honest");
    site.until(BAD, |point| point.state() == PointState::Released)
        .await;
}

#[tokio::test]
async fn one_that_sends_bytes_without_end_that_are_no_call_is_held() {
    let bad = Process::that_is("babbling", BAD);
    let words = ["plug-in-unreachable", "plug-in-failed", "plug-in-late"];
    held_by(bad.plugin(), &words).await;
}

#[tokio::test]
async fn one_that_ends_with_an_error_of_its_own_has_failed() {
    let status = process_held_by("failing", "plug-in-failed").await;
    assert!(says(&status, "out of ideas") && !says(&status, "\u{7}"));
}

#[tokio::test]
async fn an_answer_larger_than_its_limit_is_refused() {
    process_held_by("long", "plug-in-too-large").await;
}

#[tokio::test]
async fn more_evidence_than_it_may_be_sent_is_not_sent() {
    let good = Fake::releasing(BAD);
    let served = good.serve();
    let small = Registration {
        request_bytes: 2_000,
        ..registration(BAD, Kind::Evaluator, served.path())
    };
    let status = held_by(Plugin::new(small).unwrap(), &["plug-in-evidence-too-large"]).await;
    assert!(
        says(&status, "request_bytes allow 2000"),
        "{:?}",
        status.findings
    );
    assert_eq!(good.call_count(), 0);
}

#[tokio::test]
async fn answers_without_end_break_the_contract_and_one_answer_without_end_is_late() {
    process_held_by("endless", "plug-in-breaks-contract").await;
    process_held_by("trickling", "plug-in-late").await;
}

#[tokio::test]
async fn an_answer_of_another_schema_breaks_the_contract() {
    process_held_by("other-schema", "plug-in-breaks-contract").await;
}

#[tokio::test]
async fn a_verdict_for_another_segment_is_not_used() {
    let status = process_held_by("other-segment", "plug-in-other-segment").await;
    assert!(says(&status, "answered about"), "{:?}", status.findings);
}

#[tokio::test]
async fn a_verdict_on_other_evidence_is_not_used() {
    process_held_by("other-evidence", "plug-in-other-evidence").await;
}

#[tokio::test]
async fn evidence_that_was_not_sent_is_not_used() {
    let status = process_held_by("unknown-evidence", "plug-in-unknown-evidence").await;
    assert!(says(&status, "documents/made-up"), "{:?}", status.findings);
    let later = lying(|answer| answer.evidence[0].revision += 1);
    let later = later.plugin(BAD, Kind::Evaluator);
    held_by(later, &["plug-in-unknown-evidence"]).await;
}

#[tokio::test]
async fn verdicts_that_the_contract_does_not_allow_are_not_used() {
    let cases: [fn(&mut EvaluateResponse); 6] = [
        |answer| answer.evidence.clear(),
        |answer| answer.verdict = 99,
        |answer| answer.verdict = Verdict::Unspecified.into(),
        |answer| answer.verdict = Verdict::Held.into(),
        |answer| answer.verdict = Verdict::NotApplicable.into(),
        |answer| answer.point.clear(),
    ];
    for case in cases {
        let bad = lying(case);
        held_by(
            bad.plugin(BAD, Kind::Evaluator),
            &["plug-in-breaks-contract"],
        )
        .await;
    }
}

#[tokio::test]
async fn another_version_of_the_contract_is_named() {
    let status = process_held_by("other-contract", "plug-in-other-contract").await;
    assert!(says(&status, "revision 2"), "{:?}", status.findings);
    let health = tonic::service::Routes::default();
    let none = tonic::transport::Server::builder().add_routes(health);
    let none = Served::of(none);
    held_by(none.plugin(BAD, Kind::Evaluator), &["plug-in-not-served"]).await;
}

#[tokio::test]
async fn one_that_calls_itself_by_another_name_is_not_heard() {
    let mut bad = Fake::releasing(BAD);
    bad.description.evaluator = GOOD.into();
    let bad = bad.serve();
    held_by(bad.plugin(BAD, Kind::Evaluator), &["plug-in-other-name"]).await;
}

#[tokio::test]
async fn a_setting_that_it_does_not_have_is_named() {
    let site = Site::under(&point(BAD, "\"depth_m=4\"")).await;
    let bad = Fake::new(BAD, |request| Ok(about(&request))).serve();
    site.ask(bad.plugin(BAD, Kind::Evaluator));
    site.until(BAD, |point| is_held_by(point, "plug-in-parameters"))
        .await;
}

#[tokio::test]
async fn what_failed_is_asked_again_until_it_answers() {
    let site = Site::under(&point(BAD, "")).await;
    let calls = std::sync::atomic::AtomicUsize::new(0);
    let bad = Fake::new(BAD, move |request| {
        match calls.fetch_add(1, std::sync::atomic::Ordering::SeqCst) {
            0 => Err(Status::internal("not yet")),
            _ => Ok(released(request)),
        }
    });
    let served = bad.serve();
    site.ask(served.plugin(BAD, Kind::Evaluator));
    site.until(BAD, |point| is_held_by(point, "plug-in-failed"))
        .await;
    site.until(BAD, |point| point.state() == PointState::Released)
        .await;
}
