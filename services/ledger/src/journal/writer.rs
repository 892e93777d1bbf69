//! Appends groups to the last volume: one write, one fdatasync.

use super::frame::{self, Kind};
use super::walk::{End, Ending};
use super::{Position, volume};
use crate::error::OpenError;
use std::fs::{File, OpenOptions};
use std::io::{self, ErrorKind};
use std::os::unix::fs::FileExt;
use std::path::{Path, PathBuf};

/// The end of the journal, open for writing. There is one per locked folder.
pub(crate) struct Writer {
    ledger: PathBuf,
    volume_bytes: u64,
    file: File,
    end: Position,
    commits: u64,
    sealed: bool,
}

/// A group in the making; its bytes know where they will stand.
pub(crate) struct NewGroup {
    start: Position,
    bytes: Vec<u8>,
    count: u64,
}

/// Why a group is not in the journal.
#[derive(Debug)]
pub(crate) enum WriteFault {
    /// No room; the journal ends where it ended before.
    Full,
    /// It is not known what is on the disk: nothing may be written before a new start.
    Lost(String),
}

impl NewGroup {
    /// Where the next commit's frame will begin.
    pub(crate) fn next(&self) -> Position {
        self.start.plus(self.bytes.len())
    }

    /// Appends a commit.
    pub(crate) fn push(&mut self, commit: &[u8]) {
        let at = self.next();
        frame::push(&mut self.bytes, at, Kind::Commit, commit);
        self.count += 1;
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.count == 0
    }

    pub(crate) fn start(&self) -> Position {
        self.start
    }
}

impl Writer {
    /// Opens the journal for writing at the end a walk has found; creates the first volume.
    pub(crate) fn open(ledger: &Path, end: &End, volume_bytes: u64) -> Result<Writer, OpenError> {
        let failed = || OpenError::io("opening the journal for writing");
        let at = match end.at {
            Some(at) => at,
            None => {
                volume::create(ledger, 1, 0).map_err(failed())?;
                Position::FIRST
            }
        };
        let path = volume::path(ledger, at.volume());
        Ok(Writer {
            ledger: ledger.to_path_buf(),
            volume_bytes,
            file: OpenOptions::new()
                .write(true)
                .open(path)
                .map_err(failed())?,
            end: at,
            commits: end.commits,
            sealed: end.ending == Ending::Sealed,
        })
    }

    /// Begins a group at the end of the journal, in a new volume when the last one is full.
    pub(crate) fn begin(&mut self, buffer: Vec<u8>) -> Result<NewGroup, WriteFault> {
        if self.sealed || self.end.offset() >= self.volume_bytes {
            self.rotate()?;
        }
        let mut bytes = buffer;
        bytes.clear();
        Ok(NewGroup {
            start: self.end,
            bytes,
            count: 0,
        })
    }

    /// Makes a group durable; returns its end, the commits up to there, and its buffer.
    pub(crate) fn append(
        &mut self,
        mut group: NewGroup,
    ) -> Result<(Position, u64, Vec<u8>), WriteFault> {
        let at = self.end.plus(group.bytes.len());
        let commits = self.commits + group.count;
        let mark = [group.count, group.start.offset(), commits].map(u64::to_le_bytes);
        frame::push(&mut group.bytes, at, Kind::GroupEnd, mark.as_flattened());
        self.write(&group.bytes)?;
        self.commits = commits;
        Ok((self.end, commits, group.bytes))
    }

    /// Leaves the mark of a clean stop.
    pub(crate) fn close(&mut self) -> Result<(), WriteFault> {
        self.mark(Kind::Closed)
    }

    /// Commits in the journal.
    pub(crate) fn commits(&self) -> u64 {
        self.commits
    }

    fn mark(&mut self, kind: Kind) -> Result<(), WriteFault> {
        let mut bytes = Vec::new();
        frame::push(&mut bytes, self.end, kind, &self.commits.to_le_bytes());
        self.write(&bytes)
    }

    fn rotate(&mut self) -> Result<(), WriteFault> {
        if !self.sealed {
            self.mark(Kind::Sealed)?;
            self.sealed = true;
        }
        let next = self.end.volume() + 1;
        volume::create(&self.ledger, next, self.commits).map_err(fault)?;
        let path = volume::path(&self.ledger, next);
        self.file = OpenOptions::new().write(true).open(path).map_err(fault)?;
        self.end = Position::new(next, volume::HEADER_BYTES as u64);
        self.sealed = false;
        Ok(())
    }

    fn write(&mut self, bytes: &[u8]) -> Result<(), WriteFault> {
        if let Err(error) = self.file.write_all_at(bytes, self.end.offset()) {
            let fault = fault(error);
            return match (&fault, self.file.set_len(self.end.offset())) {
                (WriteFault::Full, Ok(())) => Err(fault),
                (_, Err(error)) => Err(WriteFault::Lost(error.to_string())),
                (WriteFault::Lost(_), Ok(())) => Err(fault),
            };
        }
        // A failed fdatasync may have dropped the pages it could not write: asking again would
        // answer yes for data that is gone.
        self.file
            .sync_data()
            .map_err(|error| WriteFault::Lost(error.to_string()))?;
        self.end = self.end.plus(bytes.len());
        Ok(())
    }
}

fn fault(error: io::Error) -> WriteFault {
    match error.kind() {
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded => WriteFault::Full,
        _ => WriteFault::Lost(error.to_string()),
    }
}
