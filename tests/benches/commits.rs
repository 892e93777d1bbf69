//! Records written: each call is one durable commit.

use std::{
    fs,
    path::Path,
    sync::atomic::{AtomicU64, Ordering},
};

use obvert_proto::{
    common::v1::{LocalDate, Write},
    material::v1::{
        Batch, CreateRecordRequest, Record, material_service_client::MaterialServiceClient,
        record::Body,
    },
};
use prost::Message;

use crate::{
    bare,
    calls::{self, APPEND, CHANNELS, Payload},
    fixture,
    load::per_second,
    pairs,
    support::{self, Server},
};

/// Commits written to learn how large one is on the disk.
const SIZED: u64 = 200;

/// Measures CreateRecord of a batch beside appending as many bytes.
pub(crate) async fn measure(bare: &bare::Child) {
    let folder = support::prepared("");
    fixture::fill(&folder.path().join("store")).await;
    let server = Server::start_in(folder);
    let keyed = calls::keyed(&server).await;
    let clients: Vec<_> = keyed.into_iter().map(MaterialServiceClient::new).collect();
    let appends = calls::channels(bare.address).await;
    let journal = server.folder.path().join("store/journal");
    let (before, mut answer_bytes) = (size(&journal), 0);
    for _ in 0..SIZED {
        let answer = clients[0]
            .clone()
            .create_record(request())
            .await
            .expect("a record");
        answer_bytes = answer.into_inner().encoded_len();
    }
    let stored_bytes = (size(&journal) - before) / SIZED;
    let payload = Payload::of(request().encoded_len(), answer_bytes, stored_bytes);
    for callers in [1, 16, 64] {
        let what = format!("CreateRecord, {callers} clients ({stored_bytes} B on disk)");
        let product = async || {
            let clients = clients.clone();
            let call = move |caller: usize| {
                let mut client = clients[caller % CHANNELS].clone();
                async move {
                    client.create_record(request()).await.expect("a record");
                }
            };
            per_second(callers, call).await
        };
        let ceiling = async || {
            let (appends, payload) = (appends.clone(), payload.clone());
            let call = move |caller: usize| {
                calls::bare(appends[caller % CHANNELS].clone(), APPEND, payload.clone())
            };
            per_second(callers, call).await
        };
        pairs::measure(&what, product, ceiling).await;
    }
}

/// A batch that was not written before.
fn request() -> CreateRecordRequest {
    static NEXT: AtomicU64 = AtomicU64::new(0);
    let number = NEXT.fetch_add(1, Ordering::Relaxed);
    let batch = Batch {
        material: "resin".into(),
        batch_number: format!("FR-{number}"),
        made_date: Some(LocalDate {
            year: 2026,
            month: 2,
            day: 3,
        }),
    };
    CreateRecordRequest {
        write: Some(Write {
            request_id: format!("batch-{number}"),
            ..Write::default()
        }),
        project: fixture::PROJECT.into(),
        record_id: format!("b-{number}"),
        record: Some(Record {
            meta: None,
            body: Some(Body::Batch(batch)),
        }),
    }
}

/// Bytes of the files in a folder.
fn size(folder: &Path) -> u64 {
    let files = fs::read_dir(folder).expect("the journal is there");
    files
        .map(|file| {
            file.and_then(|file| file.metadata())
                .map_or(0, |found| found.len())
        })
        .sum()
}
