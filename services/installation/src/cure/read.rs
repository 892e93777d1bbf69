//! Reads the samples of a filed log back, chunk by chunk.

use std::pin::Pin;

use futures::Stream;
use obvert_access::{Action, Caller};
use obvert_ledger::{Ledger, LedgerError, series};
use obvert_proto::{
    Problem, Violation,
    common::v1::Reason,
    installation::v1::{CureRecord, ReadCureSamplesResponse},
};
use obvert_records::{names, reaches, refusal};
use prost::{Message, Name};
use tokio::sync::mpsc;
use tokio_stream::wrappers::ReceiverStream;
use tonic::Status;

use super::{native::refused, seal::unsealed};

/// Chunks that wait for a slow reader.
const WAITING_CHUNKS: usize = 2;

/// Samples on their way to a caller.
pub(crate) type SampleStream =
    Pin<Box<dyn Stream<Item = Result<ReadCureSamplesResponse, Status>> + Send>>;

/// Streams the samples of a cure record.
///
/// # Errors
///
/// `NOT_ALLOWED`, `FIELDS_INVALID` for another name, `RECORD_NOT_FOUND`, `STORE_CORRUPT`.
pub(crate) async fn read(
    ledger: &Ledger,
    caller: &Caller,
    name: String,
) -> Result<SampleStream, Problem> {
    let grant = caller.may_own(Action::Read, names::project_of(&name))?;
    reaches(ledger, caller, grant, &name).await?;
    let parts = names::parse(&name).filter(|parts| parts.collection == "cureRecords");
    if parts.is_none() {
        let message = format!("is \"{name}\": write projects/{{project}}/cureRecords/{{id}}");
        return Err(Problem::fields(vec![Violation::new("name", message)]));
    }
    let stored = ledger.get(name.clone(), 0).await.map_err(refusal)?;
    let stored = stored.filter(|stored| stored.type_name == CureRecord::full_name());
    let stored = stored.ok_or_else(|| refusal(LedgerError::NotFound { name: name.clone() }))?;
    let record =
        CureRecord::decode(stored.body).map_err(|error| corrupt(&name, &error.to_string()))?;
    let sha256 = digest(&record.series_sha256).ok_or_else(|| corrupt(&name, "no series digest"))?;
    let blob = ledger.blobs().get(sha256).await.map_err(refused)?;
    let blob = blob.ok_or_else(|| corrupt(&name, "its series is not in the store"))?;
    let (chunks, waiting) = mpsc::channel(WAITING_CHUNKS);
    tokio::task::spawn_blocking(move || {
        let send = |answer| chunks.blocking_send(answer).is_ok();
        let broken = |error: series::SeriesError| Err(corrupt(&name, &error.to_string()).into());
        match series::chunks(&blob) {
            Ok(parts) => {
                let mut columns = parts.into_iter().map(|chunk| match unsealed(chunk) {
                    Ok(columns) => Ok(ReadCureSamplesResponse {
                        columns: Some(columns),
                    }),
                    Err(error) => broken(error),
                });
                // A caller that went away takes no more.
                let _ = columns.all(send);
            }
            Err(error) => {
                send(broken(error));
            }
        }
    });
    Ok(Box::pin(ReceiverStream::new(waiting)))
}

fn corrupt(name: &str, what: &str) -> Problem {
    tracing::error!(name, what, "a cure series cannot be read");
    Problem::new(
        Reason::StoreCorrupt,
        format!("the samples of {name} cannot be read: {what}"),
    )
}

fn digest(hex: &str) -> Option<[u8; 32]> {
    let (pairs, rest) = hex.as_bytes().as_chunks::<2>();
    let byte = |pair: &[u8; 2]| u8::from_str_radix(std::str::from_utf8(pair).ok()?, 16).ok();
    let bytes: Option<Vec<u8>> = pairs.iter().map(byte).collect();
    bytes?.try_into().ok().filter(|_| rest.is_empty())
}
