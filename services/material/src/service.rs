//! `MaterialService`: makers' sheets, orders, liners, their papers and movements.

use std::pin::Pin;

use futures::{Stream, StreamExt};
use obvert_access::Caller;
use obvert_ledger::Ledger;
use obvert_proto::{
    common::v1::{
        GetRecordRequest, ImportTableRequest, ImportTableResponse, ListRecordsRequest,
        ListRevisionsRequest, WatchRecordsRequest,
    },
    material::v1::{
        CreateRecordRequest, ListRecordsResponse, ListRevisionsResponse, Record,
        ReviseRecordRequest, WatchRecordsResponse, material_service_server::MaterialService,
    },
};
use obvert_records::{Create, Records, Revise, collect_table, now_ms, opened};
use tonic::{Request, Response, Status, Streaming};

use crate::MaterialRegister;

/// Material of a ledger's projects.
#[derive(Clone)]
pub struct Material {
    records: Records<MaterialRegister>,
}

impl Material {
    /// Material over a ledger.
    pub fn new(ledger: Ledger) -> Self {
        Self {
            records: Records::new(ledger),
        }
    }
}

#[tonic::async_trait]
impl MaterialService for Material {
    async fn create_record(
        &self,
        request: Request<CreateRecordRequest>,
    ) -> Result<Response<Record>, Status> {
        let (caller, request) = opened(request)?;
        let CreateRecordRequest {
            write,
            project,
            record_id,
            record,
        } = request;
        let request = Create {
            write,
            project,
            record_id,
            record,
        };
        Ok(Response::new(
            self.records.create(&caller, request, now_ms()).await?,
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
        let request = Revise {
            write,
            name,
            record,
        };
        Ok(Response::new(
            self.records.revise(&caller, request, now_ms()).await?,
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

    type WatchRecordsStream =
        Pin<Box<dyn Stream<Item = Result<WatchRecordsResponse, Status>> + Send>>;

    async fn watch_records(
        &self,
        request: Request<WatchRecordsRequest>,
    ) -> Result<Response<Self::WatchRecordsStream>, Status> {
        let (caller, request) = opened(request)?;
        let touched = self.records.watch(&caller, request)?.map(|touched| {
            touched.map(|t| WatchRecordsResponse {
                revision: t.revision,
                records: t.records,
            })
        });
        Ok(Response::new(Box::pin(touched)))
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
