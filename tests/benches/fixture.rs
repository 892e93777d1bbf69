//! A store with one project and one run, written before the server starts.

use std::path::Path;

use obvert_ledger::{Caller, Draft, Ledger, LedgerConfig, NewEntry};
use obvert_proto::{
    dates::from_unix_ms,
    installation::v1::{Run, RunOutcome, RunStep, StepKind},
    material::v1::{Liner, LinerOrder, MakerSheet, ToleranceBand},
    pool,
    project::v1::{Project, Segment},
    rules,
};
use prost::{Message, Name};
use prost_reflect::DynamicMessage;

/// Invented project.
pub(crate) const PROJECT: &str = "quillfern";
/// 2 March 2026, 14:00 UTC: the lamps of the run are lit.
pub(crate) const LIT_MS: i64 = 1_772_460_000_000;
/// Metres between the walls.
pub(crate) const LENGTH_M: f64 = 216.0;

/// Full name of a record.
pub(crate) fn named(collection: &str, id: &str) -> String {
    format!("projects/{PROJECT}/{collection}/{id}")
}

/// Writes project, segment, maker's sheet, order, liner and run.
pub(crate) async fn fill(store: &Path) {
    let ledger = Ledger::open(LedgerConfig::new(store))
        .await
        .expect("a new store");
    let project = Project {
        title: "Quillfern Lane rear easements".into(),
        owner: "Marrowby Sanitary District".into(),
        contractor: "Copperbeck Utilities".into(),
        time_zone: "America/New_York".into(),
        ..Project::default()
    };
    put(&ledger, format!("projects/{PROJECT}"), &project).await;
    let segment = Segment {
        owner_segment_id: "Q-014".into(),
        upstream_manhole: "MH-7".into(),
        downstream_manhole: "MH-8".into(),
        nominal_diameter_mm: 200.0,
        length_centre_to_centre_m: LENGTH_M + 1.2,
        length_wall_to_wall_m: LENGTH_M,
        ..Segment::default()
    };
    put(&ledger, named("segments", "s-014"), &segment).await;
    let sheet = MakerSheet {
        bands: vec![band()],
        ..MakerSheet::default()
    };
    put(&ledger, named("makerSheets", "m-1"), &sheet).await;
    let order = LinerOrder {
        maker_sheet: named("makerSheets", "m-1"),
        nominal_diameter_mm: 200.0,
        wall: Some(obvert_proto::common::v1::Thickness {
            wall_thickness_mm: 4.0,
            ..obvert_proto::common::v1::Thickness::default()
        }),
        ..LinerOrder::default()
    };
    put(&ledger, named("orders", "o-1"), &order).await;
    let liner = Liner {
        serial: "FM-0041".into(),
        order: named("orders", "o-1"),
    };
    put(&ledger, named("liners", "n-1"), &liner).await;
    put(&ledger, named("runs", "r-1"), &run()).await;
    ledger.close().await;
}

fn run() -> Run {
    let step = RunStep {
        step: StepKind::Cure.into(),
        start_time: Some(from_unix_ms(LIT_MS)),
        end_time: Some(from_unix_ms(LIT_MS + 4 * 3_600_000)),
        ..RunStep::default()
    };
    Run {
        segments: vec![named("segments", "s-014")],
        manholes: vec!["MH-7".into(), "MH-8".into()],
        liner: named("liners", "n-1"),
        serial_at_pull_in: "FM-0041".into(),
        outcome: RunOutcome::Complete.into(),
        steps: vec![step],
        crew_lead: "KT".into(),
        ..Run::default()
    }
}

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

async fn put<M: Message + Name>(ledger: &Ledger, name: String, record: &M) {
    let body = record.encode_to_vec();
    let descriptor = pool()
        .get_message_by_name(&M::full_name())
        .expect("a kind of the schema");
    let message = DynamicMessage::decode(descriptor, body.as_slice()).expect("a record");
    let refers = rules::references(&message)
        .into_iter()
        .map(|r| r.name)
        .collect();
    let entry = NewEntry {
        name,
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
        commit_time_ms: LIT_MS,
        observed_time_ms: None,
        asserts: Vec::new(),
        entries: vec![entry],
    };
    ledger.commit(draft).await.expect("a commit");
}
