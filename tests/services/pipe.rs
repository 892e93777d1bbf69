//! An invented pipe that is lined: segments, maker's sheet, order, liner and run, as other services
//! would have written them.

use obvert_installation::Installation;
use obvert_ledger::{Caller, Draft, NewEntry};
use obvert_proto::{
    dates::from_unix_ms,
    installation::v1::{
        CreateRecordRequest, Record, Run, RunOutcome, RunStep, StepKind,
        installation_service_client::InstallationServiceClient,
        installation_service_server::InstallationServiceServer, record::Body,
    },
    material::v1::{Liner, LinerOrder, MakerSheet, ToleranceBand},
    pool, rules,
};
use prost::{Message, Name};
use prost_reflect::DynamicMessage;
use tonic::{Response, Status, service::interceptor::InterceptedService};

use super::store::{self, As, PROJECT, Store, named, office, segment};

/// 2 March 2026, 14:00 UTC: the lamps are lit.
pub(crate) const LIT_MS: i64 = 1_772_460_000_000;
const MINUTE_MS: i64 = 60_000;

/// Client of the installation.
pub(crate) type Installations =
    InstallationServiceClient<InterceptedService<InstallationServiceServer<Installation>, As>>;

pub(crate) fn installations(store: &Store) -> Installations {
    let server = InstallationServiceServer::new(Installation::new(store.ledger.clone()));
    InstallationServiceClient::new(InterceptedService::new(server, As(office())))
}

/// A project with two segments in a row and a liner made for the first.
pub(crate) async fn with_liner() -> Store {
    let store = Store::with_project().await;
    put(
        &store,
        "segments",
        "s-014",
        &segment("Q-014", "MH-7", "MH-8"),
    )
    .await;
    put(
        &store,
        "segments",
        "s-015",
        &segment("Q-015", "MH-8", "MH-9"),
    )
    .await;
    let sheet = MakerSheet {
        sheet_revision: "3".into(),
        bands: vec![band()],
        ..MakerSheet::default()
    };
    put(&store, "makerSheets", "m-1", &sheet).await;
    let order = LinerOrder {
        maker_sheet: named("makerSheets", "m-1"),
        nominal_diameter_mm: 200.0,
        wall: super::papers::wall(4.0),
        ..LinerOrder::default()
    };
    put(&store, "orders", "o-1", &order).await;
    let liner = Liner {
        serial: "FM-0041".into(),
        order: named("orders", "o-1"),
    };
    put(&store, "liners", "n-1", &liner).await;
    store
}

/// The same with a run over the first segment.
pub(crate) async fn with_run() -> (Store, Installations) {
    let store = with_liner().await;
    let mut client = installations(&store);
    create(&mut client, "r-1", Body::Run(run())).await.unwrap();
    (store, client)
}

/// Own figures for nine lamps of 500 W in a pipe of 200 mm with a wall of 4 mm.
fn band() -> ToleranceBand {
    ToleranceBand {
        nominal_diameter_mm: 200.0,
        wall_class_mm: 4.0,
        lamp_count: 9,
        lamp_power_w: 500.0,
        least_lamps_count: 8,
        speed_min_m_per_min: Some(0.8),
        speed_max_m_per_min: Some(1.2),
        pressure_min_kpa: Some(29.0),
        pressure_max_kpa: Some(60.0),
        wall_temperature_min_celsius: Some(60.0),
        wall_temperature_max_celsius: Some(150.0),
    }
}

/// A whole run over the first segment. The liner stands 2.56 m beyond the walls, 90.2 m apart.
pub(crate) fn run() -> Run {
    Run {
        segments: vec![named("segments", "s-014")],
        manholes: vec!["MH-7".into(), "MH-8".into()],
        liner: named("liners", "n-1"),
        serial_at_pull_in: "FM-0041".into(),
        outcome: RunOutcome::Complete.into(),
        steps: vec![
            step(StepKind::PullIn, -120, -60),
            step(StepKind::Cure, 0, 95),
            step(StepKind::Reopening, 180, 240),
        ],
        ends_beyond_walls_m: 2.56,
        crew_lead: "KT".into(),
        ..Run::default()
    }
}

/// A step in minutes from the first lamp on.
pub(crate) fn step(kind: StepKind, from_min: i64, to_min: i64) -> RunStep {
    RunStep {
        step: kind.into(),
        start_time: at(from_min),
        end_time: at(to_min),
        ..RunStep::default()
    }
}

/// A time in minutes from the first lamp on.
pub(crate) fn at(minutes: i64) -> Option<prost_types::Timestamp> {
    Some(from_unix_ms(LIT_MS + minutes * MINUTE_MS))
}

pub(crate) async fn create(
    client: &mut Installations,
    id: &str,
    body: Body,
) -> Result<Record, Status> {
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

/// Commits a record of another service, which these tests do without.
pub(crate) async fn put<M: Message + Name>(store: &Store, collection: &str, id: &str, record: &M) {
    let body = record.encode_to_vec();
    let descriptor = pool().get_message_by_name(&M::full_name()).unwrap();
    let message = DynamicMessage::decode(descriptor, body.as_slice()).unwrap();
    let mut refers: Vec<_> = rules::references(&message)
        .into_iter()
        .map(|r| r.name)
        .collect();
    refers.sort();
    refers.dedup();
    let entry = NewEntry {
        name: named(collection, id),
        type_name: M::full_name(),
        body: body.into(),
        refers,
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
    store.ledger.commit(draft).await.unwrap();
}
