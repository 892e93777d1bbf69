//! What a draft must satisfy when its turn has come: request id, asserts, claims, in this order.

use crate::draft::{Assert, Committed, Expect};
use crate::error::LedgerError;
use crate::index::apply::{ApplyFault, Load};
use crate::index::keys::{self, State};
use crate::overlay::{IndexFault, Staged};
use crate::prepare::Prepared;
use crate::stored::commit_time_ms;
use obvert_proto::common::v1::Commit;
use std::collections::HashMap;
use std::sync::Arc;

/// What becomes of a draft.
pub(crate) enum Outcome {
    /// It may be written.
    Accepted,
    /// The same request was committed before; this is its answer.
    Replayed(Committed),
    /// It is refused.
    Refused(LedgerError),
}

/// Checks a draft against the index and the earlier drafts of the same group.
pub(crate) fn check(
    index: &Staged<'_>,
    draft: &Prepared,
    load: Load<'_>,
) -> Result<Outcome, ApplyFault> {
    if let Some(commit) = earlier_request(index, draft, load)? {
        if commit.request_digest == draft.commit.request_digest {
            return Ok(Outcome::Replayed(Committed {
                project: commit.project.clone(),
                revision: commit.revision,
                commit_time_ms: commit_time_ms(&commit),
                replayed: true,
            }));
        }
        return Ok(Outcome::Refused(LedgerError::RequestIdReused {
            request_id: commit.request_id.clone(),
            revision: commit.revision,
        }));
    }
    for assert in &draft.asserts {
        if let Some(refused) = check_assert(index, assert)? {
            return Ok(Outcome::Refused(refused));
        }
    }
    match check_claims(index, &draft.commit)? {
        Some(refused) => Ok(Outcome::Refused(refused)),
        None => Ok(Outcome::Accepted),
    }
}

fn earlier_request(
    index: &Staged<'_>,
    draft: &Prepared,
    load: Load<'_>,
) -> Result<Option<Arc<Commit>>, ApplyFault> {
    let Commit {
        project,
        request_id,
        ..
    } = &draft.commit;
    if request_id.is_empty() {
        return Ok(None);
    }
    let key = keys::request(project, draft.principal(), request_id);
    let Some(revision) = index
        .get(&key)?
        .and_then(|value| keys::decode_number(&value))
    else {
        return Ok(None);
    };
    let (row, place) = keys::commit(project, revision as i64);
    let row = index.get(&row)?.unwrap_or_default();
    let place = keys::decode_positions(&row).nth(place);
    let lost = || IndexFault(format!("{project}@{revision} is missing from the index"));
    Ok(Some(load(place.ok_or_else(lost)?)?))
}

fn check_assert(index: &Staged<'_>, assert: &Assert) -> Result<Option<LedgerError>, IndexFault> {
    let value = index.get(&keys::latest(&assert.name))?;
    let found = value
        .and_then(|value| State::decode(&value))
        .map(|state| state.revision);
    let name = assert.name.clone();
    Ok(match (&assert.expect, found) {
        (Expect::Absent, Some(revision)) => Some(LedgerError::Exists { name, revision }),
        (Expect::Present, None) => Some(LedgerError::NotFound { name }),
        (Expect::Revision(expected), found) if found != Some(*expected) => {
            let (expected, found) = (*expected, found.unwrap_or(0));
            Some(LedgerError::Stale {
                name,
                expected,
                found,
            })
        }
        _ => None,
    })
}

/// A claim is free if nobody holds it, or if its holder gives it up in the same commit.
fn check_claims(index: &Staged<'_>, commit: &Commit) -> Result<Option<LedgerError>, IndexFault> {
    let mut wanted: HashMap<&str, &str> = HashMap::new();
    for entry in &commit.entries {
        for claim in &entry.claims {
            let earlier = wanted.insert(claim, &entry.name).map(str::to_string);
            let stored = index.get(&keys::claim(&commit.project, claim))?;
            let stored = stored.map(|holder| keys::text(&holder, 0));
            let kept = stored.filter(|holder| {
                let revised = commit.entries.iter().find(|entry| entry.name == *holder);
                revised.is_none_or(|revised| revised.claims.contains(claim))
            });
            let holder = earlier.or(kept).filter(|holder| *holder != entry.name);
            if let Some(holder) = holder {
                let (claim, wanted_by) = (claim.clone(), entry.name.clone());
                return Ok(Some(LedgerError::ClaimTaken {
                    claim,
                    holder,
                    wanted_by,
                }));
            }
        }
    }
    Ok(None)
}
