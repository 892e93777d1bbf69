//! The shipped check of working hours: what it releases, and what it holds.

use obvert_plugin_example::WorkingHours;
use obvert_proto::{
    closeout::v1::Verdict,
    common::v1::RecordRef,
    installation::v1::{Run, RunStep},
    plugin::v1::{EvaluateRequest, Evidence, evaluator_service_server::EvaluatorService},
};
use prost::{Message, Name};
use prost_types::Any;
use tonic::Request;

use crate::closeout::fixture::{SEGMENT, at, full};

/// A run over the segment with one step between two times on site.
fn run(from: &str, to: &str) -> Run {
    let step = RunStep {
        start_time: at(from),
        end_time: at(to),
        ..RunStep::default()
    };
    Run {
        segments: vec![SEGMENT.into()],
        steps: vec![step],
        ..Run::default()
    }
}

fn by_day() -> Run {
    run("2026-05-04 07:00", "2026-05-04 19:00")
}

/// Verdict on some runs with codes of what holds, under hours from 7 to 19.
async fn judged(runs: &[Run]) -> (Verdict, Vec<String>) {
    judged_by(runs, "07:00").await
}

async fn judged_by(runs: &[Run], begin: &str) -> (Verdict, Vec<String>) {
    let bodies = runs.iter().map(Message::encode_to_vec);
    answered(bodies.collect(), begin).await
}

async fn answered(bodies: Vec<Vec<u8>>, begin: &str) -> (Verdict, Vec<String>) {
    let evidence = bodies.into_iter().zip(1..).map(|(value, number)| Evidence {
        record: Some(RecordRef {
            name: full(&format!("runs/r-{number}")),
            revision: number,
        }),
        body: Some(Any {
            type_url: format!("type.googleapis.com/{}", Run::full_name()),
            value,
        }),
    });
    let settings = [
        ("begin", begin),
        ("end", "19:00"),
        ("time_zone", "America/New_York"),
    ];
    let settings = settings.map(|(name, value)| (name.to_owned(), value.to_owned()));
    let request = EvaluateRequest {
        segment: SEGMENT.into(),
        parameters: settings.into_iter().collect(),
        evidence: evidence.collect(),
        ..EvaluateRequest::default()
    };
    let answer = WorkingHours.evaluate(Request::new(request)).await;
    let answer = answer.unwrap().into_inner();
    let findings = answer.findings.iter().filter(|finding| finding.holds);
    let codes = findings.map(|finding| finding.code.clone()).collect();
    (answer.verdict(), codes)
}

#[tokio::test]
async fn work_within_the_hours_of_the_site_releases() {
    assert_eq!(judged(&[by_day()]).await, (Verdict::Released, vec![]));
}

#[tokio::test]
async fn work_out_of_hours_or_over_midnight_holds() {
    let nights = [
        run("2026-05-04 06:59", "2026-05-04 12:00"),
        run("2026-05-04 12:00", "2026-05-04 19:01"),
        run("2026-05-04 12:00", "2026-05-05 12:00"),
    ];
    for night in nights {
        let (verdict, codes) = judged(&[by_day(), night]).await;
        assert_eq!(
            (verdict, &codes[..]),
            (Verdict::Held, &["out-of-hours".to_owned()][..])
        );
    }
}

#[tokio::test]
async fn the_reference_clock_decides_and_not_the_one_that_ran_ahead() {
    let mut ahead = run("2026-05-04 07:00", "2026-05-04 12:00");
    ahead.steps[0].clock_offset_s = 60.0;
    assert_eq!(judged(&[ahead.clone()]).await.0, Verdict::Held);
    ahead.steps[0].clock_offset_s = -60.0;
    assert_eq!(judged(&[ahead]).await.0, Verdict::Released);
}

#[tokio::test]
async fn whatever_is_missing_holds() {
    let mut untimed = by_day();
    untimed.steps[0].end_time = None;
    let mut idle = by_day();
    idle.steps.clear();
    let mut elsewhere = by_day();
    elsewhere.segments = vec![full("segments/s-2")];
    let cases = [
        (vec![], "missing-run"),
        (vec![elsewhere], "missing-run"),
        (vec![by_day(), idle], "missing-steps"),
        (vec![by_day(), untimed], "out-of-hours"),
    ];
    for (runs, code) in cases {
        assert_eq!(judged(&runs).await, (Verdict::Held, vec![code.to_owned()]));
    }
    let broken = vec![by_day().encode_to_vec(), vec![0xff; 8]];
    let held = (Verdict::Held, vec!["unreadable-run".to_owned()]);
    assert_eq!(answered(broken, "07:00").await, held);
    let (verdict, codes) = judged_by(&[by_day()], "early").await;
    assert_eq!(
        (verdict, codes),
        (Verdict::Held, vec!["hours-unclear".to_owned()])
    );
}
