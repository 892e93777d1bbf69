//! Copies a ledger, also while a server writes to it.

use super::{ACCESS_LOG, ToolError};
use crate::journal::volume;
use crate::journal::walk::{Start, walk};
use crate::{blobs, durable, sheets};
use std::fs;
use std::path::Path;

/// What was copied.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct BackupReport {
    /// Volumes of the journal.
    pub volumes: u32,
    /// Commits in them.
    pub commits: u64,
    /// Entries of the access log.
    pub log_entries: u64,
    /// Blobs.
    pub blobs: u64,
    /// Sheets; sealed, and without the master key, which is kept apart from every backup.
    pub sheets: u64,
}

/// Copies journal, access log, blobs and sheets to a new folder, which opens as a ledger of its own.
///
/// Blobs are copied after the journal's end was read, so every blob a copied commit names is there.
///
/// # Errors
/// The target holds files, the journal is damaged, or the disk refuses.
pub fn backup(folder: &Path, out: &Path) -> Result<BackupReport, ToolError> {
    if fs::read_dir(out).is_ok_and(|mut files| files.next().is_some()) {
        let what = format!("{} is not empty: name a new folder", out.display());
        return Err(ToolError::Refused { what });
    }
    let mut report = BackupReport::default();
    let failed = || ToolError::io(format!("copying to {}", out.display()));
    (report.volumes, report.commits) = copy_journal(folder, out)?;
    let log = folder.join(ACCESS_LOG);
    if log.is_dir() {
        (_, report.log_entries) = copy_journal(&log, &out.join(ACCESS_LOG))?;
    }
    for (sha256, path) in blobs::all(folder).map_err(failed())? {
        copy_whole(&path, &blobs::path(out, &sha256)).map_err(failed())?;
        report.blobs += 1;
    }
    let sealed = sheets::folder(folder);
    if sealed.is_dir() {
        for file in fs::read_dir(&sealed).map_err(failed())? {
            let file = file.map_err(failed())?;
            if file.path().extension().is_some_and(|end| end == "sheet") {
                let to = sheets::folder(out).join(file.file_name());
                copy_whole(&file.path(), &to).map_err(failed())?;
                report.sheets += 1;
            }
        }
    }
    Ok(report)
}

/// Copies a journal up to its last whole group; says how many volumes and commits.
fn copy_journal(folder: &Path, out: &Path) -> Result<(u32, u64), ToolError> {
    let end = walk(folder, Start::FIRST, &mut |_| Ok(()))?;
    let failed = || ToolError::io(format!("copying to {}", out.display()));
    durable::create_folder(&volume::folder(out)).map_err(failed())?;
    let Some(at) = end.at else {
        return Ok((0, 0));
    };
    for number in 1..=at.volume() {
        let from = volume::path(folder, number);
        let whole = fs::metadata(&from).map_err(failed())?.len();
        let bytes = if number == at.volume() {
            at.offset()
        } else {
            whole
        };
        durable::copy_start(&from, &volume::path(out, number), bytes).map_err(failed())?;
    }
    durable::sync_folder(&volume::folder(out)).map_err(failed())?;
    Ok((at.volume(), end.commits))
}

fn copy_whole(from: &Path, to: &Path) -> std::io::Result<()> {
    let parent = to.parent().unwrap_or(to);
    durable::create_folder(parent)?;
    durable::copy_start(from, to, fs::metadata(from)?.len())?;
    durable::sync_folder(parent)
}
