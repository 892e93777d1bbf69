//! One file with every commit's stored bytes and the blobs.

use super::ToolError;
use super::transfer::{BLOB, COMMIT, Writer};
use crate::error::OpenError;
use crate::journal::reader;
use crate::journal::walk::{Group, Start, walk};
use crate::{blobs, digest};
use obvert_proto::common::v1::Commit;
use std::collections::HashSet;
use std::path::Path;

/// What was exported.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ExportReport {
    /// Commits.
    pub commits: u64,
    /// Blobs.
    pub blobs: u64,
}

/// Writes a ledger, or one project of it, to a file that [`super::import`] takes.
///
/// With one project, a blob goes along when its digest, as bytes or in hex, stands in a record:
/// the ledger does not know the records' fields.
///
/// # Errors
/// The journal is damaged, or the disk refuses.
pub fn export(folder: &Path, out: &Path, project: Option<&str>) -> Result<ExportReport, ToolError> {
    let mut wanted = blobs::all(folder).map_err(ToolError::io("listing the blobs"))?;
    let known: HashSet<[u8; 32]> = wanted.iter().map(|(sha256, _)| *sha256).collect();
    let mut named = HashSet::new();
    let end = walk(folder, Start::FIRST, &mut |group| {
        each(&group, project, &mut |commit, _| {
            commit
                .entries
                .iter()
                .for_each(|entry| name_blobs(&entry.body, &known, &mut named));
            Ok(())
        })
    })?;
    let failed = || ToolError::io(format!("writing {}", out.display()));
    let mut writer = Writer::create(out).map_err(failed())?;
    let mut report = ExportReport::default();
    wanted.retain(|(sha256, _)| project.is_none() || named.contains(sha256));
    for (_, path) in wanted {
        writer.file(BLOB, &path).map_err(failed())?;
        report.blobs += 1;
    }
    walk(folder, Start::FIRST, &mut |group| {
        // A server may have written more since the blobs were listed.
        if group.start.commits >= end.commits {
            return Ok(());
        }
        each(&group, project, &mut |_, bytes| {
            report.commits += 1;
            let doing = OpenError::io(format!("writing {}", out.display()));
            writer.part(COMMIT, bytes).map_err(doing)
        })
    })?;
    writer.finish().map_err(failed())?;
    Ok(report)
}

type Visit<'a> = &'a mut dyn FnMut(&Commit, &[u8]) -> Result<(), OpenError>;

fn each(group: &Group, project: Option<&str>, visit: Visit<'_>) -> Result<(), OpenError> {
    for (at, bytes) in &group.commits {
        let commit = reader::decode(*at, bytes.clone()).map_err(|fault| OpenError::Corrupt {
            volume: at.volume(),
            offset: at.offset(),
            revision: None,
            what: fault.what,
        })?;
        if project.is_none_or(|project| project == commit.project) {
            visit(&commit, bytes)?;
        }
    }
    Ok(())
}

fn name_blobs(body: &[u8], known: &HashSet<[u8; 32]>, named: &mut HashSet<[u8; 32]>) {
    if known.is_empty() {
        return;
    }
    named.extend(body.windows(32).filter_map(|part| known.get(part)));
    let hex = body
        .windows(64)
        .filter(|part| part.iter().all(u8::is_ascii_hexdigit));
    named.extend(hex.filter_map(|part| {
        let sha256 = digest::unhex(std::str::from_utf8(part).ok()?)?;
        known.get(&sha256)
    }));
}
