//! One paper as it is on file, with its originals and everything said about it.

use std::collections::BTreeMap;

use obvert_ledger::{Assert, Expect, LedgerError, Stored};
use obvert_proto::{
    Problem, Violation,
    common::v1::Reason,
    pool,
    project::v1::{Attachment, PaperAnswer, PaperCheck},
    rules,
};
use obvert_records::{
    called, names,
    paper::{self, Standing, Value},
    refusal,
};
use prost::Message;
use prost_reflect::DynamicMessage;

use super::{Papers, not_found};

/// Checks and files about one paper, at most.
const ABOUT: usize = 1_000;

/// The latest state of a paper.
#[derive(Debug, Clone)]
pub struct OnFile {
    /// The state as stored.
    pub stored: Stored,
    /// Its kind in words, such as `laboratory report`.
    pub kind: String,
    /// Number or title by which people call it.
    pub called: String,
    /// Values that were typed.
    pub values: Vec<Value>,
    /// Originals, in order of their names.
    pub originals: Vec<Original>,
    /// How good it is.
    pub standing: Standing,
    /// Every check of any state of it, oldest first.
    pub checks: Vec<Stored>,
}

/// One original.
#[derive(Debug, Clone)]
pub struct Original {
    /// Full name of the attachment.
    pub name: String,
    /// The attachment.
    pub file: Attachment,
}

impl Papers {
    /// A paper with everything about it.
    ///
    /// # Errors
    ///
    /// `RECORD_NOT_FOUND`, `FIELDS_INVALID` when it is no paper, or a fault of the ledger.
    pub async fn on_file(&self, name: &str) -> Result<OnFile, Problem> {
        let stored = self.stored(name).await?.ok_or_else(|| not_found(name))?;
        if !paper::is_paper(&stored) {
            let message = format!(
                "is {name}, which is no paper: name a report, certificate, receiving check or document"
            );
            return Err(Problem::fields(vec![Violation::new("paper", message)]));
        }
        let mut checks = self.about(name, "paperChecks").await?;
        checks.sort_by_key(|check| check.revision);
        let mut records = self.about(name, "attachments").await?;
        records.extend(checks.iter().cloned());
        records.push(stored.clone());
        let standing = paper::standings(&records).remove(name);
        let standing = standing.ok_or_else(|| corrupt(name))?;
        let wanted = standing.originals.iter().cloned().collect();
        let mut files = self.ledger.get_many(wanted, 0).await.map_err(refusal)?;
        files.sort_by(|a, b| a.name.cmp(&b.name));
        let original = |file: Stored| {
            let read = Attachment::decode(file.body.clone());
            let name = file.name;
            let file = read.map_err(|_| corrupt(&name))?;
            Ok(Original { name, file })
        };
        let kind = pool().get_message_by_name(&stored.type_name);
        let kind = kind.ok_or_else(|| corrupt(name))?;
        let words = words(kind.name());
        let message = DynamicMessage::decode(kind, stored.body.clone());
        let message = message.map_err(|_| corrupt(name))?;
        Ok(OnFile {
            values: paper::values(&message, &self.called(&message).await?),
            kind: words,
            called: called(&stored),
            originals: files
                .into_iter()
                .map(original)
                .collect::<Result<_, Problem>>()?,
            stored,
            standing,
            checks,
        })
    }

    /// What people call the records that a paper names, by their names.
    async fn called(&self, paper: &DynamicMessage) -> Result<BTreeMap<String, String>, Problem> {
        let names = rules::references(paper).into_iter().map(|named| named.name);
        let named = self.ledger.get_many(names.collect(), 0).await;
        let named = named.map_err(refusal)?.into_iter();
        Ok(named
            .map(|stored| (stored.name.clone(), called(&stored)))
            .collect())
    }

    async fn about(&self, name: &str, collection: &str) -> Result<Vec<Stored>, Problem> {
        let (name, collection) = (name.to_owned(), Some(collection.to_owned()));
        let page = self
            .ledger
            .referrers(name, collection, None, ABOUT, 0)
            .await;
        Ok(page.map_err(refusal)?.items)
    }
}

impl OnFile {
    /// That the paper has not moved on from a revision.
    pub(super) fn is_at(&self, revision: i64) -> Result<(), Problem> {
        if self.stored.revision == revision {
            return Ok(());
        }
        Err(refusal(LedgerError::Stale {
            name: self.stored.name.clone(),
            expected: revision,
            found: self.stored.revision,
        }))
    }

    pub(super) fn has_original(&self) -> Result<(), Problem> {
        if self.originals.is_empty() {
            return Err(self.refused("has no original attached: attach it, then compare"));
        }
        Ok(())
    }

    /// The comparison to file.
    pub(super) fn checked(
        &self,
        answer: PaperAnswer,
        remark: &str,
        issuer_link: &str,
    ) -> Result<PaperCheck, Problem> {
        self.has_original()?;
        Ok(PaperCheck {
            paper: self.stored.name.clone(),
            paper_revision: self.stored.revision,
            originals: self.originals.iter().map(|o| o.name.clone()).collect(),
            answer: answer.into(),
            remark: remark.trim().to_owned(),
            issuer_link: issuer_link.to_owned(),
        })
    }

    /// What must hold when something about this state is committed.
    pub(super) fn unchanged(&self) -> Assert {
        Assert {
            name: self.stored.name.clone(),
            expect: Expect::Revision(self.stored.revision),
        }
    }

    pub(super) fn refused(&self, why: &str) -> Problem {
        let message = format!("{} {} {why}", self.kind, names::id_of(&self.stored.name));
        Problem::new(Reason::ActRefused, message)
            .fact("paper", &self.stored.name)
            .fact("revision", self.stored.revision)
    }
}

/// `LaboratoryReport` as `laboratory report`.
fn words(name: &str) -> String {
    let mut words = String::new();
    for letter in name.chars() {
        if letter.is_uppercase() && !words.is_empty() {
            words.push(' ');
        }
        words.extend(letter.to_lowercase());
    }
    words
}

fn corrupt(name: &str) -> Problem {
    Problem::new(Reason::StoreCorrupt, format!("{name} cannot be read"))
}
