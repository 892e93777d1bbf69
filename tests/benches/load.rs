//! Keeps some calls in flight for a while and counts the answers.

use std::{
    sync::{
        Arc,
        atomic::{AtomicU64, Ordering},
    },
    time::{Duration, Instant},
};

use crate::{LENGTH, pairs::Measured};

/// Calls go on so long before they are counted.
const WARM_UP: Duration = Duration::from_millis(200);

/// Answers per second with so many callers, each of whom waits for its answer before it calls again.
pub(crate) async fn per_second<F: Future<Output = ()> + Send + 'static>(
    callers: usize,
    call: impl Fn(usize) -> F + Clone + Send + 'static,
) -> Measured {
    per_second_for(LENGTH, callers, call).await
}

/// The same, counted for as long as is asked.
pub(crate) async fn per_second_for<F: Future<Output = ()> + Send + 'static>(
    length: Duration,
    callers: usize,
    call: impl Fn(usize) -> F + Clone + Send + 'static,
) -> Measured {
    let answered = Arc::new(AtomicU64::new(0));
    let end = Instant::now() + WARM_UP + length;
    let running: Vec<_> = (0..callers)
        .map(|caller| {
            let (call, answered) = (call.clone(), Arc::clone(&answered));
            tokio::spawn(call_until(end, caller, call, answered))
        })
        .collect();
    tokio::time::sleep(WARM_UP).await;
    let (began, before) = (Instant::now(), answered.load(Ordering::Relaxed));
    tokio::time::sleep(length).await;
    let counted = answered.load(Ordering::Relaxed) - before;
    let seconds = began.elapsed().as_secs_f64();
    for caller in running {
        caller.await.expect("every call is answered");
    }
    Measured {
        per_second: counted as f64 / seconds,
        all: answered.load(Ordering::Relaxed),
    }
}

async fn call_until<F: Future<Output = ()> + Send>(
    end: Instant,
    caller: usize,
    call: impl Fn(usize) -> F + Send,
    answered: Arc<AtomicU64>,
) {
    while Instant::now() < end {
        call(caller).await;
        answered.fetch_add(1, Ordering::Relaxed);
    }
}
