//! Packages of many segments: gathered, judged, typeset, packed, signed and stored.

use std::{
    collections::BTreeMap,
    io::Write as _,
    sync::{
        Arc,
        atomic::{AtomicUsize, Ordering},
    },
    time::{Duration, Instant},
};

use bytes::Bytes;
use flate2::{Compression, write::DeflateEncoder};
use futures::{StreamExt, stream};
use obvert_closeout::{
    load_segment,
    package::{self, Sources, Terms},
};
use obvert_ledger::{Ledger, LedgerConfig};
use obvert_proto::{
    closeout::v1::{AssemblePackageRequest, closeout_service_client::CloseoutServiceClient},
    common::v1::Write,
};
use obvert_typeset::{ChildLimits, Children, Document, Typesetter};
use sha2::{Digest, Sha256};

use crate::{
    bare,
    calls::{self, CHANNELS, PACKAGE, Payload},
    closeout::fixture::{SEGMENT, many},
    load::per_second_for,
    pairs::{self, Measured},
    sample,
    support::{self, Server},
};

/// A package takes most of a second, so it is counted over a longer time.
const LENGTH: Duration = Duration::from_secs(12);
/// Segments of the store, where no number of packages is given: more than are made in that time.
const SEGMENTS: usize = 250;

/// Measures AssemblePackage beside typesetting the same document, and digesting and packing the same
/// files: for some seconds, or until so many packages are made, each of a segment of its own.
pub(crate) async fn measure(bare: &bare::Child, count: Option<usize>) {
    let folder = support::prepared("");
    let ledger = Ledger::open(LedgerConfig::new(folder.path().join("store")))
        .await
        .expect("a new store");
    fill(&ledger, count.unwrap_or(SEGMENTS)).await;
    ledger.close().await;
    let server = Server::start_in(folder);
    let keyed = calls::keyed(&server).await;
    let clients: Vec<_> = keyed.into_iter().map(CloseoutServiceClient::new).collect();
    let size_bytes = assembled(clients[0].clone(), 0).await;
    let bares = calls::channels(bare.address).await;
    let payload = Payload::of(0, 0, size_bytes);
    if let Some(count) = count {
        return made(count, &clients, &bares, &payload).await;
    }
    let next = Arc::new(AtomicUsize::new(1));
    for callers in [1, 2] {
        let what = format!("AssemblePackage, {callers} at once ({size_bytes} B)");
        let product = async || {
            let (clients, next) = (clients.clone(), Arc::clone(&next));
            let call = move |caller: usize| {
                let client = clients[caller % CHANNELS].clone();
                let number = next.fetch_add(1, Ordering::Relaxed) % SEGMENTS;
                async move {
                    assembled(client, number).await;
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
                assembled(client, place).await;
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
    /// The package of the stored segment.
    pub(crate) async fn new() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let ledger = Ledger::open(LedgerConfig::new(folder.path().join("store")))
            .await
            .expect("a new store");
        fill(&ledger, 1).await;
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

/// Writes so many segments, their cure logs' bytes and every release.
async fn fill(ledger: &Ledger, segments: usize) {
    for blob in sample::blobs().into_values() {
        ledger.blobs().put(blob).await.expect("a file");
    }
    many::accepted(ledger, &mut sample::logged(), segments).await;
}

/// Assembles a package and tells its size in bytes.
async fn assembled(mut client: CloseoutServiceClient<calls::Keyed>, number: usize) -> u64 {
    static NEXT: AtomicUsize = AtomicUsize::new(0);
    let request_number = NEXT.fetch_add(1, Ordering::Relaxed);
    let request = AssemblePackageRequest {
        write: Some(Write {
            request_id: format!("package-{request_number}"),
            ..Write::default()
        }),
        segment: many::segment(number),
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
