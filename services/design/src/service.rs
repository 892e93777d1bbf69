//! The RPCs of the design service.

use std::sync::Arc;

use futures::{StreamExt, TryStreamExt, stream::BoxStream};
use obvert_access::{Action, Caller};
use obvert_ledger::Ledger;
use obvert_proto::{
    Problem, Violation,
    common::v1::{GetRecordRequest, Reason, RecordRef},
    design::v1::{
        self, CheckAsBuiltRequest, CheckAsBuiltResponse, CheckWallRequest, CheckWallResponse,
        CheckWallsRequest, CheckWallsResponse, GetCalculationSheetRequest,
        GetCalculationSheetResponse, RefusedWall, SheetFormat, WallInputs, WallResult, WrongInput,
        check_walls_response::Outcome, design_service_server::DesignService,
    },
};
use obvert_records::{Records, names, opened};
use obvert_typeset::Typesetter;
use tokio::task::spawn_blocking;
use tonic::{Request, Response, Status, Streaming};

use crate::{
    installed,
    record::check_inputs,
    rules::{DesignRegister, wall_result, wall_result_with_sensitivities},
    sheet,
};

/// The design service over a ledger.
#[derive(Clone)]
pub struct Design {
    records: Records<DesignRegister>,
    typesetter: Arc<Typesetter>,
}

impl Design {
    /// Service over a ledger, whose sheets this typesetter sets.
    pub fn new(ledger: Ledger, typesetter: Typesetter) -> Self {
        Self {
            records: Records::new(ledger),
            typesetter: Arc::new(typesetter),
        }
    }

    /// Calculation sheet of a stored record of this service.
    ///
    /// # Errors
    ///
    /// `NOT_ALLOWED`, `RECORD_NOT_FOUND`, `FIELDS_INVALID` for an unknown form, `TOO_LARGE`, or a
    /// fault of the program.
    pub async fn sheet(
        &self,
        caller: &Caller,
        request: GetCalculationSheetRequest,
    ) -> Result<GetCalculationSheetResponse, Problem> {
        if let Some(parts) = names::parse(&request.name) {
            caller.may(Action::ReadStatus, parts.project)?;
        }
        let format = SheetFormat::try_from(request.format).map_err(|_| {
            let message = "is not one of SHEET_FORMAT_PDF, SHEET_FORMAT_HTML";
            Problem::fields(vec![Violation::new("format", message)])
        })?;
        let GetCalculationSheetRequest { name, revision, .. } = request;
        let read = GetRecordRequest {
            name: name.clone(),
            revision,
        };
        let record = self.records.get(caller, read).await?;
        let subject = sheet::load(self.records.ledger(), record, request.with_us_units).await?;
        let revision = subject.revision;
        let typesetter = Arc::clone(&self.typesetter);
        let set = spawn_blocking(move || sheet::set(&subject, format, &typesetter)).await;
        let sheet = set.map_err(|error| Problem::new(Reason::Internal, error.to_string()))??;
        Ok(GetCalculationSheetResponse {
            data: sheet.data.into(),
            media_type: sheet.media_type.to_owned(),
            file_name: sheet.file_name,
            record: Some(RecordRef { name, revision }),
        })
    }
}

#[tonic::async_trait]
impl DesignService for Design {
    obvert_records::common_verbs!(v1);

    type CheckWallsStream = BoxStream<'static, Result<CheckWallsResponse, Status>>;

    async fn check_wall(
        &self,
        request: Request<CheckWallRequest>,
    ) -> Result<Response<CheckWallResponse>, Status> {
        let (_, request) = opened(request)?;
        let result = checked(request.inputs, request.with_sensitivities);
        let result = result.map_err(Problem::fields)?;
        Ok(Response::new(CheckWallResponse {
            result: Some(result),
        }))
    }

    async fn check_as_built(
        &self,
        request: Request<CheckAsBuiltRequest>,
    ) -> Result<Response<CheckAsBuiltResponse>, Status> {
        let (caller, request) = opened(request)?;
        let bears = installed::bears(&self.records, &caller, request).await?;
        Ok(Response::new(bears))
    }

    async fn get_calculation_sheet(
        &self,
        request: Request<GetCalculationSheetRequest>,
    ) -> Result<Response<GetCalculationSheetResponse>, Status> {
        let (caller, request) = opened(request)?;
        Ok(Response::new(self.sheet(&caller, request).await?))
    }

    async fn check_walls(
        &self,
        request: Request<Streaming<CheckWallsRequest>>,
    ) -> Result<Response<Self::CheckWallsStream>, Status> {
        let (_, rows) = opened(request)?;
        let rows = rows.map_err(unread).map_ok(answer);
        Ok(Response::new(rows.boxed()))
    }
}

/// A row that is no message ends the stream; what the decoder says of its bytes helps nobody.
fn unread(status: Status) -> Status {
    if !status.message().contains("decode") {
        return status;
    }
    let message = "a row of the stream cannot be read: send messages of the schema";
    Problem::new(Reason::FieldsInvalid, message).into()
}

/// The answer to one row of many.
fn answer(row: CheckWallsRequest) -> CheckWallsResponse {
    let outcome = match checked(row.inputs, false) {
        Ok(result) => Outcome::Result(result),
        Err(wrong) => Outcome::Refused(RefusedWall {
            wrong: wrong.into_iter().map(on_wire).collect(),
        }),
    };
    CheckWallsResponse {
        row_number: row.row_number,
        outcome: Some(outcome),
    }
}

fn on_wire(violation: Violation) -> WrongInput {
    WrongInput {
        field: violation.field,
        message: violation.message,
    }
}

/// The wall for inputs that came without a record, or everything that is wrong with them.
fn checked(
    inputs: Option<WallInputs>,
    with_sensitivities: bool,
) -> Result<WallResult, Vec<Violation>> {
    let inputs = inputs.unwrap_or_default();
    let wrong = check_inputs(&inputs);
    let result = match (wrong.is_empty(), with_sensitivities) {
        (false, _) => Err(wrong),
        (true, true) => wall_result_with_sensitivities(&inputs),
        (true, false) => wall_result(&inputs),
    };
    let place = |v: Violation| Violation::new(format!("inputs.{}", v.field), v.message);
    result.map_err(|wrong| wrong.into_iter().map(place).collect())
}
