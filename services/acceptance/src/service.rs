//! The RPCs of the acceptance service.

use obvert_ledger::Ledger;
use obvert_proto::acceptance::v1::{self, acceptance_service_server::AcceptanceService};
use obvert_records::Records;

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
    obvert_records::common_verbs!(v1);
}
