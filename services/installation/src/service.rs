//! The RPCs of the installation service.

use obvert_access::Caller;
use obvert_ledger::Ledger;
use obvert_plugins::Plugins;
use obvert_proto::installation::v1::{
    self, ImportCureLogRequest, ImportCureLogResponse, ReadCureSamplesRequest,
    installation_service_server::InstallationService,
};
use obvert_records::{Records, now_ms, opened};
use tonic::{Request, Response, Status, Streaming};

use crate::{
    cure::{self, CureFiling, CureLimits, SampleStream},
    rules::InstallationRegister,
};

/// The installation service over a ledger.
#[derive(Clone)]
pub struct Installation {
    records: Records<InstallationRegister>,
    filing: CureFiling,
}

impl Installation {
    /// Service over a ledger with the usual limits of one cure log.
    pub fn new(ledger: Ledger) -> Self {
        Self::with_limits(ledger, CureLimits::default())
    }

    /// Service over a ledger with other limits of one cure log.
    pub fn with_limits(ledger: Ledger, limits: CureLimits) -> Self {
        let filing = CureFiling {
            ledger: ledger.clone(),
            limits,
            plugins: Plugins::default(),
        };
        Self {
            records: Records::new(ledger),
            filing,
        }
    }

    /// The service with plug-ins that read native cure logs.
    #[must_use]
    pub fn with_plugins(mut self, plugins: Plugins) -> Self {
        self.filing.plugins = plugins;
        self
    }
}

#[tonic::async_trait]
impl InstallationService for Installation {
    type ReadCureSamplesStream = SampleStream;

    obvert_records::common_verbs!(v1);

    async fn import_cure_log(
        &self,
        request: Request<Streaming<ImportCureLogRequest>>,
    ) -> Result<Response<ImportCureLogResponse>, Status> {
        let caller = Caller::of(&request)?;
        let sent = request.into_inner();
        Ok(Response::new(
            cure::import(&self.filing, &caller, sent, now_ms()).await?,
        ))
    }

    async fn read_cure_samples(
        &self,
        request: Request<ReadCureSamplesRequest>,
    ) -> Result<Response<Self::ReadCureSamplesStream>, Status> {
        let (caller, ReadCureSamplesRequest { name }) = opened(request)?;
        Ok(Response::new(
            cure::read(&self.filing.ledger, &caller, name).await?,
        ))
    }
}
