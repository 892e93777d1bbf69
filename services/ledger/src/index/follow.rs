//! Reads the journal from the index stamp to the end and checks each project's chain on the way.

use super::apply::{Applied, ApplyFault, apply};
use super::stamp::Stamp;
use super::{caught, feed, keys};
use crate::error::OpenError;
use crate::journal::Position;
use crate::journal::reader::{self, ReadFault, Reader};
use crate::journal::walk::{End, Group, walk};
use crate::overlay::{EMPTY, IndexFault, Layer, Staged, View};
use bytes::Bytes;
use obvert_proto::common::v1::Commit;
use sha2::{Digest, Sha256};
use std::path::Path;

/// Keys gathered before they go to sled.
const CHUNK_KEYS: usize = 20_000;

/// The index is level with the journal.
pub(crate) struct Followed {
    pub(crate) stamp: Stamp,
    pub(crate) end: End,
    /// Commits read on the way.
    pub(crate) commits: u64,
}

/// Applies every whole group after the stamp. Corruption is reported as such; a fault of sled, or
/// an index that does not fit the journal, as [`OpenError::Index`].
pub(crate) fn follow(
    ledger: &Path,
    tree: &sled::Tree,
    stamp: Stamp,
    reader: &Reader,
) -> Result<Followed, OpenError> {
    let mut follower = Follower {
        tree,
        reader,
        gathered: Layer::new(),
        stamp,
    };
    let end = walk(ledger, stamp.group, &mut |group| {
        follower.group(group, &stamp)
    })?;
    follower.write()?;
    match end.at {
        Some(at) if at < stamp.end => Err(OpenError::Corrupt {
            volume: at.volume(),
            offset: at.offset(),
            revision: None,
            what: format!(
                "the last whole group ends here, but the index has read to byte {} of volume {}",
                stamp.end.offset(),
                stamp.end.volume()
            ),
        }),
        _ => {
            let commits = end.commits - stamp.counts.commits;
            Ok(Followed {
                stamp: follower.stamp,
                end,
                commits,
            })
        }
    }
}

/// Checks that a commit continues its project's chain.
pub(crate) fn check_link(commit: &Commit, head: Option<(i64, [u8; 32])>) -> Result<(), String> {
    let (revision, hash) = head.unwrap_or((0, [0; 32]));
    let previous: &[u8] = if revision == 0 { &[] } else { &hash };
    if commit.revision != revision + 1 {
        return Err(format!(
            "revision {} follows revision {revision}",
            commit.revision
        ));
    }
    if commit.previous_hash != previous {
        return Err("the hash of the commit before it is not the one it names".to_string());
    }
    Ok(())
}

struct Follower<'a> {
    tree: &'a sled::Tree,
    reader: &'a Reader,
    gathered: Layer,
    stamp: Stamp,
}

impl Follower<'_> {
    fn group(&mut self, group: Group, known: &Stamp) -> Result<(), OpenError> {
        if known.counts.commits > 0 && group.start == known.group {
            if group.end != known.end {
                return Err(index(IndexFault(
                    "its stamp is not where a group ends".to_string(),
                )));
            }
            return Ok(());
        }
        for (at, bytes) in &group.commits {
            self.commit(*at, bytes)?;
        }
        self.stamp.group = group.start;
        self.stamp.end = group.end;
        if self.gathered.len() > CHUNK_KEYS {
            self.write()?;
        }
        Ok(())
    }

    fn commit(&mut self, at: Position, bytes: &Bytes) -> Result<(), OpenError> {
        let commit = reader::decode(at, bytes.clone()).map_err(|fault| corrupt(fault, None))?;
        let named = format!("{}@{}", commit.project, commit.revision);
        let below = View {
            active: &EMPTY,
            frozen: &EMPTY,
            tree: self.tree,
        };
        let mut staged = Staged {
            top: std::mem::take(&mut self.gathered),
            below,
        };
        let head = caught(|| staged.get(&keys::head(&commit.project))).map_err(index)?;
        let head = head.and_then(|value| keys::decode_head(&value));
        check_link(&commit, head.map(|head| (head.revision, head.hash)))
            .map_err(|what| corrupt(ReadFault { at, what }, Some(named.clone())))?;
        let applied = Applied {
            commit: &commit,
            hash: Sha256::digest(bytes).into(),
            at,
        };
        let load = |at: Position| self.reader.commit(at);
        let mut fault = None;
        caught(|| {
            fault = apply(&mut staged, &mut self.stamp.counts, &applied, &load).err();
            Ok(())
        })
        .map_err(index)?;
        self.gathered = staged.top;
        match fault {
            None => Ok(()),
            Some(ApplyFault::Index(fault)) => Err(index(fault)),
            Some(ApplyFault::Journal(fault)) => Err(corrupt(fault, Some(named))),
        }
    }

    fn write(&mut self) -> Result<(), OpenError> {
        if self.gathered.is_empty() {
            return Ok(());
        }
        let gathered = std::mem::take(&mut self.gathered);
        caught(|| feed::apply_batch(self.tree, &gathered, self.stamp)).map_err(index)
    }
}

fn index(fault: IndexFault) -> OpenError {
    OpenError::Index { what: fault.0 }
}

fn corrupt(fault: ReadFault, revision: Option<String>) -> OpenError {
    let (volume, offset) = (fault.at.volume(), fault.at.offset());
    OpenError::Corrupt {
        volume,
        offset,
        revision,
        what: fault.what,
    }
}
