//! Keys as they are made, rotated, listed and ended.

use std::{collections::HashMap, sync::Arc};

use obvert_access::{Caller, Grant, Keys, OFFICE};
use obvert_ledger::{Assert, Expect, Ledger, LedgerError, NewEntry, Stored};
use obvert_proto::{
    Problem, Violation,
    common::v1::{Reason, Write},
    dates::{from_unix_ms, unix_ms},
    project::v1::{ApiKey, CreateKeyRequest, KeyUse, ListedKey, RotateKeyRequest},
};
use obvert_records::{Digest, caller_of, draft, message_of, meta, names, refusal, revision_of};
use prost::{Message, Name};
use tokio::sync::Mutex;

use crate::{
    bootstrap::{DAY_MS, USUAL_DAYS, key_entry, secret},
    key_request::{check, checked},
};

/// Keys of one principal in force at once: the one in use and the next.
const MOST_LIVE: usize = 2;
/// Records read at once.
const PAGE: usize = 500;
const HOUR_MS: i64 = 3_600_000;
/// Hours for which a rotated key still works when nobody says otherwise.
const USUAL_OVERLAP_HOURS: i64 = 24;

/// The keys of a ledger.
#[derive(Clone)]
pub(crate) struct KeyRing {
    ledger: Ledger,
    keys: Keys,
    /// Whether a principal has room for a key is counted and used in one turn.
    turn: Arc<Mutex<()>>,
}

/// A key that is to be committed.
pub(crate) struct NewKey {
    pub(crate) key_id: String,
    pub(crate) key: ApiKey,
    /// Digest of the request that asks for it.
    pub(crate) digest: [u8; 32],
    /// The state of an older key that is committed with it.
    pub(crate) old: Option<(Stored, ApiKey)>,
}

impl KeyRing {
    pub(crate) fn new(ledger: Ledger, keys: Keys) -> Self {
        Self {
            ledger,
            keys,
            turn: Arc::default(),
        }
    }

    pub(crate) fn ledger(&self) -> &Ledger {
        &self.ledger
    }

    /// Makes a key for anybody; returns its name, its secret and what is kept of it.
    ///
    /// The secret is empty when the request only asked whether it could be made.
    pub(crate) async fn create(
        &self,
        (caller, grant): (&Caller, Grant),
        write: &Write,
        request: &CreateKeyRequest,
        (random, now_ms): ([u8; 32], i64),
    ) -> Result<(String, String, ApiKey), Problem> {
        check(request)?;
        let digest = Digest::default().part(&request.encode_to_vec()).finish();
        let (secret, secret_sha256) = secret(random)?;
        let days = (request.valid_days != 0).then_some(request.valid_days);
        let new = NewKey {
            key_id: request.key_id.clone(),
            key: ApiKey {
                principal: request.principal.clone(),
                secret_sha256,
                bindings: request.bindings.clone(),
                expire_time: Some(after_days(now_ms, days)),
                ..ApiKey::default()
            },
            digest,
            old: None,
        };
        let (name, key) = self.commit((caller, grant), write, new, now_ms).await?;
        Ok((name, shown_secret(write, secret), key))
    }

    /// Makes the next key of a principal, and lets the old one run out.
    pub(crate) async fn rotate(
        &self,
        (caller, grant): (&Caller, Grant),
        write: &Write,
        request: &RotateKeyRequest,
        (random, now_ms): ([u8; 32], i64),
    ) -> Result<(String, String, ApiKey, i64), Problem> {
        checked(
            names::check_id("key_id", &request.key_id)
                .into_iter()
                .collect(),
        )?;
        let (stored, mut old) = self.key(&request.name).await?;
        let refused = |what: &str| {
            let message = format!("{} {what}", request.name);
            Problem::new(Reason::ActRefused, message).fact("name", &request.name)
        };
        if !is_live(&old, now_ms) {
            return Err(refused("is not in force: the office makes a new key"));
        }
        if old.shift.is_some() {
            return Err(refused(
                "is of a crew's day and ends with it: the office makes another",
            ));
        }
        let digest = Digest::default().part(&request.encode_to_vec()).finish();
        let (secret, secret_sha256) = secret(random)?;
        let key = ApiKey {
            secret_sha256,
            expire_time: Some(after_days(now_ms, request.valid_days)),
            ..old.clone()
        };
        let hours = request.overlap_hours.map_or(USUAL_OVERLAP_HOURS, i64::from);
        let end_ms = expires_at(&old).min(now_ms + hours * HOUR_MS);
        old.expire_time = Some(from_unix_ms(end_ms));
        let new = NewKey {
            key_id: request.key_id.clone(),
            key,
            digest,
            old: Some((stored, old)),
        };
        let (name, key) = self.commit((caller, grant), write, new, now_ms).await?;
        Ok((name, shown_secret(write, secret), key, end_ms))
    }

    /// Ends a key; one that has ended stays ended since then.
    pub(crate) async fn revoke(
        &self,
        (caller, grant): (&Caller, Grant),
        write: &Write,
        name: &str,
        now_ms: i64,
    ) -> Result<ApiKey, Problem> {
        if write.reason.trim().is_empty() {
            let message = "is missing: say why the key is ended";
            return Err(Problem::fields(vec![Violation::new(
                "write.reason",
                message,
            )]));
        }
        let (stored, mut key) = self.key(name).await?;
        if key.revoke_time.is_some() || write.validate_only {
            return Ok(shown(key));
        }
        key.revoke_time = Some(from_unix_ms(now_ms));
        let read_at = match write.etag.as_str() {
            "" => stored.revision,
            etag => revision_of(etag).unwrap_or_default(),
        };
        let asserts = vec![Assert {
            name: name.to_owned(),
            expect: Expect::Revision(read_at),
        }];
        let digest = Digest::default()
            .part(name.as_bytes())
            .part(write.reason.as_bytes())
            .finish();
        let content = (asserts, vec![key_entry(names::id_of(name), &key)]);
        let caller = caller_of(caller, grant.role);
        let draft = draft(OFFICE, caller, write, digest, now_ms, content);
        self.ledger.commit(draft).await.map_err(refusal)?;
        Ok(shown(key))
    }

    /// Keys with their last use: all, or those of the caller's own principal.
    pub(crate) async fn list(
        &self,
        caller: &Caller,
        grant: Grant,
    ) -> Result<Vec<ListedKey>, Problem> {
        let recent = self.keys.uses();
        let mut kept = HashMap::new();
        for (stored, used) in self.all::<KeyUse>("keyUses").await? {
            let time = used.last_use_time.as_ref().map_or(0, unix_ms);
            kept.insert(names::id_of(&stored.name).to_owned(), time);
        }
        let keys = self.all::<ApiKey>("keys").await?.into_iter();
        let own = |key: &ApiKey| !grant.own_only || key.principal == caller.principal;
        let listed = keys.filter(|(_, key)| own(key)).map(|(stored, key)| {
            let id = names::id_of(&stored.name);
            let last = recent.get(id).or(kept.get(id));
            ListedKey {
                meta: Some(meta(&stored)),
                key: Some(shown(key)),
                last_use_time: last.map(|ms| from_unix_ms(*ms)),
            }
        });
        Ok(listed.collect())
    }

    /// Lets a grant pass that reaches a key: any key, or only one of the caller's own principal.
    pub(crate) async fn reaches(
        &self,
        caller: &Caller,
        grant: Grant,
        name: &str,
    ) -> Result<(), Problem> {
        let own = |key: &ApiKey| key.principal == caller.principal;
        if !grant.own_only || self.key(name).await.is_ok_and(|(_, key)| own(&key)) {
            return Ok(());
        }
        Err(caller.not_own(name))
    }

    /// Commits a new key unless its principal has two in force already.
    pub(crate) async fn commit(
        &self,
        (caller, grant): (&Caller, Grant),
        write: &Write,
        new: NewKey,
        now_ms: i64,
    ) -> Result<(String, ApiKey), Problem> {
        let _turn = self.turn.lock().await;
        let entry = key_entry(&new.key_id, &new.key);
        let name = entry.name.clone();
        let asked = (OFFICE.to_owned(), caller.principal.clone());
        let before = self
            .ledger
            .replay(asked.0, asked.1, write.request_id.clone());
        if let Some((revision, _)) = before.await.map_err(refusal)? {
            return Err(shown_once(write, &name, revision));
        }
        let found = self.ledger.get(name.clone(), 0).await.map_err(refusal)?;
        if let Some(Stored { revision, .. }) = found {
            return Err(refusal(LedgerError::Exists { name, revision }));
        }
        self.has_room(&new.key.principal, now_ms).await?;
        if write.validate_only {
            return Ok((name, shown(new.key)));
        }
        let absent = Assert {
            name: name.clone(),
            expect: Expect::Absent,
        };
        let (mut asserts, mut entries): (Vec<Assert>, Vec<NewEntry>) = (vec![absent], vec![entry]);
        if let Some((stored, old)) = &new.old {
            asserts.push(Assert {
                name: stored.name.clone(),
                expect: Expect::Revision(stored.revision),
            });
            entries.push(key_entry(names::id_of(&stored.name), old));
        }
        let caller = caller_of(caller, grant.role);
        let draft = draft(
            OFFICE,
            caller,
            write,
            new.digest,
            now_ms,
            (asserts, entries),
        );
        self.ledger.commit(draft).await.map_err(refusal)?;
        Ok((name, shown(new.key)))
    }

    async fn has_room(&self, principal: &str, now_ms: i64) -> Result<(), Problem> {
        let keys = self.all::<ApiKey>("keys").await?.into_iter();
        let live = keys.filter(|(_, key)| key.principal == principal && is_live(key, now_ms));
        let live: Vec<_> = live.map(|(stored, _)| stored.name).collect();
        if live.len() < MOST_LIVE {
            return Ok(());
        }
        let names = live.join(" and ");
        let message = format!(
            "{principal} has {} keys in force, {names}, and no more than {MOST_LIVE} are allowed: \
             revoke one first",
            live.len()
        );
        Err(Problem::new(Reason::ActRefused, message)
            .fact("principal", principal)
            .fact("keys", names))
    }

    /// Key of a name, with what the ledger knows of it.
    async fn key(&self, name: &str) -> Result<(Stored, ApiKey), Problem> {
        let stored = self.ledger.get(name.to_owned(), 0).await.map_err(refusal)?;
        let stored = stored.filter(|stored| stored.type_name == ApiKey::full_name());
        let absent = || {
            refusal(LedgerError::NotFound {
                name: name.to_owned(),
            })
        };
        let stored = stored.ok_or_else(absent)?;
        let key = message_of(&stored)?;
        Ok((stored, key))
    }

    async fn all<M: Message + Default>(
        &self,
        collection: &str,
    ) -> Result<Vec<(Stored, M)>, Problem> {
        let (mut found, mut after) = (Vec::new(), None);
        loop {
            let list = self
                .ledger
                .list(OFFICE.into(), collection.into(), after, PAGE, 0);
            let page = list.await.map_err(refusal)?;
            for stored in page.items {
                let message = message_of(&stored)?;
                found.push((stored, message));
            }
            after = page.next;
            if after.is_none() {
                return Ok(found);
            }
        }
    }
}

fn after_days(now_ms: i64, days: Option<i32>) -> prost_types::Timestamp {
    let days = days.map_or(USUAL_DAYS, i64::from);
    from_unix_ms(now_ms + days * DAY_MS)
}

fn expires_at(key: &ApiKey) -> i64 {
    key.expire_time.as_ref().map_or(0, unix_ms)
}

fn is_live(key: &ApiKey, now_ms: i64) -> bool {
    key.revoke_time.is_none() && expires_at(key) > now_ms
}

/// A secret is shown only when its key was committed.
pub(crate) fn shown_secret(write: &Write, secret: String) -> String {
    if write.validate_only {
        String::new()
    } else {
        secret
    }
}

/// What is shown of a key: all but its digest.
fn shown(key: ApiKey) -> ApiKey {
    ApiKey {
        secret_sha256: Vec::new(),
        ..key
    }
}

/// Refusal of a repeated request, whose answer held a secret that is kept nowhere.
fn shown_once(write: &Write, name: &str, revision: i64) -> Problem {
    let request_id = &write.request_id;
    let message = format!(
        "request id {request_id} made a key at revision {revision} and its secret was shown then, \
         once: if it was not received, revoke that key and make another with a new request id"
    );
    Problem::new(Reason::RequestIdReused, message)
        .fact("request_id", request_id)
        .fact("name", name)
        .fact("revision", revision)
}
