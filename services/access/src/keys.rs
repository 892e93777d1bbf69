//! Keys in force, read from the ledger.

use std::{
    collections::HashMap,
    sync::{Arc, RwLock},
};

use obvert_ledger::{Ledger, LedgerError};
use obvert_proto::{Problem, common::v1::Reason, dates::unix_ms, project::v1::ApiKey};
use prost::Message;

use crate::{Caller, KeyError, digest_of, key::is_key};

/// Reserved project that holds keys, makers' sheets and whatever all projects share.
pub const OFFICE: &str = "office";
/// Records read at once.
const PAGE: usize = 500;

/// All keys by digest, reloaded when `office` has moved on.
#[derive(Clone)]
pub struct Keys {
    ledger: Ledger,
    known: Arc<RwLock<Known>>,
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
        *self
            .known
            .write()
            .unwrap_or_else(std::sync::PoisonError::into_inner) = Known {
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
        if kept.revoke_time.is_some() {
            let message = "the key was revoked: ask the office for a new one";
            return Err(refuse(message).fact("key_id", key_id));
        }
        let expire_time_ms = kept.expire_time.as_ref().map_or(0, unix_ms);
        if expire_time_ms <= now_ms {
            let message = "the key has expired: ask the office for a new one";
            return Err(refuse(message).fact("key_id", key_id));
        }
        Ok(Caller {
            principal: kept.principal.clone(),
            key_id: key_id.clone(),
            bindings: kept.bindings.clone(),
            expire_time_ms,
        })
    }

    fn read(&self) -> std::sync::RwLockReadGuard<'_, Known> {
        self.known
            .read()
            .unwrap_or_else(std::sync::PoisonError::into_inner)
    }
}
