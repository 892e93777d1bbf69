//! `MaterialService`: makers' sheets, orders, liners, their papers and movements.

use obvert_ledger::Ledger;
use obvert_proto::material::v1::{self, material_service_server::MaterialService};
use obvert_records::Records;

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
    obvert_records::common_verbs!(v1);
}
