//! A decoded record with what the ledger knows of it.

use std::ops::Deref;

use obvert_ledger::Stored;
use obvert_proto::{common::v1::RecordRef, kind_in_words, rules};
use obvert_records::names;
use prost::{Message, Name};

use super::Evidence;

/// One record of a known type. It dereferences to its message.
#[derive(Debug, Clone, PartialEq)]
pub struct Kept<M> {
    /// Full name.
    pub name: String,
    /// Revision that wrote this state.
    pub revision: i64,
    /// Revision that wrote the record first.
    pub create_revision: i64,
    /// Time of the commit, in milliseconds since 1970-01-01T00:00:00Z.
    pub commit_time_ms: i64,
    /// When the thing recorded was observed, if the writer said so.
    pub observed_time_ms: Option<i64>,
    /// Who wrote it.
    pub principal: String,
    /// Role under which it was written, as a lower-case word.
    pub role: String,
    /// Reason given.
    pub reason: String,
    /// The record.
    pub message: M,
}

impl<M> Kept<M> {
    /// Name and revision.
    pub fn record(&self) -> RecordRef {
        RecordRef {
            name: self.name.clone(),
            revision: self.revision,
        }
    }

    /// Last part of the name, for facts.
    pub fn id(&self) -> &str {
        names::id_of(&self.name)
    }
}

impl<M: Evidence> Kept<M> {
    /// Number by which people call it, for messages.
    pub fn number(&self) -> String {
        rules::called_of(&self.message).unwrap_or_else(|| names::number_of(&self.name))
    }

    /// Kind and number, such as "laboratory report FM-25-007".
    pub fn called(&self) -> String {
        format!("{} {}", kind_in_words(M::WORD), self.number())
    }
}

impl<M: Message + Name + Default> Kept<M> {
    /// A stored record, if it is of this type and can be decoded.
    pub fn read(stored: &Stored) -> Option<Self> {
        if stored.type_name != M::full_name() {
            return None;
        }
        Some(Self {
            name: stored.name.clone(),
            revision: stored.revision,
            create_revision: stored.create_revision,
            commit_time_ms: stored.commit_time_ms,
            observed_time_ms: stored.observed_time_ms,
            principal: stored.caller.principal.clone(),
            role: stored.caller.role.clone(),
            reason: stored.reason.clone(),
            message: M::decode(stored.body.clone()).ok()?,
        })
    }
}

impl<M> Deref for Kept<M> {
    type Target = M;

    fn deref(&self) -> &M {
        &self.message
    }
}
