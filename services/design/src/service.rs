//! The RPCs of the design service.

use obvert_ledger::Ledger;
use obvert_proto::{
    Problem, Violation,
    design::v1::{self, CheckWallRequest, CheckWallResponse, design_service_server::DesignService},
};
use obvert_records::{Records, opened};
use tonic::{Request, Response, Status};

use crate::{
    record::check_inputs,
    rules::{DesignRegister, wall_result},
};

/// The design service over a ledger.
#[derive(Clone)]
pub struct Design {
    records: Records<DesignRegister>,
}

impl Design {
    /// Service over a ledger.
    pub fn new(ledger: Ledger) -> Self {
        Self {
            records: Records::new(ledger),
        }
    }
}

#[tonic::async_trait]
impl DesignService for Design {
    obvert_records::common_verbs!(v1);

    async fn check_wall(
        &self,
        request: Request<CheckWallRequest>,
    ) -> Result<Response<CheckWallResponse>, Status> {
        let (_, request) = opened(request)?;
        let inputs = request.inputs.unwrap_or_default();
        let wrong = check_inputs(&inputs);
        let result = if wrong.is_empty() {
            wall_result(&inputs)
        } else {
            Err(wrong)
        };
        let place = |v: Violation| Violation::new(format!("inputs.{}", v.field), v.message);
        let result =
            result.map_err(|wrong| Problem::fields(wrong.into_iter().map(place).collect()))?;
        Ok(Response::new(CheckWallResponse {
            result: Some(result),
        }))
    }
}
