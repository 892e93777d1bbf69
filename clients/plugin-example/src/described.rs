//! What each of the examples says of itself.

use obvert_proto::{
    installation::v1::Run,
    plugin::v1::{DescribeResponse, ParameterDescription},
};
use prost::Name;

/// Revision of the contract that these examples were written for.
const CONTRACT_REVISION: i32 = 1;
/// Name under which the server's config and plans know them.
const NAME: &str = "working-hours";

/// Description without parameters.
pub(crate) fn plain() -> DescribeResponse {
    DescribeResponse {
        evaluator: NAME.to_owned(),
        version: env!("CARGO_PKG_VERSION").to_owned(),
        evidence_types: vec![Run::full_name()],
        parameters: Vec::new(),
        contract_revision: CONTRACT_REVISION,
    }
}

/// Description with parameters that a plan must set.
pub(crate) fn with_parameters(parameters: &[(&str, &str)]) -> DescribeResponse {
    let required = parameters
        .iter()
        .map(|(name, description)| ParameterDescription {
            name: (*name).to_owned(),
            description: (*description).to_owned(),
            required: true,
        });
    DescribeResponse {
        parameters: required.collect(),
        ..plain()
    }
}
