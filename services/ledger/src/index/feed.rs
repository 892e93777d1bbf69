//! The thread that moves the overlay into sled, in batches, behind the commits.

use super::stamp::Stamp;
use super::{Index, caught, keys};
use crate::overlay::{IndexFault, Layer};
use std::sync::{Arc, MutexGuard};
use std::time::{Duration, Instant};

/// How often the feed looks whether the commits have paused.
const GATHER: Duration = Duration::from_millis(20);
/// Sled costs more than the journal: while commits come, it waits until this many keys are due...
const DUE_KEYS: usize = 100_000;
/// ...or for this long. After a crash as much is read again from the journal.
const DUE: Duration = Duration::from_secs(5);
/// With more keys than this in memory, commits wait for sled.
pub(crate) const BACKLOG_KEYS: usize = 400_000;
/// Commits wait no longer than this.
const PATIENCE: Duration = Duration::from_secs(5);
/// Sled fails for good when its disk is full, so it is left alone before that.
const RESERVE_BYTES: u64 = 4 << 20;
/// Keys and values grow about so much in sled's log.
const GROWTH: u64 = 6;

impl Index {
    /// Runs until the index is closed; the caller gives it a thread.
    pub(crate) fn run_feed(&self) {
        loop {
            let mut feed = self.feed();
            while !feed.waiting && !feed.closing {
                feed = self.fed.wait(feed).unwrap_or_else(|held| held.into_inner());
            }
            let closing = feed.closing;
            feed.waiting = false;
            drop(feed);
            if !closing {
                self.wait_for_pause();
            }
            let fed = self.feed_once(closing);
            if let Err(fault) = &fed {
                self.fail(fault.clone());
            }
            if closing || fed.is_err() {
                self.feed().finished = true;
                self.fed.notify_all();
                return;
            }
            if matches!(fed, Ok(false)) {
                std::thread::sleep(GATHER * 10);
                self.feed().waiting = true;
            }
            self.fed.notify_all();
        }
    }

    /// Lets keys gather while commits come.
    fn wait_for_pause(&self) {
        let started = Instant::now();
        let mut last = self.backlog();
        while started.elapsed() < DUE && last < DUE_KEYS && !self.feed().closing {
            std::thread::sleep(GATHER);
            let now = self.backlog();
            if now == last {
                return;
            }
            last = now;
        }
    }

    /// Says that there are keys to move.
    pub(crate) fn wake_feed(&self) {
        let mut feed = self.feed();
        if !feed.waiting {
            feed.waiting = true;
            self.fed.notify_all();
        }
    }

    /// Waits while sled is far behind; false when it does not come nearer, for want of disk space.
    pub(crate) fn wait_for_feed(&self) -> bool {
        let started = Instant::now();
        let mut feed = self.feed();
        while self.backlog() > BACKLOG_KEYS && !feed.finished {
            if started.elapsed() > PATIENCE {
                return false;
            }
            feed.waiting = true;
            self.fed.notify_all();
            let waited = self.fed.wait_timeout(feed, GATHER * 5);
            feed = waited.unwrap_or_else(|held| held.into_inner()).0;
        }
        true
    }

    /// Moves what is left and ends the thread.
    pub(crate) fn finish_feed(&self) {
        let mut feed = self.feed();
        feed.closing = true;
        self.fed.notify_all();
        while !feed.finished {
            feed = self.fed.wait(feed).unwrap_or_else(|held| held.into_inner());
        }
    }

    fn feed(&self) -> MutexGuard<'_, super::Feed> {
        self.feed.lock().unwrap_or_else(|held| held.into_inner())
    }

    /// One batch; false when there is no room on the disk for it.
    fn feed_once(&self, flush: bool) -> Result<bool, IndexFault> {
        let (frozen, stamp, tree) = {
            let mut levels = self.levels.write().unwrap_or_else(|held| held.into_inner());
            let Some(levels) = levels.as_mut() else {
                return Ok(true);
            };
            if levels.frozen.is_empty() {
                levels.frozen = Arc::new(std::mem::take(&mut levels.active));
            }
            (
                Arc::clone(&levels.frozen),
                levels.stamp,
                levels.tree.clone(),
            )
        };
        let bytes: usize = frozen
            .iter()
            .map(|(key, value)| key.len() + value.as_ref().map_or(0, Vec::len) + 16)
            .sum();
        let free = fs4::available_space(&self.ledger).unwrap_or(u64::MAX);
        if free < RESERVE_BYTES + bytes as u64 * GROWTH {
            // The keys stay in memory; frozen keys join the newer ones again, so that the stamp
            // written with the next batch is true.
            self.thaw(frozen);
            return Ok(false);
        }
        caught(|| apply_batch(&tree, &frozen, stamp))?;
        if flush {
            caught(|| tree.flush().map(|_| ()).map_err(IndexFault::from))?;
        }
        let mut levels = self.levels.write().unwrap_or_else(|held| held.into_inner());
        if let Some(levels) = levels.as_mut() {
            levels.frozen = Arc::default();
        }
        Ok(true)
    }

    fn thaw(&self, frozen: Arc<Layer>) {
        let mut levels = self.levels.write().unwrap_or_else(|held| held.into_inner());
        let Some(levels) = levels.as_mut() else {
            return;
        };
        levels.frozen = Arc::default();
        let mut older = Arc::unwrap_or_clone(frozen);
        older.append(&mut levels.active);
        levels.active = older;
    }
}

/// Writes a layer and the stamp it reaches; sled recovers a batch as a whole or not at all.
pub(crate) fn apply_batch(
    tree: &sled::Tree,
    layer: &Layer,
    stamp: Stamp,
) -> Result<(), IndexFault> {
    let mut batch = sled::Batch::default();
    for (key, value) in layer {
        match value {
            Some(value) => batch.insert(key.as_slice(), value.as_slice()),
            None => batch.remove(key.as_slice()),
        }
    }
    batch.insert(keys::STAMP, stamp.encode());
    tree.apply_batch(batch)?;
    Ok(())
}
