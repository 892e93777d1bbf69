//! Numbers that the server counts: from 1, within a project and a collection, without gaps.
//!
//! A number is one more than the records there are, and a claim on it. Two requests that counted
//! alike claim the same number; the ledger refuses the second, which counts again.

use obvert_ledger::{Committed, Draft, LedgerError};
use obvert_proto::{Problem, common::v1::Reason};
use prost::Message;
use prost_reflect::{DynamicMessage, Value};

use crate::{KindEntry, Records, Register, create::JudgedEntry, refusal};

/// Records counted at once.
const PAGE: usize = 1000;

impl<S: Register> Records<S> {
    /// Gives each record the number it has, or the next ones, where its kind is counted.
    pub(crate) async fn number(
        &self,
        project: &str,
        entry: &KindEntry,
        judged: &mut [JudgedEntry],
    ) -> Result<(), Problem> {
        let Some(field) = &entry.kind.counted else {
            return Ok(());
        };
        let mut next = self.count(project, &entry.kind.collection).await?;
        for one in judged {
            let number = match &one.before {
                Some(before) => number_of(entry, field, &before.body)?,
                None => {
                    next += 1;
                    next
                }
            };
            let mut message = read(entry, &one.new.body)?;
            message.set_field_by_name(field, Value::I64(number));
            one.new.body = message.encode_to_vec().into();
            let start = claim_start(entry);
            one.new.claims.retain(|claim| !claim.starts_with(&start));
            one.new.claims.push(format!("{start}{number}"));
            one.new.claims.sort();
        }
        Ok(())
    }

    /// Commits one record; as often as another took its number meanwhile, with the next one.
    pub(crate) async fn commit_one(
        &self,
        entry: &KindEntry,
        judged: &mut JudgedEntry,
        mut draft: Draft,
    ) -> Result<Committed, Problem> {
        loop {
            self.number(&draft.project, entry, std::slice::from_mut(judged))
                .await?;
            draft.entries = vec![judged.new.clone()];
            match self.ledger.commit(draft.clone()).await {
                Err(error) if took_number(entry, &error) => {}
                committed => return committed.map_err(refusal),
            }
        }
    }

    async fn count(&self, project: &str, collection: &str) -> Result<i64, Problem> {
        let (mut count, mut after) = (0, None);
        loop {
            let (project, collection) = (project.to_owned(), collection.to_owned());
            let page = self.ledger.list(project, collection, after, PAGE, 0).await;
            let page = page.map_err(refusal)?;
            count += page.items.len() as i64;
            after = page.next;
            if after.is_none() {
                return Ok(count);
            }
        }
    }
}

/// Whether a commit was refused because another one took the number meanwhile.
fn took_number(entry: &KindEntry, error: &LedgerError) -> bool {
    let start = claim_start(entry);
    entry.kind.counted.is_some()
        && matches!(error, LedgerError::ClaimTaken { claim, .. } if claim.starts_with(&start))
}

fn claim_start(entry: &KindEntry) -> String {
    format!("{}-number/", entry.field_name)
}

fn number_of(entry: &KindEntry, field: &str, body: &[u8]) -> Result<i64, Problem> {
    let number = read(entry, body)?
        .get_field_by_name(field)
        .and_then(|v| v.as_i64());
    Ok(number.unwrap_or_default())
}

fn read(entry: &KindEntry, body: &[u8]) -> Result<DynamicMessage, Problem> {
    DynamicMessage::decode(entry.descriptor.clone(), body).map_err(|error| {
        let message = format!("a {} cannot be read back: {error}", entry.field_name);
        Problem::new(Reason::Internal, message)
    })
}
