//! Commits what a plug-in said.

use obvert_ledger::{Assert, Caller, Draft, Expect, Ledger, LedgerError, NewEntry};
use obvert_proto::Problem;
use obvert_records::{Digest, names, now_ms, refusal};

/// A record of an answer.
pub(super) struct Said {
    pub(super) collection: &'static str,
    pub(super) type_name: String,
    pub(super) body: Vec<u8>,
}

/// Writes an answer as the newest state of its record; nothing when it says the same as before.
///
/// One record a question, so that a segment's file holds the last answer and not all of them; the
/// older ones stay readable as its former states.
pub(super) async fn commit(
    ledger: &Ledger,
    plugin: &str,
    segment: &str,
    id: &[&str],
    said: Said,
) -> Result<(), Problem> {
    let project = names::project_of(segment).to_owned();
    let digest = id.iter().fold(
        Digest::default().part(segment.as_bytes()),
        |digest, part| digest.part(part.as_bytes()),
    );
    let digest = digest.finish();
    let id: String = digest
        .iter()
        .take(10)
        .map(|byte| format!("{byte:02x}"))
        .collect();
    let name = names::join(&project, said.collection, &format!("a-{id}"));
    let before = ledger.get(name.clone(), 0).await.map_err(refusal)?;
    if before
        .as_ref()
        .is_some_and(|before| before.body == said.body)
    {
        return Ok(());
    }
    let expect = before.map_or(Expect::Absent, |before| Expect::Revision(before.revision));
    let assert = Assert {
        name: name.clone(),
        expect,
    };
    let entry = NewEntry {
        name,
        type_name: said.type_name,
        body: said.body.into(),
        refers: vec![segment.to_owned()],
        claims: Vec::new(),
    };
    let draft = Draft {
        project,
        caller: Caller {
            principal: format!("plug-in/{plugin}"),
            role: "plug-in".to_owned(),
            key_id: String::new(),
        },
        request_id: String::new(),
        request_digest: Digest::default().part(&entry.body).finish(),
        reason: "Answer of a plug-in for the evidence on file.".to_owned(),
        commit_time_ms: now_ms(),
        observed_time_ms: None,
        asserts: vec![assert],
        entries: vec![entry],
    };
    match ledger.commit(draft).await {
        // Another server was faster; the next look sees what it wrote.
        Ok(_) | Err(LedgerError::Exists { .. } | LedgerError::Stale { .. }) => Ok(()),
        Err(error) => Err(refusal(error)),
    }
}
