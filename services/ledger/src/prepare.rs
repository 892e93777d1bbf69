//! Checks the shape of a draft and encodes what does not depend on its place in the chain.
//!
//! This runs on the caller's thread, so that the one committer has little left to do per commit.

use crate::draft::{Assert, Caller, Draft, NewEntry};
use crate::error::LedgerError;
use crate::stored::project_of;
use obvert_proto::common::v1::{Commit, CommitCaller, Entry};
use prost::Message;
use prost::encoding::{bytes, int64, string};
use prost_types::Timestamp;
use std::collections::HashSet;

/// Largest encoded commit.
pub(crate) const MAX_COMMIT_BYTES: u64 = 32 << 20;
/// Largest name, claim or request id.
const MAX_TEXT_BYTES: usize = 1024;

/// A draft that lacks only its revision and the hash before it.
pub(crate) struct Prepared {
    /// The commit with revision 0 and no previous hash.
    pub(crate) commit: Commit,
    pub(crate) asserts: Vec<Assert>,
    /// Encoded fields from caller to reason.
    middle: Vec<u8>,
    /// Encoded entries.
    tail: Vec<u8>,
}

impl Prepared {
    /// Encodes the commit at its place in the chain, byte for byte as prost would.
    pub(crate) fn encode(&self, out: &mut Vec<u8>, revision: i64, previous_hash: &[u8]) {
        out.clear();
        string::encode(1, &self.commit.project, out);
        int64::encode(2, &revision, out);
        out.extend_from_slice(&self.middle);
        if !previous_hash.is_empty() {
            bytes::encode(9, &previous_hash.to_vec(), out);
        }
        out.extend_from_slice(&self.tail);
    }

    /// Roughly what the commit will take in the journal.
    pub(crate) fn size_bytes(&self) -> usize {
        self.middle.len() + self.tail.len() + self.commit.project.len() + 64
    }

    /// Principal who asks; request ids are unique per principal.
    pub(crate) fn principal(&self) -> &str {
        self.commit
            .caller
            .as_ref()
            .map_or("", |caller| &caller.principal)
    }
}

/// Prepares a draft; all that is wrong with it is said at once.
pub(crate) fn prepare(draft: Draft) -> Result<Prepared, LedgerError> {
    let violations = violations(&draft);
    if !violations.is_empty() {
        return Err(LedgerError::Invalid {
            what: violations.join("; "),
        });
    }
    let Caller {
        principal,
        role,
        key_id,
    } = draft.caller;
    let mut commit = Commit {
        caller: Some(CommitCaller {
            principal,
            role,
            key_id,
        }),
        commit_time: Some(timestamp(draft.commit_time_ms)),
        observed_time: draft.observed_time_ms.map(timestamp),
        request_id: draft.request_id,
        request_digest: draft.request_digest.to_vec(),
        reason: draft.reason,
        ..Commit::default()
    };
    let middle = commit.encode_to_vec();
    let entries: Vec<Entry> = draft.entries.into_iter().map(entry).collect();
    let encoded = Commit {
        entries,
        ..Commit::default()
    };
    let tail = encoded.encode_to_vec();
    let size_bytes = (middle.len() + tail.len() + draft.project.len()) as u64;
    if size_bytes > MAX_COMMIT_BYTES {
        return Err(LedgerError::TooLarge {
            size_bytes,
            limit_bytes: MAX_COMMIT_BYTES,
        });
    }
    commit.entries = encoded.entries;
    commit.project = draft.project;
    Ok(Prepared {
        commit,
        asserts: draft.asserts,
        middle,
        tail,
    })
}

fn entry(new: NewEntry) -> Entry {
    let NewEntry {
        name,
        type_name,
        body,
        mut refers,
        mut claims,
    } = new;
    refers.sort_unstable();
    refers.dedup();
    claims.sort_unstable();
    claims.dedup();
    Entry {
        name,
        type_name,
        body,
        refers,
        claims,
    }
}

fn timestamp(unix_ms: i64) -> Timestamp {
    Timestamp {
        seconds: unix_ms.div_euclid(1000),
        nanos: (unix_ms.rem_euclid(1000) * 1_000_000) as i32,
    }
}

fn violations(draft: &Draft) -> Vec<String> {
    let mut found = Vec::new();
    let mut text = |what: &str, text: &str| {
        if text.contains('\0') {
            found.push(format!("{what} {text:?} has a zero byte"));
        }
        if text.len() > MAX_TEXT_BYTES {
            let start: String = text.chars().take(40).collect();
            found.push(format!(
                "{what} {start}... is longer than {MAX_TEXT_BYTES} bytes"
            ));
        }
    };
    text("project", &draft.project);
    text("principal", &draft.caller.principal);
    text("request id", &draft.request_id);
    for entry in &draft.entries {
        text("name", &entry.name);
        entry.refers.iter().for_each(|name| text("reference", name));
        entry.claims.iter().for_each(|claim| text("claim", claim));
    }
    if draft.project.is_empty() {
        found.push("the project is empty".to_string());
    }
    if draft.entries.is_empty() {
        found.push("there is no entry".to_string());
    }
    let mut names = HashSet::new();
    for entry in &draft.entries {
        if project_of(&entry.name) != draft.project {
            found.push(format!(
                "{} is not a record of project {}",
                entry.name, draft.project
            ));
        }
        if !names.insert(&entry.name) {
            found.push(format!("{} stands twice", entry.name));
        }
    }
    for assert in &draft.asserts {
        if project_of(&assert.name) != draft.project {
            found.push(format!(
                "{} is not a record of project {}",
                assert.name, draft.project
            ));
        }
    }
    found
}
