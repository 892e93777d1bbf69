//! `ProjectService`: the register's records, and the sheets of its parcels.

use std::pin::Pin;

use futures::{Stream, StreamExt};
use obvert_access::{Action, Caller, OFFICE};
use obvert_ledger::Ledger;
use obvert_proto::{
    common::v1::{
        GetRecordRequest, ImportTableRequest, ImportTableResponse, ListRecordsRequest,
        ListRevisionsRequest, WatchRecordsRequest,
    },
    project::v1::{
        CreateRecordRequest, EraseParcelSheetRequest, EraseParcelSheetResponse,
        GetParcelSheetRequest, GetParcelSheetResponse, ListProjectsRequest, ListProjectsResponse,
        ListRecordsResponse, ListRevisionsResponse, PutParcelSheetRequest, Record,
        ReviseRecordRequest, WatchRecordsResponse, project_service_server::ProjectService,
    },
};
use obvert_records::{Create, Records, Revise, collect_table, names, now_ms, opened, refusal};
use tonic::{Request, Response, Status, Streaming};

use super::random;
use crate::{
    ProjectRegister,
    parcel_sheet::{ParcelSheets, SheetRandom},
};

/// The register of a ledger.
#[derive(Clone)]
pub struct Projects {
    records: Records<ProjectRegister>,
    sheets: ParcelSheets,
}

impl Projects {
    /// Register over a ledger. Parcel sheets are written by one such value and its clones only.
    pub fn new(ledger: Ledger) -> Self {
        let records = Records::new(ledger);
        let sheets = ParcelSheets::new(records.clone());
        Self { records, sheets }
    }
}

#[tonic::async_trait]
impl ProjectService for Projects {
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

    async fn list_projects(
        &self,
        request: Request<ListProjectsRequest>,
    ) -> Result<Response<ListProjectsResponse>, Status> {
        let (caller, _) = opened(request)?;
        let ledger = self.records.ledger();
        let ids = ledger.projects().await.map_err(refusal)?;
        let seen = ids.iter().filter(|id| *id != OFFICE && caller.sees(id));
        let seen = seen.map(|id| names::join("", "projects", id)).collect();
        let mut stored = ledger.get_many(seen, 0).await.map_err(refusal)?;
        stored.sort_by(|a, b| a.name.cmp(&b.name));
        let projects = stored.iter().map(|stored| self.records.answer(stored));
        Ok(Response::new(ListProjectsResponse {
            projects: projects.collect::<Result<_, _>>()?,
        }))
    }

    async fn put_parcel_sheet(
        &self,
        request: Request<PutParcelSheetRequest>,
    ) -> Result<Response<Record>, Status> {
        let (caller, request) = opened(request)?;
        let role = caller.may(Action::ParcelSheet, project_of(&request.parcel))?;
        let random = [sheet_random()?, sheet_random()?];
        let record = self
            .sheets
            .put((&caller, role), request, random, now_ms())
            .await?;
        Ok(Response::new(record))
    }

    async fn get_parcel_sheet(
        &self,
        request: Request<GetParcelSheetRequest>,
    ) -> Result<Response<GetParcelSheetResponse>, Status> {
        let (caller, GetParcelSheetRequest { parcel }) = opened(request)?;
        caller.may(Action::ParcelSheet, project_of(&parcel))?;
        Ok(Response::new(self.sheets.get(&parcel).await?))
    }

    async fn erase_parcel_sheet(
        &self,
        request: Request<EraseParcelSheetRequest>,
    ) -> Result<Response<EraseParcelSheetResponse>, Status> {
        let (caller, request) = opened(request)?;
        let role = caller.may(Action::ParcelSheet, project_of(&request.parcel))?;
        let erased = self
            .sheets
            .erase((&caller, role), request, now_ms())
            .await?;
        Ok(Response::new(EraseParcelSheetResponse { erased }))
    }
}

/// Project of a record's name; the empty project, in which nobody has a role, for no name.
fn project_of(name: &str) -> &str {
    names::parse(name).map_or("", |parts| parts.project)
}

fn sheet_random() -> Result<SheetRandom, Status> {
    Ok(SheetRandom {
        salt: random()?,
        key: random()?,
        nonce: random()?,
    })
}
