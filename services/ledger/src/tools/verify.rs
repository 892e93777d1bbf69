//! Reads every byte that matters: frames, groups, chains, blobs.

use super::ToolError;
use crate::error::OpenError;
use crate::index::follow::check_link;
use crate::journal::walk::{Ending, Group, Start, walk};
use crate::journal::{reader, volume};
use crate::stored::{Head, commit_time_ms};
use crate::{blobs, digest};
use sha2::{Digest, Sha256};
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
    let mut report = VerifyReport {
        volumes: 0,
        ..VerifyReport::default()
    };
    match volume::count(folder).and_then(|volumes| {
        report.volumes = volumes;
        walk(folder, Start::FIRST, &mut |group| {
            check_group(&mut report, &group)
        })
    }) {
        Ok(end) => {
            report.closed = end.ending == Ending::Closed;
            if let (Ending::Tail { bytes, what }, Some(at)) = (end.ending, end.at) {
                report.findings.push(Finding {
                    place: format!("volume {} byte {}", at.volume(), at.offset()),
                    revision: None,
                    what: format!("{bytes} bytes of a group that is not finished: {what}"),
                });
            }
        }
        Err(OpenError::Corrupt {
            volume,
            offset,
            revision,
            what,
        }) => {
            let place = format!("volume {volume} byte {offset}");
            report.findings.push(Finding {
                place,
                revision,
                what,
            });
        }
        Err(error) => return Err(error.into()),
    }
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

fn check_group(report: &mut VerifyReport, group: &Group) -> Result<(), OpenError> {
    for (at, bytes) in &group.commits {
        let corrupt = |revision: Option<String>, what: String| OpenError::Corrupt {
            volume: at.volume(),
            offset: at.offset(),
            revision,
            what,
        };
        let commit = reader::decode(*at, bytes.clone());
        let commit = commit.map_err(|fault| corrupt(None, fault.what))?;
        let head = report.heads.entry(commit.project.clone()).or_default();
        let known = (head.revision > 0).then_some((head.revision, head.hash));
        check_link(&commit, known).map_err(|what| {
            corrupt(
                Some(format!("{}@{}", commit.project, commit.revision)),
                what,
            )
        })?;
        *head = Head {
            revision: commit.revision,
            hash: Sha256::digest(bytes).into(),
            commit_time_ms: commit_time_ms(&commit),
        };
        report.commits += 1;
    }
    report.groups += 1;
    Ok(())
}
