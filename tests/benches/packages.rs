//! Packages of one segment: gathered, judged, typeset, packed, signed and stored.

use std::sync::atomic::{AtomicU64, Ordering};

use bytes::Bytes;
use obvert_closeout::{load_segment, package};
use obvert_ledger::{Caller, Ledger, LedgerConfig};
use obvert_proto::{
    closeout::v1::{
        AssemblePackageRequest, PointState, Release, ReleaseKind,
        closeout_service_client::CloseoutServiceClient,
    },
    common::v1::Write,
};
use obvert_typeset::{Document, render};
use sha2::{Digest, Sha256};

use crate::{
    bare,
    calls::{self, CHANNELS, PACKAGE, Payload},
    closeout::fixture::{Fixture, SEGMENT, full, store},
    load::per_second_for,
    pairs, sample,
    support::{self, Server},
};

/// A package takes most of a second, so it is counted over a longer time.
const LENGTH: std::time::Duration = std::time::Duration::from_secs(12);

/// Measures AssemblePackage beside typesetting the same document and digesting as many bytes.
pub(crate) async fn measure(bare: &bare::Child) {
    let folder = support::prepared("");
    let ledger = Ledger::open(LedgerConfig::new(folder.path().join("store")))
        .await
        .expect("a new store");
    fill(&ledger).await;
    ledger.close().await;
    let server = Server::start_in(folder);
    let keyed = calls::keyed(&server).await;
    let clients: Vec<_> = keyed.into_iter().map(CloseoutServiceClient::new).collect();
    let size_bytes = assembled(clients[0].clone()).await;
    let bares = calls::channels(bare.address).await;
    let payload = Payload::of(0, 0, size_bytes);
    for callers in [1, 2] {
        let what = format!("AssemblePackage, {callers} at once ({size_bytes} B)");
        let product = async || {
            let clients = clients.clone();
            let call = move |caller: usize| {
                let client = clients[caller % CHANNELS].clone();
                async move {
                    assembled(client).await;
                }
            };
            per_second_for(LENGTH, callers, call).await
        };
        let ceiling = async || {
            let (bares, payload) = (bares.clone(), payload.clone());
            let call = move |caller: usize| {
                calls::bare(bares[caller % CHANNELS].clone(), PACKAGE, payload.clone())
            };
            per_second_for(LENGTH, callers, call).await
        };
        pairs::measure(&what, product, ceiling).await;
    }
}

/// Document of the segment's package, for the bare server.
pub(crate) fn document() -> Document {
    let sources = sample::sources(&sample::signed());
    package::document(&sources, &sample::signer()).expect("a document")
}

/// What the bare server does for a package: the pages, and a digest of as many bytes as it has.
pub(crate) fn typeset(document: &Document, size_bytes: usize) -> Bytes {
    let pages = render(document).expect("pages");
    assert!(pages.starts_with(b"%PDF"));
    Bytes::copy_from_slice(&Sha256::digest(vec![0x5a; size_bytes]))
}

/// Writes the segment, its cure log's bytes and every release.
async fn fill(ledger: &Ledger) {
    let mut fixture = sample::logged();
    store::fill(ledger, &mut fixture).await;
    for blob in sample::blobs().into_values() {
        ledger.blobs().put(blob).await.expect("a file");
    }
    sign(ledger, &mut fixture).await;
}

/// Releases every point of the stored segment that waits for one, each by the plan's first role.
async fn sign(ledger: &Ledger, fixture: &mut Fixture) {
    for number in 0.. {
        let loaded = load_segment(ledger, SEGMENT, 0).await.unwrap();
        let status = loaded.status();
        let waits = |state: PointState| state == PointState::AwaitsRelease;
        let Some(point) = status.points.iter().find(|p| waits(p.state())) else {
            assert!(status.accepted, "the stored segment is held: {status:?}");
            return;
        };
        let role = loaded.plan.point(&point.point).unwrap().released_by[0].clone();
        let release = Release {
            segment: SEGMENT.into(),
            point: point.point.clone(),
            release_kind: ReleaseKind::Release.into(),
            facts_digest: point.facts_digest.clone(),
            ..Release::default()
        };
        let caller = Caller {
            principal: format!("person/{role}"),
            role,
            key_id: "k-2".into(),
        };
        let name = full(&format!("releases/r-{number}"));
        fixture.put_by(&name, &release, caller);
        let time_ms = fixture.time_ms;
        store::commit(ledger, "quillfern", vec![&fixture.records[&name]], time_ms).await;
    }
}

/// Assembles a package and tells its size in bytes.
async fn assembled(mut client: CloseoutServiceClient<calls::Keyed>) -> u64 {
    static NEXT: AtomicU64 = AtomicU64::new(0);
    let number = NEXT.fetch_add(1, Ordering::Relaxed);
    let request = AssemblePackageRequest {
        write: Some(Write {
            request_id: format!("package-{number}"),
            ..Write::default()
        }),
        segment: SEGMENT.into(),
    };
    let mut steps = client
        .assemble_package(request)
        .await
        .expect("it begins")
        .into_inner();
    let mut last = None;
    while let Some(step) = steps.message().await.expect("it goes on") {
        last = step.package.or(last);
    }
    last.expect("a package").size_bytes as u64
}
