//! Witnesses that were told in time and did not come.

use obvert_closeout::load_segment;
use obvert_proto::{
    closeout::v1::{PointState, ReleaseKind, ReleasePointRequest},
    common::v1::{LocalDate, PaperGrade},
    project::v1::{Document, Role},
};

use super::{
    Fixture,
    fixture::{
        SEGMENT,
        asked::{STRICT, clean_under},
        full, ms, on, store,
    },
    point,
    stored::{Site, ready, reason},
};

/// A notice to the witness of the leak test.
fn notice(fixture: &mut Fixture, signed_date: Option<LocalDate>) {
    let notice = Document {
        evidence_kind: "witness-notice-leak-test".into(),
        subjects: vec![SEGMENT.into()],
        signed_by: "inspector on duty".into(),
        signed_date,
        grade: PaperGrade::Direct.into(),
        ..Document::default()
    };
    fixture.add("documents/notice", notice);
}

/// The clean segment with such a notice, all of it filed at a time.
fn noticed(filed: &str, signed: &str) -> Fixture {
    let mut fixture = clean_under(STRICT);
    notice(&mut fixture, on(signed));
    fixture.time_ms = ms(filed);
    fixture
}

fn lapse(request_id: &str) -> ReleasePointRequest {
    ReleasePointRequest {
        point: "leak-test".into(),
        ..ready(request_id, ReleaseKind::Lapse, "")
    }
}

#[tokio::test]
async fn a_witness_point_lapses_only_after_due_notice_and_rests_on_the_proof() {
    let without = Site::of(clean_under(STRICT), STRICT).await;
    let refused = without.release(Role::Inspector, lapse("q-1")).await;
    let refused = refused.unwrap_err();
    assert_eq!(reason(&refused), "ACT_REFUSED");
    assert!(
        refused.message().contains("witness-notice-leak-test"),
        "{}",
        refused.message()
    );
    // The leak test of the clean segment is on 2026-05-04 at 11:38.
    let young = Site::of(noticed("2026-05-03 08:00", "2026-04-20"), STRICT).await;
    let refused = young.release(Role::Inspector, lapse("q-1")).await;
    let refused = refused.unwrap_err();
    assert_eq!(reason(&refused), "ACT_REFUSED");
    assert!(
        refused.message().contains(">= 48 h"),
        "{}",
        refused.message()
    );
    let due = Site::of(noticed("2026-05-01 08:00", "2026-04-20"), STRICT).await;
    let lapsed = due.release(Role::Inspector, lapse("q-1")).await.unwrap();
    assert_eq!(lapsed, PointState::Released);
    let given = due.given().await;
    let release = given.releases[0].release.as_ref().unwrap();
    assert_eq!(release.release_kind(), ReleaseKind::Lapse);
    let mut evidence = release.evidence.iter();
    assert!(evidence.any(|record| record.name.ends_with("documents/notice")));
}

#[tokio::test]
async fn a_notice_that_comes_with_or_after_the_work_proves_nothing() {
    for (filed, signed) in [
        ("2026-06-10 12:00", "2026-04-20"),
        ("2026-05-01 08:00", "2026-05-04"),
    ] {
        let late = Site::of(noticed(filed, signed), STRICT).await;
        let refused = late.release(Role::Inspector, lapse("q-1")).await;
        let refused = refused.unwrap_err();
        assert_eq!(reason(&refused), "ACT_REFUSED");
        assert!(
            refused.message().contains("a notice comes before the work"),
            "{}",
            refused.message()
        );
    }
}

#[tokio::test]
async fn a_notice_that_somebody_typed_is_taken_after_another_role_has_compared_it() {
    let mut typed = noticed("2026-05-01 08:00", "2026-04-20");
    typed.edit("documents/notice", |notice: &mut Document| {
        notice.grade = PaperGrade::Transcribed.into();
    });
    let typed = Site::of(typed, STRICT).await;
    let refused = typed.release(Role::Inspector, lapse("q-1")).await;
    let refused = refused.unwrap_err();
    assert_eq!(reason(&refused), "ACT_REFUSED");
    assert!(
        refused.message().contains("this point takes"),
        "{}",
        refused.message()
    );
}

#[tokio::test]
async fn a_notice_that_is_corrected_opens_the_point_that_lapsed_on_it() {
    let site = Site::of(noticed("2026-05-01 08:00", "2026-04-20"), STRICT).await;
    site.release(Role::Inspector, lapse("q-1")).await.unwrap();
    let lapsed = load_segment(&site.ledger, SEGMENT, 0)
        .await
        .unwrap()
        .status();
    let leak_test = point(&lapsed, "leak-test");
    assert_eq!(leak_test.state(), PointState::Released);
    let mut evidence = leak_test
        .evidence
        .iter()
        .filter_map(|used| used.record.as_ref());
    assert!(evidence.any(|record| record.name.ends_with("documents/notice")));
    let mut fixture = site.fixture.clone();
    for (change, opens) in [(on("2026-04-20"), false), (on("2026-04-21"), true)] {
        fixture.edit("documents/notice", |notice: &mut Document| {
            notice.title = "notice, scanned again".into();
            notice.signed_date = change;
        });
        let later = &fixture.records[&full("documents/notice")];
        let now = obvert_records::now_ms();
        store::commit(&site.ledger, "quillfern", vec![later], now).await;
        let status = load_segment(&site.ledger, SEGMENT, 0)
            .await
            .unwrap()
            .status();
        assert_eq!(point(&status, "leak-test").reopened, opens, "{change:?}");
    }
}
