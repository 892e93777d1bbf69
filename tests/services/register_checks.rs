//! The register's records: what each claims, and what cannot be true of one.

use obvert_proto::{
    common::v1::LocalDate,
    project::v1::{
        self as project, AccessPermit, DiameterReading, Document, FieldSurvey, LateralRegister,
        Notice, ParcelRelation, record::Body,
    },
};

use super::store::{
    PROJECT, Store, contract, create, fact, lateral, named, office, reason, segment, violates,
};

fn date(year: i32, month: i32, day: i32) -> Option<LocalDate> {
    Some(LocalDate { year, month, day })
}

fn time(seconds: i64) -> Option<prost_types::Timestamp> {
    Some(prost_types::Timestamp { seconds, nanos: 0 })
}

#[tokio::test]
async fn a_second_pipe_between_two_manholes_is_refused_naming_the_one_that_holds_the_pair() {
    let store = Store::with_project().await;
    let mut office = store.projects(office());
    let first = segment("QL-014", "MH-7", "MH-8");
    create(&mut office, PROJECT, "s-014", Body::Segment(first))
        .await
        .unwrap();
    let mut reversed = segment("QL-015", "MH-8", "MH-7");
    let refused = create(
        &mut office,
        PROJECT,
        "s-015",
        Body::Segment(reversed.clone()),
    )
    .await;
    let refused = refused.unwrap_err();
    assert_eq!(reason(&refused), "CLAIM_TAKEN");
    assert_eq!(fact(&refused, "holder"), named("segments", "s-014"));
    assert_eq!(fact(&refused, "claim"), "manholes/MH-7|MH-8|1");
    reversed.pipe_ordinal = 2;
    create(&mut office, PROJECT, "s-015", Body::Segment(reversed))
        .await
        .unwrap();
}

#[tokio::test]
async fn an_owners_id_and_a_laterals_place_are_held_once() {
    let store = Store::with_project().await;
    let mut office = store.projects(office());
    let first = Body::Segment(segment("QL-014", "MH-7", "MH-8"));
    create(&mut office, PROJECT, "s-014", first).await.unwrap();
    let again = Body::Segment(segment("QL-014", "MH-8", "MH-9"));
    let refused = create(&mut office, PROJECT, "s-015", again)
        .await
        .unwrap_err();
    assert_eq!(fact(&refused, "claim"), "owner-segment/QL-014");
    create(
        &mut office,
        PROJECT,
        "l-1",
        Body::Lateral(lateral("s-014", 12.341)),
    )
    .await
    .unwrap();
    let near = Body::Lateral(lateral("s-014", 12.339));
    let refused = create(&mut office, PROJECT, "l-2", near).await.unwrap_err();
    assert_eq!(fact(&refused, "holder"), named("laterals", "l-1"));
    let apart = Body::Lateral(lateral("s-014", 12.36));
    create(&mut office, PROJECT, "l-2", apart).await.unwrap();
}

#[tokio::test]
async fn all_that_cannot_be_true_of_a_segment_is_said_at_once() {
    let store = Store::with_project().await;
    let mut office = store.projects(office());
    let wrong = project::Segment {
        length_wall_to_wall_m: 92.0,
        cover_min_m: Some(4.0),
        cover_max_m: Some(2.5),
        nominal_diameter_mm: 20.0,
        ..segment("QL-014", "MH-7", "MH-7")
    };
    let refused = create(&mut office, PROJECT, "s-014", Body::Segment(wrong))
        .await
        .unwrap_err();
    let expected = [
        ("segment.nominal_diameter_mm", "100 to 1900 mm"),
        ("segment.downstream_manhole", "MH-7"),
        (
            "segment.length_wall_to_wall_m",
            "longer than length_centre_to_centre_m, 91.4 m",
        ),
        ("segment.cover_max_m", "below cover_min_m, 4 m"),
    ];
    violates(&refused, &expected);
    let mut short = segment("QL-014", "MH-7", "MH-8");
    short.length_wall_to_wall_m = 89.6;
    let body = Body::Segment(short.clone());
    let refused = create(&mut office, PROJECT, "s-014", body)
        .await
        .unwrap_err();
    violates(
        &refused,
        &[(
            "segment.length_wall_to_wall_m",
            "allow 1.20 m and 0.5 m of slack",
        )],
    );
    short.length_wall_to_wall_m = 89.7;
    create(&mut office, PROJECT, "s-014", Body::Segment(short))
        .await
        .unwrap();
}

#[tokio::test]
async fn a_lateral_register_counts_what_it_lists_and_lists_its_own_segment_only() {
    let store = Store::with_project().await;
    let mut office = store.projects(office());
    for (id, up, down) in [("s-014", "MH-7", "MH-8"), ("s-015", "MH-8", "MH-9")] {
        let pipe = Body::Segment(segment(id, up, down));
        create(&mut office, PROJECT, id, pipe).await.unwrap();
        let pipe = Body::Lateral(lateral(id, 3.0));
        create(&mut office, PROJECT, &id.replace('s', "l"), pipe)
            .await
            .unwrap();
    }
    let (own, foreign) = (named("laterals", "l-014"), named("laterals", "l-015"));
    let register = |laterals: &[&String], count| {
        Body::LateralRegister(LateralRegister {
            segment: named("segments", "s-014"),
            laterals: laterals.iter().map(|name| (*name).clone()).collect(),
            lateral_count: Some(count),
            signed_by: "crew lead".into(),
            signed_time: time(1_770_000_000),
            entered_parcel_count: None,
        })
    };
    let refused = create(&mut office, PROJECT, "g-1", register(&[&own], 2))
        .await
        .unwrap_err();
    violates(
        &refused,
        &[(
            "lateral_register.lateral_count",
            "is 2, but 1 laterals are listed",
        )],
    );
    let refused = create(&mut office, PROJECT, "g-1", register(&[&own, &own], 2)).await;
    violates(
        &refused.unwrap_err(),
        &[("lateral_register.laterals[1]", "again")],
    );
    let refused = create(&mut office, PROJECT, "g-1", register(&[&own, &foreign], 2)).await;
    violates(
        &refused.unwrap_err(),
        &[("lateral_register.laterals[1]", "segments/s-015")],
    );
    create(&mut office, PROJECT, "g-1", register(&[&own], 1))
        .await
        .unwrap();
}

/// A store with a segment and a parcel; their names.
async fn with_segment_and_parcel() -> (Store, String, String) {
    let store = Store::with_project().await;
    let mut office = store.projects(office());
    let pipe = Body::Segment(segment("QL-014", "MH-7", "MH-8"));
    create(&mut office, PROJECT, "s-014", pipe).await.unwrap();
    let parcel = project::Parcel {
        assessor_number: "41-7".into(),
        ..project::Parcel::default()
    };
    create(&mut office, PROJECT, "p-41", Body::Parcel(parcel))
        .await
        .unwrap();
    (store, named("segments", "s-014"), named("parcels", "p-41"))
}

#[tokio::test]
async fn a_time_zone_that_no_place_has_is_refused() {
    let store = Store::empty().await;
    let mut office = store.projects(office());
    let zone = create(
        &mut office,
        "fernhill",
        "fernhill",
        contract("Marrowby/Mill"),
    )
    .await;
    violates(
        &zone.unwrap_err(),
        &[("project.time_zone", "no IANA time zone")],
    );
}

#[tokio::test]
async fn a_field_survey_reads_both_ends_and_the_inside_and_no_diameter_upside_down() {
    let (store, segment, _) = with_segment_and_parcel().await;
    let mut office = store.projects(office());
    let reading = |place, max_diameter_mm, min_diameter_mm| DiameterReading {
        place,
        max_diameter_mm,
        min_diameter_mm,
    };
    let survey = FieldSurvey {
        segment,
        survey_time: time(1_770_000_000),
        diameters: vec![
            reading(1, 203.0, 199.0),
            reading(1, 198.0, 201.0),
            reading(3, 202.0, 200.0),
        ],
        length_wall_to_wall_m: 90.2,
        surveyor: "superintendent".into(),
        ..FieldSurvey::default()
    };
    let refused = create(&mut office, PROJECT, "f-1", Body::FieldSurvey(survey))
        .await
        .unwrap_err();
    let expected = [
        (
            "field_survey.diameters[1].max_diameter_mm",
            "below min_diameter_mm, 201 mm",
        ),
        ("field_survey.diameters", "DIAMETER_PLACE_INSIDE"),
    ];
    violates(&refused, &expected);
}

#[tokio::test]
async fn an_outage_and_the_validity_of_a_paper_do_not_end_before_they_begin() {
    let (store, segment, parcel) = with_segment_and_parcel().await;
    let mut office = store.projects(office());
    let notice = Body::Notice(Notice {
        parcel: parcel.clone(),
        segments: vec![segment.clone()],
        delivered_time: time(1_770_000_000),
        delivery_method: "door-hanger".into(),
        wording_revision: "w-2".into(),
        outage_start_time: time(1_770_100_000),
        outage_end_time: time(1_770_100_000),
    });
    let refused = create(&mut office, PROJECT, "n-1", notice)
        .await
        .unwrap_err();
    violates(
        &refused,
        &[("notice.outage_end_time", "not after outage_start_time")],
    );
    let permit = Body::AccessPermit(AccessPermit {
        parcel,
        instrument: "easement 77".into(),
        valid_from_date: date(2026, 5, 2),
        valid_until_date: date(2026, 5, 1),
        ..AccessPermit::default()
    });
    let refused = create(&mut office, PROJECT, "e-1", permit)
        .await
        .unwrap_err();
    violates(
        &refused,
        &[("access_permit.valid_until_date", "2026-05-01")],
    );
    let document = Body::Document(Document {
        evidence_kind: "insurance".into(),
        subjects: vec![segment],
        title: "Insurance".into(),
        issuer: "Copperbeck Utilities".into(),
        valid_from_date: date(2026, 5, 2),
        valid_until_date: date(2025, 5, 2),
        ..Document::default()
    });
    let refused = create(&mut office, PROJECT, "d-1", document)
        .await
        .unwrap_err();
    violates(&refused, &[("document.valid_until_date", "2025-05-02")]);
}

#[tokio::test]
async fn a_parcel_is_tied_to_a_segment_in_each_way_once() {
    let (store, segment, parcel) = with_segment_and_parcel().await;
    let mut office = store.projects(office());
    let ties = Body::ParcelRelation(ParcelRelation {
        segment,
        parcel,
        ties: vec![1, 2, 1],
        ..ParcelRelation::default()
    });
    let refused = create(&mut office, PROJECT, "t-1", ties).await.unwrap_err();
    violates(
        &refused,
        &[("parcel_relation.ties[2]", "PARCEL_TIE_SERVED again")],
    );
}
