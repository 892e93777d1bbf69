//! A stored record as its message, and by what people call it.

use obvert_ledger::Stored;
use obvert_proto::{Problem, common::v1::Reason, pool, rules};
use prost::Message;
use prost_reflect::DynamicMessage;

use crate::names;

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

/// Number or title by which people call a stored record: its own, else its id as people write it.
pub fn called(stored: &Stored) -> String {
    let kind = pool().get_message_by_name(&stored.type_name);
    let message = kind.and_then(|kind| DynamicMessage::decode(kind, stored.body.clone()).ok());
    let own = message.as_ref().and_then(rules::called);
    own.unwrap_or_else(|| names::number_of(&stored.name))
}
