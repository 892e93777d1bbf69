//! Packages of one segment: gathered, judged, typeset, packed, signed and stored.

use std::{
    collections::BTreeMap,
    io::Write as _,
    sync::{
        Arc,
        atomic::{AtomicU64, Ordering},
    },
    time::{Duration, Instant},
};

use bytes::Bytes;
use flate2::{Compression, write::DeflateEncoder};
use futures::{StreamExt, stream};
use obvert_closeout::{
    Closeout, load_segment,
    package::{self, Sources, Terms},
};
use obvert_ledger::{Caller, Ledger, LedgerConfig};
use obvert_proto::{
    closeout::v1::{
        AssemblePackageRequest, PointState, Release, ReleaseKind,
        closeout_service_client::CloseoutServiceClient, closeout_service_server::CloseoutService,
    },
    common::v1::Write,
    project::v1::{Role, RoleBinding},
};
use obvert_typeset::{ChildLimits, Children, Document, Typesetter};
use sha2::{Digest, Sha256};

use crate::{
    bare,
    calls::{self, CHANNELS, PACKAGE, Payload},
    closeout::fixture::{Fixture, SEGMENT, full, store},
    load::per_second_for,
    pairs::{self, Measured},
    sample,
    support::{self, Server},
};

/// A package takes most of a second, so it is counted over a longer time.
const LENGTH: Duration = Duration::from_secs(12);

/// Measures AssemblePackage beside typesetting the same document, and digesting and packing the same
/// files: for some seconds, or until so many packages are made.
pub(crate) async fn measure(bare: &bare::Child, count: Option<usize>) {
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
    if let Some(count) = count {
        return made(count, &clients, &bares, &payload).await;
    }
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

/// So many packages, two at a time, once.
async fn made(
    count: usize,
    clients: &[CloseoutServiceClient<calls::Keyed>],
    bares: &[tonic::transport::Channel],
    payload: &Payload,
) {
    let what = format!("AssemblePackage, {count} packages, 2 at once");
    let product = async || {
        let call = |place: usize| {
            let client = clients[place % CHANNELS].clone();
            async move {
                assembled(client).await;
            }
        };
        counted(count, call).await
    };
    let ceiling = async || {
        let call =
            |place: usize| calls::bare(bares[place % CHANNELS].clone(), PACKAGE, payload.clone());
        counted(count, call).await
    };
    pairs::measure_times(("obvertd", 1), &what, product, ceiling).await;
}

/// Calls so often, two at a time.
async fn counted<F: Future<Output = ()>>(count: usize, call: impl Fn(usize) -> F) -> Measured {
    let began = Instant::now();
    let calls = stream::iter(0..count).map(call).buffer_unordered(2);
    let all = calls.count().await as u64;
    Measured {
        per_second: all as f64 / began.elapsed().as_secs_f64(),
        all,
    }
}

/// A package as the bare server makes it: its pages, and its files. Its pages come from processes of
/// their own, too: within one, the same document set twice at a time shares its layout, which no two
/// packages do.
pub(crate) struct Bare {
    typesetter: Typesetter,
    document: Document,
    files: BTreeMap<String, Vec<u8>>,
}

impl Bare {
    /// The second package of the stored segment, as nearly all that are measured replace another.
    pub(crate) async fn new() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let ledger = Ledger::open(LedgerConfig::new(folder.path().join("store")))
            .await
            .expect("a new store");
        fill(&ledger).await;
        let service = Closeout::new(ledger.clone(), Some(Arc::new(sample::press())));
        issue_first(&service).await;
        let loaded = load_segment(&ledger, SEGMENT, 0).await.expect("a segment");
        let sources = Sources::read(&ledger, loaded, Terms::default());
        let sources = sources.await.expect("its files");
        ledger.close().await;
        let limits = ChildLimits {
            deadline: Duration::from_secs(60),
            memory_bytes: 2 << 30,
            pdf_bytes: 64 << 20,
        };
        Self {
            typesetter: Typesetter::Children(Children::new(support::program("obvertd"), limits)),
            document: package::document(&sources, &sample::signer()).expect("a document"),
            files: sample::files(&sample::built(&sources).bytes),
        }
    }

    /// The pages, the digest of every file, and every text packed as a package packs it.
    pub(crate) fn make(&self) -> Bytes {
        let pages = self.typesetter.render(&self.document).expect("pages");
        assert!(pages.starts_with(b"%PDF"));
        let mut whole = Vec::new();
        let mut digests = Sha256::new();
        for (path, data) in &self.files {
            digests.update(Sha256::digest(data));
            let text = [".csv", ".json", ".pem", ".svg", ".toml", ".txt"];
            if text.iter().any(|ending| path.ends_with(ending)) {
                let mut packed = DeflateEncoder::new(Vec::new(), Compression::new(3));
                packed.write_all(data).expect("packed");
                whole.extend(packed.finish().expect("packed"));
            } else {
                whole.extend_from_slice(data);
            }
        }
        digests.update(Sha256::digest(&whole));
        Bytes::copy_from_slice(&digests.finalize())
    }
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

/// Assembles the first package, without a server.
async fn issue_first(service: &Closeout) {
    let mut request = tonic::Request::new(AssemblePackageRequest {
        write: Some(Write {
            request_id: "first".into(),
            ..Write::default()
        }),
        segment: SEGMENT.into(),
        with_people: false,
    });
    request.extensions_mut().insert(obvert_access::Caller {
        principal: "person/owner".into(),
        key_id: "k-1".into(),
        bindings: vec![RoleBinding {
            project: "quillfern".into(),
            role: Role::Owner.into(),
        }],
        expire_time_ms: i64::MAX,
        shift: None,
    });
    let steps = service.assemble_package(request).await.expect("it begins");
    let steps: Vec<_> = steps.into_inner().collect().await;
    let last = steps.into_iter().last().expect("an answer");
    assert!(last.expect("it ends").package.is_some());
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
        with_people: false,
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
