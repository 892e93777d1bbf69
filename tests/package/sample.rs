//! A package of the clean invented segment, with an invented cure log in full.

use std::{
    collections::BTreeMap,
    io::{Cursor, Read},
    path::Path,
    sync::Arc,
};

use bytes::Bytes;
use ed25519_dalek::SigningKey;
use obvert_cli::{Failure, verify};
use obvert_closeout::{
    Loaded,
    package::{Built, PackageLimits, Press, Signer, Sources, Terms, build},
    plan,
    segment_file::Gathered,
};
use obvert_ledger::{Stored, series};
use obvert_plugins::Plugins;
use obvert_proto::{
    closeout::v1::Plan, common::v1::RecordRef, installation::v1::CureRecord, project::v1::Project,
};
use obvert_typeset::Typesetter;
use prost::{Message, Name};
use sha2::{Digest, Sha256};

use crate::closeout::fixture::{Fixture, PLAN, SEGMENT, full, ms};

pub(crate) const VERSION: &str = "0.0.0-test";
/// Room for originals, as a server has it by default.
pub(crate) const ORIGINALS_BYTES: i64 = 120_000_000;
/// A native file that only has to be enclosed untouched.
pub(crate) const NATIVE: &[u8] = b"# format: invented\r\n1;2;3\r\n";

/// The clean segment with an invented cure log.
pub(crate) fn logged() -> Fixture {
    let mut fixture = Fixture::clean();
    let sealed = sealed();
    fixture.edit::<CureRecord>(&log_name(&fixture), |log| {
        log.series_sha256 = hex(&sealed);
        log.file_sha256 = hex(NATIVE);
        log.file_name = "train log 4 May.csv".into();
        log.file_size_bytes = NATIVE.len() as i64;
    });
    fixture
}

/// The logged segment with the plan's record and every release.
pub(crate) fn signed() -> Fixture {
    signed_under("", |_| {})
}

/// The same under a plan with more points, for which more is filed.
pub(crate) fn signed_under(points: &str, file: impl FnOnce(&mut Fixture)) -> Fixture {
    let mut fixture = logged();
    let name = "projects/quillfern";
    let mut project = Project::decode(fixture.records[name].body.clone()).unwrap();
    project.plan = full("plans/itp");
    project.show_us_units = true;
    fixture.put(name, &project);
    let source = format!("{PLAN}{points}");
    fixture.plan = plan::parse(&source).unwrap();
    let plan = Plan {
        title: "Plan".into(),
        owner: "Marrowby Sanitary District".into(),
        plan_revision: "1".into(),
        source,
    };
    fixture.put(&full("plans/itp"), &plan);
    file(&mut fixture);
    assert!(fixture.signed().accepted, "the clean segment is accepted");
    fixture
}

fn log_name(fixture: &Fixture) -> String {
    let found = fixture
        .records
        .values()
        .find(|s| s.type_name == CureRecord::full_name());
    found
        .unwrap()
        .name
        .strip_prefix("projects/quillfern/")
        .unwrap()
        .to_owned()
}

/// What a build reads of a fixture.
pub(crate) fn sources(fixture: &Fixture) -> Sources {
    let project = fixture.records["projects/quillfern"].clone();
    let name = full("plans/itp");
    let plan_ref = RecordRef {
        revision: fixture.records[&name].revision,
        name,
    };
    let gathered = Gathered {
        segment: SEGMENT.into(),
        revision: fixture.revision,
        commit_time_ms: fixture.time_ms,
        project,
        records: fixture.records.values().cloned().collect(),
        former: fixture.former.clone(),
        nonconformances: fixture.nonconformances.clone(),
        moved_away: Vec::new(),
        lining_order: fixture.lining_order(),
    };
    let loaded = Loaded {
        gathered,
        file: fixture.file(),
        plan: Arc::new(fixture.plan.clone()),
        plan_source: PLAN.into(),
        plan_ref,
        plan_states: Vec::new().into(),
    };
    let status = loaded.status();
    let sources = Sources {
        loaded,
        chain_sha256: [0xc4; 32],
        status,
        blobs: blobs(),
        histories: histories(fixture),
        terms: Terms {
            with_people: false,
            originals_bytes: ORIGINALS_BYTES,
        },
        replaced: None,
        logo: None,
        logo_missing: String::new(),
        section_plugins: Vec::new(),
        redactions: Vec::new(),
    };
    sources.redacted()
}

/// The project's record, as if it had been revised.
fn histories(fixture: &Fixture) -> Vec<Vec<Stored>> {
    let now = fixture.records["projects/quillfern"].clone();
    let mut project = Project::decode(now.body.clone()).unwrap();
    project.contract_number = "typed wrong".into();
    let before = Stored {
        revision: now.create_revision,
        body: project.encode_to_vec().into(),
        ..now.clone()
    };
    vec![vec![
        before,
        Stored {
            reason: "typed wrong at first".into(),
            ..now
        },
    ]]
}

pub(crate) fn blobs() -> BTreeMap<String, Bytes> {
    BTreeMap::from([
        (hex(&sealed()), sealed()),
        (hex(NATIVE), Bytes::from_static(NATIVE)),
    ])
}

/// Samples of an hour over 50 m.
pub(crate) fn sealed() -> Bytes {
    let start = ms("2026-05-04 09:30");
    let rows = 0..1_800_i64;
    let column = |name: &str, scale, value: &dyn Fn(i64) -> i64| series::Column {
        name: name.into(),
        scale,
        values: rows.clone().map(|row| Some(value(row))).collect(),
    };
    let columns = [
        column("time_ms", 0, &|row| start + 2_000 * row),
        column("lamp_mask", 0, &|row| {
            if (30..1_770).contains(&row) { 0x1ff } else { 0 }
        }),
        column("position_m", -3, &|row| 28 * row),
        column("speed_m_per_min", -2, &|row| 84 + row % 3),
        column("pressure_kpa", -1, &|row| 545 + row % 7),
        column("infrared_1_celsius", -1, &|row| 400 + (row % 200) * 3),
        column("infrared_2_celsius", -1, &|row| 390 + (row % 190) * 3),
    ];
    series::join(&[series::encode(&columns)])
}

pub(crate) fn signer() -> Signer {
    Signer::new(
        SigningKey::from_bytes(&[7; 32]),
        "The owner has it by letter of 2026-03-02.",
    )
}

/// What packages are made with, typesetting here.
pub(crate) fn press() -> Press {
    Press {
        signer: signer(),
        typesetter: Typesetter::Here,
        limits: PackageLimits::default(),
        plugins: Plugins::default(),
    }
}

pub(crate) fn built(sources: &Sources) -> Built {
    build(sources, &press(), VERSION, |_| {}).unwrap()
}

pub(crate) fn package() -> Vec<u8> {
    built(&sources(&signed())).bytes
}

pub(crate) fn verified(bytes: &[u8], key: Option<&str>) -> Result<verify::Verified, Failure> {
    verify::verify_bytes(Path::new("package.zip"), bytes, key)
}

pub(crate) fn hex(bytes: &[u8]) -> String {
    Sha256::digest(bytes)
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect()
}

/// Files of a package by their path in its top folder, as another reader sees them.
pub(crate) fn files(bytes: &[u8]) -> BTreeMap<String, Vec<u8>> {
    let mut archive = zip::ZipArchive::new(Cursor::new(bytes)).unwrap();
    let mut files = BTreeMap::new();
    for place in 0..archive.len() {
        let mut entry = archive.by_index_raw(place).unwrap();
        let stored = entry.compression() == zip::CompressionMethod::Stored;
        let mut data = Vec::new();
        entry.read_to_end(&mut data).unwrap();
        if !stored {
            let packed = std::mem::take(&mut data);
            flate2::read::DeflateDecoder::new(packed.as_slice())
                .read_to_end(&mut data)
                .unwrap();
        }
        let name = entry.name().unwrap();
        let (_, path) = name.split_once('/').unwrap();
        files.insert(path.to_owned(), data);
    }
    files
}
