//! Records of the clean segment from the contract to the delivered liner.

use obvert_proto::{
    common::v1::{Datum, LengthBasis, PaperGrade, Thickness, ThicknessBasis},
    design::v1::{DesignSection, HostCondition, WallDesign, WallInputs, WallResult},
    material::v1::{
        Batch, Liner, LinerCertificate, LinerMovement, LinerOrder, MakerSheet, MovementKind,
        OrderedSegment, ReceivingCheck,
    },
    project::v1::{
        AccessPermit, DiameterPlace, DiameterReading, FieldSurvey, Lateral, LateralRegister,
        LateralState, LiveProof, Notice, Parcel, ParcelRelation, ParcelTie, Project, Segment,
    },
};

use super::fixture::{Fixture, SEGMENT, at, full, on};

/// Wall on the basis of the design.
pub(crate) fn wall(wall_thickness_mm: f64) -> Option<Thickness> {
    Some(Thickness {
        wall_thickness_mm,
        basis: ThicknessBasis::Composite.into(),
    })
}

pub(crate) fn file(fixture: &mut Fixture) {
    let project = Project {
        title: "Quillfern Lane rear easements".into(),
        owner: "Marrowby Sanitary District".into(),
        time_zone: "America/New_York".into(),
        pay_length_basis: LengthBasis::WallToWall.into(),
        ..Project::default()
    };
    fixture.put("projects/quillfern", &project);
    fixture.add("segments/s-1", segment("MB-1", "MB-2"));
    lots(fixture);
    laterals(fixture);
    design(fixture);
    liner(fixture);
}

pub(crate) fn segment(upstream: &str, downstream: &str) -> Segment {
    Segment {
        owner_segment_id: format!("{upstream}-{downstream}"),
        upstream_manhole: upstream.into(),
        downstream_manhole: downstream.into(),
        nominal_diameter_mm: 200.0,
        length_centre_to_centre_m: 51.2,
        length_wall_to_wall_m: 50.0,
        upstream_manhole_radius_m: Some(0.6),
        downstream_manhole_radius_m: Some(0.6),
        ..Segment::default()
    }
}

fn lots(fixture: &mut Fixture) {
    let ties = [
        ("p-1", vec![ParcelTie::Served, ParcelTie::Crossed]),
        ("p-2", vec![ParcelTie::Served]),
        ("p-3", vec![ParcelTie::AccessOnly]),
    ];
    for (id, ties) in ties {
        fixture.add(
            &format!("parcels/{id}"),
            Parcel {
                assessor_number: id.into(),
                ..Parcel::default()
            },
        );
        let relation = ParcelRelation {
            segment: SEGMENT.into(),
            parcel: full(&format!("parcels/{id}")),
            ties: ties.into_iter().map(Into::into).collect(),
            ..ParcelRelation::default()
        };
        fixture.add(&format!("parcelRelations/{id}"), relation);
    }
    for id in ["p-1", "p-3"] {
        let permit = AccessPermit {
            parcel: full(&format!("parcels/{id}")),
            instrument: "recorded easement".into(),
            valid_from_date: on("2026-04-01"),
            valid_until_date: on("2026-07-31"),
            ..AccessPermit::default()
        };
        fixture.add(&format!("accessPermits/{id}"), permit);
    }
    for id in ["p-1", "p-2"] {
        let notice = Notice {
            parcel: full(&format!("parcels/{id}")),
            segments: vec![SEGMENT.into()],
            delivered_time: at("2026-05-01 10:00"),
            delivery_method: "door-hanger".into(),
            wording_revision: "B".into(),
            outage_start_time: at("2026-05-04 08:00"),
            outage_end_time: at("2026-05-04 18:00"),
        };
        fixture.add(&format!("notices/{id}"), notice);
    }
}

fn laterals(fixture: &mut Fixture) {
    for (id, parcel, station_m, clock_h) in [("l-1", "p-1", 10.0, 2.0), ("l-2", "p-2", 30.0, 10.0)]
    {
        let lateral = Lateral {
            segment: SEGMENT.into(),
            parcel: full(&format!("parcels/{parcel}")),
            station_m,
            datum: Datum::InsideWall.into(),
            clock_h,
            nominal_diameter_mm: 100.0,
            state: LateralState::Active.into(),
            live_proof: LiveProof::Dye.into(),
            ..Lateral::default()
        };
        fixture.add(&format!("laterals/{id}"), lateral);
    }
    let register = LateralRegister {
        segment: SEGMENT.into(),
        laterals: vec![full("laterals/l-1"), full("laterals/l-2")],
        lateral_count: Some(2),
        signed_by: "inspector".into(),
        signed_time: at("2026-03-02 15:00"),
    };
    fixture.add("lateralRegisters/g-1", register);
}

fn design(fixture: &mut Fixture) {
    let reading = |place: DiameterPlace| DiameterReading {
        place: place.into(),
        max_diameter_mm: 201.0,
        min_diameter_mm: 199.0,
    };
    let places = [
        DiameterPlace::UpstreamEnd,
        DiameterPlace::Inside,
        DiameterPlace::DownstreamEnd,
    ];
    let survey = FieldSurvey {
        segment: SEGMENT.into(),
        survey_time: at("2026-03-02 10:00"),
        diameters: places.into_iter().map(reading).collect(),
        length_wall_to_wall_m: 50.1,
        groundwater_above_crown_m: Some(0.5),
        surveyor: "superintendent".into(),
    };
    fixture.add("fieldSurveys/f-1", survey);
    let design = WallDesign {
        segment: SEGMENT.into(),
        inputs: Some(WallInputs {
            host_condition: HostCondition::FullyDeteriorated.into(),
            host_inside_diameter_mm: 200.0,
            ovality_percent: 2.0,
            short_term_flexural_modulus_mpa: 8000.0,
            modulus_retention_factor: 0.6,
            long_term_flexural_strength_mpa: 90.0,
            short_term_flexural_strength_mpa: 150.0,
            sections: vec![DesignSection {
                cover_m: 2.5,
                groundwater_above_crown_m: 1.0,
                ..DesignSection::default()
            }],
            thickness_basis: ThicknessBasis::Composite.into(),
            ..WallInputs::default()
        }),
        result: Some(WallResult {
            required_wall_thickness_mm: 4.2,
            ..WallResult::default()
        }),
        sealed_by: "PE 00000".into(),
        sealed_date: on("2026-03-10"),
        field_survey: full("fieldSurveys/f-1"),
    };
    fixture.add("designs/d-1", design);
}

fn liner(fixture: &mut Fixture) {
    let sheet = MakerSheet {
        shelf_life_days: 180,
        storage_min_celsius: 5.0,
        storage_max_celsius: 25.0,
        elongation_max_percent: 2.0,
        ..MakerSheet::default()
    };
    fixture.put("projects/office/makerSheets/ms-1", &sheet);
    let ordered = OrderedSegment {
        segment: SEGMENT.into(),
        design: full("designs/d-1"),
        design_revision: fixture.records[&full("designs/d-1")].revision,
    };
    let order = LinerOrder {
        segments: vec![ordered],
        maker_sheet: "projects/office/makerSheets/ms-1".into(),
        nominal_diameter_mm: 200.0,
        host_diameter_min_mm: 192.0,
        host_diameter_max_mm: 208.0,
        wall: wall(4.5),
        ordered_length_m: 54.0,
        packer_grip_m: 0.6,
        sample_length_m: 0.5,
        trim_length_m: 0.2,
        reserve_m: 0.5,
        order_date: on("2026-03-12"),
        second_check_by: "engineer".into(),
        ..LinerOrder::default()
    };
    fixture.add("orders/o-1", order);
    let batch = Batch {
        batch_number: "B-7".into(),
        ..Batch::default()
    };
    fixture.add("batches/b-1", batch);
    fixture.add(
        "liners/n-1",
        Liner {
            serial: "FM-0041".into(),
            order: full("orders/o-1"),
        },
    );
    arrival(fixture);
}

fn arrival(fixture: &mut Fixture) {
    let certificate = LinerCertificate {
        liner: full("liners/n-1"),
        serial: "FM-0041".into(),
        batches: vec![full("batches/b-1")],
        wet_out_date: on("2026-04-02"),
        expiry_date: on("2026-09-20"),
        nominal_diameter_mm: 200.0,
        wall: wall(4.5),
        length_m: 54.2,
        grade: PaperGrade::ConfirmedByIssuer.into(),
        ..LinerCertificate::default()
    };
    fixture.add("certificates/c-1", certificate);
    let check = ReceivingCheck {
        liner: full("liners/n-1"),
        received_time: at("2026-04-20 09:00"),
        label_serial: "FM-0041".into(),
        nominal_diameter_mm: 200.0,
        wall: wall(4.5),
        length_m: 54.2,
        wet_out_date: on("2026-04-02"),
        packing_intact: true,
        transport_min_celsius: Some(8.0),
        transport_max_celsius: Some(21.0),
        label_photos: vec![full("attachments/label")],
        grade: PaperGrade::Direct.into(),
        ..ReceivingCheck::default()
    };
    fixture.add("receivingChecks/k-1", check);
    let movement = LinerMovement {
        liner: full("liners/n-1"),
        movement: MovementKind::ReleasedToCrew.into(),
        movement_time: at("2026-05-04 05:30"),
        storage_min_celsius: Some(9.0),
        storage_max_celsius: Some(19.0),
        ..LinerMovement::default()
    };
    fixture.add("linerMovements/m-1", movement);
}
