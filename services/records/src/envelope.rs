//! The write envelope, the meta of an answer, and the draft of a commit.

use jiff::Timestamp;
use obvert_access::{Caller, role_word};
use obvert_ledger::{Assert, Committed, Draft, NewEntry, Stored};
use obvert_proto::{
    Problem, Violation,
    common::v1::{Reason, RecordMeta, Write},
    dates::{from_unix_ms, unix_ms},
    pool,
    project::v1::Role,
    rules,
};
use prost::{Message, Name};
use prost_reflect::{DynamicMessage, MessageDescriptor};
use sha2::{Digest as _, Sha256};
use tonic::{Request, Status};

/// Milliseconds since 1970-01-01T00:00:00Z now. Read in `service.rs` and passed on as a value.
pub fn now_ms() -> i64 {
    Timestamp::now().as_millisecond()
}

/// Caller and message of a request.
///
/// # Errors
///
/// `NOT_AUTHENTICATED` when no valid key came with the call.
pub fn opened<T>(request: Request<T>) -> Result<(Caller, T), Status> {
    Ok((Caller::of(&request)?, request.into_inner()))
}

/// The ledger's form of a caller acting under a role.
pub fn caller_of(caller: &Caller, role: Role) -> obvert_ledger::Caller {
    obvert_ledger::Caller {
        principal: caller.principal.clone(),
        role: role_word(role),
        key_id: caller.key_id.clone(),
    }
}

/// Envelope of a writing request.
///
/// # Errors
///
/// `FIELDS_INVALID` when it or its request id is missing, or the id or reason is too long.
pub fn check_write(write: Option<Write>) -> Result<Write, Problem> {
    let write = write.unwrap_or_default();
    let mut wrong = Vec::new();
    if write.request_id.trim().is_empty() || write.request_id.len() > 100 {
        let message =
            "is missing or longer than 100 bytes: give an id of your own, new for each request";
        wrong.push(Violation::new("write.request_id", message));
    }
    if write.reason.chars().count() > 500 {
        wrong.push(Violation::new(
            "write.reason",
            "has more than 500 characters: shorten it",
        ));
    }
    if wrong.is_empty() {
        Ok(write)
    } else {
        Err(Problem::fields(wrong))
    }
}

/// Holds a request against the rules that the schema states of its fields.
///
/// # Errors
///
/// `FIELDS_INVALID` with every field that breaks its rule.
pub fn check_request<M: Message + Name>(request: &M) -> Result<(), Problem> {
    let mut message = DynamicMessage::new(descriptor_of::<M>()?);
    let read = message.merge(request.encode_to_vec().as_slice());
    read.map_err(|error| {
        Problem::new(
            Reason::Internal,
            format!("a request cannot be read: {error}"),
        )
    })?;
    let wrong = rules::violations(&message);
    if wrong.is_empty() {
        Ok(())
    } else {
        Err(Problem::fields(wrong))
    }
}

/// Digest of what a request asks for, over parts that cannot run into one another.
#[derive(Default)]
pub struct Digest(Sha256);

impl Digest {
    /// Adds one part.
    #[must_use]
    pub fn part(mut self, bytes: &[u8]) -> Self {
        self.0.update((bytes.len() as u64).to_be_bytes());
        self.0.update(bytes);
        self
    }

    /// SHA-256 of all parts.
    pub fn finish(self) -> [u8; 32] {
        self.0.finalize().into()
    }
}

/// Draft of a commit by a caller.
pub fn draft(
    project: &str,
    caller: obvert_ledger::Caller,
    write: &Write,
    digest: [u8; 32],
    commit_time_ms: i64,
    (asserts, entries): (Vec<Assert>, Vec<NewEntry>),
) -> Draft {
    Draft {
        project: project.to_owned(),
        caller,
        request_id: write.request_id.clone(),
        request_digest: digest,
        reason: write.reason.clone(),
        commit_time_ms,
        observed_time_ms: write.observed_time.as_ref().map(unix_ms),
        asserts,
        entries,
    }
}

/// Etag of a record last written at a revision.
pub fn etag(revision: i64) -> String {
    format!("r{revision}")
}

/// Revision that an etag stands for.
pub fn revision_of(etag: &str) -> Option<i64> {
    etag.trim_matches('"').strip_prefix('r')?.parse().ok()
}

/// What the ledger knows of a stored record.
pub fn meta(stored: &Stored) -> RecordMeta {
    RecordMeta {
        name: stored.name.clone(),
        revision: stored.revision,
        create_revision: stored.create_revision,
        etag: etag(stored.revision),
        commit_time: Some(from_unix_ms(stored.commit_time_ms)),
        observed_time: stored.observed_time_ms.map(from_unix_ms),
        principal: stored.caller.principal.clone(),
        role: stored.caller.role.clone(),
        reason: stored.reason.clone(),
    }
}

/// What the ledger knows of a record that a commit has just written.
pub(crate) fn written(
    name: String,
    create_revision: Option<i64>,
    committed: &Committed,
    caller: obvert_ledger::Caller,
    write: &Write,
) -> RecordMeta {
    RecordMeta {
        name,
        revision: committed.revision,
        create_revision: create_revision.unwrap_or(committed.revision),
        etag: etag(committed.revision),
        commit_time: Some(from_unix_ms(committed.commit_time_ms)),
        observed_time: write
            .observed_time
            .as_ref()
            .map(|time| from_unix_ms(unix_ms(time))),
        principal: caller.principal,
        role: caller.role,
        reason: write.reason.clone(),
    }
}

fn descriptor_of<M: Name>() -> Result<MessageDescriptor, Problem> {
    let name = M::full_name();
    pool().get_message_by_name(&name).ok_or_else(|| {
        Problem::new(
            Reason::Internal,
            format!("the schema has no message {name}"),
        )
    })
}
