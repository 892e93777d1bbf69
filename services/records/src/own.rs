//! What a caller reaches: all of a project, or only what its principal wrote first; with the people
//! in it, or without.

use obvert_access::{Action, Caller, Grant};
use obvert_ledger::{Ledger, Stored};
use obvert_proto::{
    Problem, Violation,
    common::v1::Reason,
    rules::{self, Reference},
};
use prost::Message;
use prost_reflect::DynamicMessage;

use crate::{Records, Register, names, refusal};

/// Collections whose ids stand on a work order: who reads only its own records names these as well.
const ON_WORK_ORDER: [&str; 5] = ["projects", "segments", "laterals", "runs", "documents"];

/// How far a caller reads in one project.
#[derive(Debug, Clone)]
pub(crate) struct Reach {
    caller: Caller,
    own_only: bool,
    sees_people: bool,
}

impl Reach {
    /// Reach of a caller who may read in the project.
    ///
    /// # Errors
    ///
    /// `NOT_ALLOWED`.
    pub(crate) fn of(caller: &Caller, project: &str) -> Result<Self, Problem> {
        let grant = caller.may_own(Action::Read, project)?;
        Ok(Self {
            caller: caller.clone(),
            own_only: grant.own_only,
            sees_people: project == obvert_access::OFFICE
                || caller.may(Action::SeePeople, project).is_ok(),
        })
    }

    /// Whether it ends at what the principal wrote.
    pub(crate) fn is_bounded(&self) -> bool {
        self.own_only
    }

    /// Whether a record is within reach.
    pub(crate) async fn holds(&self, ledger: &Ledger, stored: &Stored) -> Result<bool, Problem> {
        Ok(!self.own_only || wrote_first(ledger, &self.caller, stored).await?)
    }

    /// Refusal of a record beyond reach.
    pub(crate) fn beyond(&self, name: &str) -> Option<Problem> {
        self.own_only.then(|| self.caller.not_own(name))
    }
}

/// Whether the caller's principal wrote the first state of a record.
///
/// # Errors
///
/// The ledger's refusal.
pub async fn wrote_first(
    ledger: &Ledger,
    caller: &Caller,
    stored: &Stored,
) -> Result<bool, Problem> {
    if stored.create_revision == stored.revision {
        return Ok(stored.caller.principal == caller.principal);
    }
    let first = ledger.history(stored.name.clone(), 0, 1).await;
    let first = first.map_err(refusal)?.items;
    Ok(first
        .first()
        .is_some_and(|first| first.caller.principal == caller.principal))
}

/// Lets a grant pass that reaches a record: any record, or only one that the principal wrote first.
///
/// # Errors
///
/// `NOT_ALLOWED`, in the same words for a record of another and for one that does not exist.
pub async fn reaches(
    ledger: &Ledger,
    caller: &Caller,
    grant: Grant,
    name: &str,
) -> Result<(), Problem> {
    if !grant.own_only {
        return Ok(());
    }
    let stored = ledger.get(name.to_owned(), 0).await.map_err(refusal)?;
    if let Some(stored) = stored
        && wrote_first(ledger, caller, &stored).await?
    {
        return Ok(());
    }
    Err(caller.not_own(name))
}

/// Violation of an id under which a caller who reaches only its own records would write: its ids
/// begin with its principal's, so that none tells what another has written.
pub fn check_own_id(field: &str, id: &str, (caller, grant): (&Caller, Grant)) -> Option<Violation> {
    let own = names::id_of(&caller.principal);
    let rest = id.strip_prefix(own);
    let begins = rest.is_some_and(|rest| rest.starts_with('-'));
    (grant.own_only && !begins).then(|| {
        let message = format!("is \"{id}\": an id of yours begins with {own}-");
        Violation::new(field, message)
    })
}

/// Violations of what a record names beyond the reach of its writer, in the same words whether or not
/// it exists. What its former state names was put there with the office's knowledge.
///
/// # Errors
///
/// The ledger's refusal.
pub(crate) async fn named_beyond(
    ledger: &Ledger,
    (caller, grant): (&Caller, Grant),
    name: &str,
    references: &[Reference],
) -> Result<Vec<Violation>, Problem> {
    if !grant.own_only {
        return Ok(Vec::new());
    }
    let before = ledger.get(name.to_owned(), 0).await.map_err(refusal)?;
    let known = before.map_or_else(Vec::new, |stored| stored.refers);
    let mut wrong = Vec::new();
    for reference in references.iter().filter(|r| !known.contains(&r.name)) {
        let parts = names::parse(&reference.name);
        if parts.is_none_or(|parts| ON_WORK_ORDER.contains(&parts.collection)) {
            continue;
        }
        match reaches(ledger, caller, grant, &reference.name).await {
            Err(problem) if problem.reason == Reason::NotAllowed => {
                let message = format!(
                    "names {}, which you did not write: name your own, or ask the office to add it",
                    reference.name
                );
                wrong.push(Violation::new(&reference.field, message));
            }
            reached => reached?,
        }
    }
    Ok(wrong)
}

impl<S: Register> Records<S> {
    /// `Record` message of a stored record, as far as the caller sees it.
    pub(crate) async fn shown(&self, reach: &Reach, stored: &Stored) -> Result<S::Record, Problem> {
        let has_people = rules::people_fields(&stored.type_name);
        if reach.sees_people
            || !has_people
            || wrote_first(&self.ledger, &reach.caller, stored).await?
        {
            return self.answer(stored);
        }
        let Some(entry) = self.kinds.by_type(&stored.type_name) else {
            return self.answer(stored);
        };
        let body = DynamicMessage::decode(entry.descriptor.clone(), stored.body.clone());
        let Ok(mut body) = body else {
            return self.answer(stored);
        };
        rules::without_people(&mut body);
        let stored = Stored {
            body: body.encode_to_vec().into(),
            ..stored.clone()
        };
        self.answer(&stored)
    }

    /// Lets pass whoever may write some kind of this service in a project.
    ///
    /// # Errors
    ///
    /// `NOT_ALLOWED`.
    pub(crate) fn may_write_some(&self, caller: &Caller, project: &str) -> Result<(), Problem> {
        let may = |collection: &str| caller.may_own(Action::Write(collection), project).is_ok();
        if self.kinds.collections().into_iter().any(may) {
            return Ok(());
        }
        Err(caller.denied(Action::Write(&self.kinds.listed()), project))
    }
}
