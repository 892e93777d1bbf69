//! When keys were last used, kept in the ledger: all since the last time in one commit.

use obvert_access::{Keys, OFFICE};
use obvert_ledger::{Caller, Draft, Ledger, NewEntry};
use obvert_proto::{Problem, dates::from_unix_ms, project::v1::KeyUse};
use obvert_records::{Digest, names, refusal};
use prost::{Message, Name};

/// Keeps the uses that the ledger does not hold yet; commits nothing when there are none.
///
/// # Errors
///
/// The ledger's refusal.
pub async fn keep_key_uses(ledger: &Ledger, keys: &Keys, now_ms: i64) -> Result<(), Problem> {
    let mut uses: Vec<_> = keys.take_uses().into_iter().collect();
    if uses.is_empty() {
        return Ok(());
    }
    uses.sort();
    let entries = uses.into_iter().map(|(key_id, last_ms)| {
        let used = KeyUse {
            last_use_time: Some(from_unix_ms(last_ms)),
        };
        NewEntry {
            name: names::join(OFFICE, "keyUses", &key_id),
            type_name: KeyUse::full_name(),
            body: used.encode_to_vec().into(),
            refers: Vec::new(),
            claims: Vec::new(),
        }
    });
    let draft = Draft {
        project: OFFICE.into(),
        caller: Caller {
            principal: "server".into(),
            role: "server".into(),
            key_id: String::new(),
        },
        request_id: String::new(),
        request_digest: Digest::default().part(b"key uses").finish(),
        reason: "when keys were last used".into(),
        commit_time_ms: now_ms,
        observed_time_ms: None,
        asserts: Vec::new(),
        entries: entries.collect(),
    };
    ledger.commit(draft).await.map_err(refusal)?;
    Ok(())
}
