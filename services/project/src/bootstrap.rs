//! The first key of a new store.

use obvert_access::{OFFICE, digest_of, fresh_key};
use obvert_ledger::{Assert, Caller, Draft, Expect, Ledger, LedgerError, NewEntry};
use obvert_proto::{
    Problem,
    common::v1::Reason,
    dates::from_unix_ms,
    project::v1::{ApiKey, Role, RoleBinding},
};
use obvert_records::{Digest, names, refusal};
use prost::{Message, Name};

/// Milliseconds of a day.
pub(crate) const DAY_MS: i64 = 86_400_000;
/// Days that a key is valid when nothing else is asked.
pub(crate) const USUAL_DAYS: i64 = 365;
const BOOTSTRAP: &str = "bootstrap";

/// Makes the key `bootstrap` with the role office in every project, and returns its secret, when
/// the store has no key at all; otherwise does nothing.
///
/// # Errors
///
/// The ledger's refusal.
pub async fn bootstrap_key(
    ledger: &Ledger,
    random: [u8; 32],
    now_ms: i64,
) -> Result<Option<String>, Problem> {
    let keys = ledger
        .list(OFFICE.into(), "keys".into(), None, 1, 0)
        .await
        .map_err(refusal)?;
    if !keys.items.is_empty() {
        return Ok(None);
    }
    let (secret, secret_sha256) = secret(random)?;
    let key = ApiKey {
        principal: format!("machine/{BOOTSTRAP}"),
        secret_sha256,
        bindings: vec![RoleBinding {
            project: "*".into(),
            role: Role::Office.into(),
        }],
        expire_time: Some(from_unix_ms(now_ms + USUAL_DAYS * DAY_MS)),
        revoke_time: None,
        shift: None,
    };
    let entry = key_entry(BOOTSTRAP, &key);
    let draft = Draft {
        project: OFFICE.into(),
        caller: Caller {
            principal: "server".into(),
            role: "server".into(),
            key_id: String::new(),
        },
        request_id: String::new(),
        request_digest: Digest::default().part(entry.name.as_bytes()).finish(),
        reason: "the store has no key yet".into(),
        commit_time_ms: now_ms,
        observed_time_ms: None,
        asserts: vec![Assert {
            name: entry.name.clone(),
            expect: Expect::Absent,
        }],
        entries: vec![entry],
    };
    match ledger.commit(draft).await {
        Ok(_) => Ok(Some(secret)),
        Err(LedgerError::Exists { .. }) => Ok(None),
        Err(error) => Err(refusal(error)),
    }
}

/// A secret made from random bytes, and its SHA-256.
pub(crate) fn secret(random: [u8; 32]) -> Result<(String, Vec<u8>), Problem> {
    let secret = fresh_key(random);
    let digest = digest_of(&secret);
    let digest = digest.map_err(|_| {
        Problem::new(
            Reason::Internal,
            "a fresh key does not have the form of one",
        )
    })?;
    Ok((secret, digest.to_vec()))
}

/// Entry of a key in `office`.
pub(crate) fn key_entry(key_id: &str, key: &ApiKey) -> NewEntry {
    NewEntry {
        name: names::join(OFFICE, "keys", key_id),
        type_name: ApiKey::full_name(),
        body: key.encode_to_vec().into(),
        refers: Vec::new(),
        claims: Vec::new(),
    }
}
