//! Orders, liners and their papers: what each claims, and what cannot be true of one.

use obvert_proto::material::v1::{
    Batch, Liner, LinerCertificate, LinerOrder, OrderedSegment, ToleranceBand, record::Body,
};

use super::{
    papers::{create, day, good, order, sheet, with_designs, write_design},
    store::{fact, named, reason, violates},
};

#[tokio::test]
async fn a_serial_a_batch_and_a_liners_certificate_are_held_once() {
    let (_store, mut client) = with_designs().await;
    good().file(&mut client).await;
    let liner = Liner {
        serial: "FM-0041".into(),
        order: named("orders", "o-1"),
    };
    let batch = Batch {
        material: "resin".into(),
        batch_number: "R-88".into(),
        made_date: day(1, 6),
    };
    let certificate = good().certificate;
    for (id, body, claim, holder) in [
        (
            "n-2",
            Body::Liner(liner),
            "liner-serial/FM-0041",
            named("liners", "n-1"),
        ),
        (
            "b-2",
            Body::Batch(batch),
            "batch/resin/R-88",
            named("batches", "b-1"),
        ),
        (
            "c-2",
            Body::LinerCertificate(certificate),
            "certificate/n-1",
            named("certificates", "c-1"),
        ),
    ] {
        let refused = create(&mut client, id, body).await.unwrap_err();
        assert_eq!(reason(&refused), "CLAIM_TAKEN");
        assert_eq!(
            (fact(&refused, "claim").as_str(), fact(&refused, "holder")),
            (claim, holder)
        );
    }
}

#[tokio::test]
async fn an_order_names_designs_of_its_segments_at_revisions_they_have_had() {
    let (store, mut client) = with_designs().await;
    create(&mut client, "m-1", Body::MakerSheet(sheet()))
        .await
        .unwrap();
    let ordered = |segment: &str, design: &str, design_revision| OrderedSegment {
        segment: named("segments", segment),
        design: named("designs", design),
        design_revision,
    };
    let wrong = LinerOrder {
        segments: vec![ordered("s-014", "d-015", 5), ordered("s-015", "d-015", 99)],
        ..order()
    };
    let refused = create(&mut client, "o-1", Body::LinerOrder(wrong))
        .await
        .unwrap_err();
    let expected = [
        (
            "liner_order.segments[0].design",
            "of projects/quillfern/segments/s-015",
        ),
        ("liner_order.segments[1].design_revision", "is 99"),
    ];
    violates(&refused, &expected);
    let newer = write_design(&store, "d-014", "s-014").await;
    assert!(newer > 3);
    let read_before = LinerOrder {
        segments: vec![ordered("s-014", "d-014", 3)],
        ..order()
    };
    create(&mut client, "o-1", Body::LinerOrder(read_before))
        .await
        .unwrap();
}

#[tokio::test]
async fn an_order_that_cannot_be_true_of_itself_is_refused_with_all_that_is_wrong() {
    let (_store, mut client) = with_designs().await;
    create(&mut client, "m-1", Body::MakerSheet(sheet()))
        .await
        .unwrap();
    let twice = order().segments[0].clone();
    let wrong = LinerOrder {
        segments: vec![twice.clone(), twice],
        host_diameter_min_mm: 210.0,
        required_by_date: day(1, 3),
        ..order()
    };
    let refused = create(&mut client, "o-1", Body::LinerOrder(wrong))
        .await
        .unwrap_err();
    let expected = [
        (
            "liner_order.host_diameter_max_mm",
            "is 204 mm, below host_diameter_min_mm, 210 mm",
        ),
        ("liner_order.segments[1].segment", "again"),
        (
            "liner_order.required_by_date",
            "2026-01-03, not after order_date, 2026-01-04",
        ),
    ];
    violates(&refused, &expected);
}

#[tokio::test]
async fn ends_of_a_sheets_ranges_stand_in_their_order() {
    let (_store, mut client) = with_designs().await;
    let band = ToleranceBand {
        nominal_diameter_mm: 200.0,
        wall_class_mm: 4.0,
        lamp_count: 8,
        lamp_power_w: 500.0,
        least_lamps_count: 9,
        speed_min_m_per_min: Some(1.2),
        speed_max_m_per_min: Some(0.8),
        ..ToleranceBand::default()
    };
    let mut wrong = sheet();
    wrong.storage_max_celsius = 2.0;
    wrong.bands = vec![band, band];
    let refused = create(&mut client, "m-1", Body::MakerSheet(wrong))
        .await
        .unwrap_err();
    let expected = [
        (
            "maker_sheet.storage_max_celsius",
            "below storage_min_celsius, 5 C",
        ),
        (
            "maker_sheet.bands[0].least_lamps_count",
            "the train has 8 lamps",
        ),
        (
            "maker_sheet.bands[0].speed_max_m_per_min",
            "below speed_min_m_per_min, 1.2 m/min",
        ),
        (
            "maker_sheet.bands[1].least_lamps_count",
            "the train has 8 lamps",
        ),
        (
            "maker_sheet.bands[1].speed_max_m_per_min",
            "below speed_min_m_per_min, 1.2 m/min",
        ),
        ("maker_sheet.bands[1]", "of an earlier band"),
    ];
    violates(&refused, &expected);
}

#[tokio::test]
async fn dates_and_temperatures_of_papers_stand_in_their_order() {
    let (_store, mut client) = with_designs().await;
    good().file(&mut client).await;
    let wrong = LinerCertificate {
        expiry_date: day(1, 10),
        ..good().certificate
    };
    let refused = create(&mut client, "c-2", Body::LinerCertificate(wrong))
        .await
        .unwrap_err();
    violates(
        &refused,
        &[("liner_certificate.expiry_date", "not after wet_out_date")],
    );
    let mut wrong = good().receiving;
    (wrong.transport_min_celsius, wrong.transport_max_celsius) = (Some(20.0), Some(10.0));
    let refused = create(&mut client, "e-2", Body::ReceivingCheck(wrong))
        .await
        .unwrap_err();
    violates(
        &refused,
        &[("receiving_check.transport_max_celsius", "is 10 C")],
    );
    let mut wrong = good().release;
    wrong.storage_min_celsius = Some(25.0);
    let refused = create(&mut client, "v-1", Body::LinerMovement(wrong))
        .await
        .unwrap_err();
    violates(
        &refused,
        &[("liner_movement.storage_max_celsius", "is 21.5 C")],
    );
}
