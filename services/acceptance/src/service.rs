//! The RPCs of the acceptance service.

use std::pin::Pin;

use futures::{Stream, StreamExt};
use obvert_access::Caller;
use obvert_ledger::Ledger;
use obvert_proto::{
    acceptance::v1::{
        CreateRecordRequest, ListRecordsResponse, ListRevisionsResponse, Record,
        ReviseRecordRequest, WatchRecordsResponse, acceptance_service_server::AcceptanceService,
    },
    common::v1::{
        GetRecordRequest, ImportTableRequest, ImportTableResponse, ListRecordsRequest,
        ListRevisionsRequest, WatchRecordsRequest,
    },
};
use obvert_records::{Create, Records, Revise, collect_table, now_ms, opened};
use tonic::{Request, Response, Status, Streaming};

use crate::rules::AcceptanceRegister;

/// The acceptance service over a ledger.
#[derive(Clone)]
pub struct Acceptance {
    records: Records<AcceptanceRegister>,
}

impl Acceptance {
    /// Service over a ledger.
    pub fn new(ledger: Ledger) -> Self {
        Self {
            records: Records::new(ledger),
        }
    }
}

#[tonic::async_trait]
impl AcceptanceService for Acceptance {
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
}
