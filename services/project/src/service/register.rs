//! `ProjectService`: the register's records, and the sheets of its parcels.

use obvert_access::{AccessLog, Action, OFFICE, Peer, log, role_word};
use obvert_ledger::Ledger;
use obvert_proto::project::v1::{
    self, EraseParcelSheetRequest, EraseParcelSheetResponse, GetParcelSheetRequest,
    GetParcelSheetResponse, ListProjectsRequest, ListProjectsResponse, PutParcelSheetRequest,
    project_service_server::ProjectService,
};
use obvert_records::{Records, names, now_ms, opened, refusal};
use tonic::{Request, Response, Status};

use super::random;
use crate::{
    ProjectRegister,
    parcel_sheet::{ParcelSheets, SheetRandom},
};

/// How the access log names the call.
const GET_PARCEL_SHEET: &str = "/obvert.project.v1.ProjectService/GetParcelSheet";

/// The register of a ledger.
#[derive(Clone)]
pub struct Projects {
    records: Records<ProjectRegister>,
    sheets: ParcelSheets,
}

impl Projects {
    /// Register over a ledger. Parcel sheets are written by one such value and its clones only, and
    /// opened only once `log` has it on the disk.
    pub fn new(ledger: Ledger, log: AccessLog) -> Self {
        let records = Records::new(ledger);
        let sheets = ParcelSheets::new(records.clone(), log);
        Self { records, sheets }
    }
}

#[tonic::async_trait]
impl ProjectService for Projects {
    obvert_records::common_verbs!(v1);

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
    ) -> Result<Response<v1::Record>, Status> {
        let (caller, request) = opened(request)?;
        let role = caller.may(Action::WriteSheet, names::project_of(&request.parcel))?;
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
        let peer = Peer::of(&request);
        let (caller, GetParcelSheetRequest { parcel }) = opened(request)?;
        let role = caller.may(Action::ReadSheet, names::project_of(&parcel))?;
        let asked = (GET_PARCEL_SHEET, parcel.as_str());
        let event = log::opened(&caller, &role_word(role), asked, &peer, now_ms());
        Ok(Response::new(self.sheets.get(&parcel, event).await?))
    }

    async fn erase_parcel_sheet(
        &self,
        request: Request<EraseParcelSheetRequest>,
    ) -> Result<Response<EraseParcelSheetResponse>, Status> {
        let (caller, request) = opened(request)?;
        let role = caller.may(Action::WriteSheet, names::project_of(&request.parcel))?;
        let erased = self
            .sheets
            .erase((&caller, role), request, now_ms())
            .await?;
        Ok(Response::new(EraseParcelSheetResponse { erased }))
    }
}

/// Project of a record's name; the empty project, in which nobody has a role, for no name.
pub(super) fn project_of(name: &str) -> &str {
    names::parse(name).map_or("", |parts| parts.project)
}

fn sheet_random() -> Result<SheetRandom, Status> {
    Ok(SheetRandom {
        salt: random()?,
        key: random()?,
        nonce: random()?,
    })
}
