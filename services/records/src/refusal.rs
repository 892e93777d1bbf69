//! How a refusal of the ledger is told to a caller.

use obvert_ledger::{BlobError, LedgerError};
use obvert_proto::{Problem, common::v1::Reason, rules};

use crate::names;

/// Problem that tells a caller why the ledger refused.
pub fn refusal(error: LedgerError) -> Problem {
    match error {
        LedgerError::Exists { name, revision } => {
            let what = if is_written_by_own_rpc(&name) {
                "choose another id"
            } else {
                "revise it or choose another id"
            };
            let message = format!("{name} exists since revision {revision}: {what}");
            Problem::new(Reason::RecordExists, message)
                .fact("name", name)
                .fact("revision", revision)
        }
        LedgerError::NotFound { name } => {
            let message = format!("{name} does not exist: check the name or write it first");
            Problem::new(Reason::RecordNotFound, message).fact("name", name)
        }
        LedgerError::Stale {
            name,
            expected,
            found,
        } => {
            let message = format!(
                "{name} was read at revision {expected} and is now at {found}: read it again and repeat"
            );
            Problem::new(Reason::EtagStale, message)
                .fact("name", name)
                .fact("expected_revision", expected)
                .fact("found_revision", found)
        }
        LedgerError::ClaimTaken {
            claim,
            holder,
            wanted_by,
        } => {
            let message = format!(
                "{claim} is held by {holder} and cannot be held by {wanted_by} too: correct one of the two"
            );
            Problem::new(Reason::ClaimTaken, message)
                .fact("claim", claim)
                .fact("holder", holder)
                .fact("wanted_by", wanted_by)
        }
        LedgerError::RequestIdReused {
            request_id,
            revision,
        } => {
            let message = format!(
                "request id {request_id} was used for another body at revision {revision}: take a new id"
            );
            Problem::new(Reason::RequestIdReused, message)
                .fact("request_id", request_id)
                .fact("revision", revision)
        }
        LedgerError::DiskFull => Problem::new(
            Reason::DiskFull,
            "the disk of the store is full: free space and repeat; nothing was written, reads go on",
        ),
        LedgerError::Poisoned => Problem::new(
            Reason::StorePoisoned,
            "the store could not be written and refuses all writes: its operator must restart it",
        ),
        LedgerError::Closed => {
            Problem::new(Reason::ShuttingDown, "the server is stopping: try again")
        }
        other => other_refusal(&other),
    }
}

/// Whether a record is of a kind that has no `ReviseRecord`, such as a link or a key.
fn is_written_by_own_rpc(name: &str) -> bool {
    let Some(parts) = names::parse(name) else {
        return false;
    };
    let mut kinds = rules::kinds().values();
    kinds.any(|kind| kind.own_rpc && kind.collection == parts.collection)
}

/// Problem that tells a caller why the store of files refused.
pub fn blob_refusal(error: BlobError) -> Problem {
    let reason = match &error {
        BlobError::NoSession { .. }
        | BlobError::Offset { .. }
        | BlobError::Size { .. }
        | BlobError::Digest { .. } => Reason::UploadIncomplete,
        BlobError::DiskFull => Reason::DiskFull,
        BlobError::Absent { .. } | BlobError::Damaged { .. } => Reason::StoreCorrupt,
        BlobError::Store(_) | BlobError::Io(_) => Reason::Internal,
    };
    let problem = Problem::new(reason, error.to_string());
    match error {
        BlobError::Offset { expected } => problem.fact("received_bytes", expected),
        BlobError::Size { expected, found } => problem
            .fact("received_bytes", found)
            .fact("declared_bytes", expected),
        BlobError::Digest { expected, found } => problem
            .fact("received_sha256", found)
            .fact("declared_sha256", expected),
        error if reason != Reason::UploadIncomplete => {
            tracing::error!(%error, "the store of files refused");
            problem
        }
        _ => problem,
    }
}

fn other_refusal(error: &LedgerError) -> Problem {
    let reason = match error {
        LedgerError::TooLarge { .. } => Reason::TooLarge,
        LedgerError::Corrupt { .. } => Reason::StoreCorrupt,
        _ => Reason::Internal,
    };
    tracing::error!(%error, "the ledger refused");
    Problem::new(reason, error.to_string())
}
