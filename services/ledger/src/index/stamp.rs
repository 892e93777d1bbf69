//! How far the index has read the journal, and how many keys of each kind it must then have.

use super::keys;
use crate::journal::{Position, walk::Start};
use crate::overlay::IndexFault;

/// Entries by kind; compared with a full scan at every start.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Counts {
    /// Commits, in rows of 64 (`m`).
    pub(crate) commits: u64,
    /// States, latest and earlier ones (`n`, `v`).
    pub(crate) states: u64,
    /// Pairs of target and source (`e`).
    pub(crate) edges: u64,
    /// Request ids (`q`).
    pub(crate) requests: u64,
    /// Claims held now (`c`).
    pub(crate) claims: u64,
}

/// Written in the same batch as the keys it speaks of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Stamp {
    /// Start of the last group applied: reading goes on from there, to see that it is a group.
    pub(crate) group: Start,
    /// End of that group.
    pub(crate) end: Position,
    pub(crate) counts: Counts,
}

impl Stamp {
    /// Of an index that has read nothing.
    pub(crate) const NOTHING: Stamp = Stamp {
        group: Start::FIRST,
        end: Position::FIRST,
        counts: Counts {
            commits: 0,
            states: 0,
            edges: 0,
            requests: 0,
            claims: 0,
        },
    };

    pub(crate) fn encode(&self) -> Vec<u8> {
        let Counts {
            commits,
            states,
            edges,
            requests,
            claims,
        } = self.counts;
        let group = [self.group.at.0, self.group.commits, self.end.0];
        let numbers = group
            .into_iter()
            .chain([commits, states, edges, requests, claims]);
        let mut out: Vec<u8> = numbers.flat_map(u64::to_be_bytes).collect();
        out.extend_from_slice(&crc32c::crc32c(&out).to_be_bytes());
        out
    }

    pub(crate) fn decode(bytes: &[u8]) -> Option<Stamp> {
        let (words, crc) = bytes.as_chunks::<8>();
        let numbers: &[[u8; 8]; 8] = words.try_into().ok()?;
        if crc32c::crc32c(words.as_flattened()).to_be_bytes() != *crc {
            return None;
        }
        let [at, before, end, commits, states, edges, requests, claims] =
            numbers.map(u64::from_be_bytes);
        Some(Stamp {
            group: Start {
                at: Position(at),
                commits: before,
            },
            end: Position(end),
            counts: Counts {
                commits,
                states,
                edges,
                requests,
                claims,
            },
        })
    }
}

/// Counts the keys of a tree; also reads every page of it, which finds damage before it is used.
pub(crate) fn count(tree: &sled::Tree) -> Result<(Counts, u64), IndexFault> {
    let mut counts = Counts::default();
    let mut revisions = 0;
    for pair in tree.iter() {
        let (key, value) = pair?;
        match key.first() {
            Some(b'm') => counts.commits += value.len() as u64 / 8,
            Some(b'n' | b'v') => counts.states += 1,
            Some(b'e') => counts.edges += 1,
            Some(b'q') => counts.requests += 1,
            Some(b'c') => counts.claims += 1,
            Some(b'h') => {
                revisions += keys::decode_head(&value).map_or(0, |head| head.revision as u64);
            }
            _ => {}
        }
    }
    Ok((counts, revisions))
}
