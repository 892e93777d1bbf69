//! The one thread that writes: takes every waiting draft, makes one group of them, answers.

use crate::draft::Committed;
use crate::draw::Draw;
use crate::error::LedgerError;
use crate::health::{Health, LedgerState};
use crate::index::Index;
use crate::index::stamp::Stamp;
use crate::journal::reader::Reader;
use crate::journal::walk::Start;
use crate::journal::writer::{WriteFault, Writer};
use crate::prepare::Prepared;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, RecvTimeoutError};
use std::time::{Duration, Instant};
use tokio::sync::{oneshot, watch};

/// Drafts in one group at most.
const GROUP_DRAFTS: usize = 1024;
/// A group stops taking drafts at this size.
const GROUP_BYTES: usize = 4 << 20;
/// Callers just answered get this long to come back before the next group closes.
const GATHER: Duration = Duration::from_micros(120);
/// With a full disk, free space is looked at this often.
const FULL_LOOK: Duration = Duration::from_millis(250);
/// Room that must be free before writes are tried again without being asked.
const FULL_ROOM_BYTES: u64 = 1 << 20;

/// The answer to one draft.
pub(crate) type Answer = Result<Committed, LedgerError>;

/// What the committer is asked to do.
pub(crate) enum Order {
    /// Commit this.
    Commit(Box<Prepared>, oneshot::Sender<Answer>),
    /// Leave the closed mark and end.
    Close,
}

/// State of the committer thread.
pub(crate) struct Committer {
    pub(crate) folder: PathBuf,
    pub(crate) writer: Writer,
    pub(crate) reader: Arc<Reader>,
    pub(crate) index: Arc<Index>,
    pub(crate) health: Arc<Health>,
    pub(crate) ticks: watch::Sender<u64>,
    pub(crate) stamp: Stamp,
    pub(crate) buffer: Vec<u8>,
}

type Waiting = (Box<Prepared>, oneshot::Sender<Answer>);

impl Committer {
    /// Runs until the ledger is closed or dropped, then stops cleanly.
    pub(crate) fn run(mut self, orders: &Receiver<Order>) {
        let mut last = 1;
        while let Some(first) = self.first(orders) {
            let (waiting, closing) = gather(orders, first, last);
            last = waiting.len();
            self.group(waiting);
            if closing {
                break;
            }
        }
        if self.health.state() != LedgerState::Poisoned
            && let Err(fault) = self.writer.close()
        {
            tracing::warn!(?fault, "no closed mark could be written");
        }
        self.index.finish_feed();
        self.index.close();
    }

    /// Waits for a draft; none when there will be no more.
    fn first(&self, orders: &Receiver<Order>) -> Option<Waiting> {
        loop {
            let order = match self.health.state() {
                LedgerState::DiskFull => orders.recv_timeout(FULL_LOOK),
                _ => orders.recv().map_err(|_| RecvTimeoutError::Disconnected),
            };
            match order {
                Ok(Order::Commit(draft, reply)) => return Some((draft, reply)),
                Ok(Order::Close) | Err(RecvTimeoutError::Disconnected) => return None,
                Err(RecvTimeoutError::Timeout) => {
                    if fs4::available_space(&self.folder).is_ok_and(|free| free > FULL_ROOM_BYTES) {
                        self.health.set(LedgerState::Ready);
                    }
                }
            }
        }
    }

    fn group(&mut self, waiting: Vec<Waiting>) {
        if self.health.state() == LedgerState::Poisoned {
            return answer_all(waiting, &LedgerError::Poisoned);
        }
        if !self.index.wait_for_feed() {
            self.health.set(LedgerState::DiskFull);
            return answer_all(waiting, &LedgerError::DiskFull);
        }
        let group = match self.writer.begin(std::mem::take(&mut self.buffer)) {
            Ok(group) => group,
            Err(fault) => {
                let error = self.fault(fault);
                return answer_all(waiting, &error);
            }
        };
        let reader = Arc::clone(&self.reader);
        let mut draw = Draw::new(group, self.stamp, &reader);
        let mut replies = Vec::with_capacity(waiting.len());
        let mut drafts = Vec::with_capacity(waiting.len());
        for (draft, reply) in waiting {
            drafts.push(*draft);
            replies.push(reply);
        }
        let drawn = self.index.read(|view| draw.all(view, drafts));
        let answers = drawn.and_then(|answers| {
            self.write(draw)?;
            Ok(answers)
        });
        match answers {
            Ok(answers) => {
                // Before the answers: whoever has one finds the tick.
                self.ticks.send_modify(|tick| *tick += 1);
                for (reply, answer) in replies.into_iter().zip(answers) {
                    let _ = reply.send(answer);
                }
                self.index.wake_feed();
            }
            Err(error) => {
                for reply in replies {
                    let _ = reply.send(Err(error.clone()));
                }
            }
        }
    }

    /// Makes a group durable, then readable.
    fn write(&mut self, draw: Draw<'_>) -> Result<(), LedgerError> {
        let Draw {
            group,
            layer,
            mut stamp,
            commits,
            ..
        } = draw;
        if group.is_empty() {
            return Ok(());
        }
        stamp.group = Start {
            at: group.start(),
            commits: self.writer.commits(),
        };
        let (end, _, buffer) = self
            .writer
            .append(group)
            .map_err(|fault| self.fault(fault))?;
        self.buffer = buffer;
        self.health.set(LedgerState::Ready);
        stamp.end = end;
        self.stamp = stamp;
        for (at, (commit, size)) in commits {
            self.reader.remember(at, commit, size);
        }
        self.index.publish(layer, stamp);
        Ok(())
    }

    fn fault(&self, fault: WriteFault) -> LedgerError {
        match fault {
            WriteFault::Full => {
                self.health.set(LedgerState::DiskFull);
                LedgerError::DiskFull
            }
            WriteFault::Lost(why) => {
                self.health.poison(&why);
                LedgerError::Poisoned
            }
        }
    }
}

/// Takes every draft that waits; after a group of many, gives their callers a moment to return.
fn gather(orders: &Receiver<Order>, first: Waiting, last: usize) -> (Vec<Waiting>, bool) {
    let mut bytes = first.0.size_bytes();
    let mut waiting = vec![first];
    let started = Instant::now();
    while waiting.len() < GROUP_DRAFTS && bytes < GROUP_BYTES {
        match orders.try_recv() {
            Ok(Order::Commit(draft, reply)) => {
                bytes += draft.size_bytes();
                waiting.push((draft, reply));
            }
            Ok(Order::Close) => return (waiting, true),
            Err(_) if waiting.len() < last && started.elapsed() < GATHER => {
                std::thread::yield_now();
            }
            Err(_) => break,
        }
    }
    (waiting, false)
}

fn answer_all(waiting: Vec<Waiting>, error: &LedgerError) {
    for (_, reply) in waiting {
        let _ = reply.send(Err(error.clone()));
    }
}
