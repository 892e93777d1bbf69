//! What to do with bytes after the last whole group: an unfinished write, or damage?
//!
//! A group that was being written when the power went is set aside in a file of its own and named
//! in a warning. Bytes that were whole once are never set aside: the server stops and says where.

use super::frame::{self, HEAD_BYTES, Kind};
use super::walk::{End, Ending};
use super::{Position, volume};
use crate::{durable, error::OpenError};
use obvert_proto::common::v1::Commit;
use prost::Message;
use std::fs::{self, OpenOptions};
use std::io;
use std::path::{Path, PathBuf};

/// A disk writes at least this much at a time.
const SECTOR_BYTES: u64 = 512;

/// Bytes of an unfinished group that were moved out of the journal.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Quarantined {
    /// Volume they were found in.
    pub volume: u32,
    /// Offset they began at.
    pub offset: u64,
    /// How many.
    pub bytes: u64,
    /// What was wrong with them.
    pub what: String,
    /// File that holds them now.
    pub file: PathBuf,
}

/// Tells an unfinished group from damage; `rest` is the file from the group's start, `bad` the
/// first frame in it that is wrong.
///
/// No valid frame may follow. One exception: a group is one write, and a power cut may keep its
/// last sectors while it loses an earlier one, which then reads as zeros.
pub(crate) fn is_unfinished(group: Position, bad: Position, rest: &[u8]) -> bool {
    let mut offset = (bad.0 - group.0) as usize + 1;
    let mut followed = false;
    while let Some(found) = find_mark(rest, offset) {
        offset = found + 1;
        let Some((kind, payload)) = frame::whole(group.plus(found), &rest[found..]) else {
            continue;
        };
        followed = true;
        offset = found + HEAD_BYTES + payload.len();
        let ends_this_group = kind == Kind::GroupEnd
            && offset == rest.len()
            && frame::numbers::<3>(payload).is_some_and(|[_, start, _]| start == group.offset());
        if kind != Kind::Commit && !ends_this_group {
            return false;
        }
    }
    !followed || has_lost_sector(group, rest)
}

/// Names the commit whose damaged frame begins `bytes`, if enough of it can be read.
pub(crate) fn revision_at(bytes: &[u8]) -> Option<String> {
    let (fixed, rest) = bytes.split_first_chunk::<HEAD_BYTES>()?;
    let payload = rest.get(..frame::head(fixed).ok()?.length)?;
    let commit = Commit::decode(payload).ok()?;
    (!commit.project.is_empty()).then(|| format!("{}@{}", commit.project, commit.revision))
}

/// Moves an unfinished tail out of the journal; the volume then ends with its last whole group.
pub(crate) fn quarantine(ledger: &Path, end: &End) -> Result<Option<Quarantined>, OpenError> {
    let (Some(at), Ending::Tail { bytes, what }) = (end.at, &end.ending) else {
        return Ok(None);
    };
    let file = set_aside(ledger, at).map_err(OpenError::io("setting an unfinished group aside"))?;
    let (volume, offset, bytes) = (at.volume(), at.offset(), *bytes);
    let path = file.display();
    tracing::warn!(volume, offset, bytes, what, file = %path, "unfinished group set aside");
    Ok(Some(Quarantined {
        volume,
        offset,
        bytes,
        what: what.clone(),
        file,
    }))
}

fn set_aside(ledger: &Path, at: Position) -> io::Result<PathBuf> {
    let folder = ledger.join("quarantine");
    durable::create_folder(&folder)?;
    let path = volume::path(ledger, at.volume());
    let tail = fs::read(&path)?.split_off(at.offset() as usize);
    let stem = format!("volume-{:08}-byte-{}", at.volume(), at.offset());
    let free = (1..).map(|number| folder.join(format!("{stem}-{number}.tail")));
    let file = free
        .into_iter()
        .find(|file| !file.exists())
        .unwrap_or_else(|| folder.join(stem));
    durable::write_file(&file, &tail, 0o600)?;
    let journal = OpenOptions::new().write(true).open(&path)?;
    journal.set_len(at.offset())?;
    journal.sync_all()?;
    Ok(file)
}

fn find_mark(bytes: &[u8], from: usize) -> Option<usize> {
    let found = bytes
        .get(from..)?
        .windows(frame::MARK.len())
        .position(|four| four == frame::MARK);
    found.map(|place| from + place)
}

fn has_lost_sector(group: Position, rest: &[u8]) -> bool {
    let mut from = 0;
    while from < rest.len() {
        let left = SECTOR_BYTES - (group.offset() + from as u64) % SECTOR_BYTES;
        let to = rest.len().min(from + left as usize);
        if rest[from..to].iter().all(|&byte| byte == 0) {
            return true;
        }
        from = to;
    }
    false
}
