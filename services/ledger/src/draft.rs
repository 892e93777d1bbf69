//! What a caller hands in to be committed, and what it gets back.

use bytes::Bytes;

/// Who asks for a commit, as the access check knew them.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Caller {
    /// Principal, such as `person/ines-holt`.
    pub principal: String,
    /// Role under which the caller acts.
    pub role: String,
    /// Identifier of the API key, never the key.
    pub key_id: String,
}

/// What must hold of a record just before the commit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Expect {
    /// The record was never written.
    Absent,
    /// The record exists, at whatever revision.
    Present,
    /// The record's latest state was written at exactly this revision.
    Revision(i64),
}

/// One condition of a commit; all of them hold or nothing is written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Assert {
    /// Full record name inside the same project.
    pub name: String,
    /// What must hold of it.
    pub expect: Expect,
}

/// One record to be written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NewEntry {
    /// Full record name: `projects/{project}/{collection}/{id}`.
    pub name: String,
    /// Full name of the message type.
    pub type_name: String,
    /// Encoded message, stored as it is.
    pub body: Bytes,
    /// Names of the records this one refers to.
    pub refers: Vec<String>,
    /// Unique claims the record holds from this revision on; those not repeated are given up.
    pub claims: Vec<String>,
}

/// A commit before it has a revision.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Draft {
    /// Project id.
    pub project: String,
    /// Who asks.
    pub caller: Caller,
    /// Caller's identifier of the request; empty for the server's own acts.
    pub request_id: String,
    /// SHA-256 of the request's body, kept so that a reused identifier is noticed.
    pub request_digest: [u8; 32],
    /// Why the records change.
    pub reason: String,
    /// Time of the commit, in milliseconds since 1970: the ledger has no clock.
    pub commit_time_ms: i64,
    /// When the thing recorded was observed, in milliseconds since 1970.
    pub observed_time_ms: Option<i64>,
    /// Conditions.
    pub asserts: Vec<Assert>,
    /// Records to write, in order; a name stands at most once.
    pub entries: Vec<NewEntry>,
}

/// Answer to a commit that is in the journal.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Committed {
    /// Project id.
    pub project: String,
    /// Revision the commit made.
    pub revision: i64,
    /// Time of that commit, in milliseconds since 1970.
    pub commit_time_ms: i64,
    /// True when the same request had been committed before: nothing was written this time.
    pub replayed: bool,
}
