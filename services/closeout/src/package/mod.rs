//! Assembly of a segment's package.

use std::{pin::Pin, sync::Arc};

use futures::Stream;
use obvert_access::Caller;
use obvert_ledger::Ledger;
use obvert_proto::{
    Problem,
    closeout::v1::{
        AssemblePackageRequest, AssemblePackageResponse, DownloadPackageRequest,
        DownloadPackageResponse,
    },
    common::v1::Reason,
};
use tonic::Status;

mod signer;

pub use signer::{Signer, fingerprint};

pub(crate) type AssembleStream =
    Pin<Box<dyn Stream<Item = Result<AssemblePackageResponse, Status>> + Send>>;
pub(crate) type DownloadStream =
    Pin<Box<dyn Stream<Item = Result<DownloadPackageResponse, Status>> + Send>>;

pub(crate) async fn assemble_stream(
    _ledger: Ledger,
    _signer: Option<Arc<Signer>>,
    _caller: Caller,
    _request: AssemblePackageRequest,
    _now_ms: i64,
) -> Result<AssembleStream, Problem> {
    Err(Problem::new(Reason::Internal, "packages are not assembled by this build"))
}

pub(crate) async fn download_stream(
    _ledger: Ledger,
    _caller: Caller,
    _request: DownloadPackageRequest,
) -> Result<DownloadStream, Problem> {
    Err(Problem::new(Reason::Internal, "packages are not served by this build"))
}
