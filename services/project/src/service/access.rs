//! `AccessService`: keys, and who the caller is.

use obvert_access::{Action, Caller, Grant, OFFICE, role_word};
use obvert_ledger::{Assert, Expect, Ledger, LedgerError, NewEntry, Stored};
use obvert_proto::{
    Problem, Violation,
    common::v1::{Reason, Write},
    dates::from_unix_ms,
    project::v1::{
        ApiKey, CreateKeyRequest, CreateKeyResponse, ListKeysRequest, ListKeysResponse, ListedKey,
        RevokeKeyRequest, RoleBinding, WhoAmIRequest, WhoAmIResponse,
        access_service_server::AccessService,
    },
};
use obvert_records::{
    Digest, caller_of, check_request, check_write, draft, meta, names, now_ms, opened, refusal,
    revision_of,
};
use prost::{Message, Name};
use tonic::{Request, Response, Status};

use super::random;
use crate::bootstrap::{DAY_MS, USUAL_DAYS, key_entry, secret};

/// Keys read at once.
const PAGE: usize = 500;

/// Keys of a ledger.
#[derive(Clone)]
pub struct Access {
    ledger: Ledger,
}

impl Access {
    /// Keys over a ledger.
    pub fn new(ledger: Ledger) -> Self {
        Self { ledger }
    }

    /// Lets a grant pass that reaches a key: any key, or only one of the caller's own principal.
    async fn reaches(&self, caller: &Caller, grant: Grant, name: &str) -> Result<(), Problem> {
        let own = |key: &ApiKey| key.principal == caller.principal;
        if !grant.own_only || self.key(name).await.is_ok_and(|(_, key)| own(&key)) {
            return Ok(());
        }
        Err(caller.not_own(name))
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
        let key = read_key(&stored)?;
        Ok((stored, key))
    }
}

#[tonic::async_trait]
impl AccessService for Access {
    async fn create_key(
        &self,
        request: Request<CreateKeyRequest>,
    ) -> Result<Response<CreateKeyResponse>, Status> {
        let (caller, mut request) = opened(request)?;
        let role = caller.may(Action::MakeKeys, OFFICE)?;
        check_key(&request)?;
        let write = check_write(request.write.take())?;
        let digest = Digest::default().part(&request.encode_to_vec()).finish();
        let now = now_ms();
        let (secret, secret_sha256) = secret(random()?)?;
        let key = new_key(&request, secret_sha256, now);
        let entry = key_entry(&request.key_id, &key);
        let name = entry.name.clone();
        if write.validate_only {
            if let Some(Stored { revision, .. }) =
                self.ledger.get(name.clone(), 0).await.map_err(refusal)?
            {
                return Err(refusal(LedgerError::Exists { name, revision }).into());
            }
            let key = Some(shown(key));
            return Ok(Response::new(CreateKeyResponse {
                name,
                secret: String::new(),
                key,
            }));
        }
        let asserts = vec![Assert {
            name: name.clone(),
            expect: Expect::Absent,
        }];
        let caller = caller_of(&caller, role);
        let draft = draft(OFFICE, caller, &write, digest, now, (asserts, vec![entry]));
        let committed = self.ledger.commit(draft).await.map_err(refusal)?;
        if committed.replayed {
            return Err(shown_once(&write, &name, committed.revision).into());
        }
        Ok(Response::new(CreateKeyResponse {
            name,
            secret,
            key: Some(shown(key)),
        }))
    }

    async fn revoke_key(
        &self,
        request: Request<RevokeKeyRequest>,
    ) -> Result<Response<ApiKey>, Status> {
        let (caller, request) = opened(request)?;
        let grant = caller.may_own(Action::EndKeys, OFFICE)?;
        self.reaches(&caller, grant, &request.name).await?;
        let role = grant.role;
        check_request(&request)?;
        let RevokeKeyRequest { write, name } = request;
        let write = check_write(write)?;
        if write.reason.trim().is_empty() {
            let message = "is missing: say why the key is ended";
            return Err(Problem::fields(vec![Violation::new("write.reason", message)]).into());
        }
        let (stored, mut key) = self.key(&name).await?;
        // A key that has ended stays ended since then, whoever asks again.
        if key.revoke_time.is_some() || write.validate_only {
            return Ok(Response::new(shown(key)));
        }
        let now = now_ms();
        key.revoke_time = Some(from_unix_ms(now));
        let read_at = if write.etag.is_empty() {
            stored.revision
        } else {
            revision_of(&write.etag).unwrap_or_default()
        };
        let asserts = vec![Assert {
            name: name.clone(),
            expect: Expect::Revision(read_at),
        }];
        let entry: NewEntry = key_entry(names::id_of(&name), &key);
        let digest = Digest::default()
            .part(name.as_bytes())
            .part(write.reason.as_bytes())
            .finish();
        let caller = caller_of(&caller, role);
        let draft = draft(OFFICE, caller, &write, digest, now, (asserts, vec![entry]));
        self.ledger.commit(draft).await.map_err(refusal)?;
        Ok(Response::new(shown(key)))
    }

    async fn list_keys(
        &self,
        request: Request<ListKeysRequest>,
    ) -> Result<Response<ListKeysResponse>, Status> {
        let (caller, _) = opened(request)?;
        let grant = caller.may_own(Action::EndKeys, OFFICE)?;
        let (mut keys, mut after) = (Vec::new(), None);
        loop {
            let page = self
                .ledger
                .list(OFFICE.into(), "keys".into(), after, PAGE, 0)
                .await;
            let page = page.map_err(refusal)?;
            for stored in &page.items {
                let key = read_key(stored)?;
                if grant.own_only && key.principal != caller.principal {
                    continue;
                }
                let key = Some(shown(key));
                keys.push(ListedKey {
                    meta: Some(meta(stored)),
                    key,
                });
            }
            after = page.next;
            if after.is_none() {
                return Ok(Response::new(ListKeysResponse { keys }));
            }
        }
    }

    async fn who_am_i(
        &self,
        request: Request<WhoAmIRequest>,
    ) -> Result<Response<WhoAmIResponse>, Status> {
        let (caller, _) = opened(request)?;
        Ok(Response::new(WhoAmIResponse {
            expire_time: Some(from_unix_ms(caller.expire_time_ms)),
            principal: caller.principal,
            key_id: caller.key_id,
            bindings: caller.bindings,
        }))
    }
}

fn check_key(request: &CreateKeyRequest) -> Result<(), Problem> {
    check_request(request)?;
    let mut wrong: Vec<_> = names::check_id("key_id", &request.key_id)
        .into_iter()
        .collect();
    for (i, RoleBinding { project, role }) in request.bindings.iter().enumerate() {
        if project != "*" && !names::is_id(project) {
            let message = format!("is \"{project}\": name a project's id, or * for every project");
            wrong.push(Violation::new(format!("bindings[{i}].project"), message));
        }
        let before = &request.bindings[..i];
        if before
            .iter()
            .any(|b| b.project == *project && b.role == *role)
        {
            let word = role_word(request.bindings[i].role());
            let message = format!("gives {word} in {project} again: give each role once");
            wrong.push(Violation::new(format!("bindings[{i}]"), message));
        }
    }
    if wrong.is_empty() {
        Ok(())
    } else {
        Err(Problem::fields(wrong))
    }
}

fn new_key(request: &CreateKeyRequest, secret_sha256: Vec<u8>, now_ms: i64) -> ApiKey {
    let days = match request.valid_days {
        0 => USUAL_DAYS,
        days => i64::from(days),
    };
    ApiKey {
        principal: request.principal.clone(),
        secret_sha256,
        bindings: request.bindings.clone(),
        expire_time: Some(from_unix_ms(now_ms + days * DAY_MS)),
        revoke_time: None,
    }
}

/// What is shown of a key: all but its digest.
fn shown(key: ApiKey) -> ApiKey {
    ApiKey {
        secret_sha256: Vec::new(),
        ..key
    }
}

fn read_key(stored: &Stored) -> Result<ApiKey, Problem> {
    ApiKey::decode(stored.body.clone()).map_err(|error| {
        let message = format!("{} cannot be read: {error}", stored.name);
        Problem::new(Reason::StoreCorrupt, message)
    })
}

/// Refusal of a repeated request, whose answer held a secret that is kept nowhere.
fn shown_once(write: &Write, name: &str, revision: i64) -> Problem {
    let request_id = &write.request_id;
    let message = format!(
        "request id {request_id} made {name} at revision {revision} and its secret was shown then, \
         once: if it was not received, revoke that key and make another with a new request id"
    );
    Problem::new(Reason::RequestIdReused, message)
        .fact("request_id", request_id)
        .fact("name", name)
        .fact("revision", revision)
}
