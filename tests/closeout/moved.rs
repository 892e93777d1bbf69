//! What was said of a segment once stays in its file, whatever a revision says it is about.

use obvert_closeout::load_segment;
use obvert_proto::{
    acceptance::v1::{Disposition, LaboratoryReport, LeakTest, Nonconformance},
    closeout::v1::{PointState, SegmentStatus},
};

use super::{
    Fixture,
    fixture::{PLAN, SEGMENT, at, full, store},
    point,
    stored::Site,
};

const OTHER: &str = "projects/quillfern/segments/s-2";

/// A second leak test, which failed after the first had passed.
fn with_failed_test() -> Fixture {
    let mut fixture = Fixture::clean();
    let stored = fixture.records[&full("leakTests/t-1")].clone();
    let mut test: LeakTest = prost::Message::decode(stored.body).unwrap();
    test.start_time = at("2026-05-04 11:50");
    test.end_time = at("2026-05-04 12:00");
    test.end_pressure_kpa = Some(3.0);
    fixture.add("leakTests/t-2", test);
    fixture
}

async fn revise(site: &Site, fixture: &Fixture, short: &str) {
    let record = &fixture.records[&full(short)];
    store::commit(&site.ledger, "quillfern", vec![record], fixture.time_ms).await;
}

async fn status(site: &Site) -> SegmentStatus {
    load_segment(&site.ledger, SEGMENT, 0)
        .await
        .unwrap()
        .status()
}

/// What holds a point, by its code.
fn holds(status: &SegmentStatus, id: &str, code: &str) -> bool {
    let mut findings = point(status, id).findings.iter();
    findings.any(|finding| finding.holds && finding.code == code)
}

#[tokio::test]
async fn a_failed_test_that_is_moved_away_holds_until_somebody_decides_on_it() {
    let site = Site::of(with_failed_test(), PLAN).await;
    assert_eq!(
        point(&status(&site).await, "leak-test").state(),
        PointState::Held
    );
    let before = site.ledger.head("quillfern".into()).await.unwrap().revision;
    let mut fixture = site.fixture.clone();
    fixture.edit("leakTests/t-2", |test: &mut LeakTest| {
        test.segment = OTHER.into();
    });
    revise(&site, &fixture, "leakTests/t-2").await;
    let moved = status(&site).await;
    assert_ne!(
        point(&moved, "leak-test").state(),
        PointState::Held,
        "it counts for this segment no more"
    );
    for id in ["nonconformances", "final-acceptance"] {
        assert!(holds(&moved, id, "record-moved-away"), "{id}");
    }
    let then = load_segment(&site.ledger, SEGMENT, before).await.unwrap();
    assert!(then.file.moved_away.is_empty(), "not moved yet");
    let decided = Nonconformance {
        subjects: vec![SEGMENT.into(), full("leakTests/t-2")],
        description: "the test of the pipe beside was filed here".into(),
        found_time: at("2026-05-05 09:00"),
        disposition: Disposition::UseAsIs.into(),
        disposed_by: "engineer".into(),
        disposed_time: at("2026-05-06 09:00"),
        justification: "another manhole in the photo".into(),
        close_time: at("2026-05-06 10:00"),
        closed_by: "engineer".into(),
        ..Nonconformance::default()
    };
    fixture.add("nonconformances/n-moved", decided);
    revise(&site, &fixture, "nonconformances/n-moved").await;
    let settled = status(&site).await;
    for id in ["nonconformances", "final-acceptance"] {
        assert!(!holds(&settled, id, "record-moved-away"), "{id}");
    }
}

#[tokio::test]
async fn a_report_that_is_moved_to_the_sample_of_another_segment_is_missed_here() {
    let site = Site::of(Fixture::clean(), PLAN).await;
    let mut fixture = site.fixture.clone();
    fixture.edit("laboratoryReports/y-1", |report: &mut LaboratoryReport| {
        report.sample = full("samples/of-another");
    });
    revise(&site, &fixture, "laboratoryReports/y-1").await;
    let loaded = load_segment(&site.ledger, SEGMENT, 0).await.unwrap();
    let moved: Vec<_> = loaded.file.moved_away.iter().collect();
    assert_eq!(moved.len(), 1);
    assert_eq!(moved[0].record.name, full("laboratoryReports/y-1"));
    let own = loaded.file.samples[0].name.clone();
    fixture.edit("laboratoryReports/y-1", |report: &mut LaboratoryReport| {
        report.sample = own;
    });
    revise(&site, &fixture, "laboratoryReports/y-1").await;
    let back = load_segment(&site.ledger, SEGMENT, 0).await.unwrap();
    assert!(back.file.moved_away.is_empty(), "it came back");
}
