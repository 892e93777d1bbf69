//! An invented liner from order to receiving check, whose papers agree.

use obvert_ledger::{Caller, Draft, NewEntry};
use obvert_material::Material;
use obvert_proto::{
    common::v1::{LocalDate, Thickness, ThicknessBasis},
    design::v1::WallDesign,
    material::v1::{
        Batch, CreateRecordRequest, Liner, LinerCertificate, LinerMovement, LinerOrder, MakerSheet,
        MovementKind, OrderedSegment, ReceivingCheck, Record, ReviseRecordRequest,
        material_service_client::MaterialServiceClient,
        material_service_server::MaterialServiceServer, record::Body,
    },
    project::v1::record::Body as RegisterBody,
};
use prost::{Message, Name};
use tonic::{Response, Status, service::interceptor::InterceptedService};

use super::store::{self, As, PROJECT, Store, named, office, segment};

/// 2 March 2026, 02:00 UTC: still 1 March where the project lies.
pub(crate) const LATE_ON_1_MARCH_S: i64 = 1_772_416_800;

/// Client of the material.
pub(crate) type Materials =
    MaterialServiceClient<InterceptedService<MaterialServiceServer<Material>, As>>;

pub(crate) fn materials(store: &Store) -> Materials {
    let server = MaterialServiceServer::new(Material::new(store.ledger.clone()));
    MaterialServiceClient::new(InterceptedService::new(server, As(office())))
}

/// A project with two segments, each with a design; nothing is ordered yet.
pub(crate) async fn with_designs() -> (Store, Materials) {
    let store = Store::with_project().await;
    let mut register = store.projects(office());
    for (id, up, down) in [("s-014", "MH-7", "MH-8"), ("s-015", "MH-8", "MH-9")] {
        let body = RegisterBody::Segment(segment(id, up, down));
        store::create(&mut register, PROJECT, id, body)
            .await
            .unwrap();
        write_design(&store, &id.replace('s', "d"), id).await;
    }
    let client = materials(&store);
    (store, client)
}

/// Commits a design as the design service would, which these tests do without.
pub(crate) async fn write_design(store: &Store, id: &str, segment: &str) -> i64 {
    let segment = named("segments", segment);
    let design = WallDesign {
        segment: segment.clone(),
        ..WallDesign::default()
    };
    let entry = NewEntry {
        name: named("designs", id),
        type_name: WallDesign::full_name(),
        body: design.encode_to_vec().into(),
        refers: vec![segment],
        claims: Vec::new(),
    };
    let draft = Draft {
        project: PROJECT.into(),
        caller: Caller::default(),
        request_id: String::new(),
        request_digest: [0; 32],
        reason: String::new(),
        commit_time_ms: 1,
        observed_time_ms: None,
        asserts: Vec::new(),
        entries: vec![entry],
    };
    store.ledger.commit(draft).await.unwrap().revision
}

pub(crate) async fn create(client: &mut Materials, id: &str, body: Body) -> Result<Record, Status> {
    let request = CreateRecordRequest {
        write: store::write(),
        project: PROJECT.into(),
        record_id: id.into(),
        record: Some(Record {
            meta: None,
            body: Some(body),
        }),
    };
    client
        .create_record(request)
        .await
        .map(Response::into_inner)
}

pub(crate) async fn revise(
    client: &mut Materials,
    record: &Record,
    body: Body,
) -> Result<Record, Status> {
    let meta = record.meta.as_ref().unwrap();
    let request = ReviseRecordRequest {
        write: store::revising(&meta.etag),
        name: meta.name.clone(),
        record: Some(Record {
            meta: None,
            body: Some(body),
        }),
    };
    client
        .revise_record(request)
        .await
        .map(Response::into_inner)
}

/// Papers of one liner, as they will be written.
#[derive(Clone)]
pub(crate) struct Papers {
    pub(crate) sheet: MakerSheet,
    pub(crate) order: LinerOrder,
    pub(crate) certificate: LinerCertificate,
    pub(crate) receiving: ReceivingCheck,
    pub(crate) release: LinerMovement,
}

/// Papers that let the liner go.
pub(crate) fn good() -> Papers {
    Papers {
        sheet: sheet(),
        order: order(),
        certificate: certificate(),
        receiving: receiving(),
        release: release(),
    }
}

impl Papers {
    /// Writes everything before the release; receiving check and certificate come back as written.
    pub(crate) async fn file(&self, client: &mut Materials) -> (Record, Record) {
        let batch = Batch {
            material: "resin".into(),
            batch_number: "R-88".into(),
            made_date: day(1, 5),
        };
        let liner = Liner {
            serial: "FM-0041".into(),
            order: named("orders", "o-1"),
        };
        create(client, "m-1", Body::MakerSheet(self.sheet.clone()))
            .await
            .unwrap();
        create(client, "o-1", Body::LinerOrder(self.order.clone()))
            .await
            .unwrap();
        create(client, "b-1", Body::Batch(batch)).await.unwrap();
        create(client, "n-1", Body::Liner(liner)).await.unwrap();
        let certificate = Body::LinerCertificate(self.certificate.clone());
        let certificate = create(client, "c-1", certificate).await.unwrap();
        let receiving = Body::ReceivingCheck(self.receiving.clone());
        (create(client, "e-1", receiving).await.unwrap(), certificate)
    }

    pub(crate) async fn go(&self, client: &mut Materials) -> Result<Record, Status> {
        create(client, "v-2", Body::LinerMovement(self.release.clone())).await
    }
}

pub(crate) fn day(month: i32, day: i32) -> Option<LocalDate> {
    Some(LocalDate {
        year: 2026,
        month,
        day,
    })
}

pub(crate) fn wall(wall_thickness_mm: f64) -> Option<Thickness> {
    let basis = ThicknessBasis::Composite.into();
    Some(Thickness {
        wall_thickness_mm,
        basis,
    })
}

pub(crate) fn sheet() -> MakerSheet {
    MakerSheet {
        maker: "an invented maker".into(),
        designation: "invented liner A".into(),
        sheet_revision: "3".into(),
        valid_from_date: day(1, 1),
        shelf_life_days: 60,
        storage_min_celsius: 5.0,
        storage_max_celsius: 30.0,
        thickness_basis: ThicknessBasis::Composite.into(),
        least_wall_mm: 3.0,
        wall_step_mm: 0.5,
        short_term_flexural_modulus_mpa: 9_000.0,
        short_term_flexural_strength_mpa: 150.0,
        elongation_max_percent: 2.0,
        ..MakerSheet::default()
    }
}

pub(crate) fn order() -> LinerOrder {
    LinerOrder {
        segments: vec![OrderedSegment {
            segment: named("segments", "s-014"),
            design: named("designs", "d-014"),
            design_revision: 3,
        }],
        maker_sheet: named("makerSheets", "m-1"),
        nominal_diameter_mm: 200.0,
        host_diameter_min_mm: 196.0,
        host_diameter_max_mm: 204.0,
        wall: wall(4.0),
        ordered_length_m: 93.0,
        order_date: day(1, 4),
        required_by_date: day(2, 20),
        ..LinerOrder::default()
    }
}

fn certificate() -> LinerCertificate {
    LinerCertificate {
        liner: named("liners", "n-1"),
        serial: "FM-0041".into(),
        designation: "invented liner A".into(),
        batches: vec![named("batches", "b-1")],
        wet_out_date: day(1, 10),
        expiry_date: day(3, 1),
        nominal_diameter_mm: 200.0,
        wall: wall(4.0),
        length_m: 93.0,
        ..LinerCertificate::default()
    }
}

fn receiving() -> ReceivingCheck {
    ReceivingCheck {
        liner: named("liners", "n-1"),
        received_time: Some(prost_types::Timestamp {
            seconds: 1_770_000_000,
            nanos: 0,
        }),
        label_serial: "FM-0041".into(),
        nominal_diameter_mm: 200.0,
        wall: wall(4.0),
        length_m: 93.0,
        wet_out_date: day(1, 10),
        packing_intact: true,
        checked_by: "storeman".into(),
        ..ReceivingCheck::default()
    }
}

fn release() -> LinerMovement {
    let movement_time = prost_types::Timestamp {
        seconds: LATE_ON_1_MARCH_S,
        nanos: 0,
    };
    LinerMovement {
        liner: named("liners", "n-1"),
        movement: MovementKind::ReleasedToCrew.into(),
        movement_time: Some(movement_time),
        segments: vec![named("segments", "s-014")],
        storage_min_celsius: Some(8.0),
        storage_max_celsius: Some(21.5),
        ..LinerMovement::default()
    }
}
