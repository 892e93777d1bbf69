//! A project to write to, and drafts that are quick to make.

use bytes::Bytes;
use obvert_ledger::{
    Assert, Caller, Committed, Draft, Expect, Head, Ledger, LedgerConfig, LedgerError, NewEntry,
};
use std::path::Path;

pub(crate) const PROJECT: &str = "marrowby-2026";

/// Runs a future on a runtime of its own.
pub(crate) fn run<T>(future: impl Future<Output = T>) -> T {
    let mut builder = tokio::runtime::Builder::new_multi_thread();
    builder
        .worker_threads(2)
        .enable_all()
        .build()
        .unwrap()
        .block_on(future)
}

pub(crate) fn config(folder: &Path) -> LedgerConfig {
    LedgerConfig {
        cache_bytes: 16 << 20,
        ..LedgerConfig::new(folder)
    }
}

pub(crate) async fn open(folder: &Path) -> Ledger {
    Ledger::open(config(folder)).await.unwrap()
}

/// Full name of a record of the project.
pub(crate) fn name(record: &str) -> String {
    format!("projects/{PROJECT}/{record}")
}

pub(crate) fn entry(record: &str, body: &str, refers: &[&str], claims: &[&str]) -> NewEntry {
    NewEntry {
        name: name(record),
        type_name: "obvert.project.v1.Segment".into(),
        body: Bytes::copy_from_slice(body.as_bytes()),
        refers: refers.iter().map(|record| name(record)).collect(),
        claims: claims.iter().map(|claim| claim.to_string()).collect(),
    }
}

pub(crate) fn draft(entries: Vec<NewEntry>) -> Draft {
    Draft {
        project: PROJECT.into(),
        caller: Caller {
            principal: "person/ines-holt".into(),
            role: "office".into(),
            key_id: "k1".into(),
        },
        request_id: String::new(),
        request_digest: [0; 32],
        reason: "first entry".into(),
        commit_time_ms: 1_790_000_000_123,
        observed_time_ms: None,
        asserts: Vec::new(),
        entries,
    }
}

pub(crate) fn expect(record: &str, expect: Expect) -> Assert {
    Assert {
        name: name(record),
        expect,
    }
}

/// Commits one record without references or claims.
pub(crate) async fn write(
    ledger: &Ledger,
    record: &str,
    body: &str,
) -> Result<Committed, LedgerError> {
    ledger
        .commit(draft(vec![entry(record, body, &[], &[])]))
        .await
}

pub(crate) async fn head(ledger: &Ledger) -> Head {
    ledger.head(PROJECT.into()).await.unwrap()
}

/// Closes a ledger and lets its threads and files go.
pub(crate) async fn close(ledger: Ledger) {
    ledger.close().await;
}

/// The volume a small ledger has.
pub(crate) fn first_volume(folder: &Path) -> std::path::PathBuf {
    folder.join("journal/00000001.volume")
}

/// Copies a folder with all it holds.
pub(crate) fn copy_folder(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for file in std::fs::read_dir(from).unwrap() {
        let file = file.unwrap();
        let target = to.join(file.file_name());
        if file.file_type().unwrap().is_dir() {
            copy_folder(&file.path(), &target);
        } else {
            std::fs::copy(file.path(), target).unwrap();
        }
    }
}
