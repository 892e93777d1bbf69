//! The sheet with a parcel's names and phones, outside the journal, and its digest inside.
//!
//! What is sealed is a random salt and the encoded message; what is committed is SHA-256 over both.
//! The salt goes with the sheet when it is erased, so that the digest that stays in the journal
//! tells nothing that could be tried out. For the same reason the request's own digest leaves the
//! sheet out.

use std::sync::Arc;

use obvert_access::{AccessLog, Caller};
use obvert_ledger::{Assert, Expect, LedgerError, NewEntry, SheetError, Stored};
use obvert_proto::{
    Problem,
    common::v1::{AccessEvent, Reason, Write},
    project::v1::{
        EraseParcelSheetRequest, GetParcelSheetResponse, Parcel, ParcelSheet,
        PutParcelSheetRequest, Record, Role,
    },
};
use obvert_records::{
    Digest, Records, caller_of, check_request, check_write, draft, message_of, names, refusal,
    revision_of,
};
use prost::{Message, Name};
use sha2::{Digest as _, Sha256};
use tokio::sync::Mutex;

use crate::ProjectRegister;

const SALT_BYTES: usize = 32;

/// Random bytes for one sealing of a sheet.
pub(crate) struct SheetRandom {
    pub(crate) salt: [u8; SALT_BYTES],
    pub(crate) key: [u8; 32],
    pub(crate) nonce: [u8; 12],
}

/// Sheets of the parcels of all projects.
#[derive(Clone)]
pub(crate) struct ParcelSheets {
    records: Records<ProjectRegister>,
    /// A sheet and the digest in its record change together; one such pair at a time.
    turn: Arc<Mutex<()>>,
    log: AccessLog,
}

impl ParcelSheets {
    pub(crate) fn new(records: Records<ProjectRegister>, log: AccessLog) -> Self {
        Self {
            records,
            turn: Arc::default(),
            log,
        }
    }

    /// Seals a sheet and commits its digest; when the commit is refused or was made before, the
    /// earlier sheet is put back.
    pub(crate) async fn put(
        &self,
        (caller, role): (&Caller, Role),
        request: PutParcelSheetRequest,
        [random, restoring]: [SheetRandom; 2],
        now_ms: i64,
    ) -> Result<Record, Problem> {
        check_request(&request)?;
        let PutParcelSheetRequest {
            write,
            parcel: name,
            sheet,
        } = request;
        let write = check_write(write)?;
        let text = sheet.unwrap_or_default().encode_to_vec();
        let _turn = self.turn.lock().await;
        let (stored, mut parcel) = self.parcel(&name).await?;
        let expected = expected(&write, &stored);
        if write.validate_only {
            let found = stored.revision;
            let stale = || {
                refusal(LedgerError::Stale {
                    name,
                    expected,
                    found,
                })
            };
            return if expected == found {
                self.records.answer(&stored)
            } else {
                Err(stale())
            };
        }
        let before = self.sealed(&name).await?;
        let plain = [random.salt.as_slice(), &text].concat();
        parcel.sheet_digest = self.seal(&name, plain, &random).await?.to_vec();
        let draft = {
            let digest = Digest::default()
                .part(name.as_bytes())
                .part(write.etag.as_bytes());
            let digest = digest.part(write.reason.as_bytes()).finish();
            let content = entry(&stored, expected, &parcel);
            draft(
                project_of(&name),
                caller_of(caller, role),
                &write,
                digest,
                now_ms,
                content,
            )
        };
        let committed = self.records.ledger().commit(draft).await;
        if let Ok(new) = committed.as_ref()
            && !new.replayed
        {
            return self.answer_at(&name, new.revision).await;
        }
        let same = before.as_deref().and_then(text_of) == Some(text.as_slice());
        self.put_back(&name, before, &restoring).await?;
        let earlier = committed.map_err(refusal)?.revision;
        if earlier == stored.revision && !same {
            let request_id = write.request_id;
            return Err(refusal(LedgerError::RequestIdReused {
                request_id,
                revision: earlier,
            }));
        }
        self.answer_at(&name, earlier).await
    }

    /// Opens a sheet, once the access log has `event` on the disk.
    pub(crate) async fn get(
        &self,
        name: &str,
        event: AccessEvent,
    ) -> Result<GetParcelSheetResponse, Problem> {
        let (_, parcel) = self.parcel(name).await?;
        let absent = || {
            let message = format!("{name} has no sheet, or it was erased: put one first");
            Problem::new(Reason::RecordNotFound, message).fact("name", name)
        };
        self.log.opened(event).await?;
        let plain = self.sealed(name).await?.ok_or_else(absent)?;
        let damaged = || {
            let message = format!("the sheet of {name} does not hold what was sealed");
            Problem::new(Reason::StoreCorrupt, message)
        };
        let sheet = ParcelSheet::decode(text_of(&plain).ok_or_else(damaged)?);
        let digest_matches = digest_of(&plain).as_slice() == parcel.sheet_digest;
        Ok(GetParcelSheetResponse {
            sheet: Some(sheet.map_err(|_| damaged())?),
            digest_matches,
        })
    }

    /// Drops a sheet's key, then commits that the parcel has no sheet any more, by whom and why.
    pub(crate) async fn erase(
        &self,
        (caller, role): (&Caller, Role),
        request: EraseParcelSheetRequest,
        now_ms: i64,
    ) -> Result<bool, Problem> {
        check_request(&request)?;
        let EraseParcelSheetRequest {
            parcel: name,
            reason,
        } = request;
        let _turn = self.turn.lock().await;
        let (stored, mut parcel) = self.parcel(&name).await?;
        let erased = self.records.ledger().sheets().erase(name.clone()).await;
        let erased = erased.map_err(sheet_refusal)?;
        if !parcel.sheet_digest.is_empty() {
            parcel.sheet_digest.clear();
            let write = Write {
                reason,
                ..Write::default()
            };
            let digest = Digest::default().part(name.as_bytes()).finish();
            let content = entry(&stored, stored.revision, &parcel);
            let caller = caller_of(caller, role);
            let draft = draft(project_of(&name), caller, &write, digest, now_ms, content);
            self.records.ledger().commit(draft).await.map_err(refusal)?;
        }
        Ok(erased)
    }

    async fn parcel(&self, name: &str) -> Result<(Stored, Parcel), Problem> {
        let stored = self
            .records
            .ledger()
            .get(name.to_owned(), 0)
            .await
            .map_err(refusal)?;
        let stored = stored.filter(|stored| stored.type_name == Parcel::full_name());
        let absent = || {
            refusal(LedgerError::NotFound {
                name: name.to_owned(),
            })
        };
        let stored = stored.ok_or_else(absent)?;
        let parcel: Parcel = message_of(&stored)?;
        Ok((stored, parcel))
    }

    async fn answer_at(&self, name: &str, revision: i64) -> Result<Record, Problem> {
        let stored = self
            .records
            .ledger()
            .get(name.to_owned(), revision)
            .await
            .map_err(refusal)?;
        let absent = || {
            refusal(LedgerError::NotFound {
                name: name.to_owned(),
            })
        };
        self.records.answer(&stored.ok_or_else(absent)?)
    }

    async fn sealed(&self, name: &str) -> Result<Option<Vec<u8>>, Problem> {
        self.records
            .ledger()
            .sheets()
            .get(name.to_owned())
            .await
            .map_err(sheet_refusal)
    }

    /// Seals salt and text; returns their digest. The salt stands in front of the text already.
    async fn seal(
        &self,
        name: &str,
        plain: Vec<u8>,
        random: &SheetRandom,
    ) -> Result<[u8; 32], Problem> {
        let digest = digest_of(&plain);
        let SheetRandom { salt, key, nonce } = random;
        let sealed =
            self.records
                .ledger()
                .sheets()
                .put(name.to_owned(), plain, *salt, *key, *nonce);
        sealed.await.map_err(sheet_refusal)?;
        Ok(digest)
    }

    async fn put_back(
        &self,
        name: &str,
        before: Option<Vec<u8>>,
        random: &SheetRandom,
    ) -> Result<(), Problem> {
        match before {
            Some(plain) => self.seal(name, plain, random).await.map(drop),
            None => {
                let erased = self.records.ledger().sheets().erase(name.to_owned()).await;
                erased.map(drop).map_err(sheet_refusal)
            }
        }
    }
}

fn digest_of(plain: &[u8]) -> [u8; 32] {
    Sha256::digest(plain).into()
}

fn text_of(plain: &[u8]) -> Option<&[u8]> {
    plain
        .split_first_chunk::<SALT_BYTES>()
        .map(|(_, text)| text)
}

fn project_of(name: &str) -> &str {
    names::parse(name).map_or("", |parts| parts.project)
}

/// Revision at which a parcel must still stand: the one the caller read, if it says which.
fn expected(write: &Write, stored: &Stored) -> i64 {
    if write.etag.is_empty() {
        stored.revision
    } else {
        revision_of(&write.etag).unwrap_or_default()
    }
}

/// What must hold of a parcel, and its new state.
fn entry(stored: &Stored, expected: i64, parcel: &Parcel) -> (Vec<Assert>, Vec<NewEntry>) {
    let name = stored.name.clone();
    let expect = Expect::Revision(expected);
    let new = NewEntry {
        name: name.clone(),
        type_name: stored.type_name.clone(),
        body: parcel.encode_to_vec().into(),
        refers: stored.refers.clone(),
        claims: stored.claims.clone(),
    };
    (vec![Assert { name, expect }], vec![new])
}

fn sheet_refusal(error: SheetError) -> Problem {
    let reason = match &error {
        SheetError::Damaged { .. } => Reason::StoreCorrupt,
        SheetError::Io(_) => Reason::Internal,
    };
    tracing::error!(%error, "the sheets refused");
    Problem::new(reason, error.to_string())
}
