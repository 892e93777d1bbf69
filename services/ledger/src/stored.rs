//! What reads return.

use crate::draft::Caller;
use bytes::Bytes;
use obvert_proto::common::v1::Commit;

/// One record as one commit left it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stored {
    /// Full record name.
    pub name: String,
    /// Revision that wrote this state.
    pub revision: i64,
    /// Revision that wrote the record first.
    pub create_revision: i64,
    /// Full name of the message type.
    pub type_name: String,
    /// Encoded message as it was handed in.
    pub body: Bytes,
    /// Records this state refers to, sorted.
    pub refers: Vec<String>,
    /// Claims this state holds, sorted.
    pub claims: Vec<String>,
    /// Time of the commit, in milliseconds since 1970.
    pub commit_time_ms: i64,
    /// When the thing recorded was observed, if the writer said so.
    pub observed_time_ms: Option<i64>,
    /// Who wrote it.
    pub caller: Caller,
    /// Reason given.
    pub reason: String,
}

/// Part of a list, and where the next part begins.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Page<T> {
    /// What was found, in order.
    pub items: Vec<T>,
    /// Value to pass as `after` to go on; none when the list is complete.
    pub next: Option<String>,
}

/// Newest commit of a project.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Head {
    /// Its revision; 0 when the project has no commit.
    pub revision: i64,
    /// SHA-256 of its stored bytes; zeros at revision 0.
    pub hash: [u8; 32],
    /// Its time, in milliseconds since 1970.
    pub commit_time_ms: i64,
}

impl Stored {
    /// Picks entry number `entry` out of a commit; none when the commit has no such entry.
    pub(crate) fn pick(commit: &Commit, entry: usize, create_revision: i64) -> Option<Stored> {
        let written = commit.entries.get(entry)?;
        let caller = commit.caller.as_ref();
        Some(Stored {
            name: written.name.clone(),
            revision: commit.revision,
            create_revision,
            type_name: written.type_name.clone(),
            body: written.body.clone(),
            refers: written.refers.clone(),
            claims: written.claims.clone(),
            commit_time_ms: commit_time_ms(commit),
            observed_time_ms: commit.observed_time.as_ref().map(unix_ms),
            caller: caller.map(known_caller).unwrap_or_default(),
            reason: commit.reason.clone(),
        })
    }
}

/// Time of a commit, in milliseconds since 1970.
pub(crate) fn commit_time_ms(commit: &Commit) -> i64 {
    commit.commit_time.as_ref().map(unix_ms).unwrap_or_default()
}

/// Project of a full record name: its second part, or its first outside `projects/`.
pub(crate) fn project_of(name: &str) -> &str {
    let mut parts = name.split('/');
    match (parts.next(), parts.next()) {
        (Some("projects"), Some(project)) => project,
        (Some(first), _) => first,
        (None, _) => "",
    }
}

fn known_caller(caller: &obvert_proto::common::v1::CommitCaller) -> Caller {
    Caller {
        principal: caller.principal.clone(),
        role: caller.role.clone(),
        key_id: caller.key_id.clone(),
    }
}

fn unix_ms(time: &prost_types::Timestamp) -> i64 {
    time.seconds * 1000 + i64::from(time.nanos) / 1_000_000
}
