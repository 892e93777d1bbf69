//! The ledger itself: opening, committing, closing.

use crate::blobs::Blobs;
use crate::committer::{Committer, Order};
use crate::draft::{Committed, Draft};
use crate::durable;
use crate::error::{LedgerError, OpenError};
use crate::health::{Health, LedgerState};
use crate::index::{self, Index, IndexStart};
use crate::journal::reader::Reader;
use crate::journal::recover::{self, Quarantined};
use crate::journal::volume;
use crate::journal::walk::{End, Ending};
use crate::journal::writer::Writer;
use crate::lock::FolderLock;
use crate::prepare::prepare;
use crate::sheets::Sheets;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, mpsc};
use std::thread::JoinHandle;
use tokio::sync::{Semaphore, oneshot, watch};

/// Drafts that may wait for the committer; more callers wait in turn.
const QUEUE_DRAFTS: usize = 4096;

/// Where a ledger lives and how large its parts may grow.
#[derive(Clone, Debug)]
pub struct LedgerConfig {
    /// Folder of the ledger; created when it is missing.
    pub folder: PathBuf,
    /// A volume of the journal gets no further group once it is this large.
    pub volume_bytes: u64,
    /// Memory for commits and index pages, about.
    pub cache_bytes: u64,
}

/// What was found at the start.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Opening {
    /// True when the journal ended with the mark of a clean stop, or was new.
    pub clean: bool,
    /// Unfinished group that was set aside.
    pub quarantined: Option<Quarantined>,
    /// What the index needed.
    pub index: IndexStart,
    /// Commits in the journal.
    pub commits: u64,
}

/// An open ledger; cheap to clone.
#[derive(Clone)]
pub struct Ledger {
    pub(crate) inner: Arc<Inner>,
}

pub(crate) struct Inner {
    orders: Mutex<Option<mpsc::Sender<Order>>>,
    queue: Semaphore,
    thread: Mutex<Option<JoinHandle<()>>>,
    pub(crate) index: Arc<Index>,
    pub(crate) reader: Arc<Reader>,
    health: Arc<Health>,
    ticks: watch::Receiver<u64>,
    opening: Opening,
    blobs: Blobs,
    sheets: Sheets,
}

impl LedgerConfig {
    /// Usual sizes: volumes of 256 MiB, 128 MiB of memory.
    pub fn new(folder: impl Into<PathBuf>) -> LedgerConfig {
        LedgerConfig {
            folder: folder.into(),
            volume_bytes: 256 << 20,
            cache_bytes: 128 << 20,
        }
    }
}

impl Ledger {
    /// Locks the folder, reads the journal from the index stamp on, and takes writes.
    ///
    /// # Errors
    /// Another process holds the folder, the journal is damaged or newer, or the disk refuses.
    pub async fn open(config: LedgerConfig) -> Result<Ledger, OpenError> {
        let opened = tokio::task::spawn_blocking(move || open(&config)).await;
        opened.unwrap_or_else(|error| {
            Err(OpenError::Io {
                doing: "opening the ledger".into(),
                source: error.into(),
            })
        })
    }

    /// Commits a draft; answers only when it is in the journal on the disk.
    ///
    /// # Errors
    /// The draft is refused, or it could not be written; then nothing of it was.
    pub async fn commit(&self, draft: Draft) -> Result<Committed, LedgerError> {
        let prepared = Box::new(prepare(draft)?);
        let _turn = self
            .inner
            .queue
            .acquire()
            .await
            .map_err(|_| LedgerError::Closed)?;
        let (reply, answer) = oneshot::channel();
        {
            let orders = self
                .inner
                .orders
                .lock()
                .unwrap_or_else(|held| held.into_inner());
            let orders = orders.as_ref().ok_or(LedgerError::Closed)?;
            orders
                .send(Order::Commit(prepared, reply))
                .map_err(|_| LedgerError::Closed)?;
        }
        answer.await.unwrap_or(Err(LedgerError::Closed))
    }

    /// Stops cleanly: finishes what waits, leaves the closed mark, closes index and lock.
    pub async fn close(&self) {
        let inner = Arc::clone(&self.inner);
        let _ = tokio::task::spawn_blocking(move || inner.stop()).await;
    }

    /// Ticks with every group that became readable; a hint to look, nothing more.
    pub fn watch(&self) -> watch::Receiver<u64> {
        self.inner.ticks.clone()
    }

    /// Whether writes are taken.
    pub fn state(&self) -> LedgerState {
        self.inner.health.state()
    }

    /// Becomes true when writes stop until a restart.
    pub fn poisoned(&self) -> watch::Receiver<bool> {
        self.inner.health.poisoned()
    }

    /// What was found at the start.
    pub fn opening(&self) -> &Opening {
        &self.inner.opening
    }

    /// Files by their digest.
    pub fn blobs(&self) -> &Blobs {
        &self.inner.blobs
    }

    /// Personal data outside the journal.
    pub fn sheets(&self) -> &Sheets {
        &self.inner.sheets
    }
}

impl Inner {
    fn stop(&self) {
        let orders = self
            .orders
            .lock()
            .unwrap_or_else(|held| held.into_inner())
            .take();
        if let Some(orders) = orders {
            let _ = orders.send(Order::Close);
        }
        let thread = self
            .thread
            .lock()
            .unwrap_or_else(|held| held.into_inner())
            .take();
        if let Some(thread) = thread {
            let _ = thread.join();
        }
    }
}

impl Drop for Inner {
    fn drop(&mut self) {
        // The committer sees that nobody can ask any more and stops cleanly on its own time.
        self.orders
            .get_mut()
            .unwrap_or_else(|held| held.into_inner())
            .take();
    }
}

/// Reads the journal to its end and sets an unfinished group aside.
pub(crate) fn recover_folder(
    folder: &Path,
    cache_bytes: u64,
    reader: &Reader,
) -> Result<(index::open::Opened, Opening), OpenError> {
    let opened = index::open::open(folder, cache_bytes, reader)?;
    let End {
        at,
        commits,
        ending,
    } = &opened.end;
    let opening = Opening {
        clean: at.is_none() || *ending == Ending::Closed,
        quarantined: recover::quarantine(folder, &opened.end)?,
        index: opened.start.clone(),
        commits: *commits,
    };
    Ok((opened, opening))
}

/// Creates what is missing of a ledger's folder.
pub(crate) fn make_folder(folder: &Path) -> Result<(), OpenError> {
    durable::create_folder(&volume::folder(folder))
        .map_err(OpenError::io(format!("creating {}", folder.display())))
}

fn open(config: &LedgerConfig) -> Result<Ledger, OpenError> {
    let folder = config.folder.as_path();
    make_folder(folder)?;
    let lock = FolderLock::take(folder)?;
    let health = Arc::new(Health::new());
    let reader = Arc::new(Reader::new(folder, config.cache_bytes / 2));
    let (opened, opening) = recover_folder(folder, config.cache_bytes / 2, &reader)?;
    let writer = Writer::open(folder, &opened.end, config.volume_bytes)?;
    let stamp = opened.stamp;
    let index = Arc::new(Index::new(folder, opened, Arc::clone(&health)));
    let (ticks, watched) = watch::channel(0);
    let (orders, received) = mpsc::channel();
    let committer = Committer {
        folder: folder.to_path_buf(),
        writer,
        reader: Arc::clone(&reader),
        index: Arc::clone(&index),
        health: Arc::clone(&health),
        ticks,
        stamp,
        buffer: Vec::new(),
    };
    let fed = Arc::clone(&index);
    let named = std::thread::Builder::new().name("ledger-index".into());
    named
        .spawn(move || fed.run_feed())
        .map_err(OpenError::io("starting a thread"))?;
    let named = std::thread::Builder::new().name("ledger-commit".into());
    let thread = named.spawn(move || {
        committer.run(&received);
        drop(lock);
    });
    let thread = thread.map_err(OpenError::io("starting a thread"))?;
    let inner = Inner {
        orders: Mutex::new(Some(orders)),
        queue: Semaphore::new(QUEUE_DRAFTS),
        thread: Mutex::new(Some(thread)),
        index,
        reader,
        health,
        ticks: watched,
        opening,
        blobs: Blobs::open(folder).map_err(OpenError::io("opening the blobs"))?,
        sheets: Sheets::open(folder).map_err(OpenError::io("opening the sheets"))?,
    };
    Ok(Ledger {
        inner: Arc::new(inner),
    })
}
