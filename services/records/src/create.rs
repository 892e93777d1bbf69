//! Create: one record, one commit.

use bytes::Bytes;
use obvert_access::{Action, Caller, Grant, OFFICE};
use obvert_ledger::{Assert, Expect, NewEntry, Stored};
use obvert_proto::{
    Problem, Violation,
    common::v1::{Reason, RecordMeta, Write},
    rules,
};
use prost_reflect::DynamicMessage;

use crate::{
    Digest, Judged, KindEntry, Named, Records, Register, caller_of, check_own_id, check_write,
    draft, envelope::written, names, own::named_beyond, paper::filed, refusal, shift::within_shift,
};

/// Asks for a new record.
pub struct Create<R> {
    /// Write envelope.
    pub write: Option<Write>,
    /// Project id.
    pub project: String,
    /// Id inside the collection.
    pub record_id: String,
    /// The record.
    pub record: Option<R>,
}

impl<S: Register> Records<S> {
    /// Writes a new record.
    ///
    /// # Errors
    ///
    /// Every problem that the schema, the service or the ledger has with it; nothing is written then.
    pub async fn create(
        &self,
        caller: &Caller,
        request: Create<S::Record>,
        now_ms: i64,
    ) -> Result<S::Record, Problem> {
        self.created(caller, request, now_ms, false).await
    }

    /// Writes a new record of a kind that has an RPC of its own, for that RPC.
    ///
    /// # Errors
    ///
    /// As [`Self::create`].
    pub async fn create_own(
        &self,
        caller: &Caller,
        request: Create<S::Record>,
        now_ms: i64,
    ) -> Result<S::Record, Problem> {
        self.created(caller, request, now_ms, true).await
    }

    async fn created(
        &self,
        caller: &Caller,
        request: Create<S::Record>,
        now_ms: i64,
        by_own_rpc: bool,
    ) -> Result<S::Record, Problem> {
        let record = request.record.unwrap_or_default();
        let (entry, body) = match self.kinds.split(&record) {
            Ok(found) => found,
            Err(problem) => {
                self.may_write_some(caller, &request.project)?;
                return Err(problem);
            }
        };
        let collection = entry.kind.collection.as_str();
        let grant = caller.may_own(Action::Write(collection), &request.project)?;
        if caller.shift.is_some() {
            let message = decoded(entry, body.clone())?;
            within_shift(&self.ledger, caller, &request.project, &message).await?;
        }
        let write = check_write(request.write)?;
        let mut wrong: Vec<_> = names::check_id("project", &request.project)
            .into_iter()
            .collect();
        let id = &request.record_id;
        wrong.extend(names::check_id("record_id", id));
        wrong.extend(check_own_id("record_id", id, (caller, grant)));
        wrong.extend(check_home(entry, &request.project, id, by_own_rpc));
        let name = names::join(&request.project, collection, id);
        let digest = digest(&name, &write, &body);
        let home = (request.project.as_str(), name.as_str());
        let judged = self
            .judged(home, (caller, grant), entry, (&record, body), wrong)
            .await;
        let judged = match judged {
            Ok(judged) => judged,
            Err(problem) => {
                let made = self.made_before(&request.project, caller, &write, digest, problem);
                return self.read_at(&name, made.await?).await;
            }
        };
        let mut asserts = vec![Assert {
            name: name.clone(),
            expect: Expect::Absent,
        }];
        if collection != "projects" && request.project != OFFICE {
            let name = names::join("", "projects", &request.project);
            asserts.push(Assert {
                name,
                expect: Expect::Present,
            });
        }
        self.write(
            Ready {
                caller: caller_of(caller, grant.role),
                write,
                name,
                entry,
                digest,
                judged,
                asserts,
            },
            now_ms,
        )
        .await
    }

    /// Holds a record against the schema, its service and the records it names.
    pub(crate) async fn judged(
        &self,
        (project, name): (&str, &str),
        (caller, grant): (&Caller, Grant),
        entry: &KindEntry,
        (record, body): (&S::Record, Bytes),
        mut wrong: Vec<Violation>,
    ) -> Result<JudgedEntry, Problem> {
        let message = decoded(entry, body.clone())?;
        let path =
            |v: Violation| Violation::new(format!("{}.{}", entry.field_name, v.field), v.message);
        wrong.extend(rules::violations(&message).into_iter().map(path));
        wrong.extend(S::check(record).into_iter().map(path));
        if !wrong.is_empty() {
            return Err(Problem::fields(wrong));
        }
        let mut references = rules::references(&message);
        references
            .iter_mut()
            .for_each(|r| r.field = format!("{}.{}", entry.field_name, r.field));
        wrong = named_beyond(&self.ledger, (caller, grant), name, &references).await?;
        if !wrong.is_empty() {
            return Err(Problem::fields(wrong));
        }
        let mut named = Named::load(&self.ledger, project, name, &references).await?;
        named.add(&self.ledger, S::related(record, &named)).await?;
        named.add_writer(&self.ledger, (caller, grant)).await?;
        let Judged {
            record,
            mut claims,
            asserts,
        } = S::judge(
            filed(&self.kinds, entry, grant.role, record, &body)?,
            &named,
        )?;
        let (entry, completed) = self.kinds.split(&record)?;
        // Most records are stored as they came, and refer to what they referred to.
        if completed != body {
            references = rules::references(&decoded(entry, completed.clone())?);
        }
        let mut refers: Vec<_> = references.into_iter().map(|r| r.name).collect();
        refers.sort();
        refers.dedup();
        claims.sort();
        claims.dedup();
        let type_name = entry.kind.type_name.clone();
        let new = NewEntry {
            name: name.to_owned(),
            type_name,
            body: completed,
            refers,
            claims,
        };
        Ok(JudgedEntry {
            new,
            asserts,
            before: named.own_before(),
        })
    }

    pub(crate) async fn write(&self, ready: Ready<'_>, now_ms: i64) -> Result<S::Record, Problem> {
        let Ready {
            caller,
            write,
            name,
            entry,
            digest,
            mut judged,
            mut asserts,
        } = ready;
        let project = names::parse(&name)
            .map_or("", |parts| parts.project)
            .to_owned();
        if write.validate_only {
            self.would_hold(&asserts).await?;
            let meta = RecordMeta {
                name,
                ..RecordMeta::default()
            };
            return self.kinds.join(entry, Some(&meta), &judged.new.body);
        }
        asserts.append(&mut judged.asserts);
        let content = (asserts, vec![judged.new.clone()]);
        let draft = draft(&project, caller.clone(), &write, digest, now_ms, content);
        let committed = self.commit_one(entry, &mut judged, draft).await?;
        if committed.replayed {
            return self.read_at(&name, committed.revision).await;
        }
        let created = judged.before.map(|before| before.create_revision);
        let meta = written(name, created, &committed, caller, &write);
        self.kinds.join(entry, Some(&meta), &judged.new.body)
    }

    /// Checks what a commit would assert, for `validate_only`.
    async fn would_hold(&self, asserts: &[Assert]) -> Result<(), Problem> {
        use obvert_ledger::LedgerError as Refused;
        for Assert { name, expect } in asserts {
            let found = self
                .ledger
                .get(name.clone(), 0)
                .await
                .map_err(refusal)?
                .map(|s| s.revision);
            let name = name.clone();
            let refused = match (expect, found) {
                (Expect::Absent, Some(revision)) => Some(Refused::Exists { name, revision }),
                (Expect::Present | Expect::Revision(_), None) => Some(Refused::NotFound { name }),
                (Expect::Revision(expected), Some(found)) if *expected != found => {
                    Some(Refused::Stale {
                        name,
                        expected: *expected,
                        found,
                    })
                }
                _ => None,
            };
            if let Some(refused) = refused {
                return Err(refusal(refused));
            }
        }
        Ok(())
    }
}

/// An entry ready to commit, with what must hold.
pub(crate) struct JudgedEntry {
    pub(crate) new: NewEntry,
    pub(crate) asserts: Vec<Assert>,
    /// State that the record has before; none when it is new.
    pub(crate) before: Option<Stored>,
}

/// A write ready to commit.
pub(crate) struct Ready<'a> {
    pub(crate) caller: obvert_ledger::Caller,
    pub(crate) write: Write,
    pub(crate) name: String,
    pub(crate) entry: &'a KindEntry,
    /// Digest of the request as it was sent.
    pub(crate) digest: [u8; 32],
    pub(crate) judged: JudgedEntry,
    pub(crate) asserts: Vec<Assert>,
}

/// Digest of a request to create or revise, before the server completes its body.
pub(crate) fn digest(name: &str, write: &Write, body: &[u8]) -> [u8; 32] {
    Digest::default()
        .part(name.as_bytes())
        .part(write.etag.as_bytes())
        .part(write.reason.as_bytes())
        .part(body)
        .finish()
}

pub(crate) fn decoded(entry: &KindEntry, body: Bytes) -> Result<DynamicMessage, Problem> {
    DynamicMessage::decode(entry.descriptor.clone(), body).map_err(|error| {
        Problem::new(
            Reason::Internal,
            format!("a record cannot be read back: {error}"),
        )
    })
}

/// Violations of where a kind lives and who writes it.
pub(crate) fn check_home(
    entry: &KindEntry,
    project: &str,
    id: &str,
    by_own_rpc: bool,
) -> Vec<Violation> {
    let kind = &entry.kind;
    let mut wrong = Vec::new();
    if kind.own_rpc && !by_own_rpc {
        let message = format!("is a {}: an RPC of its own writes it", entry.field_name);
        wrong.push(Violation::new("record.body", message));
    }
    if kind.office && project != OFFICE {
        wrong.push(Violation::new(
            "project",
            format!("is {project}: this kind lives in {OFFICE}"),
        ));
    }
    if kind.collection == "projects" && (project != id || id == OFFICE) {
        let message = format!("is {id}: a project's id is its own, {project}, and not {OFFICE}");
        wrong.push(Violation::new("record_id", message));
    }
    wrong
}
