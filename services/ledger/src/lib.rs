//! What was written, by whom, in which order, and can anybody show that it was not altered since?
//!
//! One commit in five lines:
//! 1. [`Ledger::commit`] checks a [`Draft`]'s shape and encodes all but its place in the chain.
//! 2. The committer thread takes every waiting draft and checks asserts, claims and request ids.
//! 3. Each accepted draft gets the next revision and the hash of its project's commit before it.
//! 4. One write and one fdatasync put the group of frames into the journal.
//! 5. The group becomes readable, then each caller is answered; the index follows at its leisure.
//!
//! Invariants:
//! - The journal is the truth. The sled index, deleted at any time, is made again from it.
//! - Acknowledged means fdatasynced in the journal. Nothing is acknowledged on the index.
//! - Stored commit bytes are never encoded again; each commit names the SHA-256 of the one before.
//! - After an acknowledged commit every read sees it.
//! - A failed fsync is never retried: writes stop until a restart has read the journal anew.
//! - There is no clock in here, and no random source but the one that makes the sheets' master key.
//! - Only this crate names sled.

mod blobs;
mod check;
mod committer;
mod digest;
mod draft;
mod draw;
mod durable;
mod error;
mod health;
mod index;
mod journal;
mod ledger;
mod lock;
mod log;
mod overlay;
mod prepare;
mod reads;
pub mod series;
mod sheets;
mod snapshot;
mod stored;
pub mod tools;

pub use blobs::{BlobError, Blobs};
pub use digest::{hex, unhex};
pub use draft::{Assert, Caller, Committed, Draft, Expect, NewEntry};
pub use error::{LedgerError, OpenError};
pub use health::LedgerState;
pub use index::IndexStart;
pub use journal::recover::Quarantined;
pub use ledger::{Ledger, LedgerConfig, Opening};
pub use log::Log;
pub use sheets::{SheetError, Sheets};
pub use snapshot::Snapshot;
pub use stored::{Head, Page, Stored};
