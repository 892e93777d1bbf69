//! Opens sled without trusting it, and makes it again when it is missing or broken.

use super::stamp::{self, Stamp};
use super::{BROKEN, caught, keys};
use crate::error::OpenError;
use crate::index::follow::{self, Followed};
use crate::journal::reader::Reader;
use crate::journal::walk::End;
use crate::overlay::IndexFault;
use std::fs;
use std::io;
use std::path::Path;
use std::time::{Duration, Instant};

/// A process that is just ending may hold sled's own lock for a moment longer than ours.
const PATIENCE: Duration = Duration::from_millis(400);

/// What happened to the index at the start.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum IndexStart {
    /// It had read the whole journal.
    Current,
    /// It was behind and read the rest.
    CaughtUp {
        /// Commits it read.
        commits: u64,
    },
    /// It was missing or broken and was made again.
    Rebuilt {
        /// Why.
        why: String,
        /// Commits it read.
        commits: u64,
    },
}

/// An index that has read the whole journal.
pub(crate) struct Opened {
    pub(crate) db: sled::Db,
    pub(crate) stamp: Stamp,
    pub(crate) start: IndexStart,
    /// Where the journal ends.
    pub(crate) end: End,
}

/// Opens the index of a locked folder and brings it level with the journal.
pub(crate) fn open(ledger: &Path, cache_bytes: u64, reader: &Reader) -> Result<Opened, OpenError> {
    let followed = try_open(ledger, cache_bytes).and_then(|(db, stamp)| {
        match follow::follow(ledger, &db, stamp, reader) {
            Err(OpenError::Index { what }) => Err(IndexFault(what)),
            followed => Ok((db, followed)),
        }
    });
    let why = match followed {
        Ok((db, followed)) => {
            let Followed {
                stamp,
                end,
                commits,
            } = followed?;
            let start = match commits {
                0 => IndexStart::Current,
                commits => IndexStart::CaughtUp { commits },
            };
            return Ok(Opened {
                db,
                stamp,
                start,
                end,
            });
        }
        Err(fault) => fault.0,
    };
    remove(ledger).map_err(OpenError::io("deleting the broken index"))?;
    let db = caught(|| config(ledger, cache_bytes).open().map_err(IndexFault::from));
    let db = db.map_err(|fault| OpenError::Index { what: fault.0 })?;
    let Followed {
        stamp,
        end,
        commits,
    } = follow::follow(ledger, &db, Stamp::NOTHING, reader)?;
    let start = match commits {
        0 => IndexStart::Current,
        commits => {
            tracing::warn!(why, commits, "the index was made again from the journal");
            IndexStart::Rebuilt { why, commits }
        }
    };
    Ok(Opened {
        db,
        stamp,
        start,
        end,
    })
}

/// Deletes the index of a locked folder.
pub(crate) fn remove(ledger: &Path) -> io::Result<()> {
    for result in [
        fs::remove_dir_all(ledger.join("index")),
        fs::remove_file(ledger.join(BROKEN)),
    ] {
        match result {
            Err(error) if error.kind() != io::ErrorKind::NotFound => return Err(error),
            _ => {}
        }
    }
    Ok(())
}

fn try_open(ledger: &Path, cache_bytes: u64) -> Result<(sled::Db, Stamp), IndexFault> {
    if let Ok(why) = fs::read_to_string(ledger.join(BROKEN)) {
        return Err(IndexFault(why));
    }
    if !ledger.join("index").is_dir() {
        return Err(IndexFault("the index is missing".to_string()));
    }
    heal(ledger).map_err(|error| IndexFault(error.to_string()))?;
    caught(|| {
        let started = Instant::now();
        let db = loop {
            match config(ledger, cache_bytes).open() {
                Ok(db) => break db,
                Err(error) if is_held(&error) && started.elapsed() < PATIENCE => {
                    std::thread::sleep(Duration::from_millis(10));
                }
                Err(error) => return Err(IndexFault::from(error)),
            }
        };
        let stamp = match db.get(keys::STAMP)? {
            Some(value) => Stamp::decode(&value),
            None => Some(Stamp::NOTHING),
        };
        let stamp = stamp.ok_or_else(|| IndexFault("its stamp is not whole".to_string()))?;
        let (counts, revisions) = stamp::count(&db)?;
        if counts != stamp.counts || revisions != counts.commits {
            return Err(IndexFault(
                "it does not hold the keys that its stamp counts".to_string(),
            ));
        }
        Ok((db, stamp))
    })
}

/// Sled takes a half-written snapshot for a whole one, and then opens never again.
fn heal(ledger: &Path) -> io::Result<()> {
    for file in fs::read_dir(ledger.join("index"))? {
        let file = file?;
        let name = file.file_name();
        let name = name.to_string_lossy();
        if name.starts_with("snap.") && name.ends_with(".generating") {
            fs::remove_file(file.path())?;
        }
    }
    Ok(())
}

fn is_held(error: &sled::Error) -> bool {
    error.to_string().contains("could not acquire lock")
}

fn config(ledger: &Path, cache_bytes: u64) -> sled::Config {
    sled::Config::new()
        .path(ledger.join("index"))
        .cache_capacity(cache_bytes)
        .flush_every_ms(Some(500))
        .print_profile_on_drop(false)
}
