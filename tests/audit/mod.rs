//! The record of acts: is it complete, and is every alteration of it noticed?

mod commands;
mod events;
pub(crate) mod frames;
mod log;
mod mutations;

use std::path::Path;

/// Puts a copy of a store where the server of a folder expects it.
pub(crate) fn copied_store(store: &Path, server: &Path) {
    crate::ledger::support::copy_folder(store, &server.join("store"));
}
