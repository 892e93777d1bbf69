//! Reads every byte that matters: frames, groups, chains, blobs.

use super::{ToolError, verify_chains};
use crate::stored::Head;
use crate::{blobs, digest};
use std::collections::BTreeMap;
use std::path::Path;

/// What was read, and all that is wrong with it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct VerifyReport {
    /// Volumes of the journal.
    pub volumes: u32,
    /// Whole groups read.
    pub groups: u64,
    /// Commits read; each continues its project's chain.
    pub commits: u64,
    /// Newest commit of every project.
    pub heads: BTreeMap<String, Head>,
    /// True when the journal ends with the mark of a clean stop.
    pub closed: bool,
    /// Blobs whose digest was compared.
    pub blobs: u64,
    /// Bytes in them.
    pub blob_bytes: u64,
    /// Damage; the journal is read up to the first.
    pub findings: Vec<Finding>,
}

/// One damaged place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// Volume and byte, or the file of a blob.
    pub place: String,
    /// Commit concerned, if known.
    pub revision: Option<String>,
    /// What is wrong.
    pub what: String,
}

/// Checks a whole ledger without changing it. Damage is an answer, not an error.
///
/// # Errors
/// A file cannot be read at all, or the ledger is newer than this program.
pub fn verify(folder: &Path) -> Result<VerifyReport, ToolError> {
    let mut report = verify_chains(folder, &[])?;
    let listed = blobs::all(folder).map_err(ToolError::io("listing the blobs"))?;
    for (sha256, path) in listed {
        let place = path.display().to_string();
        let hashed = digest::hash_file(&path);
        let (found, size) = hashed.map_err(ToolError::io(format!("reading {place}")))?;
        report.blobs += 1;
        report.blob_bytes += size;
        if found != sha256 {
            let what = format!("its bytes have SHA-256 {}", digest::hex(&found));
            report.findings.push(Finding {
                place,
                revision: None,
                what,
            });
        }
    }
    Ok(report)
}
