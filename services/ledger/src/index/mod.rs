//! The derived half: finds records, references, claims and request ids without reading the journal.
//!
//! New keys become readable in memory first and reach sled in batches on a thread of their own.
//! Each batch carries the stamp of the journal position it reaches, so a lost batch is read again.

pub(crate) mod apply;
pub(crate) mod feed;
pub(crate) mod follow;
pub(crate) mod keys;
pub(crate) mod open;
pub(crate) mod read;
pub(crate) mod stamp;

use crate::error::LedgerError;
use crate::health::Health;
use crate::overlay::{IndexFault, Layer, View};
use crate::stored::Head;
use stamp::Stamp;
use std::collections::HashMap;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Condvar, Mutex, RwLock};

pub use open::IndexStart;

/// Name of the file that asks the next start to make the index again.
const BROKEN: &str = "index-broken";

/// The index of an open ledger.
pub(crate) struct Index {
    ledger: PathBuf,
    levels: RwLock<Option<Levels>>,
    feed: Mutex<Feed>,
    fed: Condvar,
    health: Arc<Health>,
}

/// What a read looks through, newest first.
struct Levels {
    active: Layer,
    frozen: Arc<Layer>,
    tree: sled::Tree,
    /// Keeps sled open; dropped with the tree.
    _db: sled::Db,
    stamp: Stamp,
    /// Heads that were asked for: every call asks for one, and it must not wait for a disk.
    heads: Mutex<HashMap<String, Head>>,
}

/// What the feeding thread is to do.
#[derive(Default)]
struct Feed {
    waiting: bool,
    closing: bool,
    finished: bool,
}

impl Index {
    pub(crate) fn new(ledger: &Path, opened: open::Opened, health: Arc<Health>) -> Index {
        let levels = Levels {
            active: Layer::new(),
            frozen: Arc::default(),
            tree: (*opened.db).clone(),
            _db: opened.db,
            stamp: opened.stamp,
            heads: Mutex::default(),
        };
        Index {
            ledger: ledger.to_path_buf(),
            levels: RwLock::new(Some(levels)),
            feed: Mutex::default(),
            fed: Condvar::new(),
            health,
        }
    }

    /// Reads the index. A fault of sled, even a panic, ends writes until the next start.
    pub(crate) fn read<T>(
        &self,
        look: impl FnOnce(View<'_>) -> Result<T, IndexFault>,
    ) -> Result<T, LedgerError> {
        let levels = self.levels.read().unwrap_or_else(|held| held.into_inner());
        let Some(levels) = levels.as_ref() else {
            return Err(LedgerError::Closed);
        };
        let (active, frozen, tree) = (&levels.active, &*levels.frozen, &levels.tree);
        let view = View {
            active,
            frozen,
            tree,
        };
        caught(|| look(view)).map_err(|fault| self.fail(fault))
    }

    /// Newest commit of a project, if it is known without reading.
    pub(crate) fn known_head(&self, project: &str) -> Option<Head> {
        let levels = self.levels.read().unwrap_or_else(|held| held.into_inner());
        let heads = levels.as_ref()?.heads.lock();
        let heads = heads.unwrap_or_else(|held| held.into_inner());
        heads.get(project).cloned()
    }

    /// Newest commit of a project, known from then on.
    pub(crate) fn head(&self, project: &str) -> Result<Head, LedgerError> {
        let head = self.read(|view| view.head(project))?;
        let levels = self.levels.read().unwrap_or_else(|held| held.into_inner());
        let Some(levels) = levels.as_ref() else {
            return Err(LedgerError::Closed);
        };
        let mut heads = levels.heads.lock().unwrap_or_else(|held| held.into_inner());
        // A commit may have come in between; its head is newer than the one that was read.
        match heads.get(project) {
            Some(known) => Ok(known.clone()),
            None if head.revision == 0 => Ok(head),
            None => {
                heads.insert(project.to_owned(), head.clone());
                Ok(head)
            }
        }
    }

    /// Makes a durable group readable.
    pub(crate) fn publish(&self, mut group: Layer, stamp: Stamp) {
        let mut levels = self.levels.write().unwrap_or_else(|held| held.into_inner());
        let Some(levels) = levels.as_mut() else {
            return;
        };
        let heads = levels
            .heads
            .get_mut()
            .unwrap_or_else(|held| held.into_inner());
        for (project, head) in keys::heads(&group) {
            heads.insert(project, head);
        }
        if levels.active.is_empty() {
            levels.active = group;
        } else {
            while let Some((key, value)) = group.pop_first() {
                levels.active.insert(key, value);
            }
        }
        levels.stamp = stamp;
    }

    /// Keys that are not in sled yet.
    pub(crate) fn backlog(&self) -> usize {
        let levels = self.levels.read().unwrap_or_else(|held| held.into_inner());
        levels
            .as_ref()
            .map_or(0, |levels| levels.active.len() + levels.frozen.len())
    }

    /// Gives the index up: the next start makes it again.
    pub(crate) fn fail(&self, fault: IndexFault) -> LedgerError {
        let _ = std::fs::write(self.ledger.join(BROKEN), &fault.0);
        self.health
            .poison(&format!("the index failed: {}", fault.0));
        LedgerError::Index { what: fault.0 }
    }

    /// Closes sled; every later read answers that the ledger is closed.
    pub(crate) fn close(&self) {
        let mut levels = self.levels.write().unwrap_or_else(|held| held.into_inner());
        if let Some(levels) = levels.take() {
            let _ = catch_unwind(AssertUnwindSafe(|| drop(levels)));
        }
    }
}

/// Runs something that calls sled; a panic becomes a fault.
pub(crate) fn caught<T>(act: impl FnOnce() -> Result<T, IndexFault>) -> Result<T, IndexFault> {
    catch_unwind(AssertUnwindSafe(act)).unwrap_or_else(|panic| {
        let said = panic.downcast_ref::<String>().map(String::as_str);
        let said = said.or_else(|| panic.downcast_ref::<&str>().copied());
        Err(IndexFault(format!(
            "sled panicked: {}",
            said.unwrap_or("without a message")
        )))
    })
}
