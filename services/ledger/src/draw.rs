//! One group in the making: drafts are checked in turn, and the accepted ones take their places.

use crate::check::{Outcome, check};
use crate::committer::Answer;
use crate::draft::Committed;
use crate::error::LedgerError;
use crate::index::apply::{Applied, ApplyFault, apply};
use crate::index::keys;
use crate::index::stamp::Stamp;
use crate::journal::Position;
use crate::journal::reader::{ReadFault, Reader};
use crate::journal::writer::NewGroup;
use crate::overlay::{IndexFault, Layer, Staged, View};
use crate::prepare::Prepared;
use crate::stored::commit_time_ms;
use obvert_proto::common::v1::Commit;
use sha2::{Digest, Sha256};
use std::collections::HashMap;
use std::sync::Arc;

/// A group that is not written yet.
pub(crate) struct Draw<'a> {
    pub(crate) group: NewGroup,
    /// What the group changes in the index.
    pub(crate) layer: Layer,
    pub(crate) stamp: Stamp,
    /// Its commits, which cannot be read from the journal yet, with their sizes.
    pub(crate) commits: HashMap<Position, (Arc<Commit>, usize)>,
    reader: &'a Reader,
    encoded: Vec<u8>,
}

impl<'a> Draw<'a> {
    pub(crate) fn new(group: NewGroup, stamp: Stamp, reader: &'a Reader) -> Draw<'a> {
        Draw {
            group,
            layer: Layer::new(),
            stamp,
            commits: HashMap::new(),
            reader,
            encoded: Vec::new(),
        }
    }

    /// Checks every draft against the index and the drafts before it; one answer each.
    pub(crate) fn all(
        &mut self,
        below: View<'_>,
        drafts: Vec<Prepared>,
    ) -> Result<Vec<Answer>, IndexFault> {
        let mut staged = Staged {
            top: std::mem::take(&mut self.layer),
            below,
        };
        let mut answers = Vec::with_capacity(drafts.len());
        for draft in drafts {
            answers.push(match self.one(&mut staged, draft) {
                Ok(answer) => answer,
                Err(ApplyFault::Journal(fault)) => Err(fault.into()),
                Err(ApplyFault::Index(fault)) => return Err(fault),
            });
        }
        self.layer = staged.top;
        Ok(answers)
    }

    fn one(&mut self, staged: &mut Staged<'_>, draft: Prepared) -> Result<Answer, ApplyFault> {
        let (commits, reader) = (&self.commits, self.reader);
        let load = |at: Position| match commits.get(&at) {
            Some((commit, _)) => Ok(Arc::clone(commit)),
            None => reader.commit(at),
        };
        match check(staged, &draft, &load)? {
            Outcome::Refused(error) => return Ok(Err(error)),
            Outcome::Replayed(committed) => return Ok(Ok(committed)),
            Outcome::Accepted => {}
        }
        let head = staged.get(&keys::head(&draft.commit.project))?;
        let head = head
            .and_then(|value| keys::decode_head(&value))
            .unwrap_or_default();
        let revision = head.revision + 1;
        let previous_hash: &[u8] = if head.revision == 0 { &[] } else { &head.hash };
        draft.encode(&mut self.encoded, revision, previous_hash);
        let previous_hash = previous_hash.to_vec();
        let commit = Commit {
            revision,
            previous_hash,
            ..draft.commit
        };
        let (hash, at) = (Sha256::digest(&self.encoded).into(), self.group.next());
        let applied = Applied {
            commit: &commit,
            hash,
            at,
        };
        apply(staged, &mut self.stamp.counts, &applied, &load)?;
        self.group.push(&self.encoded);
        let committed = Committed {
            project: commit.project.clone(),
            revision,
            commit_time_ms: commit_time_ms(&commit),
            replayed: false,
        };
        self.commits
            .insert(at, (Arc::new(commit), self.encoded.len()));
        Ok(Ok(committed))
    }
}

impl From<ReadFault> for LedgerError {
    fn from(fault: ReadFault) -> LedgerError {
        let (volume, offset) = (fault.at.volume(), fault.at.offset());
        LedgerError::Corrupt {
            volume,
            offset,
            what: fault.what,
        }
    }
}
