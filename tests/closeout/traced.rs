//! The trace of a segment: each figure with its record, and the words beside it.

use obvert_closeout::load_segment;
use obvert_proto::{
    closeout::v1::{TraceSegmentRequest, closeout_service_server::CloseoutService},
    material::v1::LinerOrder,
    project::v1::Role,
};

use super::{
    Fixture,
    fixture::{PLAN, SEGMENT},
    stored::{Site, by},
};

#[tokio::test]
async fn a_trace_prints_as_many_digits_of_a_wall_as_show_what_it_lacks() {
    let mut fixture = Fixture::clean();
    // The design says at least 4.2 mm.
    fixture.edit("orders/o-1", |order: &mut LinerOrder| {
        order.wall.as_mut().unwrap().wall_thickness_mm = 4.197;
    });
    let site = Site::of(fixture, PLAN).await;
    let request = TraceSegmentRequest {
        segment: SEGMENT.into(),
        revision: 0,
    };
    let trace = site.closeout.trace_segment(by(Role::Owner, request)).await;
    let trace = trace.unwrap().into_inner();
    let told = trace.statements.join("\n").replace('\u{a0}', " ");
    for said in ["says 4.197 mm", "at least 4.200 mm", ": 0.003 mm short."] {
        assert!(told.contains(said), "{said}: {told}");
    }
    let wall = trace.facts.iter().find(|f| f.title == "Thickness").unwrap();
    let ordered = wall.figures.iter().find(|f| f.stage == "ordered").unwrap();
    assert!(
        ordered.disagrees && ordered.figure.starts_with("4.197"),
        "{ordered:?}"
    );
}

#[tokio::test]
async fn each_figure_is_traced_to_its_record_and_revision() {
    let site = Site::clean().await;
    let request = TraceSegmentRequest {
        segment: SEGMENT.into(),
        revision: 0,
    };
    let trace = site
        .closeout
        .trace_segment(by(Role::Owner, request))
        .await
        .unwrap()
        .into_inner();
    let wall = trace.facts.iter().find(|f| f.title == "Thickness").unwrap();
    let stages: Vec<_> = wall.figures.iter().map(|f| f.stage.as_str()).collect();
    let expected = ["design", "ordered", "certified", "received", "measured"];
    assert_eq!(stages, expected);
    let loaded = load_segment(&site.ledger, SEGMENT, 0).await.unwrap();
    for figure in &wall.figures {
        let record = figure.record.clone().unwrap();
        let stored = loaded
            .gathered
            .records
            .iter()
            .find(|s| s.name == record.name);
        assert_eq!(stored.unwrap().revision, record.revision, "{figure:?}");
        assert!(figure.figure.contains("mm"), "{figure:?}");
        assert!(!figure.grade.is_empty() && !figure.principal.is_empty());
    }
}
