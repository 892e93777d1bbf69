//! An issued package, served as it was stored.

use std::pin::Pin;

use futures::{Stream, stream};
use obvert_access::{Action, Caller};
use obvert_ledger::{Ledger, LedgerError};
use obvert_proto::{
    Problem, Violation,
    closeout::v1::{DownloadPackageRequest, DownloadPackageResponse, Package},
    common::v1::Reason,
};
use obvert_records::{blob_refusal, names, refusal};
use prost::{Message, Name};
use tonic::Status;

use super::originals::digest_of;

/// Bytes of one part.
const PART_BYTES: u64 = 256 << 10;

pub(crate) type DownloadStream =
    Pin<Box<dyn Stream<Item = Result<DownloadPackageResponse, Status>> + Send>>;

/// Streams a package from an offset on.
///
/// # Errors
///
/// `NOT_ALLOWED`, `RECORD_NOT_FOUND`, or `FIELDS_INVALID` for an offset beyond the end.
pub(crate) async fn download_stream(
    ledger: Ledger,
    caller: Caller,
    request: DownloadPackageRequest,
) -> Result<DownloadStream, Problem> {
    let DownloadPackageRequest { name, offset_bytes } = request;
    caller.may(Action::FetchPackage, names::project_of(&name))?;
    let absent = || refusal(LedgerError::NotFound { name: name.clone() });
    let stored = ledger
        .get(name.clone(), 0)
        .await
        .map_err(refusal)?
        .ok_or_else(absent)?;
    if stored.type_name != Package::full_name() {
        return Err(absent());
    }
    let unreadable = |what: &str| Problem::new(Reason::Internal, format!("{name}: {what}"));
    let package = Package::decode(stored.body).map_err(|_| unreadable("cannot be read back"))?;
    let digest = digest_of(&package.sha256).ok_or_else(|| unreadable("names no file"))?;
    let size = u64::try_from(package.size_bytes).unwrap_or_default();
    let start = u64::try_from(offset_bytes)
        .ok()
        .filter(|start| *start <= size);
    let start = start.ok_or_else(|| {
        let message = format!("is {offset_bytes}, the package has {size} bytes: give 0 to {size}");
        Problem::fields(vec![Violation::new("offset_bytes", message)])
    })?;
    let parts = stream::try_unfold((ledger, start), move |(ledger, at)| async move {
        if at >= size {
            return Ok(None);
        }
        let end = (at + PART_BYTES).min(size);
        let read = ledger.blobs().read_range(digest, at, end).await;
        let data = read.map_err(|error| Status::from(blob_refusal(error)))?;
        let part = DownloadPackageResponse {
            offset_bytes: at as i64,
            size_bytes: size as i64,
            data,
        };
        Ok(Some((part, (ledger, end))))
    });
    Ok(Box::pin(parts))
}
