//! A verdict that comes back: kept as a record, asked once for the same evidence, never waited for.

use obvert_closeout::load_segment;
use obvert_plugins::Kind;
use obvert_proto::{
    closeout::v1::{PointState, PointStatus, Verdict},
    installation::v1::Run,
    plugin::v1::ParameterDescription,
    project::v1::Notice,
};
use prost::Message;

use super::{
    fake::{Fake, about, held, released},
    site::{Site, hold_point, is_held_by, point},
};
use crate::closeout::fixture::{SEGMENT, full, point_of};

const ID: &str = "owner-check";

fn is_released(status: &PointStatus) -> bool {
    status.state() == PointState::Released
}

#[tokio::test]
async fn a_point_is_held_until_the_plug_in_has_released_it() {
    let site = Site::under(&point(ID, "")).await;
    let before = site.status().await;
    assert!(is_held_by(point_of(&before, ID), "missing-plug-in-verdict"));
    let fake = Fake::releasing(ID);
    let served = fake.serve();
    site.ask(served.plugin(ID, Kind::Evaluator));
    let after = site.until(ID, is_released).await;
    let evidence = &point_of(&after, ID).evidence;
    assert!(
        evidence
            .iter()
            .any(|used| used.evidence_kind == "plug-in-verdict")
    );
    assert!(
        evidence
            .iter()
            .any(|used| used.record.as_ref().unwrap().name == full("runs/r-1"))
    );
}

#[tokio::test]
async fn a_verdict_never_stands_in_for_the_release_of_a_person() {
    let site = Site::under(&hold_point(ID)).await;
    let served = Fake::releasing(ID).serve();
    site.ask(served.plugin(ID, Kind::Evaluator));
    let awaits = |point: &PointStatus| point.state() == PointState::AwaitsRelease;
    let status = site.until(ID, awaits).await;
    assert_eq!(point_of(&status, ID).verdict(), Verdict::Released);
    assert!(!status.accepted && point_of(&status, ID).release.is_empty());
}

#[tokio::test]
async fn the_verdict_is_a_record_by_the_plug_in_with_version_and_digest() {
    let site = Site::under(&point(ID, "")).await;
    let served = Fake::releasing(ID).serve();
    site.ask(served.plugin(ID, Kind::Evaluator));
    site.until(ID, is_released).await;
    let loaded = load_segment(&site.ledger, SEGMENT, 0).await.unwrap();
    let [verdict] = &loaded.file.plugin_verdicts[..] else {
        panic!("{:?}", loaded.file.plugin_verdicts)
    };
    assert_eq!(verdict.principal, "plug-in/owner-check");
    assert_eq!(verdict.evaluator_version, "1.0.0");
    assert_eq!(verdict.evidence_digest, loaded.file.evidence_digest());
    let before = load_segment(&site.ledger, SEGMENT, verdict.revision - 1)
        .await
        .unwrap();
    assert!(is_held_by(
        point_of(&before.status(), ID),
        "missing-plug-in-verdict"
    ));
}

#[tokio::test]
async fn new_evidence_is_asked_about_and_the_same_evidence_never_again() {
    let mut site = Site::under(&point(ID, "")).await;
    let fake = Fake::releasing(ID);
    let served = fake.serve();
    site.ask(served.plugin(ID, Kind::Evaluator));
    site.until(ID, is_released).await;
    let first = load_segment(&site.ledger, SEGMENT, 0).await.unwrap().file;
    site.edit("runs/r-1", |run: &mut Run| {
        run.pull_force_max_kn = Some(11.5)
    })
    .await;
    let revised = site
        .until(ID, |point| is_released(point) && fake.call_count() > 1)
        .await;
    assert!(revised.revision > first.revision);
    assert_eq!(fake.call_count(), 2);
    // Its own commits are no evidence: the task has looked at them by now and asked nothing.
    site.edit("notices/p-1", |_: &mut Notice| {}).await;
    site.until(ID, |point| is_released(point) && fake.call_count() > 2)
        .await;
    assert_eq!(fake.call_count(), 3);
}

#[tokio::test]
async fn what_it_holds_is_shown_under_its_name_with_its_finding() {
    let site = Site::under(&point(ID, "")).await;
    let fake = Fake::new(ID, |request| {
        Ok(held(&request, "yard-open", "the yard gate stood open"))
    });
    let served = fake.serve();
    site.ask(served.plugin(ID, Kind::Evaluator));
    let status = site.until(ID, |point| is_held_by(point, "yard-open")).await;
    let findings = &point_of(&status, ID).findings;
    assert!(
        findings
            .iter()
            .any(|f| f.message == "owner-check 1.0.0: the yard gate stood open")
    );
    assert_eq!(point_of(&status, ID).verdict(), Verdict::Held);
}

#[tokio::test]
async fn it_may_say_that_the_point_does_not_apply_and_why() {
    let site = Site::under(&point(ID, "")).await;
    let fake = Fake::new(ID, |request| {
        let mut answer = released(request);
        answer.verdict = Verdict::NotApplicable.into();
        answer.not_applicable_reason = "the segment lies in a street".into();
        Ok(answer)
    });
    let served = fake.serve();
    site.ask(served.plugin(ID, Kind::Evaluator));
    let status = site
        .until(ID, |point| point.state() == PointState::NotApplicable)
        .await;
    assert!(
        point_of(&status, ID)
            .reason
            .contains("the segment lies in a street")
    );
}

#[tokio::test]
async fn settings_of_the_plan_reach_it_and_people_do_not() {
    let site = Site::under(&point(ID, "\"depth_max_m=4\"")).await;
    let mut fake = Fake::new(ID, |request| {
        let sent = request
            .evidence
            .iter()
            .filter_map(|sent| sent.body.as_ref());
        let runs: Vec<_> = sent
            .filter_map(|body| Run::decode(&body.value[..]).ok())
            .collect();
        let is_set = request
            .parameters
            .get("depth_max_m")
            .is_some_and(|depth| depth == "4");
        let has_people = runs.iter().any(|run| !run.crew_lead.is_empty());
        if is_set && runs.len() == 1 && !has_people {
            return Ok(released(request));
        }
        Ok(about(&request))
    });
    fake.description.evidence_types = vec!["obvert.installation.v1.Run".into()];
    fake.description.parameters = vec![ParameterDescription {
        name: "depth_max_m".into(),
        description: "Greatest depth.".into(),
        required: true,
    }];
    let served = fake.serve();
    site.ask(served.plugin(ID, Kind::Evaluator));
    site.until(ID, is_released).await;
}
