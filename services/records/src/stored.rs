//! A stored record as its message.

use obvert_ledger::Stored;
use obvert_proto::{Problem, common::v1::Reason};
use prost::Message;

/// The message that a stored record holds.
///
/// # Errors
///
/// `STORE_CORRUPT` when its bytes are no such message.
pub fn message_of<M: Message + Default>(stored: &Stored) -> Result<M, Problem> {
    M::decode(stored.body.clone()).map_err(|error| {
        let message = format!("{} cannot be read: {error}", stored.name);
        Problem::new(Reason::StoreCorrupt, message)
    })
}
