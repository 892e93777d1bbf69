//! Whether the ledger takes writes: one value shared by its threads and its callers.

use std::sync::Mutex;
use tokio::sync::watch;

/// Whether writes are taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LedgerState {
    /// Reads and writes.
    Ready,
    /// The last write found no room; the next one, or free space, makes it ready again.
    DiskFull,
    /// No writes until a restart.
    Poisoned,
}

pub(crate) struct Health {
    state: Mutex<LedgerState>,
    poisoned: watch::Sender<bool>,
}

impl Health {
    pub(crate) fn new() -> Health {
        Health {
            state: Mutex::new(LedgerState::Ready),
            poisoned: watch::Sender::new(false),
        }
    }

    pub(crate) fn state(&self) -> LedgerState {
        *self.state.lock().unwrap_or_else(|held| held.into_inner())
    }

    pub(crate) fn poisoned(&self) -> watch::Receiver<bool> {
        self.poisoned.subscribe()
    }

    /// Takes a new state; nothing leads out of poisoned.
    pub(crate) fn set(&self, new: LedgerState) {
        let mut state = self.state.lock().unwrap_or_else(|held| held.into_inner());
        if *state != LedgerState::Poisoned && *state != new {
            *state = new;
            match new {
                LedgerState::Ready => tracing::info!("the ledger takes writes again"),
                LedgerState::DiskFull => tracing::warn!("the disk of the journal is full"),
                LedgerState::Poisoned => {}
            }
        }
    }

    /// Stops all writes until a restart and says why.
    pub(crate) fn poison(&self, why: &str) {
        tracing::error!(why, "the ledger takes no more writes until it is restarted");
        *self.state.lock().unwrap_or_else(|held| held.into_inner()) = LedgerState::Poisoned;
        self.poisoned.send_replace(true);
    }
}
