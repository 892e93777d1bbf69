//! Revise: a new state of one record, one commit.

use obvert_access::{Action, Caller, Grant};
use obvert_ledger::{Assert, Expect};
use obvert_proto::{Problem, Violation, common::v1::Write};

use crate::{
    Records, Register, caller_of, check_write,
    create::{Ready, check_home, decoded, digest},
    envelope::revision_of,
    names,
    own::reaches,
    shift::{of_own_shift, within_shift},
};

/// Asks for a new state of a record.
pub struct Revise<R> {
    /// Write envelope.
    pub write: Option<Write>,
    /// Full name of the record.
    pub name: String,
    /// Whole new state.
    pub record: Option<R>,
}

impl<S: Register> Records<S> {
    /// Writes a new state of a record.
    ///
    /// # Errors
    ///
    /// As [`Self::create`]; `ETAG_STALE` when the record moved on since it was read.
    pub async fn revise(
        &self,
        caller: &Caller,
        request: Revise<S::Record>,
        now_ms: i64,
    ) -> Result<S::Record, Problem> {
        let (parts, grant) = self.revisable(caller, &request.name).await?;
        let write = check_write(request.write)?;
        let record = request.record.unwrap_or_default();
        let (entry, body) = self.kinds.split(&record)?;
        if caller.shift.is_some() {
            let message = decoded(entry, body.clone())?;
            within_shift(&self.ledger, caller, parts.project, &message).await?;
        }
        let mut wrong = Vec::new();
        if write.reason.trim().is_empty() {
            wrong.push(Violation::new(
                "write.reason",
                "is missing: say why the record is revised",
            ));
        }
        let read_at = revision_of(&write.etag);
        if read_at.is_none() {
            let message = format!("is \"{}\": send the etag of the state you read", write.etag);
            wrong.push(Violation::new("write.etag", message));
        }
        if entry.kind.collection != parts.collection {
            let message = format!(
                "is a {}, the name is of {}",
                entry.field_name, parts.collection
            );
            wrong.push(Violation::new("record.body", message));
        }
        wrong.extend(check_home(entry, parts.project, parts.id, false));
        let digest = digest(&request.name, &write, &body);
        let home = (parts.project, request.name.as_str());
        let judged = self
            .judged(home, (caller, grant), entry, (&record, body), wrong)
            .await;
        let judged = match judged {
            Ok(judged) => judged,
            Err(problem) => {
                let made = self.made_before(parts.project, caller, &write, digest, problem);
                return self.read_at(&request.name, made.await?).await;
            }
        };
        let expect = Expect::Revision(read_at.unwrap_or_default());
        let asserts = vec![Assert {
            name: request.name.clone(),
            expect,
        }];
        let name = request.name.clone();
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

    /// Parts of the name of a record that the caller may revise, and the grant for it.
    async fn revisable<'a>(
        &self,
        caller: &Caller,
        name: &'a str,
    ) -> Result<(names::NameParts<'a>, Grant), Problem> {
        let kept =
            names::parse(name).filter(|parts| self.kinds.by_collection(parts.collection).is_some());
        let Some(parts) = kept else {
            self.may_write_some(caller, names::project_of(name))?;
            let kept = self.kinds.listed();
            let wrong = names::check_name("name", name).unwrap_or_else(|| {
                let message = format!("is \"{name}\": name a record of one of {kept}");
                Violation::new("name", message)
            });
            return Err(Problem::fields(vec![wrong]));
        };
        let grant = caller.may_own(Action::Write(parts.collection), parts.project)?;
        reaches(&self.ledger, caller, grant, name).await?;
        of_own_shift(&self.ledger, caller, name).await?;
        Ok((parts, grant))
    }
}
