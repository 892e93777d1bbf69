//! The access log: what was denied, and who opened personal data. It covers the whole server.
//!
//! Denied calls are gathered for a second and written together; a flood of one caller is one event
//! with a count. Opening personal data waits until its event is on the disk, and is refused when it
//! cannot be written. Nothing else ever waits for this log.

mod events;
mod gathered;
mod writer;

use std::{
    path::Path,
    sync::{
        Arc, Mutex, MutexGuard, PoisonError,
        mpsc::{SyncSender, TrySendError, sync_channel},
    },
    thread::JoinHandle,
};

use obvert_ledger::{LedgerError, Log, OpenError, tools::ACCESS_LOG};
use obvert_proto::{
    Problem,
    common::v1::{AccessEvent, Reason},
};
use tokio::sync::oneshot;

pub use events::{Peer, by_link, denied, opened};
use gathered::Gathered;
use writer::Order;

/// Name of the log where a commit of the journal names its project; no project can have it.
pub const LOG_NAME: &str = "@access-log";
/// Readers of personal data that may wait for the disk at once.
const QUEUE: usize = 256;

/// The log; cheap to clone.
#[derive(Clone)]
pub struct AccessLog(Arc<Inner>);

struct Inner {
    gathered: Arc<Mutex<Gathered>>,
    orders: Mutex<Option<SyncSender<Order>>>,
    thread: Mutex<Option<JoinHandle<()>>>,
}

impl AccessLog {
    /// Opens the log of a store and begins to write it.
    ///
    /// # Errors
    ///
    /// The log is damaged, held by another process, or the disk refuses.
    pub fn open(store: &Path) -> Result<Self, OpenError> {
        let log = Log::open(&store.join(ACCESS_LOG), LOG_NAME)?;
        let gathered = Arc::new(Mutex::new(Gathered::default()));
        let (orders, received) = sync_channel(QUEUE);
        let shared = Arc::clone(&gathered);
        let thread = std::thread::Builder::new()
            .name("access-log".into())
            .spawn(move || writer::run(log, &shared, &received))
            .map_err(|source| OpenError::Io {
                doing: "starting the access log".into(),
                source,
            })?;
        Ok(Self(Arc::new(Inner {
            gathered,
            orders: Mutex::new(Some(orders)),
            thread: Mutex::new(Some(thread)),
        })))
    }

    /// Counts a refusal; it is written within a second.
    pub fn denied(&self, event: AccessEvent) {
        held(&self.0.gathered).add(event);
    }

    /// Writes that personal data, or a package by a link, is about to be opened.
    ///
    /// # Errors
    ///
    /// `DISK_FULL`, `STORE_POISONED`, `OVERLOADED` or `SHUTTING_DOWN` when the event is not on the
    /// disk: then the data must stay closed.
    pub async fn opened(&self, event: AccessEvent) -> Result<(), Problem> {
        let (reply, answer) = oneshot::channel();
        let sent = held(&self.0.orders)
            .as_ref()
            .map(|orders| orders.try_send(Order::Opened(Box::new(event), reply)));
        let refused = |reason, why: &str| {
            let message =
                format!("{why}: personal data is opened only when the access log can say so");
            Err(Problem::new(reason, message))
        };
        match sent {
            Some(Ok(())) => {}
            Some(Err(TrySendError::Full(_))) => {
                return refused(
                    Reason::Overloaded,
                    "too many wait for the access log, try again",
                );
            }
            Some(Err(TrySendError::Disconnected(_))) | None => {
                return refused(Reason::ShuttingDown, "the server is stopping");
            }
        }
        match answer.await {
            Ok(Ok(())) => Ok(()),
            Ok(Err(LedgerError::DiskFull)) => refused(
                Reason::DiskFull,
                "the disk of the access log is full, free space and repeat",
            ),
            Ok(Err(_)) => refused(
                Reason::StorePoisoned,
                "the access log takes no more entries until the server is restarted",
            ),
            Err(_) => refused(Reason::ShuttingDown, "the server is stopping"),
        }
    }

    /// Writes what waits and ends.
    pub async fn close(&self) {
        let inner = Arc::clone(&self.0);
        let _ = tokio::task::spawn_blocking(move || inner.stop()).await;
    }
}

impl Inner {
    fn stop(&self) {
        drop(held(&self.orders).take());
        if let Some(thread) = held(&self.thread).take() {
            let _ = thread.join();
        }
    }
}

fn held<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
