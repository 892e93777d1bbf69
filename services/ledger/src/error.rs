//! Why a ledger does not open, and why a call on an open one is refused.

use std::path::PathBuf;
use thiserror::Error;

/// Why a ledger did not open.
#[derive(Debug, Error)]
pub enum OpenError {
    /// Another process has the folder.
    #[error(
        "the ledger in {folder} is held by process {pid}: stop that process, or name another \
         folder", folder = folder.display()
    )]
    Held {
        /// Process that holds it; 0 when it did not write its number.
        pid: u32,
        /// Folder of the ledger.
        folder: PathBuf,
    },
    /// The journal is damaged where no unfinished write can be the cause.
    #[error(
        "volume {volume} of the journal is damaged at byte {offset} ({}): {what}. Nothing was \
         changed; restore the volume from a backup",
        revision.as_deref().unwrap_or("revision unknown")
    )]
    Corrupt {
        /// Number of the volume.
        volume: u32,
        /// Byte in the volume at which reading failed.
        offset: u64,
        /// Commit that is damaged or the last whole one before it, as `project@revision`.
        revision: Option<String>,
        /// What is wrong there.
        what: String,
    },
    /// The folder was written by a newer program.
    #[error(
        "volume {volume} of the journal has data level {found}, this program reads up to \
         {supported}: use the newer program"
    )]
    NewerLevel {
        /// Number of the volume.
        volume: u32,
        /// Level found in it.
        found: u32,
        /// Highest level this program reads.
        supported: u32,
    },
    /// The index cannot be made even in an empty folder.
    #[error("the index cannot be made: {what}")]
    Index {
        /// What sled said.
        what: String,
    },
    /// The operating system refused something.
    #[error("{doing} failed: {source}")]
    Io {
        /// What was being done, and on which file.
        doing: String,
        /// What the operating system said.
        source: std::io::Error,
    },
}

impl OpenError {
    /// Says what was being done when the operating system refused.
    pub(crate) fn io(doing: impl Into<String>) -> impl FnOnce(std::io::Error) -> OpenError {
        let doing = doing.into();
        move |source| OpenError::Io { doing, source }
    }
}

/// Why a call on an open ledger is refused.
#[derive(Clone, Debug, Error, PartialEq, Eq)]
pub enum LedgerError {
    /// A record that must be absent exists.
    #[error("{name} exists already, since revision {revision}")]
    Exists {
        /// Record.
        name: String,
        /// Revision of its latest state.
        revision: i64,
    },
    /// A record that must exist does not.
    #[error("{name} does not exist")]
    NotFound {
        /// Record.
        name: String,
    },
    /// A record was written since the caller read it.
    #[error("{name} stands at revision {found}, the caller expected {expected}: read it again")]
    Stale {
        /// Record.
        name: String,
        /// Revision the caller expected.
        expected: i64,
        /// Revision of the latest state; 0 when there is none.
        found: i64,
    },
    /// Another record holds the claim.
    #[error("{wanted_by} claims {claim}, which {holder} holds")]
    ClaimTaken {
        /// Claim.
        claim: String,
        /// Record that holds it.
        holder: String,
        /// Record that wanted it.
        wanted_by: String,
    },
    /// The request id stands for another request.
    #[error("request id {request_id} was used at revision {revision} for a different request")]
    RequestIdReused {
        /// Identifier.
        request_id: String,
        /// Revision of the commit that used it.
        revision: i64,
    },
    /// The draft is not one that can be stored.
    #[error("the draft cannot be committed: {what}")]
    Invalid {
        /// All that is wrong with it.
        what: String,
    },
    /// The commit is larger than a frame may be.
    #[error("the commit has {size_bytes} bytes, the limit is {limit_bytes}: split it")]
    TooLarge {
        /// Size of the encoded commit.
        size_bytes: u64,
        /// Limit.
        limit_bytes: u64,
    },
    /// The disk has no room; nothing was written, and reads go on.
    #[error("the disk of the journal is full: nothing was written; free space and try again")]
    DiskFull,
    /// A write could not be made durable; reads go on until the restart.
    #[error("an earlier write could not be made durable: no writes until the server is restarted")]
    Poisoned,
    /// A frame that was whole is damaged now.
    #[error("volume {volume} of the journal is damaged at byte {offset}: {what}")]
    Corrupt {
        /// Number of the volume.
        volume: u32,
        /// Byte in the volume.
        offset: u64,
        /// What is wrong there.
        what: String,
    },
    /// The index failed; the next start makes it again.
    #[error("the index failed and is made again at the next start: {what}")]
    Index {
        /// What failed.
        what: String,
    },
    /// The ledger was closed.
    #[error("the ledger is closed")]
    Closed,
}
