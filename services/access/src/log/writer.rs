//! The one thread that writes the access log.

use std::{
    sync::{
        Mutex,
        mpsc::{Receiver, RecvTimeoutError},
    },
    time::{Duration, Instant},
};

use obvert_ledger::{LedgerError, Log};
use obvert_proto::{
    common::v1::{AccessEvent, AccessEvents},
    dates::unix_ms,
};
use prost::{Message, Name};
use tokio::sync::oneshot;

use super::{gathered::Gathered, held};

/// Refusals are gathered for so long.
const INTERVAL: Duration = Duration::from_secs(1);

/// What the thread is asked to do.
pub(super) enum Order {
    /// Write this now and say when it is on the disk.
    Opened(Box<AccessEvent>, oneshot::Sender<Result<(), LedgerError>>),
}

/// Runs until nobody can ask any more, then writes the rest.
pub(super) fn run(mut log: Log, gathered: &Mutex<Gathered>, orders: &Receiver<Order>) {
    let mut last = Instant::now();
    loop {
        let first = orders.recv_timeout(INTERVAL.saturating_sub(last.elapsed()));
        let closing = matches!(first, Err(RecvTimeoutError::Disconnected));
        let (mut events, mut replies) = (Vec::new(), Vec::new());
        for Order::Opened(event, reply) in first.ok().into_iter().chain(orders.try_iter()) {
            events.push(*event);
            replies.push(reply);
        }
        let mut denied = Vec::new();
        if closing || last.elapsed() >= INTERVAL {
            denied = held(gathered).take();
            last = Instant::now();
        }
        let written = write(&mut log, &denied, &events);
        if let Err(error) = &written {
            tracing::error!(%error, "the access log could not be written");
            held(gathered).put_back(denied);
        }
        for reply in replies {
            let _ = reply.send(written.clone());
        }
        if closing {
            return log.close();
        }
    }
}

fn write(log: &mut Log, denied: &[AccessEvent], opened: &[AccessEvent]) -> Result<(), LedgerError> {
    let mut events = [denied, opened].concat();
    events.sort_by_key(|event| event.first_time.as_ref().map(unix_ms));
    let latest = events
        .iter()
        .filter_map(|event| event.last_time.as_ref().map(unix_ms))
        .max();
    let Some(latest) = latest else {
        return Ok(());
    };
    let body = AccessEvents { events }.encode_to_vec().into();
    log.append(&AccessEvents::full_name(), body, latest)?;
    Ok(())
}
