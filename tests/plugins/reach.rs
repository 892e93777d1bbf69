//! What a plug-in is asked about, and how often at a time.

use std::sync::{
    Arc,
    atomic::{AtomicUsize, Ordering},
};

use futures::future::join_all;
use obvert_ledger::Stored;
use obvert_plugins::{Kind, Plugin, Question, Registration, ask_verdict};
use obvert_proto::closeout::v1::PointState;

use super::{
    fake::{Fake, held},
    served::registration,
    site::{Site, is_held_by, point},
};
use crate::closeout::fixture::{SEGMENT, full, point_of, store};

const SHUT: &str = "shut-out";
const HEARD: &str = "heard-check";

#[tokio::test]
async fn one_registered_for_other_projects_is_not_shown_this_one() {
    let site = Site::under(&format!("{}{}", point(SHUT, ""), point(HEARD, ""))).await;
    let (shut, heard) = (Fake::releasing(SHUT), Fake::releasing(HEARD));
    let (shut_served, heard_served) = (shut.serve(), heard.serve());
    let elsewhere = Registration {
        projects: vec!["another".into()],
        ..registration(SHUT, Kind::Evaluator, shut_served.path())
    };
    site.ask(Plugin::new(elsewhere).unwrap());
    site.ask(heard_served.plugin(HEARD, Kind::Evaluator));
    let status = site
        .until(HEARD, |point| point.state() == PointState::Released)
        .await;
    assert!(is_held_by(
        point_of(&status, SHUT),
        "missing-plug-in-verdict"
    ));
    assert_eq!(shut.call_count(), 0);
}

#[tokio::test]
async fn a_project_without_a_plan_keeps_no_other_waiting() {
    let site = Site::under(&point(HEARD, "")).await;
    let moved = |name: &str| {
        let stored = &site.fixture.records[name];
        Stored {
            name: name.replace("quillfern", "aldermoss"),
            refers: Vec::new(),
            ..stored.clone()
        }
    };
    let mut project = moved("projects/quillfern");
    project.body = bytes::Bytes::new();
    let records = [project, moved(SEGMENT)];
    let time_ms = site.fixture.time_ms;
    store::commit(&site.ledger, "aldermoss", records.iter().collect(), time_ms).await;
    let served = Fake::releasing(HEARD).serve();
    site.ask(served.plugin(HEARD, Kind::Evaluator));
    site.until(HEARD, |point| point.state() == PointState::Released)
        .await;
}

#[tokio::test]
async fn no_more_questions_are_under_way_than_its_calls_allow() {
    let (now, most) = (Arc::new(AtomicUsize::new(0)), Arc::new(AtomicUsize::new(0)));
    let counted = (now, Arc::clone(&most));
    let fake = Fake::waiting(HEARD, move |request| {
        let (now, most) = counted.clone();
        Box::pin(async move {
            most.fetch_max(now.fetch_add(1, Ordering::SeqCst) + 1, Ordering::SeqCst);
            tokio::time::sleep(std::time::Duration::from_millis(20)).await;
            now.fetch_sub(1, Ordering::SeqCst);
            Ok(held(&request, "held", "no"))
        })
    });
    let served = fake.serve();
    let plugin = served.plugin(HEARD, Kind::Evaluator);
    let questions = (0..8).map(|number| Question {
        segment: full(&format!("segments/s-{number}")),
        point: HEARD.into(),
        ..Question::default()
    });
    let questions: Vec<_> = questions.collect();
    let answers = join_all(questions.iter().map(|one| ask_verdict(&plugin, one))).await;
    assert!(
        answers.iter().all(|answer| answer.said.is_ok()),
        "{answers:?}"
    );
    assert_eq!(most.load(Ordering::SeqCst), 2);
}
