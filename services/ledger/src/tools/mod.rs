//! What an administrator does beside a running server, or instead of it.
//!
//! `verify`, `verify_chains`, `commits`, `export` and `backup` take no lock: they read the journal up to the last whole group,
//! also while a server writes. `rebuild` and `import` take the lock.

mod backup;
mod chains;
mod export;
mod import;
mod transfer;
mod verify;

pub use backup::{BackupReport, backup};
pub(crate) use chains::Chains;
pub use chains::{Known, commits, verify_chains};
pub use export::{ExportReport, export};
pub use import::{ImportReport, import};
pub use verify::{Finding, VerifyReport, verify};

use crate::error::OpenError;
use crate::index;
use crate::journal::reader::Reader;
use crate::ledger::{Opening, recover_folder};
use crate::lock::FolderLock;
use std::path::Path;
use thiserror::Error;

/// Folder of the access log in a ledger's folder.
pub const ACCESS_LOG: &str = "access-log";
/// Memory for commits and index pages while a tool runs.
const CACHE_BYTES: u64 = 64 << 20;

/// Why a tool could not do its work.
#[derive(Debug, Error)]
pub enum ToolError {
    /// The ledger cannot be opened.
    #[error(transparent)]
    Open(#[from] OpenError),
    /// The operating system refused.
    #[error("{doing} failed: {source}")]
    Io {
        /// What was being done, and on which file.
        doing: String,
        /// What the operating system said.
        source: std::io::Error,
    },
    /// The file to import is not whole.
    #[error("the file cannot be imported: {what}; nothing was imported")]
    File {
        /// What is wrong with it.
        what: String,
    },
    /// The folder is not in a state in which the tool may run.
    #[error("{what}")]
    Refused {
        /// What is in the way, and what to do.
        what: String,
    },
}

impl ToolError {
    fn io(doing: impl Into<String>) -> impl FnOnce(std::io::Error) -> ToolError {
        let doing = doing.into();
        move |source| ToolError::Io { doing, source }
    }
}

/// Makes the index again from the journal.
///
/// # Errors
/// Another process holds the folder, or the journal is damaged.
pub fn rebuild(folder: &Path) -> Result<Opening, ToolError> {
    let _lock = FolderLock::take(folder)?;
    index::open::remove(folder).map_err(ToolError::io("deleting the index"))?;
    let reader = Reader::new(folder, CACHE_BYTES);
    let (_opened, opening) = recover_folder(folder, CACHE_BYTES, &reader)?;
    Ok(opening)
}
