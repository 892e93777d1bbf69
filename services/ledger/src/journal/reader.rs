//! Reads single commits by position; every read from the disk compares the CRC.

use super::cache::Cache;
use super::frame::{self, HEAD_BYTES, Kind};
use super::{Position, volume};
use bytes::Bytes;
use obvert_proto::common::v1::Commit;
use prost::Message;
use std::collections::HashMap;
use std::fs::File;
use std::io;
use std::os::unix::fs::FileExt;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, RwLock};

/// Random access to the journal for all readers.
pub(crate) struct Reader {
    ledger: PathBuf,
    files: RwLock<HashMap<u32, Arc<File>>>,
    cache: Mutex<Cache>,
}

/// A frame that is not what was written.
#[derive(Clone, Debug)]
pub(crate) struct ReadFault {
    pub(crate) at: Position,
    pub(crate) what: String,
}

impl Reader {
    pub(crate) fn new(ledger: &Path, cache_bytes: u64) -> Reader {
        Reader {
            ledger: ledger.to_path_buf(),
            files: RwLock::default(),
            cache: Mutex::new(Cache::new(cache_bytes)),
        }
    }

    /// The commit whose frame begins at `at`, from the cache if it is there.
    pub(crate) fn commit(&self, at: Position) -> Result<Arc<Commit>, ReadFault> {
        if let Some(commit) = self.lock().get(at) {
            return Ok(commit);
        }
        let bytes = self.bytes(at)?;
        let size = bytes.len();
        let commit = decode(at, bytes)?;
        self.remember(at, Arc::clone(&commit), size);
        Ok(commit)
    }

    /// The stored bytes of the commit whose frame begins at `at`.
    pub(crate) fn bytes(&self, at: Position) -> Result<Bytes, ReadFault> {
        let fault = |what: String| ReadFault { at, what };
        let refused = |error: io::Error| fault(error.to_string());
        let file = self.file(at.volume()).map_err(refused)?;
        let mut fixed = [0; HEAD_BYTES];
        file.read_exact_at(&mut fixed, at.offset())
            .map_err(refused)?;
        let head = frame::head(&fixed).map_err(fault)?;
        if head.kind != Kind::Commit {
            return Err(fault(
                "the index points at a frame that is no commit".to_string(),
            ));
        }
        let mut payload = vec![0; head.length];
        file.read_exact_at(&mut payload, at.offset() + HEAD_BYTES as u64)
            .map_err(refused)?;
        head.check(at, &payload).map_err(fault)?;
        Ok(Bytes::from(payload))
    }

    /// Keeps a commit for the reads that are likely to follow its writing.
    pub(crate) fn remember(&self, at: Position, commit: Arc<Commit>, size: usize) {
        self.lock().put(at, commit, size);
    }

    fn lock(&self) -> std::sync::MutexGuard<'_, Cache> {
        self.cache.lock().unwrap_or_else(|held| held.into_inner())
    }

    fn file(&self, number: u32) -> io::Result<Arc<File>> {
        let files = self.files.read().unwrap_or_else(|held| held.into_inner());
        if let Some(file) = files.get(&number) {
            return Ok(Arc::clone(file));
        }
        drop(files);
        let file = Arc::new(File::open(volume::path(&self.ledger, number))?);
        let mut files = self.files.write().unwrap_or_else(|held| held.into_inner());
        files.insert(number, Arc::clone(&file));
        Ok(file)
    }
}

/// Decodes a commit whose checksum was right.
pub(crate) fn decode(at: Position, bytes: Bytes) -> Result<Arc<Commit>, ReadFault> {
    Commit::decode(bytes)
        .map(Arc::new)
        .map_err(|error| ReadFault {
            at,
            what: format!("the frame is whole but is no commit: {error}"),
        })
}
