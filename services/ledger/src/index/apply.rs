//! What one commit changes in the index: the same function for new commits and for catching up.

use super::keys::{self, Interval, State};
use super::stamp::Counts;
use crate::journal::{Position, reader::ReadFault};
use crate::overlay::{IndexFault, Staged};
use crate::stored::{Head, commit_time_ms};
use obvert_proto::common::v1::{Commit, Entry};
use std::sync::Arc;

/// Finds the commit at a position, in the journal or in the group that is being made.
pub(crate) type Load<'a> = &'a dyn Fn(Position) -> Result<Arc<Commit>, ReadFault>;

/// A commit that is applied to the index.
pub(crate) struct Applied<'a> {
    pub(crate) commit: &'a Commit,
    pub(crate) hash: [u8; 32],
    pub(crate) at: Position,
}

/// Why the index cannot follow the journal.
#[derive(Debug)]
pub(crate) enum ApplyFault {
    Index(IndexFault),
    Journal(ReadFault),
}

impl From<IndexFault> for ApplyFault {
    fn from(fault: IndexFault) -> ApplyFault {
        ApplyFault::Index(fault)
    }
}

impl From<ReadFault> for ApplyFault {
    fn from(fault: ReadFault) -> ApplyFault {
        ApplyFault::Journal(fault)
    }
}

/// Puts everything a commit changes on top of `index`.
pub(crate) fn apply(
    index: &mut Staged<'_>,
    counts: &mut Counts,
    applied: &Applied<'_>,
    load: Load<'_>,
) -> Result<(), ApplyFault> {
    let Applied { commit, hash, at } = applied;
    let project = commit.project.as_str();
    let mut earlier = Vec::with_capacity(commit.entries.len());
    // All that can fail for the journal's sake comes before the first change.
    for entry in &commit.entries {
        earlier.push(earlier_state(index, entry, load)?);
    }
    for (entry, before) in commit.entries.iter().zip(&earlier) {
        give_up(index, counts, project, entry, before.as_ref());
    }
    for ((number, entry), before) in (0..).zip(&commit.entries).zip(&earlier) {
        let mut create_revision = commit.revision;
        if let Some((state, _)) = before {
            create_revision = state.create_revision;
            index.put(keys::version(&entry.name, state.revision), state.encode());
        }
        let revision = commit.revision;
        let state = State {
            revision,
            create_revision,
            at: *at,
            entry: number,
        };
        index.put(keys::latest(&entry.name), state.encode());
        counts.states += 1;
        take(index, counts, commit, entry, before.as_ref())?;
    }
    if !commit.request_id.is_empty() {
        let principal = commit
            .caller
            .as_ref()
            .map_or("", |caller| &caller.principal);
        let key = keys::request(project, principal, &commit.request_id);
        index.put(key, keys::encode_number(commit.revision as u64));
        counts.requests += 1;
    }
    let (row, place) = keys::commit(project, commit.revision);
    let mut positions = index.get(&row)?.unwrap_or_default();
    positions.truncate(place * 8);
    positions.extend_from_slice(&at.0.to_be_bytes());
    index.put(row, positions);
    let commit_time_ms = commit_time_ms(commit);
    let head = Head {
        revision: commit.revision,
        hash: *hash,
        commit_time_ms,
    };
    index.put(keys::head(project), keys::encode_head(&head));
    counts.commits += 1;
    Ok(())
}

/// The state an entry replaces, and how it was written.
type Before = (State, Entry);

fn earlier_state(
    index: &Staged<'_>,
    entry: &Entry,
    load: Load<'_>,
) -> Result<Option<Before>, ApplyFault> {
    let Some(value) = index.get(&keys::latest(&entry.name))? else {
        return Ok(None);
    };
    let state = State::decode(&value).ok_or_else(|| unreadable(&entry.name))?;
    let commit = load(state.at)?;
    let written = commit
        .entries
        .get(state.entry as usize)
        .filter(|old| old.name == entry.name);
    let written = written.ok_or_else(|| unreadable(&entry.name))?;
    Ok(Some((state, written.clone())))
}

fn give_up(
    index: &mut Staged<'_>,
    counts: &mut Counts,
    project: &str,
    entry: &Entry,
    before: Option<&Before>,
) {
    for claim in before.iter().flat_map(|(_, old)| &old.claims) {
        if !entry.claims.contains(claim) {
            index.delete(keys::claim(project, claim));
            counts.claims -= 1;
        }
    }
}

fn take(
    index: &mut Staged<'_>,
    counts: &mut Counts,
    commit: &Commit,
    entry: &Entry,
    before: Option<&Before>,
) -> Result<(), IndexFault> {
    let old = before.map(|(_, old)| old);
    for claim in &entry.claims {
        if !old.is_some_and(|old| old.claims.contains(claim)) {
            let key = keys::claim(&commit.project, claim);
            index.put(key, entry.name.clone().into_bytes());
            counts.claims += 1;
        }
    }
    for target in old.iter().flat_map(|old| &old.refers) {
        if !entry.refers.contains(target) {
            end_edge(index, target, &entry.name, commit.revision)?;
        }
    }
    for target in &entry.refers {
        if !old.is_some_and(|old| old.refers.contains(target)) {
            begin_edge(index, counts, target, &entry.name, commit.revision)?;
        }
    }
    Ok(())
}

fn begin_edge(
    index: &mut Staged<'_>,
    counts: &mut Counts,
    target: &str,
    source: &str,
    revision: i64,
) -> Result<(), IndexFault> {
    let key = keys::edge(target, source);
    let mut intervals = match index.get(&key)? {
        Some(value) => keys::decode_intervals(&value),
        None => {
            counts.edges += 1;
            Vec::new()
        }
    };
    intervals.push(Interval {
        began: revision,
        ended: 0,
    });
    index.put(key, keys::encode_intervals(&intervals));
    Ok(())
}

fn end_edge(
    index: &mut Staged<'_>,
    target: &str,
    source: &str,
    revision: i64,
) -> Result<(), IndexFault> {
    let key = keys::edge(target, source);
    let mut intervals = keys::decode_intervals(&index.get(&key)?.unwrap_or_default());
    match intervals.last_mut() {
        Some(interval) => interval.ended = revision,
        None => return Err(unreadable(source)),
    }
    index.put(key, keys::encode_intervals(&intervals));
    Ok(())
}

fn unreadable(name: &str) -> IndexFault {
    IndexFault(format!(
        "the index entry of {name} does not fit the journal"
    ))
}
