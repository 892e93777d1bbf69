//! Keys in force, read from the ledger.

use std::{
    collections::HashMap,
    sync::{Arc, Mutex, MutexGuard, PoisonError, RwLock},
};

use obvert_ledger::{Ledger, LedgerError};
use obvert_proto::{Problem, common::v1::Reason, dates::unix_ms, project::v1::ApiKey};
use prost::Message;
use tokio::sync::watch;

use crate::{Action, Caller, KeyError, digest_of, key::is_key};

/// Reserved project that holds keys, makers' sheets and whatever all projects share.
pub const OFFICE: &str = "office";
/// Records read at once.
const PAGE: usize = 500;

/// All keys by digest, reloaded when `office` has moved on.
#[derive(Clone)]
pub struct Keys {
    ledger: Ledger,
    known: Arc<RwLock<Known>>,
    /// Last use of keys since it was last kept in the ledger, by key id.
    uses: Arc<Mutex<HashMap<String, i64>>>,
}

#[derive(Default)]
struct Known {
    revision: i64,
    by_digest: HashMap<Vec<u8>, (String, ApiKey)>,
}

impl Keys {
    /// Keys of a ledger; nothing is read before the first call.
    pub fn new(ledger: Ledger) -> Self {
        Self {
            ledger,
            known: Arc::default(),
            uses: Arc::default(),
        }
    }

    /// Reloads the keys if `office` has a newer revision. Called often; cheap when nothing changed.
    ///
    /// # Errors
    ///
    /// The ledger's error when it cannot be read.
    pub async fn refresh(&self) -> Result<(), LedgerError> {
        let head = self.ledger.head(OFFICE.to_owned()).await?;
        if self.read().revision == head.revision {
            return Ok(());
        }
        let mut by_digest = HashMap::new();
        let mut after = None;
        loop {
            let page = self
                .ledger
                .list(OFFICE.into(), "keys".into(), after, PAGE, 0)
                .await?;
            for stored in page.items {
                if let Ok(key) = ApiKey::decode(stored.body.as_ref()) {
                    let id = stored
                        .name
                        .rsplit('/')
                        .next()
                        .unwrap_or_default()
                        .to_owned();
                    by_digest.insert(key.secret_sha256.clone(), (id, key));
                }
            }
            after = page.next;
            if after.is_none() {
                break;
            }
        }
        *self.known.write().unwrap_or_else(PoisonError::into_inner) = Known {
            revision: head.revision,
            by_digest,
        };
        Ok(())
    }

    /// Whether any key exists.
    pub fn is_empty(&self) -> bool {
        self.read().by_digest.is_empty()
    }

    /// Caller that a key stands for at a time.
    ///
    /// # Errors
    ///
    /// `NOT_AUTHENTICATED` for a text that is no key, a mistyped, unknown, expired or revoked key.
    pub fn caller(&self, key: &str, now_ms: i64) -> Result<Caller, Problem> {
        let refuse = |why: &str| Problem::new(Reason::NotAuthenticated, why);
        let digest = digest_of(key).map_err(|error| match error {
            KeyError::Form => {
                refuse("the key does not have the form obv_..._......: copy it whole")
            }
            KeyError::Check => refuse("the key's last six characters do not fit: it was mistyped"),
        })?;
        self.caller_of_digest(&digest, now_ms)
    }

    /// Caller that a key's digest stands for at a time, as a page's session carries it.
    ///
    /// # Errors
    ///
    /// As [`Self::caller`].
    pub fn caller_of_digest(&self, digest: &[u8; 32], now_ms: i64) -> Result<Caller, Problem> {
        let refuse = |why: &str| Problem::new(Reason::NotAuthenticated, why);
        let known = self.read();
        let found = known
            .by_digest
            .get(digest.as_slice())
            .filter(|(_, kept)| is_key(kept, digest));
        let Some((key_id, kept)) = found else {
            return Err(refuse("the key is not known here: ask the office for one"));
        };
        let caller = caller_by(key_id, kept, now_ms)?;
        self.used(key_id, now_ms);
        Ok(caller)
    }

    /// Whether a principal may still do something in a project, by any key of its own in force.
    /// Long work that goes on in its name asks this.
    ///
    /// # Errors
    ///
    /// `NOT_ALLOWED` when no key of it is in force, or none that is may.
    pub fn may_still(
        &self,
        principal: &str,
        action: Action<'_>,
        project: &str,
        now_ms: i64,
    ) -> Result<(), Problem> {
        let known = self.read();
        let own = known.by_digest.values();
        let own = own.filter(|(_, kept)| kept.principal == principal);
        let in_force = own.filter_map(|(id, kept)| caller_by(id, kept, now_ms).ok());
        let in_force: Vec<_> = in_force.collect();
        if in_force
            .iter()
            .any(|caller| caller.may(action, project).is_ok())
        {
            return Ok(());
        }
        let message = match in_force.is_empty() {
            true => format!("{principal} has no key in force any more"),
            false => format!("no key in force of {principal} may do this in {project} any more"),
        };
        Err(Problem::new(Reason::NotAllowed, message).fact("principal", principal))
    }

    /// Whether a key that opened a stream is still in force.
    ///
    /// # Errors
    ///
    /// `NOT_AUTHENTICATED` when it was revoked or has expired.
    pub fn still(&self, key_id: &str, now_ms: i64) -> Result<(), Problem> {
        let known = self.read();
        let found = known.by_digest.values().find(|(id, _)| id == key_id);
        found.map_or(Ok(()), |(id, kept)| in_force(id, kept, now_ms).map(drop))
    }

    /// Ticks when the ledger may hold another state of a key.
    pub fn ticks(&self) -> watch::Receiver<u64> {
        self.ledger.watch()
    }

    /// Last uses that the ledger does not hold yet, by key id, in milliseconds since
    /// 1970-01-01T00:00:00Z.
    pub fn uses(&self) -> HashMap<String, i64> {
        self.held_uses().clone()
    }

    /// Takes the last uses out, to be kept in the ledger.
    pub fn take_uses(&self) -> HashMap<String, i64> {
        std::mem::take(&mut *self.held_uses())
    }

    fn used(&self, key_id: &str, now_ms: i64) {
        let mut uses = self.held_uses();
        match uses.get_mut(key_id) {
            Some(last) => *last = now_ms,
            None => {
                uses.insert(key_id.to_owned(), now_ms);
            }
        }
    }

    fn held_uses(&self) -> MutexGuard<'_, HashMap<String, i64>> {
        self.uses.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn read(&self) -> std::sync::RwLockReadGuard<'_, Known> {
        self.known.read().unwrap_or_else(PoisonError::into_inner)
    }
}

fn caller_by(key_id: &str, kept: &ApiKey, now_ms: i64) -> Result<Caller, Problem> {
    Ok(Caller {
        principal: kept.principal.clone(),
        key_id: key_id.to_owned(),
        bindings: kept.bindings.clone(),
        expire_time_ms: in_force(key_id, kept, now_ms)?,
        shift: kept.shift,
    })
}

/// When a key stops working.
///
/// # Errors
///
/// `NOT_AUTHENTICATED` when it was revoked or has expired.
fn in_force(key_id: &str, kept: &ApiKey, now_ms: i64) -> Result<i64, Problem> {
    let refuse = |why: &str| Problem::new(Reason::NotAuthenticated, why).fact("key_id", key_id);
    if kept.revoke_time.is_some() {
        return Err(refuse("the key was revoked: ask the office for a new one"));
    }
    let expire_time_ms = kept.expire_time.as_ref().map_or(0, unix_ms);
    if expire_time_ms <= now_ms {
        return Err(refuse("the key has expired: ask the office for a new one"));
    }
    Ok(expire_time_ms)
}
