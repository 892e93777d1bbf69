//! The hard stop at the release of a liner to a crew: each thing that stands against it, all of
//! them together, and the release once they are mended.

use obvert_proto::{
    common::v1::ThicknessBasis,
    material::v1::{
        Liner, LinerCertificate, LinerMovement, MovementKind, ReceivingCheck, record::Body,
    },
    project::v1::{Document, record::Body as RegisterBody},
};

use super::{
    papers::{
        LATE_ON_1_MARCH_S, Papers, create, day, good, order, revise, sheet, wall, with_designs,
    },
    store::{self, PROJECT, Store, named, office, reason, violates},
};

const DAY_S: i64 = 86_400;

/// Files spoiled papers and asserts what stands against the release; then files the papers as they
/// should be and asserts that the liner goes.
async fn held_until_mended(spoil: impl Fn(&mut Papers), expected: &[(&str, &str)]) {
    let (_store, mut client) = with_designs().await;
    let mut papers = good();
    spoil(&mut papers);
    let (receiving, certificate) = papers.file(&mut client).await;
    let refused = papers.go(&mut client).await.unwrap_err();
    assert_eq!(reason(&refused), "ACT_REFUSED");
    violates(&refused, expected);
    let mended = Body::ReceivingCheck(good().receiving);
    revise(&mut client, &receiving, mended).await.unwrap();
    let mended = Body::LinerCertificate(good().certificate);
    revise(&mut client, &certificate, mended).await.unwrap();
    good().go(&mut client).await.unwrap();
}

fn at(movement: &mut LinerMovement, seconds: i64) {
    movement.movement_time = Some(prost_types::Timestamp { seconds, nanos: 0 });
}

#[tokio::test]
async fn a_liner_whose_papers_agree_is_released_on_its_last_day_where_the_project_lies() {
    let (_store, mut client) = with_designs().await;
    let papers = good();
    papers.file(&mut client).await;
    papers.go(&mut client).await.unwrap();
}

#[tokio::test]
async fn another_serial_on_the_crate_or_the_certificate_holds_the_liner() {
    let crate_of_another = |papers: &mut Papers| papers.receiving.label_serial = "FM-0042".into();
    held_until_mended(
        crate_of_another,
        &[("liner_movement.liner", "read FM-0042 on the crate")],
    )
    .await;
    let paper_of_another = |papers: &mut Papers| papers.certificate.serial = "FM-0040".into();
    held_until_mended(
        paper_of_another,
        &[("liner_movement.liner", "prints FM-0040")],
    )
    .await;
}

#[tokio::test]
async fn a_thinner_wall_or_one_of_another_basis_holds_the_liner_and_a_thicker_one_does_not() {
    let thin = |papers: &mut Papers| papers.certificate.wall = wall(3.5);
    let expected = [(
        "liner_movement.liner",
        "certificates/c-1 states a wall of 3.5 mm, 4 mm",
    )];
    held_until_mended(thin, &expected).await;
    let other_basis = |papers: &mut Papers| {
        let basis = ThicknessBasis::TotalWithFilms.into();
        papers.receiving.wall =
            wall(4.0).map(|wall| obvert_proto::common::v1::Thickness { basis, ..wall });
    };
    held_until_mended(other_basis, &[("liner_movement.liner", "never compared")]).await;
    let (_store, mut client) = with_designs().await;
    let mut thicker = good();
    (thicker.certificate.wall, thicker.receiving.wall) = (wall(4.5), wall(4.5));
    thicker.file(&mut client).await;
    thicker.go(&mut client).await.unwrap();
}

#[tokio::test]
async fn torn_packing_holds_the_liner() {
    let torn = |papers: &mut Papers| papers.receiving.packing_intact = false;
    held_until_mended(torn, &[("liner_movement.liner", "packing not whole")]).await;
}

#[tokio::test]
async fn a_store_too_warm_too_cold_or_not_read_holds_the_liner() {
    let outside = |papers: &mut Papers| {
        papers.release.storage_min_celsius = Some(-1.0);
        papers.release.storage_max_celsius = Some(31.0);
    };
    let expected = [
        (
            "liner_movement.storage_min_celsius",
            "-1 C in store, the maker's sheet allows 5 to 30 C",
        ),
        ("liner_movement.storage_max_celsius", "31 C in store"),
    ];
    held_until_mended(outside, &expected).await;
    let unread = |papers: &mut Papers| papers.release.storage_max_celsius = None;
    held_until_mended(
        unread,
        &[("liner_movement.storage_max_celsius", "not both given")],
    )
    .await;
}

#[tokio::test]
async fn heat_in_an_earlier_movement_holds_the_liner() {
    let (_store, mut client) = with_designs().await;
    let papers = good();
    papers.file(&mut client).await;
    let mut stored = papers.release.clone();
    stored.movement = MovementKind::Stored.into();
    stored.storage_max_celsius = Some(38.0);
    at(&mut stored, LATE_ON_1_MARCH_S - 20 * DAY_S);
    let stored_at = create(&mut client, "v-1", Body::LinerMovement(stored.clone()))
        .await
        .unwrap();
    let refused = papers.go(&mut client).await.unwrap_err();
    violates(
        &refused,
        &[(
            "liner_movement.storage_max_celsius",
            "linerMovements/v-1 had 38 C",
        )],
    );
    stored.storage_max_celsius = Some(28.0);
    revise(&mut client, &stored_at, Body::LinerMovement(stored))
        .await
        .unwrap();
    papers.go(&mut client).await.unwrap();
}

#[tokio::test]
async fn a_segment_for_which_it_was_not_ordered_holds_the_liner() {
    let other = |papers: &mut Papers| papers.release.segments.push(named("segments", "s-015"));
    let expected = [("liner_movement.segments[1]", "orders/o-1 was not written")];
    held_until_mended(other, &expected).await;
}

async fn extension(store: &Store, id: &str, change: impl Fn(&mut Document)) -> String {
    let mut document = Document {
        evidence_kind: "shelf-life-extension".into(),
        subjects: vec![named("liners", "n-1")],
        title: "Extension of shelf life".into(),
        issuer: "an invented maker".into(),
        valid_from_date: day(2, 20),
        valid_until_date: day(3, 10),
        ..Document::default()
    };
    change(&mut document);
    let mut register = store.projects(office());
    let body = RegisterBody::Document(document);
    store::create(&mut register, PROJECT, id, body)
        .await
        .unwrap();
    named("documents", id)
}

#[tokio::test]
async fn a_liner_past_its_date_goes_only_with_an_extension_that_covers_the_day() {
    let (store, mut client) = with_designs().await;
    let mut papers = good();
    papers.file(&mut client).await;
    at(&mut papers.release, LATE_ON_1_MARCH_S + DAY_S);
    let field = "liner_movement.movement_time";
    let refused = papers.go(&mut client).await.unwrap_err();
    assert_eq!(reason(&refused), "ACT_REFUSED");
    violates(
        &refused,
        &[(
            field,
            "it would leave on 2026-03-02 in America/New_York, after the expiry date 2026-03-01",
        )],
    );
    let kind = |d: &mut Document| d.evidence_kind = "delivery-note".into();
    let past = |d: &mut Document| d.valid_until_date = day(3, 1);
    let open = |d: &mut Document| d.valid_until_date = None;
    let other = |d: &mut Document| d.subjects = vec![named("segments", "s-014")];
    let documents = [
        (
            extension(&store, "x-1", kind).await,
            "of the kind delivery-note",
        ),
        (
            extension(&store, "x-2", past).await,
            "no validity that covers that day",
        ),
        (
            extension(&store, "x-3", open).await,
            "no validity that covers that day",
        ),
        (
            extension(&store, "x-4", other).await,
            "not about this liner",
        ),
    ];
    for (document, words) in documents {
        papers.release.extension_document = document;
        violates(
            &papers.go(&mut client).await.unwrap_err(),
            &[(field, words)],
        );
    }
    papers.release.extension_document = extension(&store, "x-5", |_| {}).await;
    papers.go(&mut client).await.unwrap();
}

#[tokio::test]
async fn a_liner_without_papers_is_held_for_each_of_them() {
    let (_store, mut client) = with_designs().await;
    create(&mut client, "m-1", Body::MakerSheet(sheet()))
        .await
        .unwrap();
    create(&mut client, "o-1", Body::LinerOrder(order()))
        .await
        .unwrap();
    let liner = Liner {
        serial: "FM-0041".into(),
        order: named("orders", "o-1"),
    };
    create(&mut client, "n-1", Body::Liner(liner))
        .await
        .unwrap();
    let refused = good().go(&mut client).await.unwrap_err();
    let expected = [
        ("liner_movement.liner", "no receiving check is on file"),
        ("liner_movement.liner", "no maker's certificate is on file"),
    ];
    violates(&refused, &expected);
}

#[tokio::test]
async fn everything_that_stands_against_a_release_is_said_at_once() {
    let all = |papers: &mut Papers| {
        papers.receiving.label_serial = "FM-0042".into();
        papers.receiving.packing_intact = false;
        papers.certificate.wall = wall(3.5);
        papers.certificate.expiry_date = day(2, 1);
        papers.release.storage_max_celsius = Some(44.0);
        papers.release.segments = vec![named("segments", "s-015")];
    };
    let expected = [
        ("liner_movement.liner", "on the crate"),
        ("liner_movement.liner", "packing not whole"),
        ("liner_movement.liner", "3.5 mm"),
        (
            "liner_movement.movement_time",
            "after the expiry date 2026-02-01",
        ),
        ("liner_movement.storage_max_celsius", "44 C"),
        ("liner_movement.segments[0]", "s-015"),
    ];
    held_until_mended(all, &expected).await;
}

#[tokio::test]
async fn the_latest_receiving_check_decides() {
    let (_store, mut client) = with_designs().await;
    let papers = good();
    papers.file(&mut client).await;
    let mut torn: ReceivingCheck = papers.receiving.clone();
    torn.packing_intact = false;
    torn.received_time.as_mut().unwrap().seconds += DAY_S;
    create(&mut client, "e-2", Body::ReceivingCheck(torn))
        .await
        .unwrap();
    let refused = papers.go(&mut client).await.unwrap_err();
    violates(
        &refused,
        &[("liner_movement.liner", "receivingChecks/e-2 found")],
    );
}

#[tokio::test]
async fn other_movements_are_taken_without_papers_and_a_release_cannot_be_slipped_in_by_revising() {
    let (_store, mut client) = with_designs().await;
    let papers = good();
    let (_, certificate) = papers.file(&mut client).await;
    let mut stored = papers.release.clone();
    stored.movement = MovementKind::Stored.into();
    let stored = create(&mut client, "v-1", Body::LinerMovement(stored))
        .await
        .unwrap();
    let expired = LinerCertificate {
        expiry_date: day(2, 1),
        ..papers.certificate.clone()
    };
    revise(&mut client, &certificate, Body::LinerCertificate(expired))
        .await
        .unwrap();
    let slipped = Body::LinerMovement(papers.release.clone());
    let refused = revise(&mut client, &stored, slipped).await.unwrap_err();
    assert_eq!(reason(&refused), "ACT_REFUSED");
}
