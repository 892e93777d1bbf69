//! A log beside the journal: one chain of commits in volumes of its own, without an index.
//!
//! Its commits have the form of the journal's, so that the same tools read, check and copy them.

use crate::draft::{Caller, Draft, NewEntry};
use crate::error::{LedgerError, OpenError};
use crate::journal::recover;
use crate::journal::walk::{Start, walk};
use crate::journal::writer::{WriteFault, Writer};
use crate::ledger::make_folder;
use crate::lock::FolderLock;
use crate::prepare::prepare;
use crate::stored::Head;
use crate::tools::Chains;
use bytes::Bytes;
use sha2::{Digest, Sha256};
use std::path::Path;

/// Size at which a volume gets no further group.
const VOLUME_BYTES: u64 = 64 << 20;

/// An open log. There is one writer, and it waits for the disk.
pub struct Log {
    name: String,
    writer: Writer,
    head: Head,
    lost: bool,
    _lock: FolderLock,
}

impl Log {
    /// Locks the folder, reads the whole chain, sets an unfinished write aside. `name` stands where a
    /// commit of the journal names its project.
    ///
    /// # Errors
    /// Another process holds the folder, the log is damaged or newer, or the disk refuses.
    pub fn open(folder: &Path, name: &str) -> Result<Log, OpenError> {
        make_folder(folder)?;
        let lock = FolderLock::take(folder)?;
        let mut chains = Chains::default();
        let end = walk(folder, Start::FIRST, &mut |group| {
            group
                .commits
                .iter()
                .try_for_each(|(at, bytes)| chains.follow(*at, bytes).map(drop))
        })?;
        recover::quarantine(folder, &end)?;
        Ok(Log {
            name: name.to_owned(),
            writer: Writer::open(folder, &end, VOLUME_BYTES)?,
            head: chains.heads.remove(name).unwrap_or_default(),
            lost: false,
            _lock: lock,
        })
    }

    /// Appends one entry and answers when it is on the disk.
    ///
    /// # Errors
    /// `DiskFull` when nothing was written and a later try may succeed; `Poisoned` when it is not
    /// known what is on the disk: nothing is taken until the next start.
    pub fn append(
        &mut self,
        type_name: &str,
        body: Bytes,
        commit_time_ms: i64,
    ) -> Result<&Head, LedgerError> {
        if self.lost {
            return Err(LedgerError::Poisoned);
        }
        let revision = self.head.revision + 1;
        let entry = NewEntry {
            name: format!("projects/{}/entries/{revision}", self.name),
            type_name: type_name.to_owned(),
            body,
            refers: Vec::new(),
            claims: Vec::new(),
        };
        let prepared = prepare(Draft {
            project: self.name.clone(),
            caller: Caller::default(),
            request_id: String::new(),
            request_digest: [0; 32],
            reason: String::new(),
            commit_time_ms,
            observed_time_ms: None,
            asserts: Vec::new(),
            entries: vec![entry],
        })?;
        let before: &[u8] = if revision == 1 { &[] } else { &self.head.hash };
        let mut encoded = Vec::new();
        prepared.encode(&mut encoded, revision, before);
        let mut write = || {
            let mut group = self.writer.begin(Vec::new())?;
            group.push(&encoded);
            self.writer.append(group)
        };
        if let Err(fault) = write() {
            return Err(self.fault(fault));
        }
        self.head = Head {
            revision,
            hash: Sha256::digest(&encoded).into(),
            commit_time_ms,
        };
        Ok(&self.head)
    }

    /// Newest entry.
    pub fn head(&self) -> &Head {
        &self.head
    }

    /// Leaves the mark of a clean stop.
    pub fn close(mut self) {
        if !self.lost
            && let Err(fault) = self.writer.close()
        {
            tracing::warn!(?fault, log = self.name, "no closed mark could be written");
        }
    }

    fn fault(&mut self, fault: WriteFault) -> LedgerError {
        match fault {
            WriteFault::Full => LedgerError::DiskFull,
            WriteFault::Lost(why) => {
                tracing::error!(why, log = self.name, "no entries are taken until a restart");
                self.lost = true;
                LedgerError::Poisoned
            }
        }
    }
}
