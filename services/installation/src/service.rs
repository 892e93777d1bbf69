//! The RPCs of the installation service.

use std::pin::Pin;

use futures::{Stream, StreamExt};
use obvert_access::Caller;
use obvert_ledger::Ledger;
use obvert_proto::{
    common::v1::{
        GetRecordRequest, ImportTableRequest, ImportTableResponse, ListRecordsRequest,
        ListRevisionsRequest, WatchRecordsRequest,
    },
    installation::v1::{
        CreateRecordRequest, ImportCureLogRequest, ImportCureLogResponse, ListRecordsResponse,
        ListRevisionsResponse, ReadCureSamplesRequest, Record, ReviseRecordRequest,
        WatchRecordsResponse, installation_service_server::InstallationService,
    },
};
use obvert_records::{Create, Records, Revise, collect_table, now_ms, opened};
use tonic::{Request, Response, Status, Streaming};

use crate::{
    cure::{self, CureFiling, SampleStream},
    rules::InstallationRegister,
};

/// Rows of one cure log at most, unless the server's configuration says otherwise.
const ROW_LIMIT: usize = 2_000_000;

/// The installation service over a ledger.
#[derive(Clone)]
pub struct Installation {
    records: Records<InstallationRegister>,
    filing: CureFiling,
}

impl Installation {
    /// Service over a ledger; a cure log has at most two million rows.
    pub fn new(ledger: Ledger) -> Self {
        Self::with_row_limit(ledger, ROW_LIMIT)
    }

    /// Service over a ledger with another limit on the rows of one cure log.
    pub fn with_row_limit(ledger: Ledger, row_limit: usize) -> Self {
        let filing = CureFiling {
            ledger: ledger.clone(),
            row_limit,
        };
        Self {
            records: Records::new(ledger),
            filing,
        }
    }
}

#[tonic::async_trait]
impl InstallationService for Installation {
    type WatchRecordsStream =
        Pin<Box<dyn Stream<Item = Result<WatchRecordsResponse, Status>> + Send>>;

    async fn create_record(
        &self,
        request: Request<CreateRecordRequest>,
    ) -> Result<Response<Record>, Status> {
        let (
            caller,
            CreateRecordRequest {
                write,
                project,
                record_id,
                record,
            },
        ) = opened(request)?;
        let create = Create {
            write,
            project,
            record_id,
            record,
        };
        Ok(Response::new(
            self.records.create(&caller, create, now_ms()).await?,
        ))
    }

    async fn revise_record(
        &self,
        request: Request<ReviseRecordRequest>,
    ) -> Result<Response<Record>, Status> {
        let (
            caller,
            ReviseRecordRequest {
                write,
                name,
                record,
            },
        ) = opened(request)?;
        let revise = Revise {
            write,
            name,
            record,
        };
        Ok(Response::new(
            self.records.revise(&caller, revise, now_ms()).await?,
        ))
    }

    async fn get_record(
        &self,
        request: Request<GetRecordRequest>,
    ) -> Result<Response<Record>, Status> {
        let (caller, request) = opened(request)?;
        Ok(Response::new(self.records.get(&caller, request).await?))
    }

    async fn list_records(
        &self,
        request: Request<ListRecordsRequest>,
    ) -> Result<Response<ListRecordsResponse>, Status> {
        let (caller, request) = opened(request)?;
        let page = self.records.list(&caller, request).await?;
        Ok(Response::new(ListRecordsResponse {
            records: page.records,
            next_page_token: page.next_page_token,
            revision: page.revision,
        }))
    }

    async fn list_revisions(
        &self,
        request: Request<ListRevisionsRequest>,
    ) -> Result<Response<ListRevisionsResponse>, Status> {
        let (caller, request) = opened(request)?;
        let page = self.records.list_revisions(&caller, request).await?;
        Ok(Response::new(ListRevisionsResponse {
            records: page.records,
            next_page_token: page.next_page_token,
        }))
    }

    async fn watch_records(
        &self,
        request: Request<WatchRecordsRequest>,
    ) -> Result<Response<Self::WatchRecordsStream>, Status> {
        let (caller, request) = opened(request)?;
        let touched = self.records.watch(&caller, request)?;
        let answers = touched.map(|touched| {
            touched.map(|t| WatchRecordsResponse {
                revision: t.revision,
                records: t.records,
            })
        });
        Ok(Response::new(Box::pin(answers)))
    }

    async fn import_table(
        &self,
        request: Request<Streaming<ImportTableRequest>>,
    ) -> Result<Response<ImportTableResponse>, Status> {
        let caller = Caller::of(&request)?;
        let (header, table) = collect_table(request.into_inner()).await?;
        Ok(Response::new(
            self.records
                .import(&caller, header, table, now_ms())
                .await?,
        ))
    }

    type ReadCureSamplesStream = SampleStream;

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
