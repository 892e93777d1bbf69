//! Takes an export file into a ledger that lacks it: all of it or nothing.

use super::transfer::{BLOB, Source};
use super::{CACHE_BYTES, ToolError};
use crate::error::OpenError;
use crate::index::follow::check_link;
use crate::journal::Position;
use crate::journal::reader::{self, Reader};
use crate::journal::walk::{Start, walk};
use crate::journal::writer::{WriteFault, Writer};
use crate::ledger::{make_folder, recover_folder};
use crate::lock::FolderLock;
use crate::{blobs, digest, durable};
use bytes::Bytes;
use obvert_proto::common::v1::Commit;
use prost::Message;
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::fs::{self, File};
use std::path::Path;

/// Size of a volume that an import writes.
const VOLUME_BYTES: u64 = 256 << 20;
/// A group of imported commits ends at this size.
const GROUP_BYTES: usize = 1 << 20;

/// What was imported.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ImportReport {
    /// Commits that were new.
    pub commits: u64,
    /// Commits that were there already, byte for byte.
    pub known: u64,
    /// Blobs that were new.
    pub blobs: u64,
}

/// Hash of every commit of every project, in order of revision.
type Chains = BTreeMap<String, Vec<[u8; 32]>>;

/// Imports a file that [`super::export`] wrote. Commits keep their bytes, revisions and hashes.
///
/// # Errors
/// The file is not whole; a project's chain in it and in the ledger differ; another process holds
/// the folder; the disk refuses.
pub fn import(folder: &Path, from: &Path) -> Result<ImportReport, ToolError> {
    make_folder(folder)?;
    let _lock = FolderLock::take(folder)?;
    let reader = Reader::new(folder, CACHE_BYTES);
    let (opened, _) = recover_folder(folder, CACHE_BYTES, &reader)?;
    let chains = chains(folder)?;
    check(from, chains.clone())?;
    let failed = || ToolError::io(format!("importing {}", from.display()));
    let mut writer = Writer::open(folder, &opened.end, VOLUME_BYTES)?;
    drop(opened);
    let mut report = ImportReport::default();
    let mut waiting = Vec::new();
    let mut source = Source::open(from).map_err(failed())?;
    while let Some(part) = source.next().map_err(failed())? {
        if part.kind == BLOB {
            let aside = blobs::folder(folder).join("staging").join("import");
            durable::create_folder(aside.parent().unwrap_or(&aside)).map_err(failed())?;
            let mut file = File::create(&aside).map_err(failed())?;
            source
                .copy(&part, &mut file)
                .and_then(|()| file.sync_all())
                .map_err(failed())?;
            report.blobs += u64::from(place(folder, &aside).map_err(failed())?);
            continue;
        }
        let bytes = source.bytes(&part).map_err(failed())?;
        let commit = Commit::decode(bytes.as_slice()).map_err(|error| wrong(error.to_string()))?;
        let known = chains.get(&commit.project).map_or(0, Vec::len);
        if commit.revision <= known as i64 {
            report.known += 1;
            continue;
        }
        report.commits += 1;
        waiting.push(bytes);
        if waiting.iter().map(Vec::len).sum::<usize>() > GROUP_BYTES {
            write(&mut writer, &mut waiting)?;
        }
    }
    write(&mut writer, &mut waiting)?;
    writer.close().map_err(fault)?;
    Ok(report)
}

fn chains(folder: &Path) -> Result<Chains, ToolError> {
    let mut chains = Chains::new();
    walk(folder, Start::FIRST, &mut |group| {
        for (at, bytes) in &group.commits {
            let commit = reader::decode(*at, bytes.clone());
            let commit = commit.map_err(|fault| corrupt(*at, fault.what))?;
            let chain = chains.entry(commit.project.clone()).or_default();
            chain.push(Sha256::digest(bytes).into());
        }
        Ok(())
    })?;
    Ok(chains)
}

/// Reads the whole file once before anything is written.
fn check(from: &Path, mut chains: Chains) -> Result<(), ToolError> {
    let unread = |error: std::io::Error| wrong(error.to_string());
    let mut source = Source::open(from).map_err(unread)?;
    let mut seen: BTreeMap<String, i64> = BTreeMap::new();
    while let Some(part) = source.next().map_err(unread)? {
        if part.kind == BLOB {
            source.copy(&part, &mut std::io::sink()).map_err(unread)?;
            continue;
        }
        let bytes = Bytes::from(source.bytes(&part).map_err(unread)?);
        let hash: [u8; 32] = Sha256::digest(&bytes).into();
        let commit = Commit::decode(bytes).map_err(|error| wrong(error.to_string()))?;
        let (project, revision) = (commit.project.clone(), commit.revision);
        let before = seen.insert(project.clone(), revision).unwrap_or(0);
        if revision != before + 1 {
            return Err(wrong(format!(
                "{project}@{revision} follows {project}@{before}"
            )));
        }
        let chain = chains.entry(project.clone()).or_default();
        match chain.get(before as usize) {
            Some(known) if *known == hash => {}
            Some(_) => {
                let what = format!(
                    "{project}@{revision} is another commit here than in the file: import it \
                     into a ledger without that project"
                );
                return Err(ToolError::Refused { what });
            }
            None => {
                let head = chain.last().map(|hash| (before, *hash));
                check_link(&commit, head)
                    .map_err(|what| wrong(format!("{project}@{revision}: {what}")))?;
                chain.push(hash);
            }
        }
    }
    Ok(())
}

fn write(writer: &mut Writer, waiting: &mut Vec<Vec<u8>>) -> Result<(), ToolError> {
    if waiting.is_empty() {
        return Ok(());
    }
    let mut group = writer.begin(Vec::new()).map_err(fault)?;
    waiting.drain(..).for_each(|bytes| group.push(&bytes));
    writer.append(group).map_err(fault)?;
    Ok(())
}

/// Moves a blob that lies aside to its place; false when it is there already.
fn place(folder: &Path, aside: &Path) -> std::io::Result<bool> {
    let (sha256, _) = digest::hash_file(aside)?;
    let path = blobs::path(folder, &sha256);
    if path.exists() {
        fs::remove_file(aside)?;
        return Ok(false);
    }
    let parent = path.parent().unwrap_or(&path);
    durable::create_folder(parent)?;
    fs::rename(aside, &path)?;
    durable::sync_folder(parent)?;
    Ok(true)
}

fn fault(fault: WriteFault) -> ToolError {
    let what = match fault {
        WriteFault::Full => "the disk of the journal is full: free space and import again".into(),
        WriteFault::Lost(why) => format!("the journal could not be written: {why}"),
    };
    ToolError::Refused { what }
}

fn corrupt(at: Position, what: String) -> OpenError {
    OpenError::Corrupt {
        volume: at.volume(),
        offset: at.offset(),
        revision: None,
        what,
    }
}

fn wrong(what: impl Into<String>) -> ToolError {
    ToolError::File { what: what.into() }
}
