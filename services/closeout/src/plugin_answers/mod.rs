//! Keeps the answers of plug-ins up to date: after commits, in the background, as records.
//!
//! Each plug-in has a task of its own, so that one that hangs keeps only its own points waiting. A
//! task looks at the segments of the projects that changed and asks where no answer for the evidence
//! on file is there. The answer is committed by the principal `plug-in/<id>`; evaluation reads it as
//! any other record, and a page never waits for a plug-in. A fault is committed as well, once, and
//! asked again later and later.

mod ask;
mod write;

use std::{
    collections::HashMap,
    sync::atomic::{AtomicU32, Ordering},
    time::Duration,
};

use futures::StreamExt;
use obvert_access::OFFICE;
use obvert_ledger::Ledger;
use obvert_plugins::Plugin;
use obvert_proto::{Problem, common::v1::Reason};
use obvert_records::refusal;
use tokio::{
    sync::watch,
    time::{Instant, sleep, sleep_until},
};

use crate::service::segments;

/// Commits of one burst are looked at together.
const SETTLE: Duration = Duration::from_millis(200);
/// First and longest wait before a plug-in that failed is asked again.
const RETRY_FIRST: Duration = Duration::from_secs(5);
const RETRY_LONGEST: Duration = Duration::from_secs(600);
/// Questions of one look that may fail before the rest waits for the next.
const FAILURES: u32 = 8;

/// Asks one plug-in whatever the plans ask of it, until told to stop.
pub async fn keep_plugin_answers(ledger: Ledger, plugin: Plugin, mut stop: watch::Receiver<bool>) {
    let mut ticks = ledger.watch();
    let mut keeper = Keeper {
        ledger,
        plugin,
        seen: HashMap::new(),
        retry_at: Some(Instant::now()),
        retry_after: RETRY_FIRST,
    };
    loop {
        ticks.borrow_and_update();
        let begun = Instant::now();
        tokio::select! {
            looked = keeper.look() => if let Err(problem) = looked {
                let plugin = keeper.plugin.id();
                tracing::warn!(plugin, message = problem.message, "a look for questions ended");
            },
            _ = stop.wait_for(|stop| *stop) => return,
        }
        // No more than half of the time is spent looking.
        let settle = begun.elapsed().max(SETTLE);
        let retry_at = keeper.retry_at;
        let retry = async move {
            match retry_at {
                Some(at) => sleep_until(at).await,
                None => std::future::pending().await,
            }
        };
        tokio::select! {
            changed = ticks.changed() => if changed.is_err() { return },
            () = retry => {}
            _ = stop.wait_for(|stop| *stop) => return,
        }
        tokio::select! {
            () = sleep(settle) => {}
            _ = stop.wait_for(|stop| *stop) => return,
        }
    }
}

/// What one task knows between two looks.
struct Keeper {
    ledger: Ledger,
    plugin: Plugin,
    /// Revision of each project that was looked at.
    seen: HashMap<String, i64>,
    /// When what failed is asked again.
    retry_at: Option<Instant>,
    retry_after: Duration,
}

impl Keeper {
    /// Asks about every segment of every project that changed, or of all when it is time to ask
    /// again.
    async fn look(&mut self) -> Result<(), Problem> {
        let retries = self.retry_at.is_some_and(|at| at <= Instant::now());
        let failures = AtomicU32::new(0);
        for project in self.ledger.projects().await.map_err(refusal)? {
            if project == OFFICE || !self.plugin.sees(&project) {
                continue;
            }
            let head = self.ledger.head(project.clone()).await.map_err(refusal)?;
            if !retries && self.seen.get(&project) == Some(&head.revision) {
                continue;
            }
            let looked = self.look_at(&project, head.revision, retries, &failures);
            // A project that cannot be read keeps no other waiting.
            match looked.await {
                Ok(()) => _ = self.seen.insert(project, head.revision),
                Err(problem) => tracing::warn!(
                    plugin = self.plugin.id(),
                    project,
                    message = problem.message,
                    "a look for questions ended"
                ),
            }
        }
        let has_failed = failures.load(Ordering::Relaxed) > 0;
        if has_failed && (retries || self.retry_at.is_none()) {
            self.retry_at = Some(Instant::now() + self.retry_after);
            self.retry_after = (self.retry_after * 2).min(RETRY_LONGEST);
        } else if retries {
            (self.retry_at, self.retry_after) = (None, RETRY_FIRST);
        }
        Ok(())
    }

    async fn look_at(
        &self,
        project: &str,
        revision: i64,
        retries: bool,
        failures: &AtomicU32,
    ) -> Result<(), Problem> {
        let segments = segments(&self.ledger, project.to_owned(), revision);
        let asked = segments.map(|segment| async move {
            if failures.load(Ordering::Relaxed) >= FAILURES {
                return Ok(());
            }
            match ask::about(&self.ledger, &self.plugin, &segment?, retries).await {
                Ok(failed) => {
                    failures.fetch_add(failed, Ordering::Relaxed);
                    Ok(())
                }
                // Without a plan nobody asks anything.
                Err(problem) if problem.reason == Reason::PlanInvalid => Ok(()),
                Err(problem) => Err(problem),
            }
        });
        let mut asked = std::pin::pin!(asked.buffer_unordered(self.plugin.calls().max(1)));
        let mut first = Ok(());
        // One segment that cannot be read does not keep the others waiting.
        while let Some(outcome) = asked.next().await {
            first = first.and(outcome);
        }
        first
    }
}
